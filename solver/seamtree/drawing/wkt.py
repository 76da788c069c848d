"""WKT drawings (OGC Simple Features): polygons and lines in inches, y up, one or more geometries in a file."""

from __future__ import annotations

from collections.abc import Iterator

import shapely

from seamtree.drawing.geometries import Outline, build_drawing
from seamtree.drawing.model import Drawing
from seamtree.errors import DrawingError, Finding


def read_wkt(data: bytes, *, source: str, width: float | None = None) -> Drawing:
    """Read a WKT drawing.

    Parameters
    ----------
    data
        The file.
    source
        File name for messages.
    width
        Finished width of the whole drawing, inches; None takes the coordinates as inches.

    Raises
    ------
    DrawingError
        If this is no WKT, or its polygons cannot be patches.
    """
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise DrawingError(Finding("bad-wkt", "The file is not encoded in UTF-8."), source=source) from None
    outlines: list[Outline] = []
    points = 0
    for line, piece in _pieces(text):
        geometry = _parse(piece, line, source)
        for part in _flatten(geometry):
            if part.geom_type == "Point":
                points += 1
            elif not part.is_empty:
                outlines.append(_outline(part, f"{_kind(part)} {len(outlines) + 1}"))
    notes = []
    if points:
        notes.append(Finding("points-left-out", f"{points} points were left out: they are neither patch nor line."))
    return build_drawing(outlines, source=source, width=width, notes=notes)


def _pieces(text: str) -> Iterator[tuple[int, str]]:
    """Yield each geometry with the line that it starts on: a new one begins when all brackets are closed."""
    piece: list[str] = []
    depth = started = 0
    for number, line in enumerate(text.splitlines(), 1):
        if not line.strip():
            continue
        if not piece:
            started = number
        piece.append(line.strip().rstrip(";"))
        depth += line.count("(") - line.count(")")
        if depth <= 0:
            yield started, " ".join(piece)
            piece, depth = [], 0
    if piece:
        yield started, " ".join(piece)


def _parse(piece: str, line: int, source: str) -> shapely.Geometry:
    if piece.upper().startswith("SRID="):
        piece = piece.partition(";")[2]
    try:
        return shapely.from_wkt(piece)
    except shapely.GEOSException as error:
        reason = str(error).partition(":")[2].strip() or str(error)
        message = f"This is no valid WKT, in the geometry that begins in line {line}: {reason}."
        raise DrawingError(Finding("bad-wkt", message), source=source) from None


def _flatten(geometry: shapely.Geometry) -> Iterator[shapely.Geometry]:
    waiting = [geometry]
    while waiting:
        part = waiting.pop()
        if hasattr(part, "geoms"):
            waiting += reversed(list(part.geoms))
        else:
            yield part


def _kind(part: shapely.Geometry) -> str:
    return "polygon" if part.geom_type == "Polygon" else "line"


def _outline(part: shapely.Geometry, name: str) -> Outline:
    if part.geom_type == "Polygon":
        rings = [part.exterior, *part.interiors]
        return Outline("polygon", tuple(tuple((x, y) for x, y, *_ in ring.coords) for ring in rings), name)
    return Outline("line", (tuple((x, y) for x, y, *_ in part.coords),), name)

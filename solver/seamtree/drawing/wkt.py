"""WKT drawings (OGC Simple Features): polygons and lines in inches, y up, one or more geometries in a file."""

from __future__ import annotations

import re
from collections.abc import Iterator

import numpy as np
import shapely

from seamtree.drawing import limits
from seamtree.drawing.drawn import Drawing
from seamtree.drawing.encoding import decode_text
from seamtree.drawing.geometries import Outline, build_drawing
from seamtree.drawing.wording import short
from seamtree.errors import DrawingError, Finding

_ENDS = re.compile(r"(\)|\bEMPTY)\s*$", re.IGNORECASE)

_SRID = re.compile(r"SRID\s*=\s*\d+\s*;\s*", re.IGNORECASE)


def read_wkt(data: bytes, *, source: str, width: float | None = None) -> Drawing:
    """Read a WKT drawing.

    Parameters
    ----------
    data
        The file, UTF-8 or UTF-16: geometries one after the other, on lines of their own or parted by semicolons.
    source
        File name for messages.
    width
        Inches that the bounding box of the whole drawing is made wide; None takes the coordinates as inches.

    Returns
    -------
    Drawing
        Of kind ``polygons``.

    Raises
    ------
    DrawingError
        ``bad-wkt`` when this is no WKT; what `build_drawing` finds otherwise.
    LimitError
        When it is nested too deep or has too many points.
    """
    text = _text(data, source)
    outlines: list[Outline] = []
    counts = {"polygon": 0, "line": 0, "point": 0}
    for line, piece in _pieces(text, source):
        for part in _parts(_parsed(piece, line, source)):
            kind = _KINDS[part.geom_type]
            if part.is_empty:
                continue
            counts[kind] += 1
            if kind != "point":
                outlines.append(_outline(part, f"{kind} {counts[kind]}"))
    return build_drawing(outlines, source=source, width=width, points_left_out=counts["point"])


def _text(data: bytes, source: str) -> str:
    try:
        text = decode_text(data)
    except UnicodeDecodeError as error:
        message = "This is no WKT file: it is encoded neither in UTF-8 nor in UTF-16."
        raise DrawingError(Finding("bad-wkt", message), source=source) from error
    # The library that parses WKT takes a zero byte for the end of the text.
    if "\x00" in text:
        message = (
            f"This is no WKT file: there is a zero byte in line {text[: text.index(chr(0))].count(chr(10)) + 1}."
        )
        raise DrawingError(Finding("bad-wkt", message), source=source)
    return text


def _pieces(text: str, source: str) -> Iterator[tuple[int, str]]:
    """Yield each geometry with the line that it begins in: one ends where all its brackets are closed."""
    piece: list[str] = []
    depth = begins = 0
    for number, whole in enumerate(text.splitlines(), 1):
        for part in _SRID.sub("", whole).split(";"):
            if not part.strip():
                continue
            begins = begins if piece else number
            piece.append(part.strip())
            depth = _depth_after(part, depth, source)
            if depth <= 0 and _ENDS.search(part):
                yield begins, " ".join(piece)
                piece, depth = [], 0
    if piece:
        yield begins, " ".join(piece)


def _depth_after(part: str, depth: int, source: str) -> int:
    # The library that parses WKT calls itself for each bracket, and would run out of stack.
    for bracket in re.findall(r"[()]", part):
        depth += 1 if bracket == "(" else -1
        if depth > limits.MAX_DEPTH:
            limits.refuse(f"The file is nested more than {limits.MAX_DEPTH} deep.", source=source)
    return depth


def _parsed(piece: str, line: int, source: str) -> shapely.Geometry:
    try:
        with np.errstate(all="ignore"):  # numbers beyond all limits are told later, with their place
            return shapely.from_wkt(piece)
    except (shapely.GEOSException, NotImplementedError, ValueError) as error:
        reason = str(error).partition(": ")[2] or str(error)
        message = f"This is no WKT that can be read, from line {line} on ({short(piece)}): {reason.rstrip('.')}."
        raise DrawingError(Finding("bad-wkt", message), source=source) from error


_KINDS = {"Polygon": "polygon", "LineString": "line", "LinearRing": "line", "Point": "point"}


def _parts(geometry: shapely.Geometry) -> Iterator[shapely.Geometry]:
    """Yield the polygons, lines and points of a geometry in turn."""
    waiting = [geometry]
    while waiting:
        part = waiting.pop()
        if hasattr(part, "geoms"):
            waiting += reversed(list(part.geoms))
        else:
            yield part


def _outline(part: shapely.Geometry, name: str) -> Outline:
    rings = [part.exterior, *part.interiors] if part.geom_type == "Polygon" else [part]
    points = (tuple((x, y) for x, y in shapely.get_coordinates(ring).tolist()) for ring in rings)
    return Outline("polygon" if part.geom_type == "Polygon" else "line", tuple(points), name)

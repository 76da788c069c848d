"""What GeoJSON and WKT have in common: polygons and lines in inches, y up, made into a drawing."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt
import shapely

from seamtree.drawing import limits
from seamtree.drawing.drawn import STRAIGHT, Drawing, Label, Shape, Track
from seamtree.errors import DrawingError, Finding, Point
from seamtree.remedies import WIDTH

_MOST_FINDINGS = 50

_NO_SIZE = 1e-9
"""What is smaller than this (inches) in every direction, or has less area (square inches), has no size."""

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Outline:
    """One polygon or line as the file says it.

    Parameters
    ----------
    kind
        What it is.
    rings
        The rings of a polygon, the outer one first, each with its first point repeated at its end; or the points of a
        line. Inches, y up.
    name
        What messages call it.
    fabric, label
        Properties.
    """

    kind: Literal["polygon", "line"]
    rings: tuple[tuple[Point, ...], ...]
    name: str
    fabric: str | None = None
    label: str | None = None


def build_drawing(
    outlines: Sequence[Outline], *, source: str, width: float | None, points_left_out: int = 0
) -> Drawing:
    """Make a drawing of polygons and lines.

    Parameters
    ----------
    outlines
        In the order of the file.
    source
        File name for messages.
    width
        Inches that the bounding box of all of them is made wide; None keeps the size.
    points_left_out
        Number of points in the file; they mean nothing.

    Raises
    ------
    DrawingError
        ``empty``, ``bad-number``, ``zero-size``, ``open-ring``, ``self-crossing``, ``hole``; every place is named, in
        inches from the top left corner of the drawing's bounding box.
    LimitError
        If there are more points than are read, or the drawing is larger than makes sense.
    """
    sizes = [len(ring) for outline in outlines for ring in outline.rings]
    if not sizes:
        message = "The file has no polygons or lines to make patches of."
        raise DrawingError(Finding("empty", message), source=source)
    if sum(sizes) > limits.MAX_POINTS:
        message = f"The drawing has {sum(sizes):,} points; at most {limits.MAX_POINTS:,} are read. Simplify it."
        limits.refuse(message, source=source)
    at = np.array([point for outline in outlines for ring in outline.rings for point in ring], dtype=float)
    _check_numbers(at, outlines, source)
    placed = iter(np.split(_placed(at, width, source), np.cumsum(sizes)[:-1]))
    rings = [[next(placed) for _ in outline.rings] for outline in outlines]
    faults = [fault for outline, own in zip(outlines, rings, strict=True) for fault in _faults(outline, own)]
    if faults:
        raise DrawingError(_not_too_many(faults), source=source)
    return Drawing(
        source,
        "polygons",
        tuple(_shape(outline, own) for outline, own in zip(outlines, rings, strict=True)),
        tuple(_labels(outlines, rings)),
        notes=tuple(_notes(outlines, points_left_out)),
    )


def _check_numbers(at: Floats, outlines: Sequence[Outline], source: str) -> None:
    if np.isfinite(at).all():
        return
    for outline in outlines:
        for ring in outline.rings:
            for x, y in ring:
                if not (math.isfinite(x) and math.isfinite(y)):
                    message = f"In {outline.name} a coordinate is no number that can be drawn: ({x:g}, {y:g})."
                    raise DrawingError(Finding("bad-number", message), source=source)


def _placed(at: Floats, width: float | None, source: str) -> Floats:
    """Return the points in inches from the top left corner of their bounding box, y down."""
    (left, bottom), (right, top) = at.min(axis=0).tolist(), at.max(axis=0).tolist()
    across, down = right - left, top - bottom
    if not math.isfinite(across + down):
        limits.refuse("The coordinates of the drawing are too large to be drawn.", source=source)
    if across <= 0.0 and (width is not None or down <= 0.0):
        message = "The drawing has no width."
        raise DrawingError(Finding("zero-size", message), source=source)
    scale = 1.0 if width is None else width / across
    if not max(across, down) * scale <= limits.MAX_INCHES:
        message = (
            f"The drawing is {across * scale:.3g} by {down * scale:.3g} in at finished size; at most "
            f"{limits.MAX_INCHES:,.0f} in are read. Give its width in inches with {WIDTH}."
        )
        limits.refuse(message, source=source, remedies=(WIDTH,))
    placed: Floats = (at - (left, top)) * (scale, -scale) + 0.0
    placed[np.abs(placed) < limits.LEAST_INCHES] = 0.0
    return placed


def _not_too_many(faults: list[Finding]) -> list[Finding]:
    more = len(faults) - _MOST_FINDINGS
    if more <= 0:
        return faults
    return [*faults[:_MOST_FINDINGS], Finding("more-findings", f"There are {more} more faults of these kinds.")]


def _point(at: Floats) -> Point:
    return float(at[0]), float(at[1])


def _words(at: Point) -> str:
    return f"({at[0] + 0.0:.2f}, {at[1] + 0.0:.2f}) in"


def _faults(outline: Outline, rings: Sequence[Floats]) -> Iterator[Finding]:
    first = _point(rings[0][0])
    if outline.kind == "line":
        if np.ptp(rings[0], axis=0).max() <= _NO_SIZE:
            yield Finding("zero-size", f"{outline.name.capitalize()} at {_words(first)} has no length.", first)
        return
    for ring in rings:
        if (ring[0] != ring[-1]).any():
            at = _point(ring[-1])
            message = (
                f"A ring of {outline.name} ends at {_words(at)}, but begins at {_words(_point(ring[0]))}. Its last "
                "point must be its first."
            )
            yield Finding("open-ring", message, at)
            return
    outer, *holes = rings
    polygon = shapely.Polygon(outer) if len(outer) > 3 else None
    if polygon is None or polygon.convex_hull.area <= _NO_SIZE:
        yield Finding("zero-size", f"{outline.name.capitalize()} at {_words(first)} has no area.", first)
    elif not polygon.is_valid:
        at = _where_invalid(polygon) or first
        message = (
            f"The outline of {outline.name} crosses or touches itself at {_words(at)}. Draw it as it will be cut."
        )
        yield Finding("self-crossing", message, at)
    else:
        yield from (_hole(outline, _point(hole[0])) for hole in holes)


def _hole(outline: Outline, at: Point) -> Finding:
    message = (
        f"There is a hole in {outline.name} at {_words(at)}, where no seam can reach it. Draw seams from the hole to "
        "the edge of the patch, so that the patch becomes two."
    )
    return Finding("hole", message, at)


def _where_invalid(polygon: shapely.Polygon) -> Point | None:
    """Return where a polygon crosses itself, as the geometry library tells it: ``Self-intersection[1 2]``."""
    _, _, place = shapely.is_valid_reason(polygon).partition("[")
    numbers = place.rstrip("]").split()
    try:
        return float(numbers[0]), float(numbers[1])
    except (IndexError, ValueError):
        return None


def _shape(outline: Outline, rings: Sequence[Floats]) -> Shape:
    closed = outline.kind == "polygon"
    tracks = []
    for ring in rings:
        moves = np.append(True, (ring[1:] != ring[:-1]).any(axis=1))
        points = ring[moves][:-1] if closed else ring[moves]
        made = tuple(map(_point, points))
        tracks.append(Track(made, closed, (STRAIGHT,) * (len(made) - (not closed))))
    return Shape(tuple(tracks), (outline.fabric or "") if closed else None, True, not closed, outline.name)


def _labels(outlines: Sequence[Outline], rings: Sequence[Sequence[Floats]]) -> Iterator[Label]:
    for outline, own in zip(outlines, rings, strict=True):
        if outline.label and outline.kind == "polygon":
            inside = shapely.point_on_surface(shapely.Polygon(own[0]))
            yield Label(outline.label, (float(inside.x), float(inside.y)))


def _notes(outlines: Sequence[Outline], points: int) -> Iterator[Finding]:
    if points:
        many = "1 point is" if points == 1 else f"{points} points are"
        yield Finding("points-left-out", f"{many} left out: points make no patches.")
    named = sum(outline.kind == "line" and bool(outline.fabric or outline.label) for outline in outlines)
    if named:
        many = "1 line" if named == 1 else f"{named} lines"
        yield Finding("property-left-out", f"The fabrics and labels of {many} are left out: only polygons have them.")

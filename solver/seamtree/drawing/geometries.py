"""What GeoJSON and WKT have in common: polygons and lines in inches, y up, made into a drawing."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import shapely

from seamtree.drawing import limits
from seamtree.drawing.model import STRAIGHT, Drawing, Label, Shape, Track
from seamtree.errors import DrawingError, Finding, Point

_MOST_FINDINGS = 50


@dataclass(frozen=True, slots=True)
class Outline:
    """One polygon or line as the file says it.

    Parameters
    ----------
    kind
        What it is.
    rings
        The rings of a polygon, each closed, or the points of a line; inches, y up.
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
    outlines: Sequence[Outline], *, source: str, width: float | None, notes: Sequence[Finding] = ()
) -> Drawing:
    """Make a drawing of polygons and lines.

    Parameters
    ----------
    outlines
        In the order of the file.
    source
        File name.
    width
        Finished width of the bounding box of all of them, inches; None keeps the size.
    notes
        Findings to hand on.

    Raises
    ------
    DrawingError
        If polygons cross themselves, are not closed, have holes or no area, or there is nothing to sew.
    """
    points = [point for outline in outlines for ring in outline.rings for point in ring]
    if not points:
        raise DrawingError(Finding("empty", "There is nothing to sew: no polygon and no line."), source=source)
    if len(points) > limits.MAX_POINTS:
        limits.refuse(
            f"The drawing has {len(points):,} points; at most {limits.MAX_POINTS:,} are read.", source=source
        )
    place = _frame(points, width, source)
    faults = [fault for outline in outlines for fault in _faults(outline, place)]
    if faults:
        raise DrawingError(_not_too_many(faults), source=source)
    shapes = tuple(_shape(outline, place) for outline in outlines)
    labels = tuple(_label(outline, place) for outline in outlines if outline.label and outline.kind == "polygon")
    return Drawing(source, "polygons", shapes, labels, notes=tuple(notes))


def _not_too_many(faults: list[Finding]) -> list[Finding]:
    if len(faults) <= _MOST_FINDINGS:
        return faults
    more = Finding("more", f"There are {len(faults) - _MOST_FINDINGS} more findings of this kind.")
    return [*faults[:_MOST_FINDINGS], more]


@dataclass(frozen=True, slots=True)
class _Frame:
    """The way from the coordinates of the file to inches from the top left corner, y down."""

    left: float
    top: float
    scale: float

    def __call__(self, point: Point) -> Point:
        return (point[0] - self.left) * self.scale, (self.top - point[1]) * self.scale


def _frame(points: Sequence[Point], width: float | None, source: str) -> _Frame:
    for x, y in points:
        if not (math.isfinite(x) and math.isfinite(y)):
            raise DrawingError(Finding("bad-number", f"A coordinate is no number: {x}, {y}."), source=source)
    left, right = min(x for x, _ in points), max(x for x, _ in points)
    bottom, top = min(y for _, y in points), max(y for _, y in points)
    if not (right > left and top > bottom):
        message = "The drawing has no width or no height, so nothing can be sewn."
        raise DrawingError(Finding("zero-size", message), source=source)
    scale = 1.0 if width is None else width / (right - left)
    if max(right - left, top - bottom) * scale > limits.MAX_INCHES or not math.isfinite(scale):
        message = f"The drawing is larger than {limits.MAX_INCHES:,.0f} in; state its size with --width."
        limits.refuse(message, source=source)
    return _Frame(left, top, scale)


def _faults(outline: Outline, place: _Frame) -> list[Finding]:
    first = outline.rings[0]
    at = place(first[0])
    where = f"{outline.name} at {at[0]:.2f}, {at[1]:.2f} in"
    if outline.kind == "line":
        return [] if len(set(first)) > 1 else [Finding("zero-size", f"The line {where} has no length.", at)]
    if any(ring[0] != ring[-1] for ring in outline.rings):
        return [Finding("open-ring", f"The polygon {where} is not closed: its last point must be its first.", at)]
    if len(set(first)) < 3 or shapely.Polygon(first).area == 0:
        return [Finding("zero-size", f"The polygon {where} has no area.", at)]
    polygon = shapely.Polygon(first)
    if not polygon.is_valid:
        cross = _crossing(polygon, place) or at
        message = f"The polygon {where} crosses or touches itself at {cross[0]:.2f}, {cross[1]:.2f} in."
        return [Finding("self-crossing", message, cross)]
    if len(outline.rings) > 1:
        hole = place(outline.rings[1][0])
        message = (
            f"The polygon {where} has a hole at {hole[0]:.2f}, {hole[1]:.2f} in. No patch of fabric can have a hole: "
            "carry a seam from the hole to the edge."
        )
        return [Finding("patch-in-patch", message, hole)]
    return []


def _crossing(polygon: shapely.Polygon, place: _Frame) -> Point | None:
    """Return where a ring crosses itself, as far as the geometry library says."""
    reason = shapely.is_valid_reason(polygon)
    try:
        x, y = reason[reason.index("[") + 1 : reason.index("]")].split()[:2]
        return place((float(x), float(y)))
    except ValueError:
        return None


def _shape(outline: Outline, place: _Frame) -> Shape:
    closed = outline.kind == "polygon"
    tracks = []
    for ring in outline.rings:
        points = [place(point) for point in (ring[:-1] if closed else ring)]
        points = [p for n, p in enumerate(points) if n == 0 or p != points[n - 1]]
        tracks.append(Track(tuple(points), closed, (STRAIGHT,) * (len(points) - (not closed))))
    fill = (outline.fabric or "") if closed else None
    return Shape(tuple(tracks), fill, evenodd=True, stroked=not closed, name=outline.name)


def _label(outline: Outline, place: _Frame) -> Label:
    inner = shapely.point_on_surface(shapely.Polygon(outline.rings[0]))
    return Label(outline.label or "", place((float(inner.x), float(inner.y))))

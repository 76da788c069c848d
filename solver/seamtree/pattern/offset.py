"""The line one allowance outside an outline, with corners as cutters want them."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import shapely

from seamtree.errors import Point
from seamtree.geometry.straight import cross

BLUNT = 4.0
"""Corners whose tip would lie farther from the seam's corner than this many allowances are cut off blunt there.

That happens below an angle of 2·arcsin(1/4) = 28.96°, so the tips of half-square and quarter-square triangles (45°)
and of thirty-degree diamonds stay whole. To cut very sharp tips off blunt is common practice; the number is ours.
"""

_STRAIGHT = 1e-7
"""Inches; a corner that lies less far off the line of its neighbours is none."""


def offset_outline(ring: Sequence[Point], distance: float, *, blunt: float = BLUNT) -> tuple[Point, ...]:
    """Return the outline of an area grown by a distance, its corners mitred.

    Parameters
    ----------
    ring
        Corners of a simple polygon in turn, either way round.
    distance
        How far outside the new line runs, same unit as the corners.
    blunt
        Corners whose tip would lie farther off than this many distances are cut off there.

    Returns
    -------
    tuple of points
        Corners in turn; every side runs parallel to a side of the ring, save for the ends of blunt tips. A notch that
        is too narrow for two distances is closed.

    Notes
    -----
    The grown area is put together from the area itself, a strip along every side, and a kite in front of every corner
    that points outward: two sides at an angle *a* meet, one distance farther out, distance / sin(a / 2) from their
    corner.
    """
    area = shapely.Polygon(ring)
    corners = list(area.exterior.coords)[:-1]
    if not area.exterior.is_ccw:
        corners.reverse()
    sides = list(zip(corners, (*corners[1:], corners[0]), strict=True))
    normals = [_normal(a, b) for a, b in sides]
    strips = [
        shapely.Polygon([b, a, _moved(a, n, distance), _moved(b, n, distance)])
        for (a, b), n in zip(sides, normals, strict=True)
    ]
    kites = [
        shapely.Polygon(_kite(corner, before, after, distance, blunt))
        for corner, before, after in zip(corners, (normals[-1], *normals[:-1]), normals, strict=True)
        if before[0] * after[1] - before[1] * after[0] > _STRAIGHT
    ]
    grown = shapely.union_all([area, *strips, *kites])
    return tuple(_without_straight_corners(list(grown.exterior.coords)[:-1]))


def _normal(a: Point, b: Point) -> Point:
    """Return the unit vector to the right of a side."""
    length = math.dist(a, b)
    return (b[1] - a[1]) / length, (a[0] - b[0]) / length


def _moved(at: Point, direction: Point, distance: float) -> Point:
    return at[0] + direction[0] * distance, at[1] + direction[1] * distance


def _kite(corner: Point, before: Point, after: Point, distance: float, blunt: float) -> Iterator[Point]:
    """Yield the corners of what fills the gap between the strips of two sides at a corner."""
    yield corner
    yield _moved(corner, before, distance)
    bisector = before[0] + after[0], before[1] + after[1]
    doubled = bisector[0] ** 2 + bisector[1] ** 2
    sine = math.sqrt(doubled) / 2  # of half the angle between the sides
    if sine >= 1 / blunt - 1e-9:
        yield _moved(corner, bisector, 2 * distance / doubled)
    else:
        past = distance * (blunt - sine) / math.sqrt(1 - sine * sine)
        yield _moved(_moved(corner, before, distance), (-before[1], before[0]), past)
        yield _moved(_moved(corner, after, distance), (after[1], -after[0]), past)
    yield _moved(corner, after, distance)


def _without_straight_corners(ring: Sequence[Point]) -> list[Point]:
    """Return a ring without corners at which it runs straight on."""
    kept: list[Point] = []
    for n, here in enumerate(ring):
        before, after = kept[-1] if kept else ring[-1], ring[(n + 1) % len(ring)]
        base = math.dist(before, after)
        doubled = cross(before, here, after)
        if math.dist(before, here) > _STRAIGHT and base > _STRAIGHT and abs(doubled) / base > _STRAIGHT:
            kept.append(here)
    return kept

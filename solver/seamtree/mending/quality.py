"""What is awkward to sew: sharp points and narrow strips.

Both limits are ours, set by common practice: a seam allowance is 1/4 in on either side, so in a patch narrower than
about 1/3 in the allowances lie on each other over the whole patch, and a point sharper than about 20 degrees is all
allowance for more than an inch.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import shapely

from seamtree.errors import Point

SHARP_DEGREES = 20.0
"""A patch with a smaller angle has a sharp point."""

NARROW_INCHES = 0.35
"""A patch that is nowhere as wide as this is narrow."""


def is_awkward(corners: Sequence[Point]) -> bool:
    """Tell whether a patch with these corners has a sharp point or is narrow."""
    return _sharpest(corners) < SHARP_DEGREES or bool(shapely.Polygon(corners).buffer(-NARROW_INCHES / 2).is_empty)


def _sharpest(corners: Sequence[Point]) -> float:
    """Return the smallest angle of a patch, degrees."""
    smallest = 360.0
    for before, here, after in _corners_in_turn(corners):
        first = math.atan2(before[1] - here[1], before[0] - here[0])
        second = math.atan2(after[1] - here[1], after[0] - here[0])
        turned = math.degrees(abs(first - second)) % 360.0
        smallest = min(smallest, turned, 360.0 - turned)
    return smallest


def _corners_in_turn(corners: Sequence[Point]) -> Iterator[tuple[Point, Point, Point]]:
    yield from zip((corners[-1], *corners), corners, (*corners[1:], corners[0]), strict=False)


def is_distinct(corners: Sequence[Point], *, tolerance: float) -> bool:
    """Tell whether a patch stays what it is when ends that miss by less than the tolerance are snapped.

    No corner may come near to a side that it does not belong to, and something must be left when the patch is shrunk.
    """
    if len(corners) < 3 or len(set(corners)) < len(corners):
        return False
    ring = shapely.Polygon(corners)
    if not ring.is_valid or ring.buffer(-tolerance).is_empty:
        return False
    count = len(corners)
    for i, corner in enumerate(corners):
        for k in range(i + 1, i + count - 1):
            if _distance(corner, corners[k % count], corners[(k + 1) % count]) <= tolerance:
                return False
    return True


def _distance(at: Point, start: Point, end: Point) -> float:
    """Return the distance of a place from a stretch."""
    dx, dy = end[0] - start[0], end[1] - start[1]
    share = ((at[0] - start[0]) * dx + (at[1] - start[1]) * dy) / (dx * dx + dy * dy)
    share = min(1.0, max(0.0, share))
    return math.hypot(at[0] - start[0] - share * dx, at[1] - start[1] - share * dy)

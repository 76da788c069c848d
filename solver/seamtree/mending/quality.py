"""What is awkward to sew: sharp points and narrow strips.

Both limits are ours, set by common practice: a seam allowance is 1/4 in on either side, so in a patch narrower than
3/8 in the allowances lie on each other over the whole patch, and a point sharper than about 20 degrees is all
allowance for more than an inch.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import shapely

from seamtree.errors import Point

SHARP_DEGREES = 20.0
"""A patch with a smaller angle has a sharp point."""

NARROW_INCHES = 0.375
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

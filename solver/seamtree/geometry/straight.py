"""The one place that decides what is in line.

A run of points is one line when no point strays from its best line by more than the tolerance. The best line
is the one that minimises the largest distance (Chebyshev), so the straying is half the least width of the
convex hull, and a least-width strip has a hull edge on one of its sides (Houle & Toussaint 1988, 'Computing the
width of a set').
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from seamtree.errors import Point
from seamtree.tolerances import MAX_TURN_DEGREES

_LEAST_COSINE = math.cos(math.radians(MAX_TURN_DEGREES))


def cross(o: Point, a: Point, b: Point) -> float:
    """Return twice the signed area of the triangle o, a, b."""
    return (a[0] - o[0]) * (b[1] - o[1]) - (a[1] - o[1]) * (b[0] - o[0])


def convex_hull(points: Sequence[Point]) -> list[Point]:
    """Return the corners of the convex hull in turn (Andrew's monotone chain)."""
    ordered = sorted(set(points))
    if len(ordered) < 3:
        return ordered

    def half(run: Sequence[Point]) -> list[Point]:
        chain: list[Point] = []
        for point in run:
            while len(chain) >= 2 and cross(chain[-2], chain[-1], point) <= 0:
                chain.pop()
            chain.append(point)
        return chain[:-1]

    return half(ordered) + half(ordered[::-1])


def straying(points: Sequence[Point]) -> float:
    """Return how far the points stray, at least, from the line that fits them best (inches)."""
    if len(points) == 3:
        a, b, c = points  # a triangle is narrowest across its longest side
        longest = max(math.dist(a, b), math.dist(b, c), math.dist(c, a))
        return abs(cross(a, b, c)) / longest / 2 if longest else 0.0
    hull = convex_hull(points)
    if len(hull) < 3:
        return 0.0
    widths = []
    for start, end in zip(hull, hull[1:] + hull[:1], strict=True):
        length = math.dist(start, end)
        widths.append(max(cross(start, end, point) for point in hull) / length)
    return min(widths) / 2


def is_straight(points: Sequence[Point], *, tolerance: float) -> bool:
    """Tell whether a run of points is one line within the tolerance and never turns back."""
    if len(points) < 3:
        return True
    left, top = points[0]
    dx, dy = points[-1][0] - left, points[-1][1] - top
    length = math.hypot(dx, dy)
    widest = along = 0.0
    for x, y in points[1:]:
        before, along = along, (x - left) * dx + (y - top) * dy
        if along <= before:
            return False
        widest = max(widest, abs(dx * (y - top) - dy * (x - left)))
    # Distances from the chord bound the straying from both sides; the hull is needed only in between.
    if widest <= tolerance * length:
        return True
    return widest <= 2 * tolerance * length and straying(points) <= tolerance


def in_line(before: Point, junction: Point, after: Point, *, tolerance: float) -> bool:
    """Tell whether two edges that meet at a junction are in line there."""
    ax, ay = junction[0] - before[0], junction[1] - before[1]
    bx, by = after[0] - junction[0], after[1] - junction[1]
    lengths = math.hypot(ax, ay) * math.hypot(bx, by)
    if lengths == 0.0 or ax * bx + ay * by < _LEAST_COSINE * lengths:
        return False
    # The junction strays from the chord by so much; what strays from the best line is half of it at most.
    away = abs(ax * by - ay * bx) / math.hypot(ax + bx, ay + by)
    return away <= tolerance or (away <= 2 * tolerance and straying((before, junction, after)) <= tolerance)


def is_smooth(before: Point, at: Point, after: Point, *, tolerance: float) -> bool:
    """Tell whether two chords may follow each other on a flattened curve.

    They turn no more than edges in line do, or so close to the straight way that healing may have turned them.

    Parameters
    ----------
    before, at, after
        The ends of the chords in turn; inches.
    tolerance
        What cloth cannot tell apart, inches.
    """
    ax, ay = at[0] - before[0], at[1] - before[1]
    bx, by = after[0] - at[0], after[1] - at[1]
    ahead = ax * bx + ay * by
    if ahead > _LEAST_COSINE * math.hypot(ax, ay) * math.hypot(bx, by):
        return True
    dx, dy = after[0] - before[0], after[1] - before[1]
    squared = dx * dx + dy * dy
    share = min(1.0, max(0.0, (ax * dx + ay * dy) / squared)) if squared else 0.0
    return math.hypot(share * dx - ax, share * dy - ay) < 2 * tolerance

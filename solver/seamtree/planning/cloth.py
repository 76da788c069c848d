"""The cloth that a plan is checked on: patches, the stretches of boundary between them, and what is straight.

Written for `seamtree.planning.replay` and used by nothing else, so that a plan is never judged by the code that
made it. Everything here follows from the corners of the patches.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise, repeat

import numpy as np
import numpy.typing as npt
import shapely

from seamtree.errors import Point, ReplayError
from seamtree.tolerances import MAX_TURN_DEGREES

_SLACK = 1e-9
"""Inches by which straying and the like may differ from a limit by mere rounding."""

_DECIMALS = 6
"""Decimals of the coordinates of a plan as data."""

_SAME = 10.0**-_DECIMALS
"""Inches; a point of a plan this close to a corner of the block is that corner."""

_NO_CLOTH = "the patches of the block leave gaps, overlap, or do not share the corners between them"

_AT_A_TIME = 4_000_000
"""Distances of corners from sides that are looked at in one go."""

Floats = npt.NDArray[np.float64]
Ring = tuple[int, ...]
Chord = tuple[Point, Point]


class Cloth:
    """The patches of a block with the corners that they share.

    Parameters
    ----------
    polygons
        The corners of the patches in turn (inches), either way round. Neighbours share all corners of the boundary
        between them, as numbers that are equal.
    tolerance
        What cloth cannot tell apart, inches.
    curves
        For each smooth curve of the drawing the corners at the ends of its chords.

    Attributes
    ----------
    points
        The corners, numbered.
    rings
        The numbers of the corners of each patch, all the same way round, starting with the smallest.
    patch_at
        The patch whose ring leads from one corner to another.
    arms
        For each corner the corners it is connected to.
    outline
        The corners on the outline of the block.

    Raises
    ------
    ReplayError
        If the patches do not lie side by side in one piece of cloth.
    """

    def __init__(
        self, polygons: Sequence[Sequence[Point]], *, tolerance: float, curves: Sequence[Sequence[Chord]] = ()
    ) -> None:
        if not polygons:
            raise ReplayError("the block has no patches")
        self.tolerance = tolerance
        number: dict[Point, int] = {}
        rings = [tuple(number.setdefault((x, y), len(number)) for x, y in polygon) for polygon in polygons]
        self.points = list(number)
        self._cells: dict[Point, list[int]] = {}
        for n, point in enumerate(self.points):
            self._cells.setdefault(_cell(point), []).append(n)
        self.rings = [self.turned(ring) for ring in rings]
        self.patch_at: dict[tuple[int, int], int] = {}
        self.arms: list[list[int]] = [[] for _ in self.points]
        for patch, ring in enumerate(self.rings):
            for side in sides(ring):
                if side in self.patch_at:
                    raise ReplayError(f"two patches of the block overlap at {self.place(side[0])}")
                self.patch_at[side] = patch
        for a, b in self.patch_at:
            if a < b or (b, a) not in self.patch_at:
                self.arms[a].append(b)
                self.arms[b].append(a)
        self._curve_of = {
            frozenset((number[a], number[b])): curve for curve, chords in enumerate(curves) for a, b in chords
        }
        free = [side for side in self.patch_at if side[::-1] not in self.patch_at]
        self.outline = {corner for side in free for corner in side}
        self._check(free)

    def turned(self, ring: Sequence[int]) -> Ring:
        """Return a ring with positive area that starts with its smallest corner."""
        if len(ring) < 3:
            raise ReplayError(f"a patch has {len(ring)} corners")
        ring = list(ring) if self._doubled_area(ring) > 0 else list(reversed(ring))
        at = ring.index(min(ring))
        return tuple(ring[at:] + ring[:at])

    def _doubled_area(self, ring: Sequence[int]) -> float:
        points = [self.points[n] for n in ring]
        return sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(points, points[1:] + points[:1], strict=True))

    def _check(self, free: Sequence[tuple[int, int]]) -> None:
        """Check that the patches lie side by side.

        Where every patch is a simple polygon, all go round the same way and the sides that no two patches share form
        the border of one simple area, the patches cover this area once: the number of patches over a point is the
        number of times that the border goes round it.
        """
        corners = [self.points[n] for ring in self.rings for n in (*ring, ring[0])]
        owner = [patch for patch, ring in enumerate(self.rings) for _ in range(len(ring) + 1)]
        polygons = shapely.polygons(shapely.linearrings(np.array(corners), indices=np.array(owner)))
        wrong = np.flatnonzero(~shapely.is_valid(polygons))
        if len(wrong):
            raise ReplayError(f"the patch at {self.place(self.rings[wrong[0]][0])} is not a simple polygon")
        onward: dict[int, int] = dict(free)
        if len(onward) < len(free):
            starts = sorted(start for start, _ in free)
            twice = next(a for a, b in pairwise(starts) if a == b)
            raise ReplayError(f"{_NO_CLOTH}; see {self.place(twice)}")
        shell, *holes = sorted(_follow_rings(onward), key=self._doubled_area, reverse=True)
        border = shapely.Polygon([self.points[n] for n in shell], [[self.points[n] for n in hole] for hole in holes])
        if not border.is_valid or any(self._doubled_area(hole) > 0 for hole in holes):
            raise ReplayError(_NO_CLOTH)

    def place(self, corner: int) -> str:
        """Return where a corner is, for messages."""
        x, y = self.points[corner]
        return f"({x:.2f}, {y:.2f}) in"

    def corner(self, point: Sequence[float]) -> int:
        """Return the corner at a point of a plan.

        Raises
        ------
        ReplayError
            If there is none.
        """
        x, y = point
        home = _cell((x, y))
        near = self._cells.get(home) or [
            n
            for dx in (-1, 0, 1)
            for dy in (-1, 0, 1)
            for n in self._cells.get(_cell((home[0] + dx * _SAME, home[1] + dy * _SAME)), ())
        ]
        best = min(near, key=lambda n: math.dist(self.points[n], (x, y)), default=None)
        if best is None or math.dist(self.points[best], (x, y)) > 2 * _SAME:
            raise ReplayError(f"the block has no corner at ({x:.6f}, {y:.6f}) in")
        return best

    # -- what is straight -----------------------------------------------------------------------------------

    def may_be_straight(self, path: Sequence[int]) -> bool:
        """Tell whether a path is straight: it strays no further than the tolerance and never turns back."""
        points = [self.points[n] for n in path]
        if not _advances(points, -_SLACK) or _far_off(points, 2 * (self.tolerance + _SLACK)):
            return False
        return stray(points) <= self.tolerance + _SLACK

    def must_be_straight(self, path: Sequence[int]) -> bool:
        """Tell whether a path is straight beyond doubt, at every corner and as a whole."""
        points = [self.points[n] for n in path]
        return (
            _advances(points, _SLACK)
            and not _far_off(points, 2 * self.tolerance)
            and stray(points) < self.tolerance - _SLACK
            and all(self.must_be_in_line(a, b, c) for a, b, c in _triples(path))
        )

    def may_be_in_line(self, before: int, corner: int, after: int) -> bool:
        """Tell whether two sides that meet at a corner can be taken for one line."""
        turn = self.turn(before, corner, after)
        return turn <= MAX_TURN_DEGREES + 1e-6 and self.may_be_straight((before, corner, after))

    def must_be_in_line(self, before: int, corner: int, after: int) -> bool:
        """Tell whether they are in line beyond doubt, with no third side that could be in line with one of them."""
        if corner in self.outline or self.turn(before, corner, after) > MAX_TURN_DEGREES - 1e-6:
            return False
        a, b, c = (self.points[n] for n in (before, corner, after))
        if stray((a, b, c)) > self.tolerance - _SLACK:
            return False
        others = [n for n in self.arms[corner] if n not in (before, after)]
        if any(self.may_be_in_line(n, corner, end) for n in others for end in (before, after)):
            return False
        return not self._goes_round(before, corner, after)

    def _goes_round(self, before: int, corner: int, after: int) -> bool:
        """Tell whether sides in line lead from a corner back to it: such a line has its ends somewhere on its way."""
        stack = [(corner, after)]
        seen = set(stack)
        while stack:
            last, here = stack.pop()
            if (last, here) == (before, corner):
                return True
            for far in self.arms[here]:
                if far != last and (here, far) not in seen and self.may_be_in_line(last, here, far):
                    seen.add((here, far))
                    stack.append((here, far))
        return False

    def may_be_smooth(self, before: int, corner: int, after: int) -> bool:
        """Tell whether a flattened curve can pass a corner: it turns little, or the sides are tiny."""
        if self.turn(before, corner, after) <= MAX_TURN_DEGREES:
            return True
        a, b, c = (self.points[n] for n in (before, corner, after))
        return bool(shapely.LineString((a, c)).distance(shapely.Point(b)) <= 2 * self.tolerance)

    def on_curve(self, before: int, corner: int, after: int) -> bool:
        """Tell whether two sides that meet at a corner are chords of one drawn curve."""
        curves = {self._curve_of.get(frozenset(side)) for side in ((before, corner), (corner, after))}
        return len(curves) == 1 and None not in curves

    def turn(self, before: int, corner: int, after: int) -> float:
        """Return by how many degrees a path turns at a corner."""
        a, b, c = (self.points[n] for n in (before, corner, after))
        first = math.atan2(b[1] - a[1], b[0] - a[0])
        second = math.atan2(c[1] - b[1], c[0] - b[0])
        return abs(math.degrees(math.remainder(second - first, math.tau)))


def _cell(point: Point) -> Point:
    return round(point[0], _DECIMALS), round(point[1], _DECIMALS)


def sides(ring: Sequence[int]) -> Iterator[tuple[int, int]]:
    """Yield the sides of a ring from corner to corner."""
    yield from pairwise(ring)
    yield ring[-1], ring[0]


def _triples(path: Sequence[int]) -> Iterator[tuple[int, int, int]]:
    return zip(path, path[1:], path[2:], strict=False)


def _follow_rings(onward: Mapping[int, int]) -> Iterator[list[int]]:
    """Yield the rings of sides that follow each other."""
    left = dict(onward)
    while left:
        first, at = left.popitem()
        ring = [first]
        while at != first:
            ring.append(at)
            at = left.pop(at)
        yield ring


def stray(points: Sequence[Point]) -> float:
    """Return how far points stray, at least, from any one straight line (inches).

    The narrowest strip round the points touches a side of their convex hull.
    """
    if len(points) < 3:
        return 0.0
    if len(points) == 3:
        (ax, ay), (bx, by), (cx, cy) = points
        doubled = abs((bx - ax) * (cy - ay) - (by - ay) * (cx - ax))
        longest = max(math.hypot(bx - ax, by - ay), math.hypot(cx - bx, cy - by), math.hypot(ax - cx, ay - cy))
        return doubled / longest / 2 if longest else 0.0
    hull = shapely.MultiPoint(points).convex_hull
    if hull.geom_type != "Polygon":
        return 0.0
    corners = shapely.get_coordinates(hull)
    along = np.diff(corners, axis=0)
    along /= np.hypot(along[:, 0], along[:, 1])[:, None]
    # Flattened curves may have very many corners: in groups, so that memory does not grow with their square.
    cuts = min(len(along), 1 + len(along) * len(corners) // _AT_A_TIME)
    return min(map(_strip, np.array_split(corners[:-1], cuts), np.array_split(along, cuts), repeat(corners))) / 2


def _strip(starts: Floats, along: Floats, corners: Floats) -> float:
    """Return the width of the narrowest strip round all corners with a side along one of some sides of the hull."""
    away = corners[None, :, :] - starts[:, None, :]
    return float(np.abs(along[:, None, 0] * away[:, :, 1] - along[:, None, 1] * away[:, :, 0]).max(axis=1).min())


def _far_off(points: Sequence[Point], distance: float) -> bool:
    """Tell for points that advance whether any strip round them is, beyond doubt, wider than a distance.

    It is at least as wide as the triangle of the first, the last and the farthest from the line through both is high
    over its longest side.
    """
    (ax, ay), (bx, by) = points[0], points[-1]
    length = math.hypot(bx - ax, by - ay)
    doubled = max(abs((bx - ax) * (y - ay) - (by - ay) * (x - ax)) for x, y in points)
    return doubled > distance * math.hypot(length, doubled / length)


def _advances(points: Sequence[Point], least: float) -> bool:
    """Tell whether every point lies beyond the one before it, seen from the first to the last."""
    (ax, ay), (bx, by) = points[0], points[-1]
    length = math.hypot(bx - ax, by - ay)
    if length == 0.0:
        return False
    along = [((x - ax) * (bx - ax) + (y - ay) * (by - ay)) / length for x, y in points]
    return all(after - before > least for before, after in pairwise(along))

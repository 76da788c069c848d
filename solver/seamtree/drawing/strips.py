"""Thick strokes as strips of fabric: the area that a line of some width covers, with its caps and joins.

The rules are those of SVG 2, section 13.5 (stroke properties) and 13.5.8 (computing the shape of the stroke): every
straight piece is a rectangle, every corner has a join on its outer side, every free end a cap.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np
import numpy.typing as npt
import shapely

from seamtree.drawing.affine import Affine, apply_all, compose, inverse
from seamtree.drawing.drawn import STRAIGHT, Track
from seamtree.drawing.flatten import Flattener, arc_chords
from seamtree.drawing.outlines import Arc, arc_point
from seamtree.drawing.painted import Stroke
from seamtree.errors import Point
from seamtree.tolerances import FLATTEN_SHARE

_GRID = 1e-9
"""What is united is rounded to this (inches), so that the sides of pieces that meet do meet."""

_NEAR = 1e-7
"""Points nearer to the side of a piece (inches) lie on it."""

_LEAST_AREA = 1e-12
"""Pieces with less area (square inches) are nothing."""

_STRAIGHT_ON = 1e-9
"""A corner that turns by less (radians) has no join."""


Label = tuple[int | str, str | int]
"""Which curve of the outline a side belongs to: the drawn curve and on which side of it, or a round cap or join."""

Floats = npt.NDArray[np.float64]


def strip_tracks(
    tracks: Iterable[Track], stroke: Stroke, scale: float, *, tolerance: float, flattener: Flattener
) -> tuple[Track, ...]:
    """Return the outline of what a stroke covers.

    Parameters
    ----------
    tracks
        The centre lines, inches.
    stroke
        How they are painted.
    scale
        Inches to the px.
    tolerance
        What cloth cannot tell apart, inches; round caps and joins get chords within a share of it.
    flattener
        Numbers the curves of the outline.

    Returns
    -------
    tuple of Track
        Closed; inside and outside are told apart by the even-odd rule.
    """
    brush = _Brush(stroke, scale, FLATTEN_SHARE * tolerance)
    for track in tracks:
        brush.follow(track)
    return tuple(brush.outline(flattener))


@dataclass(slots=True)
class _Brush:
    """Collects the pieces that a stroke is made of, in inches."""

    stroke: Stroke
    scale: float
    reach: float
    pieces: list[shapely.Geometry] = field(default_factory=list)
    sides: list[tuple[Point, Point]] = field(default_factory=list)
    curves: list[Label | None] = field(default_factory=list)
    to_inches: Affine = field(init=False)
    half: float = field(init=False)

    def __post_init__(self) -> None:
        enlarged = (self.scale, 0.0, 0.0, self.scale, 0.0, 0.0)
        self.to_inches = compose(enlarged, self.stroke.matrix)
        self.half = self.stroke.width / 2

    def follow(self, track: Track) -> None:
        """Add what a stroke along a track covers."""
        points = apply_all(inverse(self.to_inches), track.path)
        ways = _directions(points, track.curves, closed=track.closed)
        for (start, end), (leaves, arrives), number in zip(pairwise(points), ways, track.curves, strict=True):
            self._piece(start, end, self._across(leaves), self._across(arrives), number)
        corners = [(points[k + 1], ways[k][1], ways[k + 1][0]) for k in range(len(ways) - 1)]
        if track.closed:
            corners.append((points[0], ways[-1][1], ways[0][0]))
        for here, arrives, leaves in corners:
            self._corner(here, self._across(arrives), self._across(leaves))
        if not track.closed:
            self._end(points[0], self._across(ways[0][0] + math.pi))
            self._end(points[-1], self._across(ways[-1][1]))

    def _across(self, way: float) -> Point:
        """Return the step from the centre line to its left side, for a direction (radians)."""
        return math.sin(way) * self.half, -math.cos(way) * self.half

    def _piece(self, start: Point, end: Point, first: Point, last: Point, number: int) -> None:
        corners = [_plus(start, first), _plus(end, last), _plus(end, last, -1.0), _plus(start, first, -1.0)]
        self._add(corners, {} if number == STRAIGHT else {0: (number, "left"), 2: (number, "right")})

    def _corner(self, here: Point, one: Point, other: Point) -> None:
        """Add the join on the outer side of a corner."""
        turn = math.atan2(one[0] * other[1] - one[1] * other[0], one[0] * other[0] + one[1] * other[1])
        if abs(turn) < _STRAIGHT_ON:
            return
        side = 1.0 if turn > 0.0 else -1.0
        start, end = _plus(here, one, side), _plus(here, other, side)
        if self.stroke.join == "round":
            self._fan(here, start, end, turn)
        elif self.stroke.join == "miter" and abs(turn) < math.pi - _STRAIGHT_ON and self._is_within_limit(turn):
            self._add([here, start, self._mitre(here, one, other, side, turn), end], {})
        else:
            self._add([here, start, end], {})

    def _is_within_limit(self, turn: float) -> bool:
        # The mitre is as long as the width over the sine of half the angle between the pieces.
        return self.stroke.mitre_limit * math.cos(turn / 2) >= 1.0

    def _mitre(self, here: Point, one: Point, other: Point, side: float, turn: float) -> Point:
        share = side / (2 * math.cos(turn / 2) ** 2)
        return here[0] + (one[0] + other[0]) * share, here[1] + (one[1] + other[1]) * share

    def _end(self, end: Point, across: Point) -> None:
        """Add the cap of a free end that the line reaches with its left side on that side."""
        ahead = (-across[1], across[0])
        left, right = _plus(end, across), _plus(end, across, -1.0)
        if self.stroke.cap == "square":
            self._add([left, _plus(left, ahead), _plus(right, ahead), right], {})
        elif self.stroke.cap == "round":
            self._fan(end, left, right, math.pi)

    def _fan(self, centre: Point, start: Point, end: Point, sweep: float) -> None:
        """Add a sector of the round brush."""
        begin = math.atan2(start[1] - centre[1], start[0] - centre[0])
        (ux, uy), (vx, vy), origin = apply_all(self.to_inches, ((self.half, 0.0), (0.0, self.half), (0.0, 0.0)))
        wide = Arc(origin, (ux - origin[0], uy - origin[1]), (vx - origin[0], vy - origin[1]), begin, sweep, origin)
        number = arc_chords(wide, self.reach)
        circle = Arc(centre, (self.half, 0.0), (0.0, self.half), begin, sweep, end)
        inner = [arc_point(circle, begin + sweep * k / number) for k in range(1, number)]
        label: Label = ("round", len(self.pieces))
        self._add([centre, start, *inner, end], dict.fromkeys(range(1, number + 1), label))

    def _add(self, corners: Sequence[Point], labels: dict[int, Label]) -> None:
        """Add a piece given in the units of the stroke; the sides with these numbers belong to curves."""
        placed = apply_all(self.to_inches, corners)
        polygon = shapely.Polygon(placed)
        if not polygon.is_valid:  # a curve that turns more sharply than the stroke is wide
            polygon = shapely.make_valid(polygon)
        if polygon.area <= _LEAST_AREA:
            return
        self.pieces.append(polygon)
        for k, side in enumerate(zip(placed, (*placed[1:], placed[0]), strict=True)):
            self.sides.append(side)
            self.curves.append(labels.get(k))

    def outline(self, flattener: Flattener) -> Iterator[Track]:
        """Yield the outline of all pieces together."""
        area = shapely.union_all(self.pieces, grid_size=_GRID)
        numbers: dict[Label, int] = {}
        for polygon in shapely.get_parts(area):
            if polygon.geom_type != "Polygon":  # a piece without any width
                continue
            for ring in (polygon.exterior, *polygon.interiors):
                points = shapely.get_coordinates(ring)[:-1]
                curves = []
                for label in self._labels(points):
                    if label is not None and label not in numbers:
                        numbers[label] = flattener.new_curve()
                    curves.append(STRAIGHT if label is None else numbers[label])
                yield Track(tuple([(x, y) for x, y in points.tolist()]), True, tuple(curves))

    def _labels(self, points: Floats) -> list[Label | None]:
        """Return for each side of a ring the curve that it is a chord of."""
        labels: list[Label | None] = [None] * len(points)
        curved = [k for k, label in enumerate(self.curves) if label is not None]
        if not curved:
            return labels
        lines = shapely.linestrings([self.sides[k] for k in curved])
        start, end = shapely.points(points), shapely.points(np.roll(points, -1, axis=0))
        side, line = shapely.STRtree(lines).query(start, predicate="dwithin", distance=_NEAR)
        along = shapely.dwithin(end[side], lines[line], _NEAR)
        for k, n in zip(side[along].tolist(), line[along].tolist(), strict=True):
            labels[k] = self.curves[curved[n]]
        return labels


def _directions(points: Sequence[Point], curves: Sequence[int], *, closed: bool) -> list[tuple[float, float]]:
    """Return for each piece of a path the directions (radians) in which it leaves and arrives.

    A chord takes those of its curve: between two chords, weighted by their lengths as on a circle through three
    points; at the ends of the curve, half the turn over the chord taken on.
    """
    chords = [(math.atan2(b[1] - a[1], b[0] - a[0]), math.dist(a, b)) for a, b in pairwise(points)]
    count = len(chords)
    ways = [[way, way] for way, _ in chords]
    last = count if closed else count - 1
    for k in range(last):
        n = (k + 1) % count
        if curves[k] == STRAIGHT or curves[k] != curves[n]:
            continue
        (one, length), (other, following) = chords[k], chords[n]
        turn = math.remainder(other - one, 2 * math.pi)
        ways[k][1] = ways[n][0] = one + turn * length / (length + following)
    for k in range(count):
        if curves[k] == STRAIGHT:
            continue
        way = chords[k][0]
        if curves[k - 1] != curves[k] or (k == 0 and not closed):
            ways[k][0] = way - math.remainder(ways[k][1] - way, 2 * math.pi)
        if curves[(k + 1) % count] != curves[k] or (k == count - 1 and not closed):
            ways[k][1] = way - math.remainder(ways[k][0] - way, 2 * math.pi)
    return [(leaves, arrives) for leaves, arrives in ways]


def _plus(point: Point, way: Point, times: float = 1.0) -> Point:
    return point[0] + way[0] * times, point[1] + way[1] * times

"""What may mend a slip: drawn points moved onto what is near them, an outline closed, a frame drawn.

All repairs near a place are listed, the least first; `slips` tries them on the drawing.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from itertools import combinations

import numpy as np
import numpy.typing as npt
import shapely

from seamtree.drawing.drawn import STRAIGHT, Drawing, Shape, Track
from seamtree.errors import Point
from seamtree.mending.troubles import Trouble

Floats = npt.NDArray[np.float64]

_ALONG = 0.7
"""A point that stays on its line moves nothing but the end of the line: it goes before one that is moved aside, up to
so much farther."""

_PARALLEL = 0.97
"""Least cosine of the angle between lines that may have been drawn twice."""

_SKEW = 1.6
"""A repair after which a line runs like no other of the drawing goes after straight ones up to so much larger."""

_SAME_DIRECTION = math.radians(0.2)

_RUN = 4
"""So many points in a row may have to be moved to straighten a line."""

_DECIMALS = 9

FRAME = "frame"
"""Name of an outline that was not drawn."""


@dataclass(frozen=True, slots=True)
class Move:
    """One repair.

    Parameters
    ----------
    cost
        What is compared; the least is tried first.
    distance
        How far the point that moves farthest moves, inches.
    points
        New places of drawn points, by their numbers in the drawing.
    closes
        Number of a track that gets a line from its end to its start.
    frame
        An outline that is added.
    drops
        Number of a shape that is left out, for it is there twice.
    """

    cost: float
    distance: float
    points: tuple[tuple[int, Point], ...] = ()
    closes: int | None = None
    frame: tuple[Point, ...] = ()
    drops: int | None = None


@dataclass(slots=True)
class Drawn:
    """The points and segments of a drawing, numbered through.

    Parameters
    ----------
    drawing
        The drawing.
    tolerance
        Points nearer to each other than this are one corner, inches.
    """

    drawing: Drawing
    tolerance: float
    at: list[Point] = field(default_factory=list)
    shape: list[int] = field(default_factory=list)
    track: list[int] = field(default_factory=list)
    fixed: list[bool] = field(default_factory=list)
    segments: list[tuple[int, int]] = field(default_factory=list)
    beside: list[list[int]] = field(default_factory=list)
    ends: list[tuple[int, int]] = field(default_factory=list)
    corner: list[int] = field(default_factory=list)

    def __post_init__(self) -> None:
        number = 0
        for k, shape in enumerate(self.drawing.shapes):
            for track in shape.tracks:
                self._take(track, k, number)
                number += 1
        self.corner = _corners(self.at, self.tolerance)

    def _take(self, track: Track, shape: int, number: int) -> None:
        first, count = len(self.at), len(track.points)
        self.at += track.points
        self.shape += [shape] * count
        self.track += [number] * count
        self.beside += [[] for _ in range(count)]
        for n, curve in enumerate(track.curves):
            if curve == STRAIGHT:
                a, b = first + n, first + (n + 1) % count
                self.segments.append((a, b))
                self.beside[a].append(b)
                self.beside[b].append(a)
        before = (track.curves[-1] if track.closed else STRAIGHT, *track.curves)
        after = track.curves if track.closed else (*track.curves, STRAIGHT)
        self.fixed += [a == b != STRAIGHT for a, b in zip(before, after, strict=False)]
        self.ends.append((-1, -1) if track.closed else (first, first + count - 1))

    def mates(self, points: Iterable[int]) -> list[int]:
        """Return points together with all others at the same corners."""
        corners = {self.corner[p] for p in points}
        return [p for p, corner in enumerate(self.corner) if corner in corners]


def _corners(at: Sequence[Point], tolerance: float) -> list[int]:
    """Number the places at which points lie."""
    tree = shapely.STRtree(shapely.points(at))
    one, other = tree.query(shapely.points(at), predicate="dwithin", distance=tolerance)
    leader = list(range(len(at)))
    for a, b in sorted(zip(one.tolist(), other.tolist(), strict=True)):
        if a < b and leader[b] == b:
            leader[b] = leader[a]
    return leader


def apply(drawing: Drawing, move: Move) -> Drawing:
    """Return a drawing with a repair made."""
    moved = dict(move.points)
    shapes: list[Shape] = []
    first = number = 0
    for k, shape in enumerate(drawing.shapes):
        tracks = []
        for track in shape.tracks:
            points = tuple(moved.get(n, at) for n, at in enumerate(track.points, first))
            closes = number == move.closes
            curves = (*track.curves, STRAIGHT) if closes else track.curves
            tracks.append(replace(track, points=points, closed=track.closed or closes, curves=curves))
            first += len(track.points)
            number += 1
        if move.drops != k:
            shapes.append(replace(shape, tracks=tuple(tracks)))
    if move.frame:
        track = Track(move.frame, True, (STRAIGHT,) * len(move.frame))
        shapes.append(Shape((track,), None, False, True, FRAME))
    return replace(drawing, shapes=tuple(shapes))


def moves_near(drawn: Drawn, troubles: Sequence[Trouble], within: float) -> list[Move]:
    """Return what may mend some troubles beside each other, the least first.

    Parameters
    ----------
    drawn
        The drawing.
    troubles
        The troubles.
    within
        How far a point may be moved, inches.
    """
    finder = _Finder(drawn, troubles, within)
    directions = _Directions(drawn)
    best: dict[object, Move] = {}
    for found in finder.all():
        move = replace(found, cost=found.cost * directions.price(found))
        if move.distance > within + 1e-9 or (move.points and move.distance < 1e-6):
            continue
        key = (_rounded(move.points), move.closes, move.frame, move.drops)
        if key not in best or move.cost < best[key].cost:
            best[key] = move
    return sorted(
        best.values(), key=lambda m: (round(m.cost, 6), len(m.points), _rounded(m.points), m.closes or 0, m.frame)
    )


def _rounded(points: Sequence[tuple[int, Point]]) -> tuple[tuple[int, float, float], ...]:
    return tuple((p, round(x, 5) + 0.0, round(y, 5) + 0.0) for p, (x, y) in points)


class _Directions:
    """Knows in which directions the lines of a drawing run."""

    def __init__(self, drawn: Drawn) -> None:
        self.drawn = drawn
        self.known: dict[int, set[int]] = {}
        for a, b in drawn.segments:
            if math.dist(drawn.at[a], drawn.at[b]) > 1e-6:
                self.known.setdefault(self._bin(drawn.at[a], drawn.at[b]), set()).add(drawn.shape[a])

    def price(self, move: Move) -> float:
        """Return what the cost of a repair is multiplied by."""
        moved = dict(move.points)
        at = self.drawn.at
        for p, target in move.points:
            for q in self.drawn.beside[p]:
                to = moved.get(q, at[q])
                if math.dist(target, to) < 1e-6:
                    continue
                old, new = self._bin(at[p], at[q]), self._bin(target, to)
                shape = self.drawn.shape[p]
                if abs(old - new) > 1 and not any(self._others(new + k, shape) for k in (-1, 0, 1)):
                    return _SKEW
        return 1.0

    def _others(self, direction: int, shape: int) -> bool:
        whole = round(math.pi / _SAME_DIRECTION)
        return bool(self.known.get(direction % whole, set()) - {shape})

    def _bin(self, a: Point, b: Point) -> int:
        whole = round(math.pi / _SAME_DIRECTION)
        return round(math.atan2(b[1] - a[1], b[0] - a[0]) % math.pi / _SAME_DIRECTION) % whole


class _Finder:
    """Finds repairs near a place."""

    def __init__(self, drawn: Drawn, troubles: Sequence[Trouble], within: float) -> None:
        self.drawn = drawn
        self.within = within
        self.codes = {trouble.code for trouble in troubles}
        self.where = shapely.union_all([trouble.where for trouble in troubles])
        at = drawn.at
        reach = within + drawn.tolerance
        dots = shapely.points(at)
        self.dots = shapely.STRtree(dots)
        self.lines = shapely.STRtree(shapely.linestrings([[at[a], at[b]] for a, b in drawn.segments]))
        near = self.dots.query(self.where, predicate="dwithin", distance=reach).tolist()
        self.near = sorted(p for p in near if not drawn.fixed[p])
        crossing = self.lines.query(self.where, predicate="dwithin", distance=reach).tolist()
        self.segments = sorted(crossing)

    def all(self) -> Iterator[Move]:
        """Yield all repairs, in no order."""
        for members in self._members():
            yield from self._onto_what_is_near(members)
        yield from self._straightened()
        yield from self._met()
        yield from self._sides()
        yield from self._aligned()
        yield from self._shifted()
        yield from self._outlines()
        if "doubled" in self.codes:
            yield from self._doubled()

    def _members(self) -> Iterator[list[int]]:
        """Yield points that move together: all at one corner, or those of one shape there."""
        seen: set[tuple[int, ...]] = set()
        for p in self.near:
            mates = self.drawn.mates([p])
            for members in (mates, [q for q in mates if self.drawn.shape[q] == self.drawn.shape[p]]):
                if tuple(members) not in seen and not any(self.drawn.fixed[q] for q in members):
                    seen.add(tuple(members))
                    yield members

    def _to(self, members: Collection[int], target: Point, *, along: bool = False) -> Move:
        far = max(math.dist(self.drawn.at[p], target) for p in members)
        return Move(far * (_ALONG if along else 1.0), far, tuple((p, target) for p in sorted(members)))

    # -- single corners ----------------------------------------------------------------------------------------

    def _onto_what_is_near(self, members: list[int]) -> Iterator[Move]:
        """Yield points put onto corners near them."""
        drawn, at = self.drawn, self.drawn.at
        here = at[members[0]]
        dot = shapely.Point(here)
        own = set(members)
        corners = {
            drawn.corner[q]
            for q in self.dots.query(dot, predicate="dwithin", distance=self.within).tolist()
            if q not in own
        }
        for corner in sorted(corners):
            yield self._to(members, at[corner])
        yield from self._onto_lines(members, dot)

    def _onto_lines(self, members: list[int], dot: shapely.Point) -> Iterator[Move]:
        """Yield points put onto lines near them, and onto the line between their neighbours."""
        drawn, at = self.drawn, self.drawn.at
        here, own = at[members[0]], set(members)
        neighbours = sorted({drawn.corner[q]: q for p in members for q in drawn.beside[p] if q not in own}.values())
        for s in sorted(self.lines.query(dot, predicate="dwithin", distance=2 * self.within).tolist()):
            a, b = drawn.segments[s]
            if a in own or b in own:
                continue
            foot = _foot(here, at[a], at[b])
            if foot is not None:
                yield self._to(members, foot)
            for q in neighbours:
                if drawn.corner[q] in (drawn.corner[a], drawn.corner[b]):
                    continue
                crossing = _crossing(at[q], here, at[a], at[b])
                if crossing is not None and math.dist(crossing, here) <= self.within:
                    yield self._to(members, crossing, along=True)
        for q, r in combinations(neighbours, 2):
            if _cosine(at[q], here, at[r]) < -0.5:
                foot = _foot(here, at[q], at[r])
                if foot is not None:
                    yield self._to(members, foot)

    def _straightened(self) -> Iterator[Move]:
        """Yield runs of points put onto the straight line between those before and after them."""
        for p in self.near:
            if len(self.drawn.beside[p]) == 2:
                back, ahead = (self._walk(p, q) for q in self.drawn.beside[p])
                for m in range(min(_RUN, len(back))):
                    for n in range(min(_RUN - m, len(ahead))):
                        run = [*back[:m][::-1], p, *ahead[:n]]
                        ends = self.drawn.at[back[m]], self.drawn.at[ahead[n]]
                        if len(run) > 1:
                            yield from self._run_onto(run, self.drawn.mates(run), *ends)
                        yield from self._run_onto(run, self._close_to(run), *ends)

    def _walk(self, start: int, first: int) -> list[int]:
        """Return the points that follow each other along a track."""
        way, before = [first], start
        while len(way) <= _RUN:
            onward = [q for q in self.drawn.beside[way[-1]] if q != before]
            if not onward or onward[0] in way or onward[0] == start:
                break
            before = way[-1]
            way.append(onward[0])
        return way

    def _close_to(self, run: Sequence[int]) -> list[int]:
        """Return points together with all that lie as near to them as a slip is large."""
        dots = shapely.multipoints([self.drawn.at[p] for p in run])
        near: list[int] = self.dots.query(dots, predicate="dwithin", distance=self.within).tolist()
        return sorted(near)

    def _run_onto(self, run: Sequence[int], members: Sequence[int], start: Point, end: Point) -> Iterator[Move]:
        if math.dist(start, end) < 1e-6 or any(self.drawn.fixed[p] for p in members):
            return
        if all(math.dist(self.drawn.at[p], _onto(self.drawn.at[p], start, end)) <= self.within for p in run):
            yield self._all_to({p: _onto(self.drawn.at[p], start, end) for p in members})

    def _all_to(self, points: dict[int, Point]) -> Move:
        far = max(math.dist(self.drawn.at[p], target) for p, target in points.items())
        return Move(far, far, tuple(sorted(points.items())))

    def _met(self) -> Iterator[Move]:
        """Yield two ends carried on to where their lines cross."""
        drawn, at = self.drawn, self.drawn.at
        ends = [p for p in self.near if len(drawn.beside[p]) == 1]
        for p, q in combinations(ends, 2):
            if drawn.corner[p] == drawn.corner[q] or math.dist(at[p], at[q]) > 2 * self.within:
                continue
            crossing = _crossing(at[drawn.beside[p][0]], at[p], at[drawn.beside[q][0]], at[q])
            if crossing is not None:
                move = self._all_to({p: crossing, q: crossing})
                yield replace(move, cost=move.cost * _ALONG)

    # -- sides and shapes --------------------------------------------------------------------------------------

    def _sides(self) -> Iterator[Move]:
        """Yield sides moved onto a line that runs beside them."""
        drawn, at = self.drawn, self.drawn.at
        for one in self.segments:
            a, b = drawn.segments[one]
            if drawn.fixed[a] or drawn.fixed[b]:
                continue
            for other in self.segments:
                c, d = drawn.segments[other]
                if other == one or not self._runs_beside(one, other):
                    continue
                for exact in (True, False):
                    targets = [self._place_beside(p, at[c], at[d], exact=exact) for p in (a, b)]
                    for together in (False, True):
                        points: dict[int, Point] = {}
                        for p, target in zip((a, b), targets, strict=True):
                            same = [q for q in drawn.mates([p]) if drawn.shape[q] == drawn.shape[p]]
                            for q in drawn.mates([p]) if together else same:
                                points[q] = target
                        if not any(drawn.fixed[q] for q in points):
                            yield self._all_to(points)

    def _aligned(self) -> Iterator[Move]:
        """Yield all sides that run along one line put onto it."""
        drawn, at = self.drawn, self.drawn.at
        for target in self.segments:
            c, d = drawn.segments[target]
            if math.dist(at[c], at[d]) < self.within:
                continue
            points: dict[int, Point] = {}
            for s in self.segments:
                a, b = drawn.segments[s]
                if s != target and self._runs_beside(s, target):
                    points |= {p: _onto(at[p], at[c], at[d]) for p in (a, b) if not drawn.fixed[p]}
            if points:
                yield self._all_to(points)
                if self.codes & {"gap", "overlap"}:
                    yield from self._slid(points, at[c], at[d])

    def _slid(self, points: dict[int, Point], c: Point, d: Point) -> Iterator[Move]:
        """Yield points put onto a line along their other sides, which stay where they are.

        At a slant they go farther than the line between them does.
        """
        drawn, at = self.drawn, self.drawn.at
        slid: dict[int, Point] = {}
        for p, foot in points.items():
            others = [q for q in drawn.beside[p] if q not in points]
            crossing = _crossing(at[others[0]], at[p], c, d) if len(others) == 1 else foot
            if crossing is None:
                return
            slid[p] = self._corner_at(crossing, points)
        if any(math.dist(slid[p], points[p]) > drawn.tolerance for p in points):
            yield self._all_to(slid)

    def _corner_at(self, place: Point, moved: Collection[int]) -> Point:
        """Return the corner at a place that has one."""
        near = self.dots.query(shapely.Point(place), predicate="dwithin", distance=self.drawn.tolerance).tolist()
        corners = sorted((math.dist(self.drawn.at[q], place), q) for q in near if q not in moved)
        return self.drawn.at[corners[0][1]] if corners else place

    def _runs_beside(self, one: int, other: int) -> bool:
        (a, b), (c, d) = self.drawn.segments[one], self.drawn.segments[other]
        at = self.drawn.at
        return _beside((at[a], at[b]), (at[c], at[d]), within=self.within, tolerance=self.drawn.tolerance)

    def _place_beside(self, point: int, c: Point, d: Point, *, exact: bool) -> Point:
        """Return where a point comes to lie on the line beside it: at its end if that is near."""
        here = self.drawn.at[point]
        if exact:
            end = min((c, d), key=lambda corner: math.dist(here, corner))
            if math.dist(end, here) <= self.within:
                return end
        return _onto(here, c, d)

    def _shifted(self) -> Iterator[Move]:
        """Yield whole shapes pushed back to where they fit."""
        drawn, at = self.drawn, self.drawn.at
        ways: dict[tuple[int, float, float], float] = {}
        for p in self.near:
            own = drawn.shape[p]
            dot = shapely.Point(at[p])
            for q in self.dots.query(dot, predicate="dwithin", distance=self.within).tolist():
                if drawn.shape[q] != own:
                    self._note_way(ways, own, at[p], at[q])
            for s in self.lines.query(dot, predicate="dwithin", distance=self.within).tolist():
                a, b = drawn.segments[s]
                if drawn.shape[a] != own:
                    foot = _foot(at[p], at[a], at[b])
                    if foot is not None:
                        self._note_way(ways, own, at[p], foot)
        for (own, dx, dy), far in sorted(ways.items()):
            members = [p for p, shape in enumerate(drawn.shape) if shape == own]
            yield Move(far, far, tuple((p, (at[p][0] + dx, at[p][1] + dy)) for p in members))

    def _note_way(self, ways: dict[tuple[int, float, float], float], shape: int, a: Point, b: Point) -> None:
        far = math.dist(a, b)
        if self.drawn.tolerance / 2 < far <= self.within:
            ways.setdefault((shape, round(b[0] - a[0], 9), round(b[1] - a[1], 9)), far)

    # -- outlines ----------------------------------------------------------------------------------------------

    def _outlines(self) -> Iterator[Move]:
        """Yield outlines closed, and a frame drawn."""
        drawn = self.drawn
        if self.codes & {"open-outline", "missing-frame", "no-block", "loose-end"}:
            near = set(self.near)
            for number, (first, last) in enumerate(drawn.ends):
                if last - first > 1 and first >= 0 and ({first, last} & near or "no-block" in self.codes):
                    miss = math.dist(drawn.at[first], drawn.at[last])
                    # A line that is drawn moves nothing; what comes upon itself nearly had better meet itself.
                    yield Move(miss if miss <= self.within else 0.0, 0.0, closes=number)
        if self.codes & {"missing-frame", "no-block"}:
            for n, ring in enumerate(_rings(drawn, self.within)):
                yield Move((2 + n) * self.within, 0.0, frame=ring)  # where nothing less does

    def _doubled(self) -> Iterator[Move]:
        for shape in sorted({self.drawn.shape[p] for p in self.near}):
            yield Move(0.0, 0.0, drops=shape)


def _rings(drawn: Drawn, within: float) -> Iterator[tuple[Point, ...]]:
    """Yield the outlines that may be meant: boxes, or the convex hull where twice as many ends lie on that."""
    xs, ys = np.array(drawn.at).T
    found: list[tuple[Point, ...]] = []
    for choose in (_usual, _extreme):
        left, right = choose(xs, within, drawn.tolerance), -choose(-xs, within, drawn.tolerance)
        top, bottom = choose(ys, within, drawn.tolerance), -choose(-ys, within, drawn.tolerance)
        if left < right and top < bottom:
            found.append(((left, top), (right, top), (right, bottom), (left, bottom)))
    ends = shapely.points([drawn.at[p] for p, beside in enumerate(drawn.beside) if len(beside) == 1])
    hull = shapely.convex_hull(shapely.multipoints(drawn.at))
    if isinstance(hull, shapely.Polygon):
        rim = tuple((float(x), float(y)) for x, y in hull.exterior.coords[:-1])
        on = [int(shapely.dwithin(ends, shapely.LinearRing(ring), within).sum()) for ring in (*found, rim)]
        if on[-1] > 2 * max(on[:-1], default=0):
            found = [rim]
    yield from dict.fromkeys(found)


def _extreme(values: Floats, _within: float, _tolerance: float) -> float:
    """Return the least of some coordinates."""
    return float(values.min())


def _usual(values: Floats, within: float, tolerance: float) -> float:
    """Return the coordinate that most points near the least one have, which ends that stick out have not."""
    near = np.sort(values[values <= values.min() + within])
    most = [int(np.count_nonzero(abs(near - value) <= tolerance)) for value in near]
    return float(near[int(np.argmax(most))])


# -- geometry of points -------------------------------------------------------------------------------------------


def _onto(at: Point, a: Point, b: Point) -> Point:
    """Return the nearest place of the line through two others."""
    dx, dy = b[0] - a[0], b[1] - a[1]
    share = ((at[0] - a[0]) * dx + (at[1] - a[1]) * dy) / (dx * dx + dy * dy)
    return round(a[0] + share * dx, _DECIMALS), round(a[1] + share * dy, _DECIMALS)


def _foot(at: Point, a: Point, b: Point) -> Point | None:
    """Return the nearest place of the line through two others; None where they are one."""
    return None if math.dist(a, b) < 1e-6 else _onto(at, a, b)


def _crossing(a: Point, b: Point, c: Point, d: Point) -> Point | None:
    """Return where two lines cross; None where they hardly do."""
    ux, uy, vx, vy = b[0] - a[0], b[1] - a[1], d[0] - c[0], d[1] - c[1]
    across = ux * vy - uy * vx
    if abs(across) < 0.05 * math.hypot(ux, uy) * math.hypot(vx, vy) or across == 0.0:
        return None
    share = ((c[0] - a[0]) * vy - (c[1] - a[1]) * vx) / across
    return round(a[0] + share * ux, _DECIMALS), round(a[1] + share * uy, _DECIMALS)


def _cosine(a: Point, v: Point, b: Point) -> float:
    """Return the cosine of the angle at `v`."""
    ax, ay, bx, by = a[0] - v[0], a[1] - v[1], b[0] - v[0], b[1] - v[1]
    size = math.hypot(ax, ay) * math.hypot(bx, by)
    return (ax * bx + ay * by) / size if size else 1.0


def _beside(side: tuple[Point, Point], other: tuple[Point, Point], *, within: float, tolerance: float) -> bool:
    """Tell whether a side runs beside another one, nearer than `within` but not on it."""
    (a, b), (c, d) = side, other
    if math.dist(a, b) < 1e-6 or math.dist(c, d) < 1e-6:
        return False
    cosine = abs(_cosine((b[0] - a[0] + c[0], b[1] - a[1] + c[1]), c, d))
    off = max(math.dist(p, _onto(p, c, d)) for p in (a, b))
    if cosine < _PARALLEL or not tolerance / 2 < off <= within:
        return False
    return bool(shapely.dwithin(shapely.LineString([a, b]), shapely.LineString([c, d]), within))

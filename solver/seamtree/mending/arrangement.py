"""Every line of a drawing carried on to the outline, and all of them cut at their crossings.

What is drawn falls into runs of edges in line. Runs on one line belong together, with a *gap* between each two of
them, and from either end of a line a *ray* runs on to the outline. Where lines cross, or meet what is drawn, they are
cut into *elementary edges*: some drawn, the others there for the choosing. Places that fall together within the
tolerance become one, and lines that do share their elementary edges.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations, pairwise

import numpy as np
import shapely

from seamtree.block.faces import Faces, find_faces
from seamtree.block.noding import JOINT, Floats, Geometries, Network
from seamtree.block.sketch import Sketch
from seamtree.errors import Point
from seamtree.geometry.straight import in_line, is_straight, straying

SNAP = 1.25
"""A seam is led through what it misses by less than so many tolerances, so that nothing is snapped later."""

_SAME_WAY = math.radians(1.0)
"""Lines that turn less against each other lead the same way."""

_TOUCH = 1e-6
"""A stretch that ends nearer to a line than this (inches) ends on it."""

Pair = tuple[int, int]

Line = tuple[tuple[int, ...], tuple[int, ...]]
"""A line carried on: its points and its edges in turn."""


@dataclass(frozen=True, slots=True)
class Chain:
    """Edges that may be added one after the other along a line, between what is drawn or the outline.

    Parameters
    ----------
    edges
        In turn along the line.
    first, last
        Whether what comes before the first and after the last of them is drawn, so that a seam may be carried on from
        there.
    """

    edges: tuple[int, ...]
    first: bool
    last: bool


@dataclass(frozen=True, slots=True)
class Arrangement:
    """A drawing with all seams that may be added.

    Parameters
    ----------
    sketch
        The drawing.
    points
        Places where edges meet; those of the sketch first.
    edges
        Pairs of points.
    drawn, outline
        Per edge, whether it is drawn, and whether the outside lies on one side.
    curves
        Per edge, the number of its drawn curve.
    in_line
        Per point, the pairs of edges that are in line there.
    chains
        The edges that may be added.
    lines
        Every line carried on: its points and its edges in turn.
    on_outline
        The points on the outline.
    """

    sketch: Sketch
    points: tuple[Point, ...]
    edges: tuple[Pair, ...]
    drawn: tuple[bool, ...]
    outline: tuple[bool, ...]
    curves: tuple[int | None, ...]
    in_line: tuple[tuple[Pair, ...], ...]
    chains: tuple[Chain, ...]
    lines: tuple[Line, ...]
    on_outline: frozenset[int]

    @property
    def optional(self) -> list[int]:
        """The edges that may be added."""
        return [k for k, there in enumerate(self.drawn) if not there]

    def around(self) -> list[list[int]]:
        """Return the edges at every point that do not lie on the outline."""
        found: list[list[int]] = [[] for _ in self.points]
        for k, ends in enumerate(self.edges):
            if not self.outline[k]:
                for v in ends:
                    found[v].append(k)
        return found

    def faces(self, present: Iterable[int]) -> Faces:
        """Return what some of the edges enclose."""
        return find_faces(self.network(present))

    def network(self, present: Iterable[int]) -> Network:
        """Return some of the edges as a network."""
        edges = np.array(sorted(tuple(sorted(self.edges[k])) for k in present), dtype=np.int64).reshape(-1, 2)
        points = np.array(self.points)
        return Network(points, np.full(len(points), JOINT), edges, np.zeros(len(edges), dtype=np.int64))

    def by_ends(self) -> dict[Pair, int]:
        """Return every edge by its two points, the smaller first."""
        return {(min(a, b), max(a, b)): k for k, (a, b) in enumerate(self.edges)}


def arrange(sketch: Sketch) -> Arrangement:
    """Carry on the lines of a drawing, and cut them at their crossings."""
    return _Arranger(sketch).arrange()


@dataclass(slots=True)
class _Stretch:
    """A straight way from place to place along which edges may be added.

    Parameters
    ----------
    start, end
        Places; the numbers of points are -1 where there is none yet.
    a, b
        Points of the sketch at which it begins and ends.
    """

    start: Point
    end: Point
    a: int
    b: int


@dataclass(frozen=True, slots=True)
class _Crossing:
    """A place where stretches cross, or where one meets a drawn edge."""

    at: Point
    stretches: tuple[int, ...]
    edge: int | None


class _Arranger:
    def __init__(self, sketch: Sketch) -> None:
        self._sketch = sketch
        self._tolerance = sketch.tolerance
        self._snap = SNAP * sketch.tolerance
        self._at = np.array(sketch.points)
        self._outline_points = {
            v for pair, out in zip(sketch.edges, sketch.outline, strict=True) if out for v in pair
        }
        outer = [
            shapely.LineString([sketch.points[a], sketch.points[b]])
            for (a, b), out in zip(sketch.edges, sketch.outline, strict=True)
            if out
        ]
        self._inside = shapely.union_all(list(shapely.polygonize(outer).geoms))
        shapely.prepare(self._inside)
        span = math.hypot(*np.ptp(self._at, axis=0))
        self._far = 2 * span + 1

    def arrange(self) -> Arrangement:
        runs = self._runs()
        ways = [way for group in self._groups(runs) for way in self._ways(group)]
        stretches = [part for way in ways for part in way if isinstance(part, _Stretch)]
        points, along, on_drawn = self._cross(stretches)
        return self._assemble(ways, points, along, on_drawn)

    # -- what is drawn -----------------------------------------------------------------------------------------

    def _runs(self) -> list[list[int]]:  # noqa: C901 - one walk
        """Return the points of every run of drawn seams in line; one that is not straight as a whole is parted."""
        sketch, points = self._sketch, self._sketch.points
        seams = [k for k, out in enumerate(sketch.outline) if not out and sketch.curves[k] is None]
        around: dict[int, list[tuple[int, int]]] = {}
        for k in seams:
            a, b = sketch.edges[k]
            around.setdefault(a, []).append((k, b))
            around.setdefault(b, []).append((k, a))
        follows: dict[tuple[int, int], int] = {}
        for v, here in around.items():
            if v in self._outline_points:
                continue
            pairs = [
                (straying((points[p], points[v], points[q])), k, n)
                for (k, p), (n, q) in combinations(sorted(here), 2)
                if in_line(points[p], points[v], points[q], tolerance=self._tolerance)
            ]
            for _, k, n in sorted(pairs):
                if (k, v) not in follows and (n, v) not in follows:
                    follows[k, v], follows[n, v] = n, k
        runs: list[list[int]] = []
        done: set[int] = set()
        for k in seams:
            if k in done:
                continue
            run = list(sketch.edges[k])
            done.add(k)
            for turn in (False, True):
                edge = k
                if turn:
                    run.reverse()
                while (after := follows.get((edge, run[-1]))) is not None and after not in done:
                    done.add(after)
                    a, b = sketch.edges[after]
                    run.append(b if a == run[-1] else a)
                    edge = after
            runs += self._straight_parts(run)
        return runs

    def _straight_parts(self, run: list[int]) -> Iterator[list[int]]:
        points = self._sketch.points
        while len(run) > 2:
            stop = len(run)
            while stop > 2 and not is_straight([points[v] for v in run[:stop]], tolerance=self._tolerance):
                stop -= 1
            yield run[:stop]
            run = run[stop - 1 :]
        if len(run) == 2:
            yield run

    def _groups(self, runs: list[list[int]]) -> list[list[list[int]]]:
        """Put runs on one line together, in turn along the line and all in its direction."""
        points = self._sketch.points
        groups: list[list[list[int]]] = []
        spans: list[tuple[Point, Point]] = []
        order = sorted(runs, key=lambda run: (-round(math.dist(points[run[0]], points[run[-1]]), 6), sorted(run)))
        for run in order:
            a, b = points[run[0]], points[run[-1]]
            for n, (start, end) in enumerate(spans):
                if _off(a, start, end) <= self._tolerance and _off(b, start, end) <= self._tolerance:
                    ends = sorted((start, end, a, b), key=lambda at: _along(at, start, end))
                    if all(
                        _off(points[v], ends[0], ends[-1]) <= self._tolerance for r in (*groups[n], run) for v in r
                    ) and not self._overlaps(run, groups[n], start, end):
                        groups[n].append(run)
                        spans[n] = ends[0], ends[-1]
                        break
            else:
                groups.append([run])
                spans.append((a, b))
        return [self._sorted(group, *span) for group, span in zip(groups, spans, strict=True)]

    def _overlaps(self, run: list[int], group: list[list[int]], start: Point, end: Point) -> bool:
        low, high = sorted(_along(self._sketch.points[v], start, end) for v in (run[0], run[-1]))
        for other in group:
            first, last = sorted(_along(self._sketch.points[v], start, end) for v in (other[0], other[-1]))
            if min(high, last) - max(low, first) > self._tolerance / math.dist(start, end):
                return True
        return False

    def _sorted(self, group: list[list[int]], start: Point, end: Point) -> list[list[int]]:
        def place(v: int) -> float:
            return _along(self._sketch.points[v], start, end)

        turned = [run if place(run[0]) < place(run[-1]) else run[::-1] for run in group]
        return sorted(turned, key=lambda run: place(run[0]))

    # -- carried on --------------------------------------------------------------------------------------------

    def _ways(self, group: list[list[int]]) -> Iterator[list[list[int] | _Stretch]]:
        """Yield a line carried on: its runs and the stretches between and beyond them, parted where it leaves."""
        points = self._sketch.points
        start, end = points[group[0][0]], points[group[-1][-1]]
        way: list[list[int] | _Stretch] = [*self._ray_back(group[0][0], start, end)]
        for run, after in zip(group, (*group[1:], None), strict=True):
            way.append(run)
            if after is None:
                way += self._ray(run[-1], start, end)
            elif run[-1] != after[0]:
                a, b = points[run[-1]], points[after[0]]
                if self._inside.covers(shapely.LineString([a, b])):
                    way.append(_Stretch(a, b, run[-1], after[0]))
                else:
                    yield [*way, *self._ray(run[-1], start, end)]
                    way = [*self._ray_back(after[0], start, end)]
        yield way

    def _ray_back(self, v: int, before: Point, ahead: Point) -> list[_Stretch]:
        """Return the stretch from the outline to a point, in a direction."""
        return [_Stretch(s.end, s.start, s.b, s.a) for s in self._ray(v, ahead, before)]

    def _ray(self, v: int, before: Point, ahead: Point) -> list[_Stretch]:
        """Return the stretch from a point on in a direction, up to the outline; none if it lies there."""
        if v in self._outline_points:
            return []
        at = self._sketch.points[v]
        length = math.dist(before, ahead)
        dx, dy = (ahead[0] - before[0]) / length, (ahead[1] - before[1]) / length
        ray = shapely.LineString([at, (at[0] + dx * self._far, at[1] + dy * self._far)])
        hits = shapely.get_coordinates(shapely.intersection(self._inside.boundary, ray))
        if not len(hits):
            return []
        away = (hits - at) @ (dx, dy)
        reach = float(away[away > self._snap].min(initial=math.inf))
        if not math.isfinite(reach):
            return []
        stop = (at[0] + dx * reach, at[1] + dy * reach)
        return [_Stretch(at, stop, v, -1)]

    # -- cut ---------------------------------------------------------------------------------------------------

    def _cross(self, stretches: Sequence[_Stretch]) -> tuple[list[Point], dict[int, list[int]], dict[int, list[int]]]:
        """Find where stretches meet points, drawn edges and each other.

        Returns
        -------
        tuple
            All points; per stretch the points along it in turn; per drawn edge the new points inside it.
        """
        sketch = self._sketch
        known = sketch.points
        on: list[set[int]] = [{v for v in (s.a, s.b) if v >= 0} for s in stretches]
        points = list(known)
        on_drawn: dict[int, list[int]] = {}
        if stretches:
            lines = shapely.linestrings([[s.start, s.end] for s in stretches])
            self._pass_points(stretches, lines, on)
            found = [*self._on_drawn(stretches, lines, on), *self._on_each_other(stretches, lines, on)]
            for members in _clusters(np.array([c.at for c in found]).reshape(-1, 2), self._snap):
                v = self._place([found[k] for k in members], points)
                for k in members:
                    for n in found[k].stretches:
                        on[n].add(v)
                    edge = found[k].edge
                    if edge is not None and v not in sketch.edges[edge] and v not in on_drawn.setdefault(edge, []):
                        on_drawn[edge].append(v)
        along = {
            n: sorted(on[n], key=lambda v: (_along(points[v], s.start, s.end), v)) for n, s in enumerate(stretches)
        }
        return points, along, on_drawn

    def _pass_points(self, stretches: Sequence[_Stretch], lines: Geometries, on: Sequence[set[int]]) -> None:
        """Lead stretches through the points that they pass."""
        line, dot = shapely.STRtree(shapely.points(self._at)).query(lines, predicate="dwithin", distance=self._snap)
        for n, v in zip(line.tolist(), dot.tolist(), strict=True):
            s = stretches[n]
            share = _along(self._sketch.points[v], s.start, s.end)
            if not ((share <= 0 and s.a >= 0) or (share >= 1 and s.b >= 0)):
                on[n].add(v)

    def _on_drawn(
        self, stretches: Sequence[_Stretch], lines: Geometries, on: Sequence[set[int]]
    ) -> Iterator[_Crossing]:
        """Yield where stretches meet drawn edges, but at points that they pass anyway."""
        known, edges = self._sketch.points, self._sketch.edges
        drawn = shapely.linestrings([[known[a], known[b]] for a, b in edges])
        line, edge = shapely.STRtree(drawn).query(lines, predicate="dwithin", distance=_TOUCH)
        for n, k in zip(line.tolist(), edge.tolist(), strict=True):
            at = _crossing(stretches[n].start, stretches[n].end, *(known[v] for v in edges[k]))
            if at is not None and not self._near(at, on[n]):
                yield _Crossing(at, (n,), k)

    def _on_each_other(
        self, stretches: Sequence[_Stretch], lines: Geometries, on: Sequence[set[int]]
    ) -> Iterator[_Crossing]:
        """Yield where stretches cross, but at points that they pass anyway."""
        one, other = shapely.STRtree(lines).query(lines)
        for n, m in zip(one.tolist(), other.tolist(), strict=True):
            if n < m:
                at = _crossing(stretches[n].start, stretches[n].end, stretches[m].start, stretches[m].end)
                if at is not None and not self._near(at, (*on[n], *on[m])):
                    yield _Crossing(at, (n, m), None)

    def _near(self, at: Point, points: Iterable[int]) -> bool:
        return any(math.dist(at, self._sketch.points[v]) <= self._snap for v in points)

    def _place(self, members: Sequence[_Crossing], points: list[Point]) -> int:
        """Return the point that crossings become: one that is drawn, if it is near, else a new one."""
        at = min(members, key=lambda c: (c.edge is None, round(c.at[0], 6), round(c.at[1], 6))).at
        if len(members) > 1:
            away, v = min((math.dist(at, here), v) for v, here in enumerate(self._sketch.points))
            if away <= self._snap:
                return v
        points.append(at)
        return len(points) - 1

    # -- put together ------------------------------------------------------------------------------------------

    def _assemble(  # noqa: C901 - one pass over lines
        self,
        ways: Sequence[list[list[int] | _Stretch]],
        points: list[Point],
        along: dict[int, list[int]],
        on_drawn: dict[int, list[int]],
    ) -> Arrangement:
        sketch = self._sketch
        edges: list[Pair] = []
        drawn: list[bool] = []
        outline: list[bool] = []
        curves: list[int | None] = []
        number: dict[Pair, int] = {}

        def edge(a: int, b: int, *, there: bool, out: bool = False, curve: int | None = None) -> int:
            key = (min(a, b), max(a, b))
            if key not in number:
                number[key] = len(edges)
                edges.append(key)
                drawn.append(there)
                outline.append(out)
                curves.append(curve)
            return number[key]

        parted: dict[Pair, list[int]] = {}
        for k, (a, b) in enumerate(sketch.edges):
            inner = sorted(on_drawn.get(k, ()), key=lambda v: _along(points[v], points[a], points[b]))
            run = [a, *inner, b]
            parted[a, b], parted[b, a] = run, run[::-1]
            for p, q in pairwise(run):
                edge(p, q, there=True, out=sketch.outline[k], curve=sketch.curves[k])
        on_outline = frozenset(v for pair, out in zip(edges, outline, strict=True) if out for v in pair)
        lines: list[Line] = []
        in_line: list[set[Pair]] = [set() for _ in points]
        chains: list[Chain] = []
        stretch = 0
        for way in ways:
            vertices: list[int] = []
            for part in way:
                if isinstance(part, _Stretch):
                    more = along[stretch]
                    stretch += 1
                    if vertices and more[0] != vertices[-1]:
                        more = more[more.index(vertices[-1]) :] if vertices[-1] in more else more
                else:
                    more = [part[0]]
                    for a, b in pairwise(part):
                        more += parted[a, b][1:]
                vertices += more if not vertices or more[0] != vertices[-1] else more[1:]
            line = [edge(a, b, there=False) for a, b in pairwise(vertices)]
            lines.append((tuple(vertices), tuple(line)))
            chains += _chains(line, drawn)
        foreign = _foreign(lines, edges, points)
        for n, (passed, along_line) in enumerate(lines):
            for v, (a, b) in zip(passed[1:-1], pairwise(along_line), strict=True):
                if v not in on_outline and a != b and not {(n, a), (n, b)} & foreign:
                    in_line[v].add((min(a, b), max(a, b)))
        return Arrangement(
            sketch,
            tuple(points),
            tuple(edges),
            tuple(drawn),
            tuple(outline),
            tuple(curves),
            tuple(tuple(sorted(pairs)) for pairs in in_line),
            tuple(chains),
            tuple(lines),
            on_outline,
        )


def _foreign(lines: Sequence[Line], edges: Sequence[Pair], points: Sequence[Point]) -> set[tuple[int, int]]:
    """Return lines with edges that they share with a line of another direction, to which these edges belong.

    Where lines cross at a small angle, both may be led through the same two points. A seam that turned there from one
    line into the other would be straight from edge to edge and bent as a whole.
    """
    users: dict[int, list[int]] = {}
    for n, (_, line) in enumerate(lines):
        for k in set(line):
            users.setdefault(k, []).append(n)
    found = set()
    for k, sharing in users.items():
        if len(sharing) > 1:
            a, b = edges[k]
            turns = {n: _turn(points[a], points[b], points[lines[n][0][0]], points[lines[n][0][-1]]) for n in sharing}
            least = min(turns.values())
            found |= {(n, k) for n, turn in turns.items() if turn > least + _SAME_WAY}
    return found


def _turn(a: Point, b: Point, c: Point, d: Point) -> float:
    """Return the angle between two stretches, whichever way they lead (radians)."""
    turned = math.atan2(b[1] - a[1], b[0] - a[0]) - math.atan2(d[1] - c[1], d[0] - c[0])
    return abs((turned + math.pi / 2) % math.pi - math.pi / 2)


def _chains(line: Sequence[int], drawn: Sequence[bool]) -> Iterator[Chain]:
    """Yield the runs of edges of a line that are not drawn."""
    first = 0
    while first < len(line):
        if drawn[line[first]]:
            first += 1
            continue
        stop = first
        while stop < len(line) and not drawn[line[stop]]:
            stop += 1
        yield Chain(tuple(line[first:stop]), first > 0, stop < len(line))
        first = stop


def _clusters(at: Floats, reach: float) -> Iterator[list[int]]:
    """Yield places that fall together."""
    if not len(at):
        return
    dots = shapely.points(at)
    one, other = shapely.STRtree(dots).query(dots, predicate="dwithin", distance=reach)
    root = list(range(len(at)))

    def find(n: int) -> int:
        while root[n] != n:
            root[n] = root[root[n]]
            n = root[n]
        return n

    for n, m in zip(one.tolist(), other.tolist(), strict=True):
        root[max(find(n), find(m))] = min(find(n), find(m))
    groups: dict[int, list[int]] = {}
    for n in range(len(at)):
        groups.setdefault(find(n), []).append(n)
    yield from groups.values()


def _along(at: Point, start: Point, end: Point) -> float:
    """Return where a place lies along a stretch, 0 at its start and 1 at its end."""
    dx, dy = end[0] - start[0], end[1] - start[1]
    return ((at[0] - start[0]) * dx + (at[1] - start[1]) * dy) / (dx * dx + dy * dy)


def _off(at: Point, start: Point, end: Point) -> float:
    """Return how far a place lies from the line through a stretch, inches."""
    dx, dy = end[0] - start[0], end[1] - start[1]
    return abs((at[0] - start[0]) * dy - (at[1] - start[1]) * dx) / math.hypot(dx, dy)


def _crossing(a: Point, b: Point, c: Point, d: Point) -> Point | None:
    """Return where two stretches cross or meet, if they do."""
    ux, uy, vx, vy = b[0] - a[0], b[1] - a[1], d[0] - c[0], d[1] - c[1]
    across = ux * vy - uy * vx
    if abs(across) <= 1e-9 * math.hypot(ux, uy) * math.hypot(vx, vy):
        return None
    s = ((c[0] - a[0]) * vy - (c[1] - a[1]) * vx) / across
    t = ((c[0] - a[0]) * uy - (c[1] - a[1]) * ux) / across
    if not (-1e-7 <= s <= 1 + 1e-7 and -1e-7 <= t <= 1 + 1e-7):
        return None
    return a[0] + s * ux, a[1] + s * uy

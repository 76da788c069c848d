"""Which of the seams that may be added are to be sewn: one model for every change of a drawing.

The junction model with edges that may be there or not. What is drawn is there, every other elementary edge is a
choice. At every place inside the block that is drawn, exactly one pair of edges in line is sewn last, and all
others before; at every other place so if any of its edges is there. An edge that is not there constrains nothing. A
seam that is added carries on what is drawn: an edge needs its neighbour on its line, towards one end of the gap or
the other.

Edges added less places added, less the islands joined to the rest, are the patches added: Euler's formula, without
faces. Islands need no constraint of their own, for a straight seam that is sewn last has to end on the outline.

Before that, every seam that goes from outline to outline is cut, which never adds a hard corner. What is left falls
into parts that have nothing to do with each other, as far as patches are counted.

For units, every elementary area has the time at which its patch is added, and the line on which (areas with no seam
between them have the same). An edge is sewn no earlier than either side is added; it adds the patch on one side,
along that patch's line, or it is a join. All joins come after all seams within units, which loses nothing, and keeps
seams of one unit from being counted for another.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
from typing import Any

import numpy as np
import shapely

from seamtree.block.cover import inner_points
from seamtree.mending.arrangement import Arrangement, Chain, Line, Pair
from seamtree.search.effort import Deadline
from seamtree.search.solver import Solution, new_model, solve_model


@dataclass(frozen=True)
class Parts:
    """An arrangement whose full cuts are made.

    Parameters
    ----------
    arrangement
        The lines carried on.
    cut
        Drawn edges on full cuts.
    broken
        Points on the outline of a part.
    """

    arrangement: Arrangement
    cut: frozenset[int]
    broken: frozenset[int]

    @cached_property
    def sides(self) -> list[tuple[int, ...]]:
        """The elementary areas beside every edge."""
        arrangement = self.arrangement
        ends = arrangement.by_ends()
        found: list[list[int]] = [[] for _ in arrangement.edges]
        for area, ring in enumerate(arrangement.faces(range(len(arrangement.edges))).rings):
            for a, b in zip(ring, (*ring[1:], ring[0]), strict=True):
                found[ends[min(a, b), max(a, b)]].append(area)
        return [tuple(areas) for areas in found]

    @cached_property
    def owner(self) -> list[int]:
        """The area of the drawing that every elementary area is a piece of."""
        arrangement = self.arrangement
        faces = arrangement.faces(range(len(arrangement.edges)))
        middles = shapely.points(inner_points(faces.polygons, tolerance=arrangement.sketch.tolerance))
        areas = np.array([area.shape for area in arrangement.sketch.areas], dtype=object)
        owner = shapely.STRtree(areas).nearest(middles)
        return [int(n) for n in owner]

    @cached_property
    def locked(self) -> list[frozenset[int]]:
        """The edges, drawn or not, of every part that no full cut divides although something is drawn in it."""
        arrangement = self.arrangement
        areas = max((a for s in self.sides for a in s), default=-1) + 1
        root = list(range(areas))

        def find(n: int) -> int:
            while root[n] != n:
                root[n] = root[root[n]]
                n = root[n]
            return n

        inside = [k for k, s in enumerate(self.sides) if len(s) == 2 and k not in self.cut]
        for k in inside:
            a, b = sorted(map(find, self.sides[k]))
            root[b] = a
        groups: dict[int, set[int]] = {}
        for k in inside:
            groups.setdefault(find(self.sides[k][0]), set()).add(k)
        return [frozenset(g) for _, g in sorted(groups.items()) if any(arrangement.drawn[k] for k in g)]


def cut_up(arrangement: Arrangement) -> Parts:
    """Cut along every drawn seam from outline to outline, part by part, until none is left."""
    broken = set(arrangement.on_outline)
    cut: set[int] = set()
    before = -1
    while len(cut) > before:
        before = len(cut)
        for line in arrangement.lines:
            for points, edges in list(_open_runs(arrangement, line, broken, cut)):
                cut.update(edges)
                broken.update(points)
    return Parts(arrangement, frozenset(cut), frozenset(broken))


def _open_runs(
    arrangement: Arrangement, line: Line, broken: Collection[int], cut: Collection[int]
) -> Iterator[tuple[list[int], list[int]]]:
    """Yield the drawn runs of a line from one point on the outline of a part to the next, and the points between."""
    run: list[int] = []
    passed: list[int] = []
    begun = False
    for v, k in zip(line[0], (*line[1], -1), strict=True):
        if v in broken:
            if begun and run:
                yield passed, run
            run, passed, begun = [], [], True
        elif begun:
            passed.append(v)
        if k < 0 or not arrangement.drawn[k] or arrangement.outline[k] or k in cut:
            run, passed, begun = [], [], False
        elif begun:
            run.append(k)


@dataclass(frozen=True, slots=True)
class Wish:
    """What is asked of the seams to be added.

    Parameters
    ----------
    absent
        Edges that may not be added.
    together
        Sets of edges that are added together or not at all.
    """

    absent: frozenset[int] = frozenset()
    together: tuple[tuple[int, ...], ...] = ()


@dataclass(frozen=True, slots=True)
class Choice:
    """Edges to add.

    Parameters
    ----------
    edges
        The edges.
    patches
        How many patches they add.
    units
        How many units the model counts, 0 if it does not count any.
    proven
        Whether nothing is better.
    bound
        What the goal is at least.
    """

    edges: frozenset[int]
    patches: int
    units: int
    proven: bool
    bound: int


class SeamModel:
    """The model over some edges.

    Parameters
    ----------
    parts
        The arrangement.
    scope
        Edges that are looked at; none of them on the outline.
    broken
        Points that count as lying on the outline.
    wish
        What is asked for.
    most_patches
        As many patches the block has at most in the end, where units are counted: no unit takes more steps.
    """

    def __init__(
        self,
        parts: Parts,
        scope: frozenset[int],
        broken: frozenset[int],
        wish: Wish,
        *,
        most_patches: int | None = None,
    ) -> None:
        self.parts, self.scope, self.broken, self.wish = parts, scope, broken, wish
        self.there: dict[int, Any] = {}
        self.placed: dict[int, Any] = {}
        self.last: dict[tuple[int, Pair], Any] = {}
        self.time: dict[int, Any] = {}
        self.in_last: dict[tuple[int, int], Any] = {}
        self.join: dict[int, Any] = {}
        self.joined: dict[int, Any] = {}
        self.units: Any = None
        self._matched: list[Any] = []
        self.cp = new_model()
        arrangement = self.parts.arrangement
        self.around: dict[int, list[int]] = {}
        for k in sorted(self.scope):
            drawn = arrangement.drawn[k]
            if drawn:
                self.there[k] = self.cp.new_constant(1)
            elif k in self.wish.absent:
                self.there[k] = self.cp.new_constant(0)
            else:
                self.there[k] = self.cp.new_bool_var(f"there {k}")
            for v in arrangement.edges[k]:
                if v not in self.broken:
                    self.around.setdefault(v, []).append(k)
        self.horizon = max(1, min(len(self.around), len(self.scope)))
        self._within = most_patches or 0
        if most_patches is not None:
            self.horizon = 2 * most_patches + 1
        self._hang()
        for v, here in sorted(self.around.items()):
            self._close(v, here)
        self._count_patches()
        self._heed()

    def _heed(self) -> None:
        """Have edges together as is wished."""
        for group in self.wish.together:
            mine = [self.there[k] for k in group if k in self.there]
            for a, b in pairwise(mine):
                self.cp.add(a == b)

    def _count_patches(self) -> None:
        """Count the patches that are added, by Euler's formula."""
        self.islands = self._islands()
        places = [x for v, x in self.placed.items() if not self._is_drawn(v)]
        self.patches = sum(self.there[k] for k in self.optional) - sum(places) - self.islands

    def _is_drawn(self, v: int) -> bool:
        return any(self.parts.arrangement.drawn[k] for k in self.around[v])

    @property
    def optional(self) -> list[int]:
        """The edges that are a choice."""
        return [k for k in self.there if not self.parts.arrangement.drawn[k]]

    def refuse(self, edges: Collection[int]) -> None:
        """Forbid a set of edges."""
        self.cp.add_bool_or([~self.there[k] if k in edges else self.there[k] for k in self.optional])

    def _islands(self) -> int:
        """Return how many pieces of what is drawn hang together with nothing that reaches the outline of a part."""
        arrangement = self.parts.arrangement
        root: dict[int, int] = {}

        def find(n: int) -> int:
            while root.setdefault(n, n) != n:
                n = root[n]
            return n

        for k in self.scope:
            if arrangement.drawn[k]:
                a, b = (-1 if v in self.broken else v for v in arrangement.edges[k])
                root[find(a)] = find(b)
        find(-1)
        return len({find(n) for n in list(root)}) - 1

    def _hang(self) -> None:
        """Have what is added carry on what is drawn: two chains along every gap, one from each end."""
        for chain in self._chains():
            there = [self.there[k] for k in chain.edges]
            if not (chain.first or chain.last):
                for x in there:
                    self.cp.add(x == 0)
            elif chain.first != chain.last:
                for near, far in pairwise(there):
                    a, b = (near, far) if chain.first else (far, near)
                    self.cp.add_implication(b, a)
            elif len(there) > 2:
                from_first = [self.cp.new_bool_var("") for _ in there]
                from_last = [self.cp.new_bool_var("") for _ in there]
                for one, other, x in zip(from_first, from_last, there, strict=True):
                    self.cp.add_implication(one, x)
                    self.cp.add_implication(other, x)
                    self.cp.add_bool_or(one, other, ~x)
                for run in (from_first, from_last[::-1]):
                    for near, far in pairwise(run):
                        self.cp.add_implication(far, near)

    def _chains(self) -> Iterable[Chain]:
        """Yield the gaps of the scope, parted where a cut crosses them: a seam may be carried on from there."""
        arrangement = self.parts.arrangement
        inner = self.parts.broken - arrangement.on_outline
        for chain in arrangement.chains:
            run: list[int] = []
            first = chain.first
            for n, k in enumerate(chain.edges):
                inside = k in self.scope
                if inside:
                    run.append(k)
                after = chain.edges[n + 1] if n + 1 < len(chain.edges) else None
                parted = after is not None and bool(set(arrangement.edges[k]) & set(arrangement.edges[after]) & inner)
                if run and (parted or after is None or after not in self.scope):
                    yield Chain(tuple(run), first, chain.last if after is None else parted)
                    run = []
                if not run:
                    first = parted

    def _close(self, v: int, here: Sequence[int]) -> None:
        """Sew one pair in line last at a place, if anything is there."""
        cp, arrangement = self.cp, self.parts.arrangement
        drawn = self._is_drawn(v)
        placed = cp.new_constant(1) if drawn else cp.new_bool_var(f"placed {v}")
        self.placed[v] = placed
        pairs = [pair for pair in arrangement.in_line[v] if pair[0] in self.there and pair[1] in self.there]
        for pair in pairs:
            self.last[v, pair] = cp.new_bool_var(f"last {v} {pair}")
            for k in pair:
                cp.add_implication(self.last[v, pair], self.there[k])
        cp.add(sum(self.last[v, pair] for pair in pairs) == placed)
        if not drawn:
            for k in here:
                cp.add_implication(self.there[k], placed)
        closing = cp.new_int_var(0, self.horizon, f"closing {v}")
        for k in here:
            mine = [self.last[v, pair] for pair in pairs if k in pair]
            if len(mine) == 1:
                in_last = mine[0]
            else:
                in_last = cp.new_bool_var(f"in last {v} {k}")
                cp.add(in_last == sum(mine))
            self.in_last[v, k] = in_last
            moment = self._time(k)
            cp.add(moment + 1 <= closing).only_enforce_if(~in_last, self.there[k])
            cp.add(moment == closing).only_enforce_if(in_last)

    def _time(self, k: int) -> Any:
        if k not in self.time:
            self.time[k] = self.cp.new_int_var(0, self.horizon, f"time {k}")
        return self.time[k]

    # -- units -------------------------------------------------------------------------------------------------

    def add_units(self) -> None:
        """Say which edges are joins, and which add a patch to a unit."""
        cp, sides, within = self.cp, self.parts.sides, self._within
        areas = sorted({a for k in self.scope for a in sides[k]})
        line = _line_numbers(self.parts.arrangement)
        lines = max(line.values(), default=0)
        added_at = {a: cp.new_int_var(0, within, f"added at {a}") for a in areas}
        added_on = {a: cp.new_int_var(0, lines, f"added on {a}") for a in areas}
        for k in sorted(self.scope):
            there, join = self.there[k], cp.new_bool_var(f"join {k}")
            self.join[k] = join
            adds = {a: cp.new_bool_var(f"adds {k} {a}") for a in sides[k]}
            cp.add_exactly_one(join, ~there, *adds.values())
            moment = self._time(k)
            cp.add(moment >= within + 1).only_enforce_if(join)
            cp.add(moment <= within).only_enforce_if(~join)
            for a, here in adds.items():
                cp.add(moment == added_at[a]).only_enforce_if(here)
                cp.add(added_on[a] == line.get(k, 0)).only_enforce_if(here)
                cp.add(moment >= added_at[a] + 1).only_enforce_if(~here, there)
            if not self.parts.arrangement.drawn[k]:
                one, other = sides[k]
                cp.add(added_at[one] == added_at[other]).only_enforce_if(~there)
                cp.add(added_on[one] == added_on[other]).only_enforce_if(~there)
        for v, here in self.around.items():
            joined = self.joined[v] = cp.new_bool_var(f"joined {v}")
            cp.add_implication(joined, self.placed[v])
            for k in here:
                cp.add_implication(self.join[k], joined)
                cp.add_bool_or(~joined, ~self.in_last[v, k], self.join[k])
        self.units = sum(self.join.values()) - sum(self.joined.values()) + 1

    def choice(self, solution: Solution) -> Choice:
        """Return what a solution of the model means."""
        edges = frozenset(k for k in self.optional if solution[self.there[k]])
        places = sum(solution[x] for v, x in self.placed.items() if not self._is_drawn(v))
        units = 0
        if self.join:
            units = sum(solution[x] for x in self.join.values()) - sum(solution[x] for x in self.joined.values()) + 1
        return Choice(edges, len(edges) - places - self.islands, units, solution.optimal, solution.bound)

    # -- below the units ---------------------------------------------------------------------------------------

    def matched_points(self) -> Any:
        """Return how many points have seams on both sides of the pair that is sewn last."""
        cp, found = self.cp, []
        for (v, pair), last in self.last.items():
            one, other = self._sides_at(v, pair)
            if one and other:
                matched = cp.new_bool_var(f"matched {v} {pair}")
                found.append(matched)
                for k in one:
                    for n in other:
                        cp.add_bool_or(matched, ~last, ~self.there[k], ~self.there[n])
        self._matched = found
        return sum(found)

    def matched_in(self, solution: Solution) -> int:
        """Return the matched points of a solution."""
        return sum(solution[x] for x in self._matched)

    def _sides_at(self, v: int, pair: Pair) -> tuple[list[int], list[int]]:
        """Return the edges at a place on either side of a pair in line."""
        arrangement = self.parts.arrangement
        x, y = arrangement.points[v]

        def way(k: int) -> tuple[float, float]:
            a, b = arrangement.edges[k]
            fx, fy = arrangement.points[b if a == v else a]
            return fx - x, fy - y

        (ax, ay), (bx, by) = way(pair[0]), way(pair[1])
        dx, dy = bx - ax, by - ay
        sides: tuple[list[int], list[int]] = ([], [])
        for k in self.around[v]:
            if k not in pair:
                fx, fy = way(k)
                sides[int(dx * fy - dy * fx > 0)].append(k)
        return sides


def _line_numbers(arrangement: Arrangement) -> dict[int, int]:
    """Return a number for every edge: the same for those on one line, and on lines that share an edge."""
    number: dict[int, int] = {}
    root: list[int] = []
    for n, (_, edges) in enumerate(arrangement.lines):
        root.append(n)
        for k in edges:
            if k in number:
                a, b = _find(root, number[k]), _find(root, n)
                root[max(a, b)] = min(a, b)
            else:
                number[k] = n
    return {k: _find(root, n) for k, n in number.items()}


def _find(root: list[int], n: int) -> int:
    while root[n] != n:
        n = root[n]
    return n


# -- answers ------------------------------------------------------------------------------------------------------


def solve(model: SeamModel, goal: Any, *, effort: float, deadline: Deadline) -> tuple[Solution, Choice | None, bool]:
    """Minimise a goal over a model.

    Returns
    -------
    Solution, Choice or None, bool
        What the solver came to; the edges to add, None if nothing was found; whether there is nothing for certain.
    """
    model.cp.minimize(goal)
    solution = solve_model(model.cp, effort=effort, deadline=deadline)
    return solution, model.choice(solution) if solution.found else None, solution.impossible

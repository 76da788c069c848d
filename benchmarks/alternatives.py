"""Other ways to find the fewest units, written as plainly as one would: what the search is measured against.

Nothing here is used by the program. The plain recursion also serves the tests as a twin that shares no code with
the search.
"""

from __future__ import annotations

import time
from collections.abc import Iterator, Sequence
from itertools import pairwise

import numpy as np

from seamtree.block.model import Block
from seamtree.search.nested import Nested, follow

Part = frozenset[int]

UNSEWABLE = 10**9
"""Units of a part that straight seams cannot sew."""


class PlainParts:
    """The whole parts graph with frozensets, as the definitions say it, without any reduction."""

    def __init__(self, block: Block) -> None:
        self.block = block
        outline = block.boundary_junctions()
        around: list[set[int]] = [set() for _ in block.junctions]
        for p, patch in enumerate(block.patches):
            for j in patch.ring:
                around[j].add(p)
        self._around = [frozenset(a) if j not in outline else None for j, a in enumerate(around)]
        self._beside: list[list[tuple[int, int]]] = [[] for _ in block.patches]
        for k in block.interior_edges:
            edge = block.edges[k]
            self._beside[edge.left].append((edge.right, k))
            self._beside[edge.right].append((edge.left, k))
        self._line = {k: n for n, line in enumerate(block.lines) for k in range(line.first, line.stop)}

    def on_boundary(self, junction: int, part: Part) -> bool:
        """Tell whether a junction is not strictly inside a part."""
        around = self._around[junction]
        return around is None or not around <= part

    def cuts(self, part: Part) -> Iterator[list[int]]:
        """Yield the edges of every full straight cut."""
        edges = self.block.edges
        for line in self.block.lines:
            run: list[int] = []
            for k in range(line.first, line.stop):
                edge = edges[k]
                if edge.left not in part or edge.right not in part:
                    run = []
                elif run or self.on_boundary(edge.start, part):
                    run.append(k)
                    if self.on_boundary(edge.end, part):
                        if k <= line.reach[run[0] - line.first]:
                            yield run
                        run = []

    def side(self, part: Part, cut: Sequence[int]) -> Part:
        """Return the patches on the left of a cut."""
        barred = set(cut)
        found = {self.block.edges[cut[0]].left}
        fresh = list(found)
        while fresh:
            for other, k in self._beside[fresh.pop()]:
                if other in part and other not in found and k not in barred:
                    found.add(other)
                    fresh.append(other)
        return frozenset(found)

    def is_unit(self, part: Part) -> bool:
        """Tell whether a part can be peeled patch by patch."""
        left = set(part)
        changed = True
        while changed and len(left) > 1:
            changed = False
            for patch in sorted(left):
                if self._can_peel(patch, left):
                    left.discard(patch)
                    changed = True
        return len(left) == 1

    def _can_peel(self, patch: int, left: set[int]) -> bool:
        run = sorted(k for other, k in self._beside[patch] if other in left)
        if not run:
            return False
        members = frozenset(left)
        for a, b in pairwise(run):
            if b != a + 1 or self._line[a] != self._line[b]:
                return False
            if self.on_boundary(self.block.edges[a].end, members):
                return False
        line = self.block.lines[self._line[run[0]]]
        return run[-1] <= line.reach[run[0] - line.first]


def plain_recursion(block: Block) -> tuple[int, int]:
    """Return the fewest units of a block and the number of parts looked at.

    The units are `UNSEWABLE` or more where straight seams cannot sew the block.
    """
    parts = PlainParts(block)
    memo: dict[Part, int] = {}

    def fewest(part: Part) -> Nested[int]:
        known = memo.get(part)
        if known is None:
            known = UNSEWABLE
            if parts.is_unit(part):
                known = 1
            else:
                for cut in parts.cuts(part):
                    side = parts.side(part, cut)
                    known = min(known, (yield fewest(side)) + (yield fewest(part - side)))
            memo[part] = known
        return known

    return follow(fewest(frozenset(range(len(block.patches))))), len(memo)


def list_parts(block: Block, limit: int) -> dict[Part, list[tuple[Part, Part]]] | None:
    """Return all parts that cuts can reach with the sides of their cuts (none for a unit); None above a limit."""
    parts = PlainParts(block)
    whole = frozenset(range(len(block.patches)))
    found: dict[Part, list[tuple[Part, Part]]] = {}
    waiting = [whole]
    while waiting:
        part = waiting.pop()
        if part in found:
            continue
        if len(found) >= limit:
            return None
        found[part] = []
        if not parts.is_unit(part):
            for cut in parts.cuts(part):
                side = parts.side(part, cut)
                found[part].append((side, part - side))
                waiting += [side, part - side]
    return found


def constraint_model(block: Block, *, seconds: float, limit: int = 20_000) -> int | None:
    """Solve the whole parts graph as one constraint model: a Boolean a part, one a cut, flow equalities.

    Returns
    -------
    int or None
        The fewest units; None where they were not proven in time, or the graph has more parts than `limit`.
    """
    from ortools.sat.python import cp_model

    graph = list_parts(block, limit)
    if graph is None:
        return None
    model = cp_model.CpModel()
    used = {part: model.new_bool_var("") for part in graph}
    into: dict[Part, list[cp_model.IntVar]] = {part: [] for part in graph}
    for part, cuts in graph.items():
        chosen = [model.new_bool_var("") for _ in cuts]
        if cuts:
            model.add(sum(chosen) == used[part])
        for cut, sides in zip(chosen, cuts, strict=True):
            for side in sides:
                into[side].append(cut)
    whole = frozenset(range(len(block.patches)))
    for part in graph:
        model.add(used[part] == (1 if part == whole else sum(into[part])))
    model.minimize(sum(used[part] for part, cuts in graph.items() if not cuts))
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.linearization_level = 2
    solver.parameters.max_time_in_seconds = seconds
    return round(solver.objective_value) if solver.solve(model) == cp_model.OPTIMAL else None


def parts_program(block: Block, *, seconds: float, relaxed: bool = False, limit: int = 200_000) -> float | None:
    """Solve the whole parts graph as an integer program with HiGHS, by `scipy.optimize.milp`.

    One variable x for each part that cuts can reach and one variable y for each cut of each part, whole and from 0:

        minimize    the sum of x over the parts that are units
        subject to  x[block] = 1
                    x[part] = sum of y over the cuts of the part         for every part that is no unit
                    x[part] = sum of y over the cuts with it as a side   for every part but the block

    What flows into a part flows on through one of its cuts, into both sides; so the parts with x = 1 are those of
    one way to cut the block up. The dual of the relaxation has a number f for every part, at most 1 for a unit and at
    most f(A) + f(B) for every cut into A and B; the fewest units of all parts are the greatest such numbers. So the
    relaxation has the optimum of the integer program (Martin, Rardin & Campbell 1990, 'Polyhedral characterization of
    discrete dynamic programming', Operations Research 38, quoted from memory), and `scipy.optimize.linprog` finds it
    sooner. It is the size of the parts graph that both have to pay for.

    Parameters
    ----------
    block
        A block that straight seams can sew.
    seconds
        Time for building the graph and solving together.
    relaxed
        Whether variables may be fractions.
    limit
        Parts of the graph beyond which it is not tried.

    Returns
    -------
    float or None
        The optimum; None where it was not found in time, or the graph is too large.
    """
    from scipy.optimize import LinearConstraint, linprog, milp
    from scipy.sparse import coo_array

    start = time.monotonic()
    graph = list_parts(block, limit)
    if graph is None:
        return None
    number = {part: n for n, part in enumerate(graph)}
    parts, column = len(graph), len(graph)
    entries: list[tuple[int, int, int]] = []  # rows: first where a part goes to, then where it comes from
    for part, cuts in graph.items():
        n = number[part]
        if cuts:
            entries.append((n, n, -1))
        entries.append((parts + n, n, -1))
        for sides in cuts:
            entries.append((n, column, 1))
            entries += [(parts + number[side], column, 1) for side in sides]
            column += 1
    row, col, factor = np.array(entries).T
    flows = coo_array((factor, (row, col)), shape=(2 * parts, column)).tocsr()
    right = np.zeros(2 * parts)
    right[parts + number[frozenset(range(len(block.patches)))]] = -1  # nothing comes before the block
    cost = np.zeros(column)
    cost[[number[part] for part, cuts in graph.items() if not cuts]] = 1
    options = {"time_limit": max(0.1, seconds - (time.monotonic() - start))}
    if relaxed:
        answer = linprog(cost, A_eq=flows, b_eq=right, method="highs", options=options)
    else:
        whole = np.ones(column)
        answer = milp(cost, integrality=whole, constraints=LinearConstraint(flows, right, right), options=options)
    return float(answer.fun) if answer.status == 0 else None

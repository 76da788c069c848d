"""A sewing order by straight cuts, those that pass most crossings first.

Every junction inside the block is settled by the cut that passes it. A run of edges in line from one settled junction
(or the outline) to the next is a full cut of whatever part it lies in, if it does not end before. So cuts can be made
one after the other without looking at parts at all: a cut settles its junctions, and breaks other lines in two there.
"""

from __future__ import annotations

import heapq
from collections.abc import Iterable

from seamtree.proofs.claims import Added, Choice, Through
from seamtree.search.rows.stretches import Stretches
from seamtree.search.rows.waits import Waits

_Run = tuple[int, int]


def longest_cuts_first(found: Stretches) -> frozenset[Choice] | None:
    """Return choices that can be sewn.

    Returns
    -------
    frozenset or None
        None where no cut is left before all junctions are settled: straight seams cannot sew the block.
    """
    through = _Cutting(found).run()
    if through is None:
        return None
    choices: set[Choice] = set(through)
    added = _grow(found, through, Waits(found, ()).in_turn() or ())
    only: dict[int, None] | None = None
    while True:
        waits = Waits(found, choices | added, only)
        circles = waits.circles()
        if not circles:
            return frozenset(choices | added)
        for row in circles:
            here = [choice for choice, _ in row.terms if isinstance(choice, Added)]
            if not here:
                return None
            _leave_out(found, added, min(here))
        only = waits.where()


class _Cutting:
    """Makes one full cut after the other, the one that passes most crossings first."""

    def __init__(self, found: Stretches) -> None:
        self._found = found
        self._open = set(found.around)
        self._passes: dict[int, list[int]] = {}
        for line in found.block.lines:
            for k in range(line.first, line.stop - 1):
                self._passes.setdefault(found.block.edges[k].end, []).append(k)
        self._ends: dict[int, list[int]] = {}
        for line in found.block.lines:
            self._ends.setdefault(found.block.edges[line.first].start, []).append(line.first)
            self._ends.setdefault(found.block.edges[line.stop - 1].end, []).append(line.stop - 1)
        self._waiting: list[tuple[int, int, _Run]] = []

    def run(self) -> set[Through] | None:
        """Return what goes through the crossings."""
        found = self._found
        for line in found.block.lines:
            self._offer(line.first)
            for k in range(line.first + 1, line.stop):
                if found.block.edges[k].start not in found.around:
                    self._offer(k)
        through = set()
        while self._waiting:
            _, _, run = heapq.heappop(self._waiting)
            if self._run_at(run[0]) != run:
                continue
            passed = [found.block.edges[k].end for k in range(*run)]
            through |= {Through(j, found.line[run[0]]) for j in passed if j in found.crossings}
            self._open.difference_update(passed)
            for j in passed:
                for k in self._passes.get(j, ()):
                    if found.line[k] != found.line[run[0]]:
                        self._offer(k)
                        self._offer(k + 1)
                for k in self._ends.get(j, ()):
                    self._offer(k)
        return None if self._open else through

    def _run_at(self, edge: int) -> _Run | None:
        """Return the first and last edge of the full cut that an edge is on, None if it is on none."""
        line = self._found.block.lines[self._found.line[edge]]
        edges, is_open = self._found.block.edges, self._open
        first = last = edge
        while first > line.first and edges[first].start in is_open:
            first -= 1
        while last < line.stop - 1 and edges[last].end in is_open:
            last += 1
        if first == last or edges[first].start in is_open or edges[last].end in is_open:
            return None
        return (first, last) if last <= line.reach[first - line.first] else None

    def _offer(self, edge: int) -> None:
        run = self._run_at(edge)
        if run is None:
            return
        passed = [self._found.block.edges[k].end for k in range(*run)]
        crossed = sum(j in self._found.crossings for j in passed)
        heapq.heappush(self._waiting, (-crossed, -len(passed), run))


def _grow(found: Stretches, through: set[Through], turn: Iterable[int]) -> set[Added]:
    """Return patches that stretches can add, the stretches below before those above."""
    joins = set()
    for choice in through:
        k = found.crossings[choice.junction][choice.line]
        joins |= {found.first[k], found.first[k + 1]}
    added: set[Added] = set()
    grown: set[int] = set()
    taken: set[int] = set()
    for seam in turn:
        if seam in joins or not found.stems.get(seam, set()) <= grown:
            continue
        options = [c for c in found.choices(seam) if c.patch not in taken]
        if options:
            chosen = min(options)
            added.add(chosen)
            grown.add(seam)
            taken.add(chosen.patch)
    return added


def _leave_out(found: Stretches, added: set[Added], choice: Added) -> None:
    """Take an addition out again, and those above it, for a unit cannot grow on a join."""
    by_edge = {c.edge: c for c in added}
    waiting = [choice.edge]
    while waiting:
        at = waiting.pop()
        if at in by_edge:
            added.discard(by_edge.pop(at))
            waiting += [k for k in by_edge if at in found.stems.get(k, ())]

"""Which seams wait for which when choices are taken, and the circles in which they wait for each other."""

from __future__ import annotations

import heapq
from collections import deque
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from seamtree.proofs.claims import Added, Choice, Row, Through
from seamtree.search.rows.stretches import Stretches


@dataclass(frozen=True, slots=True)
class Arc:
    """One seam waits for another.

    Parameters
    ----------
    before, after
        The edge of either seam where they wait: the one that ends at a junction and one that goes through there, or
        two sides of a patch.
    reason
        The choice that makes it so; None at a tee.
    """

    before: int
    after: int
    reason: Choice | None


class Waits:
    """The seams that choices make, and what waits for what.

    Parameters
    ----------
    found
        The stretches of the block.
    choices
        Choices taken. Crossings where nothing is said to go through link nothing.
    only
        Stretches (first edges) to which the look is confined; all of them if None.
    """

    def __init__(self, found: Stretches, choices: Collection[Choice], only: Collection[int] | None = None) -> None:
        self._found = found
        self._only = found.all_stretches if only is None else only
        self._links = {
            found.crossings[choice.junction][choice.line] for choice in choices if isinstance(choice, Through)
        }
        self._heads: dict[int, int] = {}
        self.arcs: dict[int, dict[int, Arc]] = {}
        for first in self._only:
            for j in found.tees_on.get(first, ()):
                self._add_stems(j, found.tees[j], None)
        for choice in choices:
            if isinstance(choice, Through):
                self._add_stems(choice.junction, found.crossings[choice.junction][choice.line], choice)
            else:
                self._add_sides(choice)
        self._adding = {self.seam(choice.edge) for choice in choices if isinstance(choice, Added)}

    def seam(self, edge: int) -> int:
        """Return the first edge of the seam that an edge belongs to."""
        first = head = self._found.first[edge]
        known = self._heads.get(first)
        if known is None:
            while head - 1 in self._links:
                head = self._found.first[head - 1]
            known = self._heads[first] = head
        return known

    def _add_stems(self, junction: int, through: int, reason: Choice | None) -> None:
        first_of, only = self._found.first, self._only
        if first_of[through] in only:
            other = self.seam(through)
            for stem in self._found.around[junction]:
                if first_of[stem] in only:
                    one = self.seam(stem)
                    if one != other and other not in (afters := self.arcs.setdefault(one, {})):
                        afters[other] = Arc(stem, through, reason)

    def _add_sides(self, choice: Added) -> None:
        first_of, only = self._found.first, self._only
        if first_of[choice.edge] in only:
            one = self.seam(choice.edge)
            for side in self._found.block.patches[choice.patch].edges:
                if side < len(first_of) and first_of[side] in only:
                    other = self.seam(side)
                    if one != other and other not in (afters := self.arcs.setdefault(one, {})):
                        afters[other] = Arc(choice.edge, side, choice)

    def in_turn(self) -> list[int] | None:
        """Return the seams (first edges) such that none waits for a later one; None if they wait in a circle.

        Seams that add a patch come first, for a unit cannot grow on a join. By the rule for stems they wait for
        nothing but each other.
        """
        missing: dict[int, int] = {}
        for afters in self.arcs.values():
            for after in afters:
                missing[after] = missing.get(after, 0) + 1
        seams = sorted({self.seam(first) for first in self._found.all_stretches})
        ready = [(seam not in self._adding, seam) for seam in seams if not missing.get(seam)]
        heapq.heapify(ready)
        plan = []
        while ready:
            _, seam = heapq.heappop(ready)
            plan.append(seam)
            for after in self.arcs.get(seam, ()):
                missing[after] -= 1
                if not missing[after]:
                    heapq.heappush(ready, (after not in self._adding, after))
        return plan if len(plan) == len(seams) else None

    def circles(self) -> list[Row]:
        """Return a row for each of some short circles: what makes the seams wait so is not all taken."""
        left = self._in_circles
        rows = []
        covered: set[int] = set()
        for seam in sorted(left):
            if seam not in covered:
                circle = self._circle(seam, left)
                if circle:
                    covered.update(self.seam(arc.before) for arc in circle)
                    terms = tuple((choice, 1) for choice in sorted(self._reasons(circle), key=str))
                    rows.append(Row("wait", (), terms, len(terms) - 1))
        return rows

    def where(self) -> dict[int, None]:
        """Return the stretches (first edges) in circles; when choices are taken back, no others come up."""
        return dict.fromkeys(first for first in sorted(self._only) if self.seam(first) in self._in_circles)

    @cached_property
    def _in_circles(self) -> set[int]:
        """Return the seams that are left when those that wait for nothing, or hold up nothing, are taken out."""
        ahead = {seam: list(afters) for seam, afters in self.arcs.items()}
        behind: dict[int, list[int]] = {}
        for seam, afters in ahead.items():
            for after in afters:
                behind.setdefault(after, []).append(seam)
        return _take_out(_take_out(ahead.keys() | behind.keys(), ahead), behind)

    def _circle(self, start: int, left: set[int]) -> list[Arc]:
        """Return the arcs of a shortest circle through a seam."""
        came: dict[int, tuple[int, Arc]] = {}
        waiting = deque([start])
        while waiting:
            seam = waiting.popleft()
            for after, arc in sorted(self.arcs[seam].items()):
                if after == start:
                    path = [arc]
                    while seam != start:
                        seam, into = came[seam]
                        path.append(into)
                    return path[::-1]
                if after in left and after not in came:
                    came[after] = (seam, arc)
                    waiting.append(after)
        return []

    def _reasons(self, circle: list[Arc]) -> set[Choice]:
        """Return all choices that a circle takes: those of its arcs, and what links its seams from arc to arc."""
        reasons = {arc.reason for arc in circle if arc.reason is not None}
        for into, out in zip(circle[-1:] + circle[:-1], circle, strict=True):
            reasons.update(self._between(into.after, out.before))
        return reasons

    def _between(self, a: int, b: int) -> Iterable[Choice]:
        found = self._found
        for k in range(min(a, b), max(a, b)):
            if found.first[k] != found.first[k + 1]:
                yield Through(found.block.edges[k].end, found.line[k])


def _take_out(seams: Collection[int], ahead: Mapping[int, Sequence[int]]) -> set[int]:
    """Take out, in turn, the seams that no other one that is left is behind of."""
    left = set(seams)
    missing = dict.fromkeys(left, 0)
    for seam in left:
        for after in ahead.get(seam, ()):
            if after in left:
                missing[after] += 1
    free = [seam for seam, count in missing.items() if not count]
    while free:
        seam = free.pop()
        left.discard(seam)
        for after in ahead.get(seam, ()):
            if after in left:
                missing[after] -= 1
                if not missing[after]:
                    free.append(after)
    return left

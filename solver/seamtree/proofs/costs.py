"""What parts cost at least, in the order of merit: numbers that follow from each other over every step.

Seen backwards, the last step of an order parts its patches along a path from outline to outline, and costs the
corners that the path turns, a join, and what both sides cost. So a cost is right for a part that is no unit if
every path and the costs of its sides come to no less. (Costs are compared as tuples; adding the same to both sides
of a comparison changes nothing.) Three shortcuts:

- Junctions inside a part cost what the cheapest pair costs that may be last there, and a join turns no more than two
  hard corners without an excess pivot. Paths that turn more than can be borne on top of this need not be walked on.
- What hangs on the clusters of a part, over single patches and single edges, costs nothing: the clusters add up.
- A safe cut is a join in every best order and may come first, where no drawn curve goes on across it.

What a part costs in straight orders alone is checked by `seamtree.proofs.straight`: with a hard corner it costs
more.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import cached_property, reduce
from itertools import pairwise
from typing import NamedTuple, Protocol

from seamtree.errors import ProofError
from seamtree.proofs.claims import FREE_PIVOTS, NOTHING, Cost, Searched
from seamtree.proofs.planar import Junctions, Patches, Planar, bits, mask_of
from seamtree.proofs.straight import Numbers, StraightChecker

_JOIN = Cost(joins=1)


class Costs(Numbers, Protocol):
    """What is claimed of parts."""

    def cost(self, patches: Patches) -> Cost | None:
        """Return what a part costs at least."""

    def searched(self, patches: Patches) -> Searched | None:
        """Return what a search has settled of a part."""


class CostChecker:
    """Follows claims from a part down.

    Parameters
    ----------
    planar
        The block.
    numbers
        What is claimed.

    Attributes
    ----------
    straight
        The check of straight orders.
    costs, searched
        What the claims rest on.
    """

    def __init__(self, planar: Planar, numbers: Costs) -> None:
        self._planar = planar
        self._numbers = numbers
        self.straight = StraightChecker(planar, numbers)
        self.costs: dict[Patches, Cost] = {}
        self.searched: dict[Patches, Searched] = {}
        self._waiting: list[Patches] = []
        self._floors: dict[Patches, Cost] = {}

    def check(self, patches: Patches, cost: Cost) -> None:
        """Check that no order of a part costs less.

        Raises
        ------
        ProofError
            If a claim does not follow.
        """
        if cost < Cost(joins=cost.joins + 1):  # nothing but joins is claimed
            self.straight.check(patches, cost.joins)
            return
        self._require(patches, cost)
        while self._waiting:
            claimed = self._waiting.pop()
            self._justify(claimed, self.costs[claimed])

    @cached_property
    def _paths(self) -> _Paths:
        return _Paths(self._planar)

    def _require(self, patches: Patches, cost: Cost) -> None:
        if cost > max(self._floor(patches), self.costs.get(patches, NOTHING)):
            self.costs[patches] = cost
            self._waiting.append(patches)

    def _value(self, patches: Patches) -> Cost:
        """Return what is claimed of a part, or what its junctions cost if that is more."""
        return max(self._numbers.cost(patches) or NOTHING, self._floor(patches))

    def _floor(self, patches: Patches) -> Cost:
        floor = self._floors.get(patches)
        if floor is None:
            floor = self._floors[patches] = self._paths.floor(self._planar.inside(patches))
        return floor

    def _justify(self, patches: Patches, cost: Cost) -> None:
        searched = self._numbers.searched(patches)
        if searched is not None and searched.cost >= cost:
            self.searched[patches] = searched
            return
        if cost < Cost(joins=cost.joins + 1):  # nothing but joins is claimed
            self.straight.check(patches, cost.joins)
            return
        inside = self._planar.inside(patches)
        if self._add_up(patches, inside, cost):
            return
        safe = next((run for run in self._planar.cuts(inside) if self._planar.parts_safely(run)), None)
        if safe is not None:
            self._require_sides(_JOIN, self._planar.cut_sides(patches, safe), cost)
            return
        if self._planar.peels(patches):
            raise ProofError(f"a unit of {patches.bit_count()} patches was claimed to cost something")
        for path_cost, path in self._paths.through(patches, inside, cost):
            left = mask_of(self._planar.left_of(path))
            self._require_sides(path_cost, self._planar.sides(patches, path[0::2], left), cost)

    def _add_up(self, patches: Patches, inside: Junctions, cost: Cost) -> bool:
        """Tell whether the clusters of a part come to what is claimed of it; if so, that is claimed of them."""
        clusters = list(self._planar.clusters(inside))
        rounds = [self._planar.patches_round(cluster) for cluster in clusters]
        apart = [self._planar.inside(around) for around in rounds] == clusters
        values = list(map(self._value, rounds))
        if rounds == [patches] or not apart or reduce(Cost.plus, values, NOTHING) < cost:
            return False
        for around, value in zip(rounds, values, strict=True):
            self._require(around, value)
        return True

    def _require_sides(self, step: Cost, sides: tuple[Patches, Patches], cost: Cost) -> None:
        values = [self._value(side) for side in sides]
        if step.plus(values[0]).plus(values[1]) < cost:
            one, other = map(int.bit_count, sides)
            raise ProofError(f"a step leaves parts of {one} and {other} patches that cost too little")
        for side, value in zip(sides, values, strict=True):
            self._require(side, value)


class _Walk(NamedTuple):
    """A path from the outline of a part on.

    Parameters
    ----------
    path
        Its edges in turn, each with the junction that it leads to after it.
    passed
        Its junctions, as a bit set.
    spent, excess
        Hard corners, and set-in ones among them, that it turns; and beyond those that are certain there.
    """

    path: tuple[int, ...]
    passed: Junctions
    spent: tuple[int, int] = (0, 0)
    excess: tuple[int, int] = (0, 0)

    def least(self, floor: Cost) -> Cost:
        """Return what a part costs at least on this way, from what it costs on any."""
        hard, set_in = floor.hard_corners + self.excess[0], floor.set_in + self.excess[1]
        return Cost(hard, set_in, max(0, self.spent[0] - FREE_PIVOTS), 1)


class _Paths:
    """Paths through parts, and what they cost at least."""

    def __init__(self, planar: Planar) -> None:
        self._planar = planar
        block = planar.block
        in_line = {j: {(k, k + 1) for k in planar.through[j]} for j in planar.inner}
        self._onward: dict[tuple[int, int], list[tuple[int, int, int]]] = {}
        self._least: dict[int, tuple[int, int]] = {}
        for j in planar.inner:
            passing = {k for pair in in_line[j] for k in pair}
            costs = []
            for a in planar.arms[j]:
                for b in planar.arms[j]:
                    if a == b:
                        continue
                    curve = block.edges[a].curve
                    eased = curve is not None and curve == block.edges[b].curve
                    hard = int((min(a, b), max(a, b)) not in in_line[j] and not eased)
                    set_in = int(hard and not (a in passing or b in passing))
                    costs.append((hard, set_in))
                    self._onward.setdefault((j, a), []).append((b, hard, set_in))
            self._least[j] = (min(hard for hard, _ in costs), min(set_in for _, set_in in costs))

    def floor(self, inside: Junctions) -> Cost:
        """Return what a part costs at least for the junctions inside it."""
        hard = sum(self._least[j][0] for j in bits(inside))
        set_in = sum(self._least[j][1] for j in bits(inside))
        if hard:
            return Cost(hard, set_in, 0, -(-hard // FREE_PIVOTS))
        return _JOIN if inside & ~self._planar.spanned else NOTHING

    def through(self, patches: Patches, inside: Junctions, cost: Cost) -> Iterator[tuple[Cost, tuple[int, ...]]]:
        """Yield every path from outline to outline through a part on which it may cost less than is claimed.

        Returns
        -------
        iterator of tuple
            What the path costs at least; its edges in turn with the junctions between them, and the one at its end.
        """
        floor = self.floor(inside)
        for first in self._planar.block.interior_edges:
            edge = self._planar.block.edges[first]
            if not patches >> edge.left & patches >> edge.right & 1:
                continue
            for start, end in ((edge.start, edge.end), (edge.end, edge.start)):
                stack = [] if inside >> start & 1 else [_Walk((first, end), 1 << start | 1 << end)]
                while stack:
                    walk = stack.pop()
                    if inside >> walk.path[-1] & 1:
                        stack += (on for on in self._go_on(walk) if on.least(floor) < cost)
                    elif (first, start) <= walk.path[-2:]:  # every path is walked both ways
                        yield self._cost(walk), walk.path

    def _go_on(self, walk: _Walk) -> Iterator[_Walk]:
        """Yield the ways to go on at the end of a walk."""
        last, at = walk.path[-2:]
        certain = self._least[at]
        for onward, hard, set_in in self._onward[at, last]:
            one, other = self._planar.ends(onward)
            end = other if one == at else one
            if not walk.passed >> end & 1:
                more = walk.excess[0] + hard - certain[0], walk.excess[1] + set_in - certain[1]
                spent = walk.spent[0] + hard, walk.spent[1] + set_in
                yield _Walk((*walk.path, onward, end), walk.passed | 1 << end, spent, more)

    def _cost(self, walk: _Walk) -> Cost:
        """Return what a path costs, with curves and bends as far as they are certain."""
        edges = walk.path[0::2]
        hard, set_in = walk.spent
        curves = set()
        for a, b in pairwise(edges):
            curve = self._planar.block.edges[a].curve
            if curve is not None and curve == self._planar.block.edges[b].curve and not self._in_line(a, b):
                curves.add(curve)
        bends = self._bends(edges)
        hard += len(curves) + bends
        return Cost(hard, set_in + bends, max(0, hard - FREE_PIVOTS), 1)

    def _in_line(self, a: int, b: int) -> bool:
        return abs(a - b) == 1 and self._planar.line[a] is self._planar.line[b]

    def _bends(self, edges: tuple[int, ...]) -> int:
        """Count the bends that a path needs where it goes on in line, along no drawn curve."""
        bends = 0
        runs: list[list[int]] = []
        for k in edges:
            straight_on = (
                runs and abs(runs[-1][-1] - k) == 1 and self._planar.line[runs[-1][-1]] is self._planar.line[k]
            )
            if straight_on:
                runs[-1].append(k)
            else:
                runs.append([k])
        for run in runs:
            if any(self._planar.block.edges[k].curve is not None for k in run):
                continue
            first, last = min(run), max(run)
            while (reach := self._planar.reach(first)) < last:
                bends += 1
                first = reach + 1
        return bends

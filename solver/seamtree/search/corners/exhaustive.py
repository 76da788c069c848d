"""Small parts: the best sewing order of all there are, without a constraint solver.

Seen backwards, the last step of an order parts its patches along a path from outline to outline through junctions
inside, and every such path will do. So a part costs what the best of its paths costs together with both sides of it.
Whatever a part falls into is a set of patches and is valued once; paths whose sides cannot keep to what is allowed,
because of what the junctions inside them cost in any order, are passed over.

Among the orders that cost the same down to the matched points, fewest different foundations and then the shortest
joins decide (see `seamtree.search.straight.tight`).
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from itertools import count
from typing import NamedTuple

from seamtree.proofs.claims import FREE_PIVOTS, Cost
from seamtree.search.corners.local_rule import Pair, Part, PartResult, build_part
from seamtree.search.corners.orders import SewnSeam, find_corners, is_matched
from seamtree.search.effort import Deadline
from seamtree.search.nested import Nested, follow
from seamtree.search.peel import peel, peel_one
from seamtree.search.straight.tight import UNCOMPARED, Choice, TightGraph, choose_among
from seamtree.search.tree import Grown, Joined, Merit, Order
from seamtree.search.view import SeamView, union

MOST_STEPS = 12_000
"""Edges that all paths together may come to; where there are more, a constraint solver is faster."""

_CROWD = 8
"""Patches of a part with which telling both sides of a path takes an edge longer."""

_LONG = 100
"""Edges of a path with which going on takes as long again."""

STEPS_PER_SECOND = 500_000
"""As many take a second."""

_WIDTH = 12
"""So small a part has less than two to the power of this of anything that is counted."""

_MATCHED, _JOIN, _PIVOT, _SET_IN, _HARD, _UNLIMITED = (1 << _WIDTH * place for place in range(6))
"""What each item counts in a cost: more than all that the items before it can come to."""

_ITEMS = (_HARD, _SET_IN, _PIVOT, _JOIN, _MATCHED)


class _TooManyPathsError(Exception):
    """There are more paths than may be looked at."""


class _Cut(NamedTuple):
    """A path through a part: what it costs, its edges in turn, and the patches on both sides of it."""

    cost: int
    path: tuple[int, ...]
    sides: tuple[int, int]


class _Way(NamedTuple):
    """An edge in one direction: what it leads from and to and what lies beside it (bits), and how to go on."""

    edge: int
    start: int
    end: int
    left: int
    right: int
    onward: list[_Onward]


class _Onward(NamedTuple):
    """How a path can go on: which way, what the pair costs by itself, how much of it is not certain, and the pair."""

    way: _Way
    cost: int
    excess: int
    pair: Pair


def sew_small_part(
    view: SeamView,
    patches: Iterable[int],
    *,
    effort: float,
    known: Merit | None = None,
    steps: float | None = None,
    deadline: Deadline | None = None,
    holds: Callable[[int], bool] | None = None,
) -> PartResult | None:
    """Find the best sewing order of a part if it is small enough to look at all of its paths.

    Parameters
    ----------
    view
        The block as bit sets.
    patches
        An edge-connected set of its patches without holes.
    effort
        Deterministic seconds for the constraint solver, which is needed only where very many sets of foundations
        compete.
    known
        What some order of the part costs, down to the units; what costs more is not looked at.
    steps
        Edges that all paths together may come to; as many as take a constraint solver's time if None.
    deadline
        What ends the search in any case.
    holds
        Tells whether a unit (patches as a bit set) is small enough; without it any is.

    Returns
    -------
    PartResult or None
        The order, all of it proven; None if the part has too many paths.
    """
    part = build_part(view.block, patches)
    whole = sum(1 << p for p in part.patches)
    paths = _Paths(part, view.neighbours, MOST_STEPS if steps is None else steps, deadline)
    try:
        for limit in _limits(part, known):
            search = _Search(view, part, whole, limit, paths, holds=holds)
            cost = search.least(whole, limit)
            if cost <= limit:
                break
        else:
            raise AssertionError("what one order costs is more than the best order costs")
        tight = search.tight_graph(whole)
    except _TooManyPathsError:
        return None
    choice, unproven, _ = choose_among(view, tight, whole, effort=effort)
    hard, set_in, pivots, joins, matched = _items(cost)
    length = sum(map(view.lengths.__getitem__, (k for path in _paths(whole, choice) for k in path)))
    return PartResult(
        order=follow(_order(view, whole, choice)),
        merit=Merit(hard, set_in, pivots, joins + 1, matched, length),
        bound=Merit(hard, set_in, pivots, joins + 1),
        levels=(True,) * 4,
        tidied=(True, UNCOMPARED[0] not in unproven, not unproven),
        spent=paths.steps / STEPS_PER_SECOND,
        costs=search.cost_of,
    )


def _limits(part: Part, known: Merit | None) -> Iterator[int]:
    """Yield what orders may cost: as much as one that is known, or more and more hard corners."""
    if known is not None:
        counts = (known.hard_corners, known.set_in, known.excess_pivots, known.units - 1, _JOIN - 1)
        yield sum(count * value for count, value in zip(counts, _ITEMS, strict=True))
    else:
        certain = sum(min(pair.hard for pair in pairs) for pairs in part.pairs.values())
        yield from (hard * _HARD - 1 for hard in count(certain + 1))


class _Paths:
    """Walks through a part."""

    def __init__(self, part: Part, neighbours: Sequence[int], most: float, deadline: Deadline | None) -> None:
        self.steps = 0
        self._most, self._deadline = most, deadline
        self.spare = _UNLIMITED
        self._neighbours = neighbours
        self._part = part
        self._plain = not (part.windows or part.curves)
        self._ways: list[_Way] = []
        for e in part.edges:
            (start, end), (left, right) = ((1 << n for n in both) for both in (part.ends(e), part.sides(e)))
            self._ways += (_Way(e, start, end, left, right, []), _Way(e, end, start, right, left, []))
        leaving = {(way.edge, way.start): way for way in self._ways}
        arriving = {(way.edge, way.end): way for way in self._ways}
        for j, pairs in part.pairs.items():
            least = min(_pair_cost(part, pair) for pair in pairs)
            for pair in pairs:
                cost = _pair_cost(part, pair)
                for before, after in (pair.edges, pair.edges[::-1]):
                    onward = _Onward(leaving[after, 1 << j], cost, cost - least, pair)
                    arriving[before, 1 << j].onward.append(onward)

    def cuts(self, patches: int, inside: int) -> Iterator[_Cut]:
        """Yield the cut along every path through some patches; `inside` are the junctions strictly inside them."""
        for first in self._ways:
            if first.start & inside or (first.left | first.right) & ~patches:
                continue
            stack: list[tuple[_Way, int, int, int, int, int, tuple[int, ...], tuple[Pair, ...]]] = [
                (first, 0, 0, first.end, first.left, first.right, (first.edge,), ())
            ]
            while stack:
                way, cost, excess, passed, left, right, path, pairs = stack.pop()
                self.steps += 1 + len(path) // _LONG
                if self.steps > self._most or (self._deadline is not None and self._deadline.over):
                    raise _TooManyPathsError
                if not way.end & inside:
                    # Every path is walked both ways.
                    if first.edge < way.edge or (first is way and way.start < way.end):
                        self.steps += patches.bit_count() // _CROWD
                        side = self._side(left, patches & ~right)
                        yield _Cut(self._cost(cost, path, pairs), path, (side, patches & ~side))
                    continue
                for after, pair_cost, pair_excess, pair in way.onward:
                    if not after.end & passed and excess + pair_excess <= self.spare:
                        stack.append(
                            (
                                after,
                                cost + pair_cost,
                                excess + pair_excess,
                                passed | after.end,
                                left | after.left,
                                right | after.right,
                                (*path, after.edge),
                                (*pairs, pair),
                            )
                        )

    def _side(self, start: int, allowed: int) -> int:
        """Return the patches that can be reached from some without leaving those that are allowed."""
        side = fresh = start
        while fresh:
            fresh = union(self._neighbours, fresh) & allowed & ~side
            side |= fresh
        return side

    def _cost(self, cost: int, path: tuple[int, ...], pairs: tuple[Pair, ...]) -> int:
        """Return what a path costs, from the sum of what its pairs cost by themselves."""
        hard = cost // _HARD
        if not self._plain:
            corners = find_corners(self._part, SewnSeam(path, pairs))
            hard = corners.total
            cost = hard * _HARD + corners.set_in * _SET_IN + cost % _SET_IN
        return cost + max(0, hard - FREE_PIVOTS) * _PIVOT + _JOIN


class _Search:
    """The best order of a part and of all that it falls into."""

    def __init__(
        self,
        view: SeamView,
        part: Part,
        whole: int,
        limit: int,
        paths: _Paths,
        *,
        holds: Callable[[int], bool] | None = None,
    ) -> None:
        self.view, self.part = view, part
        self._holds = holds
        self._paths = paths
        # Per junction inside the part: its bit, the patches round it, and what its last pair costs at least.
        self._junctions = [
            (1 << j, view.junction_patches[j], min(_pair_cost(part, pair) for pair in pairs))
            for j, pairs in part.pairs.items()
        ]
        self._no_tees = sum(1 << j for j in part.pairs if not view.junction_slots[j] & view.tee)
        self._low: dict[int, int] = {}
        self._settled: set[int] = set()
        self._cuts: dict[int, list[_Cut]] = {}
        # Whatever a path costs beyond what its junctions cost in any order, the whole costs beyond its bound.
        self._paths.spare = limit - self._lower_bound(whole)

    def least(self, patches: int, limit: int) -> int:
        """Return what a part costs, or a lower bound above the limit."""
        return follow(self._least(patches, limit))

    def _least(self, patches: int, limit: int) -> Nested[int]:
        low = self._lower_bound(patches)
        if patches in self._settled or low > limit:
            return low
        best, floor = None, _UNLIMITED
        for cut in self._cuts_of(patches):
            total = yield self._try(cut, limit)
            floor = min(floor, total)
            if total <= limit:
                best, limit = total, total - 1
                if total == low:
                    break
        if best is None:
            best = max(low, floor)
        else:
            self._settled.add(patches)
        self._low[patches] = best
        return best

    def cost_of(self, patches: int) -> Cost | None:
        """Return what a part that was looked at costs at least, down to the joins."""
        low = self._low.get(patches)
        return None if low is None else Cost(*_items(low)[:-1])

    def tight_graph(self, whole: int) -> TightGraph:
        """Return all the ways to sew a part that cost no more than the best."""
        tight = TightGraph()
        stack = [whole]
        while stack:
            patches = stack.pop()
            if patches in tight.cuts:
                continue
            best = self._low[patches]
            cuts = [cut for cut in self._cuts_of(patches) if follow(self._try(cut, best)) == best] if best else []
            tight.cuts[patches] = tuple((cut.path, *cut.sides) for cut in cuts)
            stack += [side for cut in cuts for side in cut.sides]
        return tight

    def _try(self, cut: _Cut, limit: int) -> Nested[int]:
        """Return what a part costs with a cut, or a lower bound above the limit."""
        one, other = cut.sides
        low_one, low_other = self._lower_bound(one), self._lower_bound(other)
        total = cut.cost + low_one + low_other
        if total <= limit:
            total += (yield self._least(one, limit - total + low_one)) - low_one
        if total <= limit:  # what is found out about one side says nothing new about the other
            total += (yield self._least(other, limit - total + low_other)) - low_other
        return total

    def _lower_bound(self, patches: int) -> int:
        """Return what a part is known to cost at least; what it costs where that is settled."""
        low = self._low.get(patches)
        return follow(self._first_bound(patches)) if low is None else low

    def _first_bound(self, patches: int) -> Nested[int]:
        inside, low = self._inside(patches)
        if not low and (yield self._is_unit(patches, inside)):
            self._settled.add(patches)
        else:
            # A join turns at most two corners without an excess pivot, and an excess pivot counts more than a join.
            low += _JOIN * max(1, -(-(low // _HARD) // FREE_PIVOTS))
        self._low[patches] = low
        return low

    def _is_unit(self, patches: int, inside: int) -> Nested[bool]:
        # With no junction inside, patches hang together like the branches of a tree, each by one edge; a unit holds
        # no junction but tees; and it stays one when a patch is peeled off.
        if self._holds is not None and not self._holds(patches):
            return False
        if not inside or inside & self._no_tees:
            return not inside
        rest = peel_one(self.view, patches)
        if rest is None:
            return False
        low = self._low.get(rest)
        return not ((yield self._first_bound(rest)) if low is None else low)

    def _inside(self, patches: int) -> tuple[int, int]:
        """Return the junctions inside a part (bits), and what their last pairs cost at least."""
        inside = least = 0
        for junction, around, cost in self._junctions:
            if not around & ~patches:
                inside |= junction
                least += cost
        return inside, least

    def _cuts_of(self, patches: int) -> list[_Cut]:
        """Return the cuts of a part, the promising ones first."""
        cuts = self._cuts.get(patches)
        if cuts is None:
            inside, _ = self._inside(patches)
            found = self._paths.cuts(patches, inside)
            cuts = self._cuts[patches] = sorted(found, key=lambda cut: (self._promise(cut), cut.path))
        return cuts

    def _promise(self, cut: _Cut) -> int:
        return cut.cost + self._lower_bound(cut.sides[0]) + self._lower_bound(cut.sides[1])


def _pair_cost(part: Part, pair: Pair) -> int:
    """Return what a pair costs in the seam of a join, apart from bends and curves."""
    return pair.hard * _HARD + pair.set_in * _SET_IN + is_matched(part, pair) * _MATCHED


def _items(cost: int) -> list[int]:
    return [cost // value % (1 << _WIDTH) for value in _ITEMS]


def _paths(whole: int, choice: Choice) -> Iterator[tuple[int, ...]]:
    stack = [whole]
    while stack:
        patches = stack.pop()
        if patches in choice:
            path, *sides = choice[patches]
            yield path
            stack += sides


def _order(view: SeamView, patches: int, choice: Choice) -> Nested[Order]:
    if patches in choice:
        path, one, other = choice[patches]
        return Joined(path, ((yield _order(view, one, choice)), (yield _order(view, other, choice))))
    chain = peel(view, patches)
    if chain is None:
        raise AssertionError("a part without a cut is a unit")
    return Grown(chain)

"""The best sewing order of a part, by the junction model.

All items of merit are minimised in one sum, weighted so that each counts more than all after it can come to. The
corners alone come first, for they are quickly proven and stay so whatever becomes of the rest; what they prove is a
constraint, and what they find the start, of what follows.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from seamtree.block.model import Block
from seamtree.proofs.claims import FREE_PIVOTS
from seamtree.search.corners.greedy import construct_order
from seamtree.search.corners.junction_model import JunctionModel
from seamtree.search.corners.kinds import UnitKinds
from seamtree.search.corners.local_rule import Pair, Part, PartResult, build_part
from seamtree.search.corners.narrow import fewest_narrow_units
from seamtree.search.corners.orders import score, sew, trace_seams
from seamtree.search.corners.pivot_model import PivotModel
from seamtree.search.corners.unit_model import UNITS, UnitModel
from seamtree.search.corners.witnesses import corner_places
from seamtree.search.effort import Deadline
from seamtree.search.solver import Solution, hint, solve_model
from seamtree.search.tree import Merit, Order, units_in

if TYPE_CHECKING:
    from seamtree.search.limited import UnitLimit

ITEMS = UNITS + 1
"""Hard corners, set-in seams, excess pivots, units: what the model minimises."""

FLOORS = (0, 0, 0, 1)
"""What each item is at least in any part."""

CORNERS_SHARE = 0.4
"""What the corners alone may spend of all effort."""

QUICK_SHARE = 0.02
"""What they may spend before that without linear relaxations, which few parts need for their corners."""

MOST_EDGES = 1_000
"""Edges of a part for which the model is built in any case; it takes a while to build and to read."""

EDGES_PER_SECOND = 2_000
"""Edges of a part for which it is built for each second of effort."""

ROUNDS = 40
"""How often closed rings are cut off before the goal is left as it is."""

TIDY = 0.15
"""What each of matched points, foundations and length of joins may spend of all effort once units are settled."""

TIDY_PATCHES = 40
"""Parts up to this size are tidied so."""

_CERTAIN = 0.5
"""Share of the junctions with a certain corner from which on a part is searched by narrow cuts."""

_NARROW_PER_SECOND = 3_000
"""Parts that the search by narrow cuts may look at for each second of effort."""

_NARROW_PATCHES = 50
"""Up to this size; in a larger part each takes longer."""


@dataclass(slots=True)
class _Search:
    """The best order so far, what is proven of it, and what is left to spend."""

    part: Part
    order: Order
    merit: Merit
    effort: float
    deadline: Deadline | None
    bound: tuple[int, ...] = FLOORS
    spent: float = 0.0
    model: JunctionModel = field(init=False)
    units: UnitModel | None = None
    kinds: UnitKinds | None = None
    limit: UnitLimit | None = None
    impossible: bool = False
    _kept: bool = False
    _start: Solution | None = None
    _last: Mapping[int, Pair] = field(default_factory=dict)

    @property
    def over(self) -> bool:
        """Whether the clock has ended the search."""
        return self.deadline is not None and self.deadline.over

    def minimise(self, share: float, *, relaxed: bool = True) -> bool:
        """Minimise all items that are modelled in one weighted sum; return whether that was done to the end.

        Parameters
        ----------
        share
            What that may spend of the effort that is left.
        relaxed
            Whether linear relaxations help; without them most of a solver's steps are ten times as fast.
        """
        spend = share * self.effort
        for _ in range(ROUNDS):
            weights = self._weights(sorted(self.model.costs))
            goal = sum(weight * self.model.costs[item] for item, weight in weights.items())
            self.model.cp.add(goal >= sum(weights[item] * (self.bound[item] - FLOORS[item]) for item in weights))
            self.model.cp.add(goal <= sum(weights[item] * (self.merit[item] - FLOORS[item]) for item in weights))
            self.model.cp.minimize(goal)
            solution = self._solve(spend, relaxed=relaxed)
            spend -= solution.spent
            again = solution.found and self._take(solution)
            self.impossible = solution.impossible
            if not solution.impossible:
                self._raise_bound(weights, solution.bound)
            if not again or spend <= 0 or self.over:
                return solution.optimal and not again
        return False

    def _solve(self, effort: float, *, relaxed: bool = True) -> Solution:
        if self._start is not None:
            hint(self.model.cp, self._start)
        solution = solve_model(self.model.cp, effort=effort, deadline=self.deadline, relaxed=relaxed)
        self.effort -= solution.spent
        self.spent += solution.spent
        if solution.found:
            self._start = solution
        return solution

    def _weights(self, items: Sequence[int]) -> dict[int, int]:
        """Return a weight for each item that is more than all items after it can come to in an order worth while."""
        weights, weight = {}, 1
        for item in reversed(items):
            weights[item] = weight
            # No order has more joins than seams, and none that is as good has more corners of any kind.
            weight *= 1 + (len(self.part.patches) if item == ITEMS - 1 else self.merit.hard_corners)
        return weights

    def _raise_bound(self, weights: Mapping[int, int], bound: int) -> None:
        """Read what is proven off the bound of the sum: of an item only as far as all before it are reached."""
        least = list(self.bound)
        for item in sorted(weights):
            share, bound = divmod(max(0, bound), weights[item])
            share += FLOORS[item]
            if share > least[item]:
                least[item] = share
                if item < 2:
                    least[item + 1 :] = FLOORS[item + 1 :]
            if share < least[item] or self.merit[item] > least[item]:
                break
        self.bound = tuple(least)

    def _take(self, solution: Solution) -> bool:
        """Read the order off a solution, keep it if it is better; return whether it closed rings (now forbidden)."""
        model = self.model
        last = {
            j: next(pair for pair in pairs if solution[model.last[j, pair.edges]])
            for j, pairs in self.part.pairs.items()
        }
        seams = trace_seams(self.part, self.part.edges, last)
        rings = [seam for seam in seams if seam.ring]
        for ring in rings:
            model.forbid_ring(ring.pairs)
        if rings:
            return True
        horizon = len(self.part.patches)
        joins = self.units.join if self.units else {}
        rank = {e: solution[t] + horizon * (solution[joins[e]] if joins else 0) for e, t in model.time.items()}
        kept = [e for e, join in joins.items() if solution[join]] if self.limit else ()
        order = sew(self.part, last, rank, kept)
        too_large = self._too_large(order)
        if too_large and self.limit:
            order = self.limit.split(order)
        merit = score(self.part, order)
        if self._rank(order, merit) < self._rank(self.order, self.merit):
            self.order, self.merit, self._last = order, merit, last
        if self.units is None or self.limit is None:
            return False
        for unit in too_large:
            self.units.forbid_unit(unit, self.limit.holds)
        return bool(too_large)

    def _too_large(self, order: Order) -> list[int]:
        """Return the units of an order that are too large, as bit sets."""
        if self.limit is None:
            return []
        units = (sum(1 << p for p in unit.patches) for unit in units_in(order))
        return [unit for unit in units if not self.limit.holds(unit)]

    def _rank(self, order: Order, merit: Merit) -> tuple[int, ...]:
        """Return what an order costs, in the order of merit."""
        return (*merit[:-1], self.kinds.count(order) if self.kinds else 0, merit.length)

    def refine(self, goal: Any, reached: Callable[[], int], effort: float) -> bool:
        """Minimise a figure below the units with all above it frozen; return whether that was done to the end."""
        self.effort = effort
        for item, cost in self.model.costs.items():
            self.model.cp.add(cost <= self.merit[item] - FLOORS[item])
        self.model.cp.minimize(goal)
        done = False
        for _ in range(ROUNDS):
            solution = self._solve(self.effort)
            again = solution.found and self._take(solution)
            done = solution.optimal and not again
            if not again or self.effort <= 0:
                break
        self.model.cp.add(goal <= reached())
        return done

    def _begin(self, places: Sequence[frozenset[int]] | None) -> None:
        """Begin a model, with hard corners only where they are known to lie, if that is given."""
        self.model, self.units, self._kept = JunctionModel(self.part), None, places is not None
        if places is not None:
            self.model.keep_corners(places)

    def solve_corners(self, places: Sequence[frozenset[int]]) -> None:
        """Minimise hard corners: first where they are known to lie, which is settled at once, then anywhere.

        Parameters
        ----------
        places
            Sets of junctions, none in two of them: at one of each there is a hard corner.
        """
        self.bound = (len(places), *FLOORS[1:])
        self._begin(places)
        self.minimise(QUICK_SHARE, relaxed=False)
        if self.impossible:
            self.bound = (len(places) + 1, *FLOORS[1:])
        if self.settled(2) or self.over:
            return
        self._begin(None)
        self.minimise(QUICK_SHARE, relaxed=False)
        if not self.settled(2):
            self.minimise(CORNERS_SHARE)

    def solve_units(self, places: Sequence[frozenset[int]]) -> None:
        """Minimise all items.

        Parameters
        ----------
        places
            Junctions where hard corners are known to lie.
        """
        keep = len(places) == self.merit.hard_corners
        if keep != self._kept:
            self._begin(places if keep else None)
        self.units = UnitModel(self.model)
        if self.limit is not None:
            self.units.keep_apart(self.limit.holds)
        PivotModel(self.model)
        self.minimise(1.0)

    def settled(self, items: int) -> bool:
        """Tell whether the first items are proven to be the least."""
        return self.merit[:items] == self.bound[:items]

    def narrow(self) -> None:
        """Search for the fewest units by narrow cuts, where corners that nobody can avoid leave few of them."""
        certain = sum(min(pair.hard for pair in pairs) for pairs in self.part.pairs.values())
        if self.part.curves or not self.settled(2):
            return
        if certain < _CERTAIN * len(self.part.pairs):
            return
        budget = 1 + int(self.effort * _NARROW_PER_SECOND * min(1.0, _NARROW_PATCHES / len(self.part.patches)))
        found = fewest_narrow_units(self.part, self.merit, last=self._last, budget=budget, deadline=self.deadline)
        if found.order is not None:
            self.order, self.merit = found.order, score(self.part, found.order)
        if found.least_units is None:
            self.bound = (*self.bound[:2], max(self.bound[2], 1), FLOORS[3])
        elif not self.merit.excess_pivots:
            self.bound = (*self.bound[:3], max(self.bound[3], found.least_units))


def solve_part(
    block: Block,
    patches: Iterable[int],
    *,
    effort: float,
    deadline: Deadline | None = None,
    known: Order | None = None,
    limit: UnitLimit | None = None,
) -> PartResult:
    """Find the best sewing order of a part.

    Parameters
    ----------
    block
        The block.
    patches
        An edge-connected set of its patches without holes.
    effort
        Deterministic seconds for the solver, all items together.
    deadline
        What ends the search in any case, with what it has found.
    known
        An order of the part to start from; without one it is made by plain rules.
    limit
        What units may be, if not all are small enough.

    Returns
    -------
    PartResult
        The order, and what is proven about it.
    """
    part = build_part(block, patches)
    order, merit = construct_order(part) if known is None else (known, score(part, known))
    if limit is not None:
        order = limit.split(order)
        merit = score(part, order)
    search = _Search(part, order, merit, effort, deadline, limit=limit)
    if len(part.edges) <= max(MOST_EDGES, EDGES_PER_SECOND * effort):
        _settle(search)
    if search.settled(2):
        # A join turns two corners, and what is more is an excess pivot; no better order has more of those.
        joins = (search.merit.hard_corners - search.merit.excess_pivots + 1) // FREE_PIVOTS
        search.bound = (*search.bound[:3], max(search.bound[3], 1 + joins))
    levels = tuple(search.settled(items) for items in range(1, ITEMS + 1))
    tidied = _tidy(search, TIDY * effort) if all(levels) and limit is None else (False, False, False)
    return PartResult(search.order, search.merit, Merit(*search.bound), levels, tidied, search.spent)  # type: ignore[arg-type]


def _settle(search: _Search) -> None:
    """Minimise corners, then all items."""
    places = corner_places(search.part)
    search.solve_corners(places)
    if search.limit is None:
        search.narrow()
    if search.settled(ITEMS) or search.over:
        return
    search.solve_units(places)


def _tidy(search: _Search, effort: float) -> tuple[bool, bool, bool]:
    """Look for fewer matched points, then fewer different foundations, then shorter joins, with all else frozen.

    Returns
    -------
    tuple of bool
        Whether each of the three is proven, the ones before it included.
    """
    part, model = search.part, search.model
    if len(part.patches) > TIDY_PATCHES:
        return search.merit.matched_points == 0, False, False
    units = search.units
    if units is None:
        units = search.units = UnitModel(model)
        PivotModel(model)
    kinds = search.kinds = UnitKinds.of(part.block, part.patches)
    matched = search.refine(model.matched_points(), lambda: search.merit.matched_points, effort)
    foundations = units.foundations(kinds)
    if foundations is None:
        return matched, False, False
    fewest = kinds.count(search.order) == kinds.least(search.merit.units)
    fewest = search.refine(foundations, lambda: kinds.count(search.order), effort) or fewest
    shortest = search.refine(units.joins_length(), lambda: search.merit.length, effort)
    return matched, matched and fewest, matched and fewest and shortest

"""Orders whose units are no larger than a largest foundation.

What is said of the parts graph holds of limited units too, but for one thing. Where a plan is restricted to one side
of a straight cut, every unit stays a unit and none gets larger, so safe cuts are joins that may come first, and parts
between them can be looked at one by one. But a part that is a unit may be too large, and then has to be cut. So
fewest(part) = 1 for a unit that is small enough or a single patch, else the least fewest(A) + fewest(B) over all full
straight cuts. Parts with the same junctions inside may differ in size, so here a part is the set of its patches.

A part with hard corners is settled over all of its paths, or by the junction model, with limited units.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, NamedTuple

from seamtree.block.largest import Largest
from seamtree.proofs.claims import Claims, Cost, Limited, Searched
from seamtree.proofs.cuts import Cut, FullCuts
from seamtree.proofs.limited import MOST_UNITS, LimitedChecker, Weights
from seamtree.proofs.planar import Planar
from seamtree.search.effort import SOLVER_SHARE, Deadline
from seamtree.search.nested import Nested, follow
from seamtree.search.peel import peel
from seamtree.search.tree import TIDIED_FIGURES, Found, Grown, Joined, Order, count_units, units_in
from seamtree.search.view import SeamView, bits

if TYPE_CHECKING:  # a note on paper asks for a number only
    from seamtree.search.straight.tight import TightGraph

_UNLIMITED = 1 << 60

_PARTS_PER_SECOND = 8_000
"""Parts with all of their cuts that are looked at for each second there is."""

_TIGHT_PARTS = 1_000
"""Parts up to which equal orders are compared, or looked at for it; beyond, the order found first stands."""

_UNCOMPARED = TIDIED_FIGURES[1:]
"""What is not compared in an order that is the first one found."""

_FEW_PATCHES = 40
"""Blocks up to this size are settled sooner than the linear program is loaded that bounds them from below."""

_LEAST_EFFORT = 0.01
"""Deterministic seconds that are spent on a locked part in any case."""


class _TooManyPartsError(Exception):
    """More parts would have to be looked at than there is time for."""


def keep_to_size(view: SeamView, found: Found, largest: Largest, *, time_limit: float, prove: bool = True) -> Found:
    """Find the best order of a block with units that are no larger than a rectangle.

    Parameters
    ----------
    view
        Bit sets of the block.
    found
        The best order without that.
    largest
        The rectangle.
    time_limit
        Effort in seconds of an ordinary machine; counted, not clocked.
    prove
        Whether the claims are handed over and checked, and equal orders compared.
    """
    if all(largest.holds(_mask(unit)) for unit in units_in(found.order)):
        return found  # what no order can go below, none with small units can
    return _Keeper(view, found, largest, time_limit, prove).best()


def _mask(unit: Grown) -> int:
    return sum(1 << p for p in unit.patches)


class LimitedParts:
    """The fewest limited units of parts that straight seams can sew.

    Parameters
    ----------
    cuts
        The full straight cuts of the block.
    largest
        What a unit may be at most.
    most
        How many parts may be looked at.
    deadline
        What ends the search in any case.
    """

    def __init__(self, cuts: FullCuts, largest: Largest, most: float, deadline: Deadline) -> None:
        self.cuts, self.largest = cuts, largest
        self._most, self._deadline = most, deadline
        self.units = cuts.small_units(largest.holds, MOST_UNITS)
        self.weights = self._weigh()
        self._solved: dict[int, tuple[int, Cut | None]] = {}
        self._low: dict[int, int] = {}

    def _weigh(self) -> Weights | None:
        middles = self.cuts.middles
        if self.units is None or len(middles) <= _FEW_PATCHES:
            return None
        from seamtree.search.weights import weigh

        return Weights(weigh(self.units, middles), len(middles))

    def fewest(self, part: int, limit: int = _UNLIMITED) -> int:
        """Return the fewest units of a part, or a lower bound above the limit."""
        return follow(self._fewest(part, limit))

    def _fewest(self, part: int, limit: int) -> Nested[int]:
        known = self._solved.get(part)
        if known is not None:
            return known[0]
        low = self.low(part)
        if low > limit:
            return low
        if low == 1:
            self._solve(part, 1, None)
            return 1
        if len(self.cuts) > self._most or self._deadline.over:
            raise _TooManyPartsError
        safe = self.cuts.safe(part)
        best, floor = yield self._choose((safe,) if safe else self.cuts.of(part), limit, low)
        if best is None:
            self._low[part] = max(low, floor)
            return self._low[part]
        self._solve(part, *best)
        return best[0]

    def _solve(self, part: int, units: int, cut: Cut | None) -> None:
        self._solved[part], self._low[part] = (units, cut), units

    def low(self, part: int) -> int:
        """Return what is known that a part needs at least."""
        low = self._low.get(part)
        if low is None:
            low = self._low[part] = self._first_bound(part)
        return low

    def _first_bound(self, part: int) -> int:
        least = self.largest.least_units(part)
        if self.units is not None:
            small = part in self.units
        else:
            small = least == 1 and self.largest.holds(part) and self.cuts.is_unit(part)
        return 1 if small else max(2, least, self.weights.least_units(part) if self.weights else 0)

    def _choose(self, cuts: Sequence[Cut], limit: int, low: int) -> Nested[tuple[tuple[int, Cut] | None, int]]:
        """Try cuts, the promising ones first; return the best within the limit, or what all of them exceed."""
        best: tuple[int, Cut] | None = None
        known, low_of = self._low.get, self.low
        rated = [
            ((known(cut.left) or low_of(cut.left)) + (known(cut.right) or low_of(cut.right)), cut) for cut in cuts
        ]
        floor = min((least for least, _ in rated), default=_UNLIMITED)
        if floor > limit:
            return None, floor
        floor = min((least for least, _ in rated if least > limit), default=_UNLIMITED)
        for least, _, cut in sorted((least, _imbalance(cut), cut) for least, cut in rated if least <= limit):
            if least > limit:
                floor = min(floor, least)
                break
            units = yield self._try(cut, limit)
            floor = min(floor, units)
            if units <= limit:
                best = units, cut
                if units <= low:
                    break
                limit = units - 1
        return best, floor

    def _try(self, cut: Cut, limit: int) -> Nested[int]:
        """Return the units of a part with a cut, or a lower bound above the limit.

        The smaller side goes first: what it needs more than was known may settle the larger one (of 155 patches 6,700
        parts were looked at so, and 13,100 with the left side first).
        """
        small, large = sorted((cut.left, cut.right), key=int.bit_count)
        one, other = self.low(small), self.low(large)
        if one + other > limit:
            return one + other
        one = yield self._fewest(small, limit - other)
        if one + other > limit:
            return one + other
        return one + (yield self._fewest(large, limit - one))

    @contextmanager
    def allowed(self, more: float) -> Iterator[None]:
        """Look at no more than so many further parts for a while."""
        before = self._most
        self._most = min(before, len(self.cuts) + more)
        try:
            yield
        finally:
            self._most = before

    def order(self, view: SeamView, part: int) -> Nested[Order]:
        """Return an order of a part with the fewest units, the first one found."""
        _, cut = self._solved[part] if part in self._solved else (self.fewest(part), self._solved[part][1])
        if cut is None:
            return _grown(view, part)
        return (yield _joined(view, cut, self.order))

    def tight_cuts(self, part: int) -> tuple[Cut, ...]:
        """Return the cuts of a part that keep its units fewest."""
        units = self.fewest(part)
        if units == 1:
            return ()
        safe = self.cuts.safe(part)
        return tuple(
            cut for cut in ((safe,) if safe else self.cuts.of(part)) if follow(self._try(cut, units)) <= units
        )


def _imbalance(cut: Cut) -> int:
    return abs(cut.left.bit_count() - cut.right.bit_count())


def _grown(view: SeamView, part: int) -> Grown:
    chain = peel(view, part)
    if chain is None:
        raise AssertionError("a part without a cut is a unit")
    return Grown(chain)


def _joined(view: SeamView, cut: Cut, order: Callable[[SeamView, int], Nested[Order]]) -> Nested[Joined]:
    first, second = sorted((cut.left, cut.right), key=lambda side: side & -side)
    return Joined(tuple(range(cut.first, cut.last + 1)), ((yield order(view, first)), (yield order(view, second))))


class _Piece(NamedTuple):
    """What a piece between safe cuts costs at least, and an order of it."""

    order: Order
    merit: Cost
    bound: Cost
    unproven: tuple[str, ...] = ()


@dataclass
class _Keeper:
    """Puts the best order with small units together."""

    view: SeamView
    found: Found
    largest: Largest
    time_limit: float
    prove: bool = True

    def best(self) -> Found:
        """Cut the block at safe cuts, and settle what is left piece by piece."""
        self._cuts = FullCuts(Planar(self.view.block))
        self._deadline = Deadline(self.time_limit)
        self._parts = LimitedParts(self._cuts, self.largest, _PARTS_PER_SECOND * self.time_limit, self._deadline)
        self._numbers = _Numbers(self._parts)
        self._spent = 0.0
        if not self.found.locked:
            return self._found(self._straight(self.view.all_patches))
        return self._found(follow(self._with_corners(self.view.all_patches)))

    def _found(self, piece: _Piece) -> Found:
        bound = max(piece.bound, self._free_bound())
        proven = piece.merit <= bound
        order, unproven = piece.order, piece.unproven if proven else _UNCOMPARED
        free = self.found.claims
        claims = free if bound <= free.cost or not self.prove else self._claim(bound)
        if self.found.hard_corners:
            unproven = TIDIED_FIGURES
            claims = replace(claims, corners=self.found.claims.corners)
        return Found(
            order,
            hard_corners=bound.hard_corners,
            units=bound.joins + 1,
            proven=proven,
            locked=self.found.locked,
            unproven=unproven,
            claims=claims,
            set_in=bound.set_in,
            excess_pivots=bound.excess_pivots,
        )

    def _free_bound(self) -> Cost:
        """Return what no order costs less than whatever its units are."""
        found = self.found
        return Cost(found.hard_corners, found.set_in, found.excess_pivots, found.units - 1)

    def _claim(self, cost: Cost) -> Claims:
        """Claim and check what the block costs at least."""
        checker = LimitedChecker(self._cuts, self.largest, self._numbers, self._parts.weights)
        checker.check(self.view.all_patches, cost)
        parts = {tuple(bits(part)): claimed for part, claimed in checker.costs.items()}
        weights = self._parts.weights.weights if self._parts.weights else ()
        return Claims(cost, units=Limited(self.largest.size, parts, tuple(checker.searched.values()), weights))

    # -- pieces that straight seams can sew -------------------------------------------------------------------

    def _straight(self, part: int) -> _Piece:
        try:
            units = self._parts.fewest(part)
            order, unproven = (
                self._chosen(part) if self.prove else (follow(self._parts.order(self.view, part)), _UNCOMPARED)
            )
            return _Piece(order, Cost(joins=units - 1), Cost(joins=units - 1), unproven)
        except _TooManyPartsError:
            whole = part == self.view.all_patches
            order = self._split(self.found.order) if whole else follow(self._greedy(self.view, part))
            cost = Cost(joins=count_units(order) - 1)
            return _Piece(order, cost, Cost(joins=self._parts.low(part) - 1), _UNCOMPARED)

    def _chosen(self, part: int) -> tuple[Order, tuple[str, ...]]:
        """Choose among the orders with the fewest units: fewest different foundations, then shortest joins."""
        try:
            with self._parts.allowed(_TIGHT_PARTS):
                tight = self._tight(part)
        except _TooManyPartsError:
            return follow(self._parts.order(self.view, part)), _UNCOMPARED
        from seamtree.search.straight.tight import choose_among

        effort = SOLVER_SHARE * self.time_limit
        choice, unproven, _ = choose_among(self.view, tight, part, effort=effort)

        def order(view: SeamView, here: int) -> Nested[Order]:
            if here not in choice:
                return _grown(view, here)
            path, left, right = choice[here]
            return (yield _joined(view, Cut(path[0], path[-1], left, right), order))

        return follow(order(self.view, part)), unproven

    def _tight(self, part: int) -> TightGraph:
        """List the cuts that keep units fewest, of a part and of what they leave."""
        from seamtree.search.straight.tight import TightGraph

        tight = TightGraph()
        stack = [part]
        while stack:
            here = stack.pop()
            if here in tight.cuts:
                continue
            if len(tight.cuts) >= _TIGHT_PARTS:
                raise _TooManyPartsError
            cuts = self._parts.tight_cuts(here)
            tight.cuts[here] = tuple((tuple(range(c.first, c.last + 1)), c.left, c.right) for c in cuts)
            stack += [side for cut in cuts for side in (cut.left, cut.right)]
        return tight

    def _split(self, order: Order) -> Order:
        """Cut the units of an order that are too large."""
        return follow(self._splitting(order))

    def _splitting(self, order: Order) -> Nested[Order]:
        if isinstance(order, Joined):
            return Joined(
                order.edges, ((yield self._splitting(order.parts[0])), (yield self._splitting(order.parts[1])))
            )
        part = _mask(order)
        if self.largest.holds(part):
            return order
        alone = LimitedParts(self._cuts, self.largest, len(self._cuts) + _PARTS_PER_SECOND, self._deadline)
        try:
            alone.fewest(part)
            return (yield alone.order(self.view, part))
        except _TooManyPartsError:
            return (yield self._greedy(self.view, part))

    def _greedy(self, view: SeamView, part: int) -> Nested[Order]:
        """Cut a part where that looks best, without search."""
        if self._parts.low(part) == 1:
            return _grown(view, part)
        cuts = self._cuts.of(part)
        best = min(cuts, key=lambda c: (self._parts.low(c.left) + self._parts.low(c.right), _imbalance(c), c))
        return (yield _joined(view, best, self._greedy))

    # -- pieces with hard corners -----------------------------------------------------------------------------

    def _with_corners(self, part: int) -> Nested[_Piece]:
        """Cut a part at safe cuts, and settle what is left as a whole."""
        if self._is_straight(part):
            return self._straight(part)
        cut = self._safe_cut(part)
        if cut is None:
            return self._locked(part)
        one, other = sorted((cut.left, cut.right), key=lambda side: side & -side)
        first, second = (yield self._with_corners(one)), (yield self._with_corners(other))
        join = Cost(joins=1)
        return _Piece(
            Joined(tuple(range(cut.first, cut.last + 1)), (first.order, second.order)),
            first.merit.plus(second.merit).plus(join),
            first.bound.plus(second.bound).plus(join)
            if first.merit == first.bound
            else first.bound.plus(Cost(*second.bound[:3])).plus(join),
        )

    def _is_straight(self, part: int) -> bool:
        """Tell whether straight seams can sew a part: any full cut may come first."""
        stack = [part]
        while stack:
            here = stack.pop()
            cuts = self._cuts.of(here)
            if here & (here - 1):
                if not cuts:
                    return False
                stack += [cuts[0].left, cuts[0].right]
        return True

    def _safe_cut(self, part: int) -> Cut | None:
        planar = self._cuts.planar
        runs = ((cut, range(cut.first, cut.last + 1)) for cut in self._cuts.of(part))
        return next((cut for cut, run in runs if planar.parts_safely(run)), None)

    def _locked(self, part: int) -> _Piece:
        from seamtree.search.claims import least_cost
        from seamtree.search.corners.exhaustive import sew_small_part

        members = list(bits(part))
        all_effort = SOLVER_SHARE * self.time_limit
        effort = max(
            _LEAST_EFFORT, min(all_effort * len(members) / len(self.view.block.patches), all_effort - self._spent)
        )
        answer = sew_small_part(self.view, members, effort=effort, deadline=self._deadline, holds=self.largest.holds)
        by = "paths"
        if answer is None:
            from seamtree.search.corners.solve_part import solve_part

            limit = UnitLimit(self.largest.holds, self._split)
            by = "model"
            answer = solve_part(self.view.block, members, effort=effort, deadline=self._deadline, limit=limit)
        self._spent += answer.spent
        merit, bound = answer.merit, answer.bound
        cost = least_cost(merit, bound)
        self._numbers.settled[part] = Searched(tuple(members), cost, by, round(1000 * answer.spent))  # type: ignore[arg-type]
        return _Piece(
            answer.order,
            Cost(merit.hard_corners, merit.set_in, merit.excess_pivots, merit.units - 1),
            Cost(bound.hard_corners, bound.set_in, bound.excess_pivots, bound.units - 1),
        )


class UnitLimit(NamedTuple):
    """What a unit may be.

    Parameters
    ----------
    holds
        Tells whether a part that is a unit (patches as a bit set) is small enough, or a single patch.
    split
        Cuts the units of an order that are too large.
    """

    holds: Callable[[int], bool]
    split: Callable[[Order], Order]


class _Numbers:
    """What the search knows of parts."""

    def __init__(self, parts: LimitedParts) -> None:
        self._parts = parts
        self.settled: dict[int, Searched] = {}

    def cost(self, patches: int) -> Cost | None:
        """Return what a part costs at least."""
        return Cost(joins=self._parts.low(patches) - 1)

    def searched(self, patches: int) -> Searched | None:
        """Return what a search has settled of a part."""
        return self.settled.get(patches)

"""Orders with the fewest different foundations, and then the fewest units.

Every unit counts, single patches too. Into which units a block could be taken apart is a small model: every patch is
in one unit, and foundations that are used count, then units. It knows nothing of seams, so it bounds all orders from
below. One pass over the parts that straight cuts leave tells whether the block really falls into units on the
foundations that it has chosen, and into how few; what it cannot be better with is forbidden, until nothing is left
that could be. Mostly the first choice will do.

A safe cut may come first here too: no unit reaches across it, so an order keeps all of its units when it is
restricted to one side.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace
from typing import NamedTuple

from seamtree.block.foundations import classify
from seamtree.block.largest import Largest
from seamtree.proofs.claims import SearchedSets
from seamtree.proofs.cuts import Cut, FullCuts
from seamtree.proofs.limited import MOST_UNITS
from seamtree.proofs.planar import Planar
from seamtree.search.effort import SOLVER_SHARE, Deadline
from seamtree.search.nested import Nested, follow
from seamtree.search.peel import peel
from seamtree.search.solver import new_model, solve_model
from seamtree.search.straight.tight import UNCOMPARED
from seamtree.search.straight.weighings import claim_repeats
from seamtree.search.tree import Found, Grown, Joined, Order, count_units, units_in
from seamtree.search.view import SeamView, bits

_PARTS_PER_SECOND = 500
"""Parts with all of their cuts that are listed for each second there is."""

_WORK_PER_SECOND = 400_000
"""Cuts that are looked at, in all sets together, for each second there is."""

_ROUNDS = 100
"""Sets of foundations that are looked at."""

_THOUSANDTHS = 1_000

_NONE = (1 << 60, 1 << 60)
"""What a part costs that does not fall into the foundations of a set: more than any."""


class _TooMuchError(Exception):
    """More would have to be looked at than there is time for."""


def prefer_repeats(view: SeamView, found: Found, largest: Largest | None, *, time_limit: float) -> Found:
    """Find the order of a block with the fewest different foundations, and then the fewest units.

    Parameters
    ----------
    view
        Bit sets of the block.
    found
        Its order with the fewest units.
    largest
        What a unit may be at most; any if None.
    time_limit
        Effort in seconds of an ordinary machine; counted, not clocked.

    Returns
    -------
    Found
        Proven if nothing can rank before the order, with what no order can have fewer foundations than. Where hard
        corners have to be turned, the order with the fewest units stands, and nothing is proven of its foundations.
    """
    if found.locked or found.hard_corners:
        return replace(found, proven=False, unproven=tuple(dict.fromkeys((*found.unproven, *UNCOMPARED))))
    search = _Sets(view, found, largest, time_limit)
    best = search.best()
    # Foundations that no order has fewer of, and units that none of those with as few has fewer of.
    settled = SearchedSets(best.foundations, best.units, search.tried, round(_THOUSANDTHS * search.spent))
    size = None if largest is None else largest.size
    repeats = claim_repeats(view.block, best.claims, settled, size, time_limit=time_limit)
    return replace(best, claims=replace(best.claims, repeats=repeats))


class _Tried(NamedTuple):
    """What a model came to: foundations, if there are any, what no others rank before, and how hard that was."""

    kinds: frozenset[int] | None
    value: int
    optimal: bool
    spent: float


class _Apart:
    """A model of what a block could be taken apart into.

    Parameters
    ----------
    kind_of
        Units with their foundations.
    patches
        How many patches there are.
    known
        Foundations and units of an order that can be had; nothing that ranks behind it is looked for.
    units
        What no order has fewer of.
    """

    def __init__(self, kind_of: Mapping[int, int], patches: int, *, known: tuple[int, int], units: int) -> None:
        self._model = model = new_model()
        self._weight = patches + 1
        self.known = self.value(*known)
        self._nothing = model.new_bool_var("nothing better")
        chosen = {unit: model.new_bool_var(f"unit {unit:x}") for unit in kind_of}
        alike: dict[int, list[int]] = {}
        for unit, kind in kind_of.items():
            alike.setdefault(kind, []).append(unit)
        self._used = {kind: model.new_bool_var(f"foundation {kind}") for kind in alike}
        for p in range(patches):
            model.add_exactly_one([self._nothing, *(literal for unit, literal in chosen.items() if unit >> p & 1)])
        for kind, some in alike.items():
            # No more of them than fit beside each other: what the relaxation needs to know.
            often = min(patches // some[0].bit_count(), len(some))
            model.add(sum(chosen[unit] for unit in some) <= often * self._used[kind])
            model.add_bool_or([*(chosen[unit] for unit in some), self._used[kind].negated()])
        model.add(sum(chosen.values()) >= units).only_enforce_if(self._nothing.negated())
        ranks = self._weight * sum(self._used.values()) + sum(chosen.values())
        model.minimize(ranks + (self.known + 1) * self._nothing)

    def value(self, foundations: int, units: int) -> int:
        """Return what an order ranks by: fewer foundations come before fewer units."""
        return self._weight * foundations + units

    def foundations(self, value: int) -> int:
        """Return how many foundations there are at least in an order that ranks by so much or more."""
        return -((self._weight - 1 - value) // self._weight)

    def solve(self, effort: float, deadline: Deadline) -> _Tried:
        """Choose the best foundations; none if none are left that rank with the order that can be had."""
        solution = solve_model(self._model, effort=effort, deadline=deadline)
        kinds = None
        if solution.found and not solution[self._nothing]:
            kinds = frozenset(kind for kind, used in self._used.items() if solution[used])
        return _Tried(kinds, solution.bound, solution.optimal, solution.spent)

    def forbid(self, kinds: Collection[int]) -> None:
        """Ask for a foundation that is none of these."""
        others = [used for kind, used in self._used.items() if kind not in kinds]
        self._model.add_bool_or([*others, self._nothing])


class _Sets:
    """Goes through sets of foundations.

    Attributes
    ----------
    tried, spent
        How many sets were looked at, and the deterministic seconds that choosing them took.
    """

    def __init__(self, view: SeamView, found: Found, largest: Largest | None, time_limit: float) -> None:
        self._view, self._found, self._largest = view, found, largest
        self._cuts = FullCuts(Planar(view.block))
        self._most_parts = 1 + _PARTS_PER_SECOND * time_limit
        self._work = _WORK_PER_SECOND * time_limit
        self._effort = SOLVER_SHARE * time_limit
        self.tried, self.spent = 0, 0.0
        self._deadline = Deadline(time_limit)
        self._ways: dict[int, tuple[Cut, ...]] = {}
        self._kind_of: dict[int, int] = {}

    def best(self) -> Found:
        """Return the best order that is found, and what is proven of it."""
        complete = True
        try:
            self._list_parts()
        except _TooMuchError:
            complete = False
            units = self._cuts.small_units(self._holds, MOST_UNITS)
            if units is None:
                return replace(self._found, proven=False, unproven=UNCOMPARED)
            self._classify(sorted(units))
        apart = _Apart(
            self._kind_of,
            len(self._view.block.patches),
            known=(self._count(self._found.order), count_units(self._found.order)),
            units=self._found.units,
        )
        return self._go_through(apart, complete=complete)

    def _go_through(self, apart: _Apart, *, complete: bool) -> Found:
        """Go through sets of foundations, the promising ones first; without all parts, only the first is of use."""
        best: tuple[tuple[int, int], frozenset[int]] | None = None  # what it ranks by, and the length of joins
        compared = False
        for _ in range(_ROUNDS):
            tried = apart.solve(self._effort, self._deadline)
            self._effort -= tried.spent
            self.tried, self.spent = self.tried + 1, self.spent + tried.spent
            compared = tried.value > (best[0][0] if best else apart.known)
            if compared or tried.kinds is None or not tried.optimal or not complete or self._effort <= 0:
                break
            try:
                units, length = self._sewn(tried.kinds)
            except _TooMuchError:
                break
            if units < _NONE[0]:
                ranked = (apart.value(len(tried.kinds), units), length), tried.kinds
                best = ranked if best is None or ranked[0] < best[0] else best
            apart.forbid(tried.kinds)
        top = min(best[0][0], apart.known) if best else apart.known
        least = min(top, tried.value)
        proven = least == top
        unproven = () if compared and best else UNCOMPARED[1:] if proven else UNCOMPARED
        found = replace(self._found, proven=proven, unproven=unproven, foundations=max(1, apart.foundations(least)))
        if best is None or best[0][0] > top:
            return found
        order = follow(self._order(self._view.all_patches, best[1]))
        return replace(found, order=order, units=count_units(order) if proven else found.units)

    def _count(self, order: Order) -> int:
        return len(set(classify(self._view.block, [unit.patches for unit in units_in(order)])))

    # -- what there is ------------------------------------------------------------------------------------------

    def _list_parts(self) -> None:
        """List the parts that cuts leave, and the foundations of those that are units."""
        stack = [self._view.all_patches]
        while stack:
            part = stack.pop()
            if part in self._ways:
                continue
            if len(self._ways) >= self._most_parts:
                raise _TooMuchError
            safe = self._cuts.safe(part)
            self._ways[part] = (safe,) if safe else self._cuts.of(part)
            stack += [side for cut in self._ways[part] for side in (cut.left, cut.right)]
        units = [part for part in self._ways if self._holds(part) and self._cuts.is_unit(part)]
        singles = [1 << p for p in bits(self._view.all_patches) if 1 << p not in self._ways]
        self._ways.update(dict.fromkeys(singles, ()))
        self._classify(units + singles)

    def _classify(self, units: Sequence[int]) -> None:
        self._kind_of = dict(zip(units, classify(self._view.block, [list(bits(u)) for u in units]), strict=True))

    def _holds(self, part: int) -> bool:
        return self._largest is None or self._largest.holds(part)

    # -- the orders of a set --------------------------------------------------------------------------------------

    def _sewn(self, chosen: frozenset[int]) -> tuple[int, int]:
        """Return the units, and the length of joins, that the block takes with some foundations."""
        self._values: dict[int, tuple[int, int]] = {}
        return follow(self._value(self._view.all_patches, chosen))

    def _value(self, part: int, chosen: frozenset[int]) -> Nested[tuple[int, int]]:
        known = self._values.get(part)
        if known is not None:
            return known
        value = _NONE
        if self._kind_of.get(part) in chosen:
            value = (1, 0)
        else:
            for cut in self._ways[part]:
                self._work -= 1
                if self._work < 0:
                    raise _TooMuchError
                one = yield self._value(cut.left, chosen)
                if one[0] < value[0]:
                    other = yield self._value(cut.right, chosen)
                    value = min(value, (one[0] + other[0], one[1] + other[1] + self._length(cut)))
        self._values[part] = value
        return value

    def _length(self, cut: Cut) -> int:
        return sum(self._view.lengths[cut.first : cut.last + 1])

    def _order(self, part: int, chosen: frozenset[int]) -> Nested[Order]:
        if part == self._view.all_patches:
            self._sewn(chosen)
        if self._kind_of.get(part) in chosen:
            chain = peel(self._view, part)
            if chain is None:
                raise AssertionError("what has a foundation is a unit")
            return Grown(chain)
        value = follow(self._value(part, chosen))
        cut = next(cut for cut in self._ways[part] if self._through(cut, chosen) == value)
        first, second = sorted((cut.left, cut.right), key=lambda side: side & -side)
        parts = (yield self._order(first, chosen)), (yield self._order(second, chosen))
        return Joined(tuple(range(cut.first, cut.last + 1)), parts)

    def _through(self, cut: Cut, chosen: frozenset[int]) -> tuple[int, int]:
        one, other = (follow(self._value(side, chosen)) for side in (cut.left, cut.right))
        return one[0] + other[0], one[1] + other[1] + self._length(cut)

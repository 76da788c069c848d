"""Orders with the fewest different foundations, and then the fewest units.

Every unit counts, single patches too. Which foundations can do together is searched set by set, the small sets first:
the patches of a block are so many of each kind (the same shape and fabric), and so are those of a foundation, so most
sets cannot make up the block at all. For those that can, one pass over the parts that straight cuts leave tells
whether the block falls into such units, and into how few.

A safe cut may come first here too: no unit reaches across it, so an order keeps all of its units when it is
restricted to one side.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from seamtree.block.largest import Largest
from seamtree.proofs.cuts import Cut, FullCuts
from seamtree.proofs.planar import Planar
from seamtree.search.nested import Nested, follow
from seamtree.search.peel import peel
from seamtree.search.straight.foundations import classify
from seamtree.search.straight.tight import UNCOMPARED
from seamtree.search.tree import Found, Grown, Joined, Order, count_units, units_in
from seamtree.search.view import SeamView, bits

_PARTS_PER_SECOND = 500
"""Parts with all of their cuts that are listed for each second there is."""

_WORK_PER_SECOND = 400_000
"""Cuts that are looked at, in all sets together, for each second there is."""

_SETS_PER_SECOND = 20_000
"""Sets of foundations that are put together for each second there is."""

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
        Proven if all smaller sets of foundations, and all of the same size, were ruled out or compared. Where hard
        corners have to be turned, the order with the fewest units stands, and nothing is proven of its foundations.
    """
    if found.locked or found.hard_corners:
        return replace(found, proven=False, unproven=tuple(dict.fromkeys((*found.unproven, *UNCOMPARED))))
    return _Sets(view, found, largest, time_limit).best()


@dataclass(frozen=True, slots=True)
class _Kind:
    """A foundation: how many patches of each kind it has."""

    number: int
    patches: Mapping[int, int]


class _Sets:
    """Goes through sets of foundations."""

    def __init__(self, view: SeamView, found: Found, largest: Largest | None, time_limit: float) -> None:
        self._view, self._found, self._largest = view, found, largest
        self._cuts = FullCuts(Planar(view.block))
        self._most_parts = 1 + _PARTS_PER_SECOND * time_limit
        self._work = _WORK_PER_SECOND * time_limit
        self._tried = _SETS_PER_SECOND * time_limit
        self._ways: dict[int, tuple[Cut, ...]] = {}
        self._kind_of: dict[int, int] = {}

    def best(self) -> Found:
        """Return the best order that is found, and what is proven of it."""
        mine = self._count(self._found.order)
        try:
            self._list_parts()
        except _TooMuchError:
            return replace(self._found, proven=False, unproven=UNCOMPARED)
        kinds, wanted = self._kinds()
        best: tuple[tuple[int, int, int], frozenset[int]] | None = None
        complete, size = True, self._least(kinds, wanted)
        if size >= mine and self._found.proven:
            return replace(self._found, unproven=UNCOMPARED[1:])
        try:
            while size <= (mine if best is None else best[0][0]):
                for chosen in self._fitting(kinds, wanted, size):
                    units, length = self._sewn(chosen)
                    ranked = ((size, units, length), chosen)
                    if units < _NONE[0] and (best is None or ranked[0] < best[0]):
                        best = ranked
                if best is not None:
                    break
                size += 1
        except _TooMuchError:
            complete = False
        if best is None:  # what was found first cannot be beaten, or may be
            return replace(self._found, proven=complete and self._found.proven, unproven=UNCOMPARED)
        order = follow(self._order(self._view.all_patches, best[1]))
        units = count_units(order) if complete else self._found.units
        unproven = () if complete else UNCOMPARED
        return replace(self._found, order=order, units=units, proven=complete, unproven=unproven)

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
        units = [part for part in self._ways if self._is_unit(part)]
        singles = [1 << p for p in bits(self._view.all_patches) if 1 << p not in self._ways]
        units += singles
        self._ways.update(dict.fromkeys(singles, ()))
        self._kind_of = dict(zip(units, classify(self._view.block, [list(bits(u)) for u in units]), strict=True))

    def _is_unit(self, part: int) -> bool:
        return (self._largest is None or self._largest.holds(part)) and self._cuts.is_unit(part)

    def _kinds(self) -> tuple[list[_Kind], Mapping[int, int]]:
        """Return the foundations, and how many patches of each kind the block has."""
        kinds: dict[int, _Kind] = {}
        for unit, kind in self._kind_of.items():
            if kind not in kinds:
                kinds[kind] = _Kind(kind, Counter(self._kind_of[1 << p] for p in bits(unit)))
        wanted = Counter(self._kind_of[1 << p] for p in bits(self._view.all_patches))
        return [kinds[number] for number in sorted(kinds)], wanted

    def _least(self, kinds: Sequence[_Kind], wanted: Mapping[int, int]) -> int:
        """Return how many foundations there are at least: there have to be units enough of them."""
        often = sorted((min(wanted[p] // n for p, n in kind.patches.items()) for kind in kinds), reverse=True)
        units = size = 0
        while units < self._found.units:
            units += often[size]
            size += 1
        return size

    # -- sets that can make up the block ------------------------------------------------------------------------

    def _fitting(self, kinds: Sequence[_Kind], wanted: Mapping[int, int], size: int) -> Iterator[frozenset[int]]:
        """Yield the sets of so many foundations of which the block could be made up, by the number of patches."""
        usable = [kind for kind in kinds if all(n <= wanted[patch] for patch, n in kind.patches.items())]
        holding = {patch: [kind for kind in usable if patch in kind.patches] for patch in wanted}
        seen: set[frozenset[int]] = set()
        stack: list[tuple[_Kind, ...]] = [()]
        while stack:
            self._tried -= 1
            if self._tried < 0:
                raise _TooMuchError
            chosen = stack.pop()
            numbers = frozenset(kind.number for kind in chosen)
            missing = [patch for patch in wanted if not any(patch in kind.patches for kind in chosen)]
            if len(chosen) < size:
                patch = min(missing, key=lambda patch: (len(holding[patch]), patch), default=None)
                options = usable if patch is None else holding[patch]
                stack += [(*chosen, kind) for kind in reversed(options) if kind.number not in numbers]
            elif not missing and numbers not in seen and _makes_up(chosen, wanted):
                seen.add(numbers)
                yield numbers

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


def _makes_up(chosen: Sequence[_Kind], wanted: Mapping[int, int]) -> bool:
    """Tell whether some of each of several foundations have just as many patches of each kind as are wanted."""

    def fill(kinds: Sequence[_Kind], left: Mapping[int, int]) -> Nested[bool]:
        kind, others = kinds[0], kinds[1:]
        most = min(left[patch] // count for patch, count in kind.patches.items())
        alone = [patch for patch in kind.patches if not any(patch in other.patches for other in others)]
        # What nothing else has, this one has to have all of.
        least = max((-(-left[patch] // kind.patches[patch]) for patch in alone), default=1)
        for number in range(max(1, least), most + 1):
            rest = {patch: count - number * kind.patches.get(patch, 0) for patch, count in left.items()}
            if not others:
                if not any(rest.values()):
                    return True
            elif (yield fill(others, rest)):
                return True
        return False

    return follow(fill(sorted(chosen, key=lambda kind: -len(kind.patches)), wanted))

"""The valid order of a unit that keeps the most printed numbers, and of those the one that keeps their direction.

Backwards, an order peels one patch after the other off the unit, and how many numbers it can still keep depends only
on which patches are left. So the sets of patches that can be left are gone through level by level, largest first,
with the most numbers kept on the way to each. Where a level grows too wide, the most promising sets go on and the
others are remembered by the most that they could still have kept: that bounds how far from the best the answer is.

Of orders that keep equally many, the one with the fewest pairs of patches that come the other way round than printed
is the answer: so numbers go on from the same end. That adds up over the peels as well, for a peeled patch comes after
all that are left.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from seamtree.proofreading.outcome import Renumbering
from seamtree.search.peel import can_peel, interior_edges
from seamtree.search.view import SeamView, bits

EXACT_PATCHES = 16
"""Units up to this size are always answered exactly."""

_EXACT_WIDTH = 13_000
"""More sets than any level of a unit of that size can have (12,870)."""

_NARROW = 40
"""Sets to a level in the first pass, which only has to find a good order to measure others by."""

_DIRECTION = 400
"""Sets to a level when nothing but the direction is still to be settled."""

_EFFORT = 600_000
"""For larger units: sets to a level, times the square of the number of patches."""


def nearest_order(
    view: SeamView, printed: Mapping[int, int], numbers: Sequence[int], *, width: int | None = None
) -> Renumbering | None:
    """Find the valid order of a unit in which the fewest patches get another number, and then the fewest turn round.

    Parameters
    ----------
    view
        Bit sets of the block.
    printed
        The printed number of each patch of the unit.
    numbers
        The numbers to give out in sewing order, as many as there are patches.
    width
        How many sets may stand in one level; without it wide enough for units of up to `EXACT_PATCHES` patches.

    Returns
    -------
    Renumbering or None
        None if the unit cannot be sewn in any order.
    """
    size = len(printed)
    if width is None:
        width = _EXACT_WIDTH if size <= EXACT_PATCHES else max(_NARROW, _EFFORT // size**2)
    levels = _Levels(view, printed, numbers)
    best, most = levels.search(min(_NARROW, width), at_least=-1)
    if best is None:
        return None
    if most > best.kept:
        better, most = levels.search(width, at_least=best.kept)
        best = better or best
    if width > _NARROW:
        again, _ = levels.search(min(_DIRECTION, width), at_least=best.kept - 1)
        best = min((found for found in (best, again) if found), key=lambda found: (-found.kept, found.turned))
    return Renumbering(best.order, tuple(numbers), size - best.kept, size - most)


@dataclass(frozen=True, slots=True)
class _Best:
    order: tuple[int, ...]
    kept: int
    turned: int


@dataclass(frozen=True, slots=True)
class _State:
    """How a set of patches is reached.

    Numbers kept so far and pairs turned round, the patch peeled last, the set before, interior edges.
    """

    kept: int
    turned: int
    peeled: int
    above: int
    inside: int


class _Levels:
    """The sets of patches that peeling can leave, level by level."""

    def __init__(self, view: SeamView, printed: Mapping[int, int], numbers: Sequence[int]) -> None:
        self._view = view
        self._whole = sum(1 << p for p in printed)
        place = {number: k for k, number in enumerate(numbers)}
        self._wanted = {p: place.get(number, -1) for p, number in printed.items()}
        # Per place the patches that want it: what a set can still keep is bounded by the places it can satisfy.
        # Per patch those that are printed later, and so are turned round where this one is peeled before them.
        self._later = {p: sum(1 << q for q, n in printed.items() if n > number) for p, number in printed.items()}
        self._wanting = [sum(1 << p for p, k in self._wanted.items() if k == place) for place in range(len(printed))]

    def search(self, width: int, *, at_least: int) -> tuple[_Best | None, int]:
        """Peel level by level.

        Parameters
        ----------
        width
            Most sets in a level.
        at_least
            Sets that cannot end with more numbers kept than this are left out.

        Returns
        -------
        tuple
            The best order found, None if none keeps more than `at_least`; and how many numbers an order can keep at
            the most.
        """
        levels = [{self._whole: _State(0, 0, -1, 0, interior_edges(self._view, self._whole))}]
        most = at_least
        for place in range(len(self._wanted) - 1, 0, -1):
            level = self._below(levels[-1], place)
            promise = {left: state.kept + self._hope(left, place) for left, state in level.items()}
            going = [left for left in level if promise[left] > at_least]
            going.sort(key=lambda left: (-promise[left], -level[left].kept, level[left].turned, left))
            most = max([most, *(promise[left] for left in going[width:])])
            levels.append({left: level[left] for left in going[:width]})
            if not levels[-1]:
                return None, most
        best = self._read(levels)
        return (best, max(most, best.kept)) if best.kept > at_least else (None, most)

    def _below(self, level: Mapping[int, _State], place: int) -> dict[int, _State]:
        """Peel one patch, the one at a place, off every set of a level."""
        view, wanted = self._view, self._wanted
        below: dict[int, _State] = {}
        for left, state in level.items():
            for p in bits(left):
                if not can_peel(view, p, left, state.inside):
                    continue
                kept = state.kept + (wanted[p] == place)
                rest = left ^ 1 << p
                turned = state.turned + (self._later[p] & rest).bit_count()
                known = below.get(rest)
                if known is None or (-kept, turned) < (-known.kept, known.turned):
                    below[rest] = _State(kept, turned, p, left, state.inside & ~view.patch_edges[p])
        return below

    def _hope(self, left: int, places: int) -> int:
        """Return how many numbers a set could keep if every order could be sewn."""
        return sum(1 for wanting in self._wanting[:places] if wanting & left)

    def _read(self, levels: Sequence[Mapping[int, _State]]) -> _Best:
        """Read the best order off the last level: sets of one patch."""
        ends = {left: s.kept + (self._wanted[left.bit_length() - 1] == 0) for left, s in levels[-1].items()}
        left = min(ends, key=lambda left: (-ends[left], levels[-1][left].turned, left))
        kept, turned = ends[left], levels[-1][left].turned
        order = [left.bit_length() - 1]
        for level in reversed(levels[1:]):
            order.append(level[left].peeled)
            left = level[left].above
        return _Best(tuple(order), kept, turned)

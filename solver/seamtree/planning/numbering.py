"""In which order the patches of a unit are numbered.

Any order in which patches can be peeled off, backwards, can be sewn. The one wanted lets most allowances nest at
matched points, which `seamtree.planning.pressing` decides for the block as a whole; then it changes fabric as seldom
as possible from one patch to the next; then it leads the hand the shortest way, from middle to middle of patches sewn
one after the other, starting from the end nearer to the top left. Where only two patches can be first, as in a log
cabin, the one that lies deeper inside is.

What matters of an order that is half peeled is what is left, the patch peeled last, and which of two neighbours at a
matched point comes first. So of all ways to get there only the best is kept, set by set of what is left.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from seamtree.block.foundations import Copy, find_copies, match_in_order
from seamtree.search.peel import can_peel, interior_edges, is_chain, peel
from seamtree.search.view import SeamView, bits

_STATES = 40_000
"""States of a unit that are kept; where there are more, only the best of each size go on."""

_STATES_LARGE = 6_000
"""The same for a unit of more than `EXACT_PATCHES` patches."""

EXACT_PATCHES = 20
"""Units up to this size, or with few orders, are numbered in the best way for certain but for very many sets."""

_BEST = 60
"""So many states of each size go on where there are too many."""

_EQUAL_STATES = 2_000
"""Sets of patches that may be looked at to count orders."""

_TWO = 2

_MICRO = 1_000
"""Ways are counted in thousandths of an inch, so that sums are exact."""

Before = tuple[int, int]
"""Two neighbours of a unit: what matters of an order is which of them comes first."""


@dataclass(frozen=True, slots=True)
class Numbering:
    """An order of the patches of a unit.

    Parameters
    ----------
    patches
        In sewing order.
    changes
        How often the fabric changes from one patch to the next.
    way
        The way of the hand, thousandths of an inch.
    exact
        Whether no order has fewer changes, or as many and a shorter way.
    """

    patches: tuple[int, ...]
    changes: int
    way: int = 0
    exact: bool = True


def number_unit(view: SeamView, part: int) -> Numbering:
    """Number the patches of a unit.

    Parameters
    ----------
    view
        Bit sets of the block.
    part
        Patches of a unit.

    Raises
    ------
    ValueError
        If the part is no unit.
    """
    return best_numberings(view, part, ())[0]


def number_units(view: SeamView, units: Sequence[Sequence[int]]) -> tuple[list[Copy], list[Numbering]]:
    """Number the patches of several units; those that are sewn on the same foundation are numbered alike.

    Parameters
    ----------
    view
        Bit sets of the block.
    units
        The patches of each unit.

    Returns
    -------
    tuple
        For every unit the foundation that it is sewn on; for every foundation the order of the first unit on it.
    """
    found: list[Copy] = []
    numberings: list[Numbering] = []
    firsts: dict[int, Copy] = {}
    for copy in find_copies(view.block, units):
        first = firsts.get(copy.kind)
        if first is not None:
            twin = dict(zip(first.patches, copy.patches, strict=True))
            if is_chain(view, [twin[p] for p in numberings[first.kind].patches]):
                found.append(Copy(first.kind, copy.patches))
                continue
        # What is alike within the tolerance may differ in what is straight within it: such a unit stands for itself.
        found.append(Copy(len(numberings), tuple(sorted(copy.patches))))
        firsts.setdefault(copy.kind, found[-1])
        numberings.append(number_unit(view, sum(1 << p for p in copy.patches)))
    return found, numberings


class _State(NamedTuple):
    """What is left of a unit after peeling, the patch peeled last, and which of some neighbours came off first."""

    left: int
    last: int
    which: int


class _Cost(NamedTuple):
    """What it took to get there: changes of fabric, the way of the hand, and the patches peeled in turn."""

    changes: int
    way: int
    peeled: tuple[int, ...]


def best_numberings(view: SeamView, part: int, pairs: Sequence[Before]) -> list[Numbering]:
    """List the best orders of a unit, one for each way in which some neighbours come before each other.

    Parameters
    ----------
    view
        Bit sets of the block.
    part
        Patches of a unit.
    pairs
        Neighbours; of all orders that agree in which of each pair comes first, the best is listed.

    Returns
    -------
    list of Numbering
        The best of all comes first.

    Raises
    ------
    ValueError
        If the part is no unit.
    """
    numberer = _Numberer(view, part, pairs)
    found = numberer.run()
    if not found:
        raise ValueError("the part cannot be peeled patch by patch")
    return found


class _Numberer:
    """Peels a unit set by set."""

    def __init__(self, view: SeamView, part: int, pairs: Sequence[Before]) -> None:
        self._view, self._part = view, part
        members = list(bits(part))
        fabrics = {p: view.block.patches[p].fabric or "" for p in members}
        places = {fabric: n for n, fabric in enumerate(sorted(set(fabrics.values())))}
        self._fabric = {p: places[fabric] for p, fabric in fabrics.items()}
        self._middle = {p: _middle(view, p) for p in members}
        self._pairs_of: dict[int, list[tuple[int, int, int]]] = {p: [] for p in members}
        for n, (a, b) in enumerate(pairs):
            self._pairs_of[a].append((b, n, 1))
            self._pairs_of[b].append((a, n, 2))
        self._ready: dict[int, list[int]] = {}
        self._most = _STATES if len(members) <= EXACT_PATCHES else _STATES_LARGE
        self._exact = True

    def run(self) -> list[Numbering]:
        """Return the best order for each way in which the pairs come before each other."""
        level = {_State(self._part, -1, 0): _Cost(0, 0, ())}
        states = 0
        for _ in range(self._part.bit_count() - 1):
            states += len(level)
            if states > self._most and len(level) > _BEST:
                self._exact = False
                level = dict(sorted(level.items(), key=lambda item: (item[1], item[0]))[:_BEST])
            onward: dict[_State, _Cost] = {}
            for state, cost in level.items():
                for p in self._peelable(state.left):
                    after, then = self._peel(state, cost, p)
                    if after not in onward or then < onward[after]:
                        onward[after] = then
            level = onward
        return self._finished(level)

    def _peelable(self, left: int) -> list[int]:
        ready = self._ready.get(left)
        if ready is None:
            inside = interior_edges(self._view, left)
            ready = self._ready[left] = [p for p in bits(left) if can_peel(self._view, p, left, inside)]
        return ready

    def _peel(self, state: _State, cost: _Cost, p: int) -> tuple[_State, _Cost]:
        which = state.which
        for other, n, bit in self._pairs_of[p]:
            if state.left >> other & 1:
                which |= bit << 2 * n
        changes, way = self._step(state.last, p)
        after = _Cost(cost.changes + changes, cost.way + way, (*cost.peeled, p))
        return _State(state.left ^ 1 << p, p, which), after

    def _step(self, one: int, other: int) -> tuple[int, int]:
        """Return whether the fabric changes between two patches, and how far apart they are."""
        if one < 0:
            return 0, 0
        (ax, ay), (bx, by) = self._middle[one], self._middle[other]
        return int(self._fabric[one] != self._fabric[other]), round(math.hypot(ax - bx, ay - by) * _MICRO)

    def _finished(self, level: dict[_State, _Cost]) -> list[Numbering]:
        firsts = [p for p in bits(self._part) if peel(self._view, self._part, keep=p) is not None]
        deeper: dict[int, int] = {}
        if len(firsts) == _TWO:
            deeper = {p: k for k, p in enumerate(_innermost_first(self._view, firsts, self._part))}
        best: dict[int, tuple[tuple[float, ...], tuple[int, ...]]] = {}
        for (left, last, which), cost in level.items():
            first = left.bit_length() - 1
            changes, way = self._step(last, first)
            changes, way = changes + cost.changes, way + cost.way
            away = round(math.hypot(*self._middle[first]) * _MICRO)
            order = (first, *reversed(cost.peeled))
            ranked = (changes, deeper.get(first, 0), way, away), order
            best[which] = min(best.get(which, ranked), ranked)
        return [Numbering(order, int(rank[0]), int(rank[2]), self._exact) for rank, order in sorted(best.values())]


def _middle(view: SeamView, patch: int) -> tuple[float, float]:
    """Return the centre of area of a patch, inches."""
    ring = [view.block.junctions[j] for j in view.block.patches[patch].ring]
    x0, y0 = ring[0]
    area = mx = my = 0.0
    for (ax, ay), (bx, by) in zip(ring, (*ring[1:], ring[0]), strict=True):
        cross = (ax - x0) * (by - y0) - (ay - y0) * (bx - x0)
        area += cross
        mx += cross * (ax + bx - 2 * x0)
        my += cross * (ay + by - 2 * y0)
    return (x0 + mx / (3 * area), y0 + my / (3 * area)) if area else ring[0]


def as_numbered(view: SeamView, units: Sequence[Sequence[int]]) -> tuple[list[Copy], list[Numbering]]:
    """Return what `number_units` does for units whose numbers stand already: those that are numbered alike are alike.

    Parameters
    ----------
    view
        Bit sets of the block.
    units
        The patches of each unit in sewing order.
    """
    found: list[Copy] = []
    numberings: list[Numbering] = []
    firsts: dict[int, list[tuple[int, tuple[int, ...]]]] = {}
    for copy, patches in zip(find_copies(view.block, units), units, strict=True):
        for kind, order in firsts.setdefault(copy.kind, []):
            if match_in_order(view.block, order, patches):
                found.append(Copy(kind, tuple(patches)))
                break
        else:
            found.append(Copy(len(numberings), tuple(patches)))
            firsts[copy.kind].append((len(numberings), tuple(patches)))
            numberings.append(Numbering(tuple(patches), 0))
    return found, numberings


def _innermost_first(view: SeamView, patches: Iterable[int], part: int) -> list[int]:
    """Sort some patches of a part by the share of their outline that lies inside it, then by size."""
    inside = interior_edges(view, part)
    block = view.block

    def rank(patch: int) -> tuple[float, float, int]:
        around = sum(block.edge_length(k) for k in block.patches[patch].edges)
        within = sum(block.edge_length(k) for k in block.patches[patch].edges if inside >> k & 1)
        return (-round(within / around, 6), -round(around, 6), patch)

    return sorted(patches, key=rank)


def count_orders(view: SeamView, part: int) -> int | None:
    """Count the orders in which a unit can be sewn.

    What can be peeled stays so when something else is peeled, so the sets that can be peeled off are the feasible
    sets of an antimatroid (B. Korte, L. Lovász and R. Schrader, 'Greedoids', 1991, from memory), and the orders of a
    part are those of what is left after each patch that can be peeled, added up.

    Parameters
    ----------
    view
        Bit sets of the block.
    part
        Patches of a unit.

    Returns
    -------
    int or None
        The number; None where more than a few thousand sets would have to be looked at.
    """
    ways = {part: 1}
    for _ in range(part.bit_count() - 1):
        after: dict[int, int] = {}
        for left, number in ways.items():
            inside = interior_edges(view, left)
            for p in bits(left):
                if can_peel(view, p, left, inside):
                    after[left ^ 1 << p] = after.get(left ^ 1 << p, 0) + number
        if len(after) > _EQUAL_STATES:
            return None
        ways = after
    return sum(ways.values())

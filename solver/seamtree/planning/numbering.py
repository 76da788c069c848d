"""In which order the patches of a unit are numbered.

Any order in which patches can be peeled off, backwards, can be sewn. The one wanted changes fabric as seldom as
possible from one patch to the next, and then starts from the innermost patch.

Backwards, whatever can be peeled stays so when something else is peeled. So once a fabric is in hand, peeling all of
it that can be reached never costs a change later, and only the sequence of fabrics is left to search: breadth first,
over what is left of the unit whenever the fabric changes.
"""

from __future__ import annotations

import heapq
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from seamtree.search.foundations import Copy, find_copies
from seamtree.search.peel import can_peel, interior_edges, is_chain, peel
from seamtree.search.view import SeamView, bits

EXACT_PATCHES = 20
"""Units up to this size are numbered with the fewest changes of fabric for certain."""

_STATES = 4_000
"""States after which the search ends for larger units, with the best order found."""

_EQUAL_STATES = 2_000
"""States after which no more orders of a unit that are as good are looked for."""


@dataclass(frozen=True, slots=True)
class Numbering:
    """An order of the patches of a unit.

    Parameters
    ----------
    patches
        In sewing order.
    changes
        How often the fabric changes from one patch to the next.
    exact
        Whether no order has fewer changes.
    """

    patches: tuple[int, ...]
    changes: int
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
    best = _fewest_changes(view, part, keep=None)
    if best is None:
        raise ValueError("the part cannot be peeled patch by patch")
    for patch in _innermost_first(view, part):
        if patch == best.patches[0]:
            return best
        from_here = _fewest_changes(view, part, keep=patch)
        if from_here is not None and from_here.changes <= best.changes:
            return from_here
    return best


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


def _innermost_first(view: SeamView, part: int) -> list[int]:
    """Sort the patches of a part by the share of their outline that lies inside it, then by size."""
    inside = interior_edges(view, part)
    block = view.block

    def rank(patch: int) -> tuple[float, float, int]:
        around = sum(block.edge_length(k) for k in block.patches[patch].edges)
        within = sum(block.edge_length(k) for k in block.patches[patch].edges if inside >> k & 1)
        return (-round(within / around, 6), -round(around, 6), patch)

    return sorted(bits(part), key=rank)


def _number_fabrics(view: SeamView, patches: Iterable[int]) -> dict[int, int]:
    """Return for each of some patches the place of its fabric among theirs."""
    fabrics = {p: view.block.patches[p].fabric or "" for p in patches}
    places = {fabric: n for n, fabric in enumerate(sorted(set(fabrics.values())))}
    return {p: places[fabric] for p, fabric in fabrics.items()}


@dataclass(frozen=True, slots=True)
class _State:
    """What is left of a unit after peeling, and how it came about."""

    left: int
    fabric: int
    peeled: tuple[int, ...]


def _fewest_changes(view: SeamView, part: int, *, keep: int | None) -> Numbering | None:
    """Find an order with the fewest changes of fabric; `keep` must be its first patch if it is given."""
    fabric_of = _number_fabrics(view, bits(part))
    limited = len(fabric_of) > EXACT_PATCHES
    queue: list[tuple[int, int, _State]] = [(0, 0, _State(part, -1, ()))]
    seen: set[tuple[int, int]] = set()
    turn = 0
    while queue:
        changes, _, state = heapq.heappop(queue)
        if (state.left, state.fabric) in seen:
            continue
        seen.add((state.left, state.fabric))
        if not state.left & (state.left - 1):
            return Numbering((state.left.bit_length() - 1, *reversed(state.peeled)), changes)
        for after in _peel_on(view, state, fabric_of, keep):
            turn += 1
            last = after.left.bit_length() - 1
            one_left = not after.left & (after.left - 1)
            cost = changes + (state.fabric >= 0) + (one_left and fabric_of[last] != after.fabric)
            heapq.heappush(queue, (cost, turn, after))
        if limited and len(seen) > _STATES:
            return _finish(view, min((s for _, _, s in queue), key=lambda s: s.left.bit_count()), fabric_of, keep)
    return None


def _finish(view: SeamView, state: _State, fabric_of: dict[int, int], keep: int | None) -> Numbering | None:
    """Peel what is left without regard to fabrics."""
    chain = peel(view, state.left, keep=keep)
    if chain is None:
        return None
    patches = (*chain, *reversed(state.peeled))
    return Numbering(patches, sum(fabric_of[a] != fabric_of[b] for a, b in pairwise(patches)), exact=False)


def _peel_on(view: SeamView, state: _State, fabric_of: dict[int, int], keep: int | None) -> Iterator[_State]:
    """Yield what is left when all that can be reached of one more fabric is peeled."""
    inside = interior_edges(view, state.left)
    ready = [p for p in bits(state.left) if p != keep and can_peel(view, p, state.left, inside)]
    for fabric in sorted({fabric_of[p] for p in ready} - {state.fabric}):
        left, edges, peeled = state.left, inside, []
        waiting = [p for p in ready if fabric_of[p] == fabric]
        while waiting and left & (left - 1):
            p = waiting.pop()
            if not left >> p & 1 or not can_peel(view, p, left, edges):
                continue
            run = view.patch_edges[p] & edges
            left ^= 1 << p
            edges &= ~run
            peeled.append(p)
            beside = (view.block.edges[k] for k in bits(run))
            others = (e.left if e.right == p else e.right for e in beside)
            waiting += sorted(q for q in others if fabric_of[q] == fabric and q != keep)
        yield _State(left, fabric, state.peeled + tuple(peeled))


# -- orders that are as good -----------------------------------------------------------------------------------

Before = tuple[int, int]
"""Two neighbours of a unit: what matters of an order is which of them comes first."""


def equal_numberings(view: SeamView, best: Numbering, pairs: Sequence[Before]) -> list[tuple[int, ...]]:
    """List orders with as few changes of fabric from the same first patch that differ in some pairs of neighbours.

    Parameters
    ----------
    view
        Bit sets of the block.
    best
        The order of the unit so far.
    pairs
        Neighbours; of all orders that agree in which of each pair comes first, one is listed.

    Returns
    -------
    list of tuple of int
        The order so far, then others; of many orders, those found before the search is given up.
    """
    found = {_which_first(best.patches, pairs): best.patches}
    fabric_of = _number_fabrics(view, best.patches)
    keep = best.patches[0]
    stack = [(0, _State(sum(1 << p for p in best.patches), -1, ()))]
    seen: dict[tuple[int, int, tuple[bool, ...]], int] = {}
    while stack and len(seen) < _EQUAL_STATES:
        changes, state = stack.pop()
        which = _which_first((*bits(state.left), *reversed(state.peeled)), pairs)
        key = state.left, state.fabric, which
        if seen.get(key, changes + 1) <= changes:
            continue
        seen[key] = changes
        if state.left == 1 << keep:
            found.setdefault(which, (keep, *reversed(state.peeled)))
            continue
        inside = interior_edges(view, state.left)
        for p in bits(state.left & ~(1 << keep)):
            if can_peel(view, p, state.left, inside):
                left = state.left ^ 1 << p
                cost = changes + (state.fabric not in (-1, fabric_of[p]))
                cost += left == 1 << keep and fabric_of[keep] != fabric_of[p]
                if cost <= best.changes:
                    stack.append((cost, _State(left, fabric_of[p], (*state.peeled, p))))
    return list(found.values())


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


def _which_first(order: Sequence[int], pairs: Sequence[Before]) -> tuple[bool, ...]:
    at = {p: k for k, p in enumerate(order)}
    return tuple(at[a] < at[b] for a, b in pairs)

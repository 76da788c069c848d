"""In which order the patches of a unit are numbered.

Any order in which patches can be peeled off, backwards, can be sewn. The one wanted changes fabric as seldom as
possible from one patch to the next, and then starts from the innermost patch.

Backwards, whatever can be peeled stays so when something else is peeled. So once a fabric is in hand, peeling all of
it that can be reached never costs a change later, and only the sequence of fabrics is left to search: breadth first,
over what is left of the unit whenever the fabric changes.
"""

from __future__ import annotations

import heapq
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

from seamtree.search.peel import can_peel, interior_edges, peel
from seamtree.search.view import SeamView, bits

EXACT_PATCHES = 20
"""Units up to this size are numbered with the fewest changes of fabric for certain."""

_STATES = 4_000
"""States after which the search ends for larger units, with the best order found."""


@dataclass(frozen=True, slots=True)
class Numbering:
    """An order of the patches of a unit.

    Parameters
    ----------
    patches
        In sewing order.
    changes
        How often the fabric changes from one patch to the next.
    """

    patches: tuple[int, ...]
    changes: int


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


def _innermost_first(view: SeamView, part: int) -> list[int]:
    """Sort the patches of a part by the share of their outline that lies inside it, then by size."""
    inside = interior_edges(view, part)
    block = view.block

    def rank(patch: int) -> tuple[float, float, int]:
        around = sum(block.edge_length(k) for k in block.patches[patch].edges)
        within = sum(block.edge_length(k) for k in block.patches[patch].edges if inside >> k & 1)
        return (-round(within / around, 6), -round(around, 6), patch)

    return sorted(bits(part), key=rank)


@dataclass(frozen=True, slots=True)
class _State:
    """What is left of a unit after peeling, and how it came about."""

    left: int
    fabric: int
    peeled: tuple[int, ...]


def _fewest_changes(view: SeamView, part: int, *, keep: int | None) -> Numbering | None:
    """Find an order with the fewest changes of fabric; `keep` must be its first patch if it is given."""
    block = view.block
    names = sorted({block.patches[p].fabric or "" for p in bits(part)})
    fabric_of = {p: names.index(block.patches[p].fabric or "") for p in bits(part)}
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
    return Numbering(patches, sum(fabric_of[a] != fabric_of[b] for a, b in pairwise(patches)))


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

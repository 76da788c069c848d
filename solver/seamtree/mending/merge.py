"""Neighbours of the same fabric made one patch, where that saves hard corners or units.

A seam is dropped along the whole common boundary of two patches, and only where what they become has no hole. A
locked part stays locked unless a seam inside it is dropped, and parts have nothing to do with each other, so each is
looked at by itself: all single seams, then all pairs of seams, and so on.

Dropping a seam that is one straight stretch never saves a hard corner: sew it first, and every junction keeps the
last two edges that it has without it. So what saves corners makes a patch of others that cannot be sewn to each other
by straight seams, and of pairs of seams only few are worth counting. (Where curves are drawn all are counted.) What
saves units may be any seam.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations

from seamtree.block.assemble import Face
from seamtree.block.model import Block
from seamtree.geometry.straight import is_straight
from seamtree.mending.locked import locked_parts
from seamtree.mending.redraw import Ring, assemble
from seamtree.search.find import find_order
from seamtree.search.tree import Joined, Order, count_units

_MOST_TOGETHER = 3
"""As many seams are dropped together in one part."""

_AN_ORDER = 4
"""A sewing order takes as long as so many other trials."""

_TRIALS_PER_SECOND = 150
"""How many ways to drop seams count as a second; counted, not clocked."""

Pair = tuple[int, int]


@dataclass(frozen=True, slots=True)
class Merged:
    """A way to drop seams: the pairs of patches that become one, and the block after that."""

    pairs: tuple[Pair, ...]
    block: Block


@dataclass(frozen=True, slots=True)
class Merging:
    """What dropping seams comes to.

    Parameters
    ----------
    found
        From the best on.
    proven
        Whether no fewer seams do as well; without any found, that no one or two seams do.
    """

    found: tuple[Merged, ...]
    proven: bool


def merge(block: Block, *, alternatives: int, time_limit: float) -> Merging:
    """Find the fewest seams to drop so that straight seams sew a block, or else so that it takes fewer units.

    A part that up to three seams do not free of all its hard corners loses as many as one or two of them save; where
    no corner can be saved, one or two seams that save units are looked for.

    Parameters
    ----------
    block
        The block.
    alternatives
        How many equally small changes are wanted.
    time_limit
        Effort in seconds of an ordinary machine.
    """
    trials = _Trials(block, int(time_limit * _TRIALS_PER_SECOND))
    locked = locked_parts(block)
    if not locked:
        return _fewer_units(block, trials, alternatives)
    chosen: list[list[tuple[Pair, ...]]] = []
    proven = True
    for part in _apart(locked):
        ways, certain = _loosen(block, trials, part)
        if not ways:
            ways, certain = _lessen(block, trials, part)
        proven &= certain
        if ways:
            chosen.append(ways)
    if not chosen:
        units = _fewer_units(block, trials, alternatives)
        return Merging(units.found, units.proven and proven)
    found = []
    for n in range(alternatives):
        # The first alternative takes the first way everywhere; the others differ in one part.
        for k, ways in enumerate(chosen):
            if n < len(ways) and (n or not k):
                pairs = sum((ways[n] if m == k else other[0] for m, other in enumerate(chosen)), ())
                merged = drop_seams(block, pairs)
                if merged is not None:
                    found.append(Merged(_with_all_between(block, pairs), merged))
    return Merging(tuple(found[:alternatives]), proven)


def _apart(parts: Sequence[int]) -> list[int]:
    """Put parts together that have patches in common."""
    apart: list[int] = []
    for part in parts:
        together = part
        for other in [other for other in apart if other & part]:
            apart.remove(other)
            together |= other
        apart.append(together)
    return apart


class _Trials:
    """Counts what is tried."""

    def __init__(self, block: Block, limit: int) -> None:
        self.block = block
        self.left = limit

    def drop(self, pairs: Sequence[Pair]) -> Block | None:
        """Return the block without some seams, None if patches would get holes."""
        self.left -= 1
        return drop_seams(self.block, pairs)

    def figures(self, block: Block) -> tuple[int, int, bool]:
        """Return the hard corners and the units of a block, and whether they are proven."""
        self.left -= _AN_ORDER
        found = find_order(block, time_limit=1.0)
        return _count_corners(block, found.order), count_units(found.order), found.proven


def _loosen(block: Block, trials: _Trials, part: int) -> tuple[list[tuple[Pair, ...]], bool]:
    """Return the smallest sets of seams that loosen a locked part, and whether smaller ones are ruled out."""
    pairs = [pair for pair in _same_fabric(block) if part >> pair[0] & part >> pair[1] & 1]
    before = len(locked_parts(block))
    inside = sum(1 for other in locked_parts(block) if not other & ~part)
    for size in range(1, min(_MOST_TOGETHER, len(pairs)) + 1):
        ways: list[tuple[Pair, ...]] = []
        for together in combinations(pairs, size):
            if trials.left <= 0:
                return ways, False
            merged = trials.drop(together)
            if merged is not None and len(locked_parts(merged)) <= before - inside:
                ways.append(together)
        if ways:
            return ways, True
    return [], len(pairs) <= _MOST_TOGETHER


def _lessen(block: Block, trials: _Trials, part: int) -> tuple[list[tuple[Pair, ...]], bool]:
    """Return the one or two seams of a locked part that save the most corners, and whether fewer save none."""
    pairs = [p for p in _same_fabric(block) if part >> p[0] & part >> p[1] & 1]
    before, _, certain = trials.figures(block)
    bent = {pair for pair in pairs if not _is_straight(block, pair)}
    curved = any(edge.curve is not None for edge in block.edges)
    for size in (1, 2):
        ways: list[tuple[int, tuple[Pair, ...]]] = []
        for together in combinations(pairs, size):
            if not (curved or bent & set(together) or len(set(sum(together, ()))) < 2 * size):
                continue
            if trials.left <= 0:
                certain = False
                break
            merged = trials.drop(together)
            if merged is not None:
                after, _, proven = trials.figures(merged)
                certain &= proven
                if after < before:
                    ways.append((after, together))
        if ways:
            least = min(after for after, _ in ways)
            return [together for after, together in sorted(ways) if after == least], certain
    return [], certain


def _is_straight(block: Block, pair: Pair) -> bool:
    """Tell whether two patches have one straight seam in common."""
    sides = [block.edges[k] for k in block.interior_edges if {block.edges[k].left, block.edges[k].right} == set(pair)]
    places = {v for edge in sides for v in (edge.start, edge.end)}
    at = [block.junctions[v] for v in sorted(places)]
    if len(places) != len(sides) + 1:
        return False
    start, end = max(combinations(at, 2), key=lambda ends: math.dist(*ends))
    return all(
        is_straight([start, place, end], tolerance=block.tolerance) for place in at if place not in (start, end)
    )


def _with_all_between(block: Block, pairs: Sequence[Pair]) -> tuple[Pair, ...]:
    """Return pairs of patches with those that become one patch along with them."""
    group = _groups(len(block.patches), pairs)
    told = set(pairs)
    others = {
        (min(edge.left, edge.right), max(edge.left, edge.right))
        for edge in (block.edges[k] for k in block.interior_edges)
        if group[edge.left] == group[edge.right]
    }
    return (*pairs, *sorted(others - told))


def _count_corners(block: Block, order: Order) -> int:
    from seamtree.planning.corners import describe_corners

    corners = 0
    stack = [order]
    while stack:
        node = stack.pop()
        if isinstance(node, Joined):
            corners += len(describe_corners(block, node.edges, frozenset(_patches(node))))
            stack += node.parts
    return corners


def _patches(order: Order) -> Iterator[int]:
    stack = [order]
    while stack:
        node = stack.pop()
        if isinstance(node, Joined):
            stack += node.parts
        else:
            yield from node.patches


def _fewer_units(block: Block, trials: _Trials, alternatives: int) -> Merging:
    """Drop one or two seams that save units and cost no corners; of these the ones that save most."""
    corners, before, certain = trials.figures(block)
    pairs = list(_same_fabric(block))
    for size in (1, 2):
        found = []
        for together in combinations(pairs, size):
            if trials.left <= 0:
                certain = False
                break
            merged = trials.drop(together)
            if merged is None or (not corners and locked_parts(merged)):
                continue
            after, units, proven = trials.figures(merged)
            certain &= proven
            if after <= corners and units < before:
                found.append((units, together, merged))
        if found:
            found.sort(key=lambda way: way[:2])
            best = found[0][0]
            ways = [
                Merged(_with_all_between(block, together), merged)
                for units, together, merged in found
                if units == best
            ]
            return Merging(tuple(ways[:alternatives]), certain)
    return Merging((), certain)


def _same_fabric(block: Block) -> Iterator[Pair]:
    """Yield the neighbours of the same fabric."""
    seen: set[Pair] = set()
    for k in block.interior_edges:
        edge = block.edges[k]
        pair = (min(edge.left, edge.right), max(edge.left, edge.right))
        fabric = block.patches[pair[0]].fabric
        if pair not in seen and fabric is not None and fabric == block.patches[pair[1]].fabric:
            seen.add(pair)
            yield pair


def _groups(patches: int, pairs: Sequence[Pair]) -> list[int]:
    """Return for each patch a number that those which become one patch have in common."""
    group = list(range(patches))
    for a, b in pairs:
        group = [group[a] if g == group[b] else g for g in group]
    return group


def drop_seams(block: Block, pairs: Sequence[Pair]) -> Block | None:
    """Return a block in which pairs of neighbours have become one patch; None if one would get a hole."""
    group = _groups(len(block.patches), pairs)
    faces = []
    for leader in sorted(set(group)):
        members = [p for p, g in enumerate(group) if g == leader]
        ring = block.patches[members[0]].ring if len(members) == 1 else _union(block, members)
        if ring is None:
            return None
        labels = [label for p in members if (label := block.patches[p].label)]
        faces.append(Face(ring, block.patches[leader].fabric, " ".join(labels) or None))
    curves = {(min(e.start, e.end), max(e.start, e.end)): e.curve for e in block.edges if e.curve is not None}
    kept = {(min(a, b), max(a, b)) for face in faces for a, b in _sides(face.ring)}
    return assemble(block, block.junctions, faces, {side: c for side, c in curves.items() if side in kept})


def _sides(ring: Ring) -> list[Pair]:
    return list(zip(ring, (*ring[1:], ring[0]), strict=True))


def _union(block: Block, members: Sequence[int]) -> Ring | None:
    """Return the ring round some patches; None if there is more than one, or it touches itself."""
    sides = {side for p in members for side in _sides(block.patches[p].ring)}
    onwards: dict[int, int] = {}
    for a, b in sides:
        if (b, a) not in sides:
            if a in onwards:
                return None
            onwards[a] = b
    start = min(onwards)
    ring = [start]
    while (after := onwards[ring[-1]]) != start:
        ring.append(after)
    return tuple(ring) if len(ring) == len(onwards) else None

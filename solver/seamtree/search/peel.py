"""Units: parts that can be peeled patch by patch.

A patch can be peeled off a part when its whole boundary with the rest is one unbroken stretch on one line. What
can be peeled stays so when something else is peeled, so one greedy pass decides whether a part is a unit.
"""

from __future__ import annotations

from collections.abc import Sequence

from seamtree.search.view import SeamView, bits


def peel(view: SeamView, part: int, *, keep: int | None = None) -> tuple[int, ...] | None:
    """Peel a part down to one patch.

    Parameters
    ----------
    view
        Bit sets of the block.
    part
        Patches, edge-connected and without holes.
    keep
        A patch that must be the last one left, so that it becomes patch 1 of the unit.

    Returns
    -------
    tuple of int or None
        The patches in a valid sewing order (the last one peeled first); None if the part is no unit, or none
        that starts with `keep`.
    """
    left, peeled = peel_off(view, part, keep=keep)
    if left & (left - 1):
        return None
    return (left.bit_length() - 1, *reversed(peeled))


def is_unit(view: SeamView, part: int) -> bool:
    """Tell whether a part (patches, edge-connected and without holes) can be peeled down to one patch."""
    inside = interior_edges(view, part)
    left = waiting = part
    while waiting:
        p = waiting.bit_length() - 1
        waiting ^= 1 << p
        if can_peel(view, p, left, inside):
            left ^= 1 << p
            inside &= ~view.patch_edges[p]
            waiting |= view.neighbours[p] & left
    return not left & (left - 1)


def peel_one(view: SeamView, part: int) -> int | None:
    """Return what is left of a part when the first patch that can be peeled is peeled; None if there is none."""
    inside = interior_edges(view, part)
    return next((part ^ 1 << p for p in bits(part) if can_peel(view, p, part, inside)), None)


def peel_off(view: SeamView, part: int, *, keep: int | None = None) -> tuple[int, list[int]]:
    """Peel a part as far as it goes.

    Parameters
    ----------
    view, part, keep
        See `peel`.

    Returns
    -------
    tuple
        What is left, one patch if the part is a unit, and the patches peeled in turn. What is left does not depend on
        the order of peeling, for what can be peeled stays so.
    """
    inside = interior_edges(view, part)
    edges = view.block.edges
    peeled: list[int] = []
    left = part
    waiting = list(bits(part))
    queued = set(waiting)
    while waiting and left & (left - 1):
        p = waiting.pop()
        queued.discard(p)
        if p == keep or not left >> p & 1 or not can_peel(view, p, left, inside):
            continue
        run = view.patch_edges[p] & inside
        peeled.append(p)
        left ^= 1 << p
        inside &= ~run
        for k in bits(run):
            other = edges[k].left if edges[k].right == p else edges[k].right
            if other not in queued:
                queued.add(other)
                waiting.append(other)
    return left, peeled


def is_chain(view: SeamView, patches: Sequence[int]) -> bool:
    """Tell whether a unit can be sewn in this order of its patches."""
    left = sum(1 << p for p in patches)
    inside = interior_edges(view, left)
    for p in reversed(patches[1:]):
        if not can_peel(view, p, left, inside):
            return False
        left ^= 1 << p
        inside &= ~view.patch_edges[p]
    return True


def interior_edges(view: SeamView, part: int) -> int:
    """Return the edges with a patch of the part on both sides."""
    once = twice = 0
    for p in bits(part):
        twice |= once & view.patch_edges[p]
        once |= view.patch_edges[p]
    return twice


def can_peel(view: SeamView, patch: int, part: int, inside: int) -> bool:
    """Tell whether a patch can be peeled off a part.

    Parameters
    ----------
    view
        Bit sets of the block.
    patch
        The patch.
    part
        Patches of the part, as a bit set.
    inside
        Its interior edges.
    """
    run = view.patch_edges[patch] & inside
    if not run or run & (run + (run & -run)):
        return False
    inner = run ^ (1 << (run.bit_length() - 1))
    if inner:
        if inner & view.line_ends:
            return False
        if any(view.junction_patches[view.block.edges[k].end] & ~part for k in bits(inner)):
            return False
        if run & view.bent:
            return run.bit_length() - 1 <= view.reach[(run & -run).bit_length() - 1]
    return True

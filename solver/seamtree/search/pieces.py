"""What a part falls into when seams are opened."""

from __future__ import annotations

from seamtree.search.peel import interior_edges, is_unit
from seamtree.search.tree import Joined, Order
from seamtree.search.view import SeamView, bits


def pieces(view: SeamView, part: int, seams: int) -> list[int]:
    """Return what a part falls into when seams (edges as a bit set) are opened, by lowest patch."""
    inside = interior_edges(view, part) & ~seams
    edges = view.block.edges
    found = []
    while part:
        piece = fresh = part & -part
        while fresh:
            reached = 0
            for p in bits(fresh):
                for k in bits(view.patch_edges[p] & inside):
                    reached |= 1 << edges[k].left | 1 << edges[k].right
            fresh = reached & ~piece
            piece |= fresh
        found.append(piece)
        part &= ~piece
    return found


def falls_into_units(view: SeamView, part: int, seams: int) -> bool:
    """Tell whether the pieces that are left of a part when seams (edges as a bit set) are opened are units."""
    return all(is_unit(view, piece) for piece in pieces(view, part, seams))


def order_seams(order: Order) -> int:
    """Return the edges of all joins of an order as a bit set."""
    seams = 0
    stack = [order]
    while stack:
        node = stack.pop()
        if isinstance(node, Joined):
            for k in node.edges:
                seams |= 1 << k
            stack += node.parts
    return seams

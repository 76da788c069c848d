"""From a block to its best sewing order."""

from __future__ import annotations

from seamtree.block.model import Block
from seamtree.search.peel import peel
from seamtree.search.tree import Found, Grown
from seamtree.search.view import build_view


def find_order(block: Block, *, time_limit: float) -> Found:
    """Find the best sewing order of a block.

    Parameters
    ----------
    block
        The block.
    time_limit
        Effort in seconds of an ordinary machine; counted, not clocked.
    """
    view = build_view(block)
    chain = peel(view, view.all_patches)
    if chain is not None:
        return Found(Grown(chain), 0, 1, proven=True)
    # A single unit answers at once; what more than one unit takes is loaded only then.
    from seamtree.search.joined import find_joined_order

    return find_joined_order(view, time_limit=time_limit)

"""From a block to its best sewing order."""

from __future__ import annotations

from typing import TYPE_CHECKING

from seamtree.block.model import Block
from seamtree.search.peel import peel
from seamtree.search.tree import Found, Grown
from seamtree.search.view import build_view

if TYPE_CHECKING:
    from seamtree.block.largest import Size


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


def find_repeats(block: Block, found: Found, size: Size | None, *, time_limit: float) -> Found:
    """Find the sewing order of a block with the fewest different foundations, and then the fewest units.

    Parameters
    ----------
    block
        The block.
    found
        Its order with the fewest units.
    size
        What no unit may be larger than, as for `find_limited`; None if any may.
    time_limit
        As for `find_order`.
    """
    from seamtree.block.largest import Largest
    from seamtree.search.straight.repeats import prefer_repeats

    largest = None if size is None else Largest(block, size)
    return prefer_repeats(build_view(block), found, largest, time_limit=time_limit)


def find_limited(block: Block, found: Found, size: Size, *, time_limit: float, prove: bool = True) -> Found:
    """Find the best sewing order of a block with units that are no larger than a rectangle.

    Parameters
    ----------
    block
        The block.
    found
        Its best order with units of any size.
    size
        Width and height of the rectangle, inches; units may be turned by any angle.
    time_limit
        As for `find_order`.
    prove
        Whether the claims are handed over and checked, and equal orders compared; otherwise the claims are those of
        `found`, and the first order with the fewest units stands.
    """
    from seamtree.block.largest import Largest
    from seamtree.search.limited import keep_to_size

    return keep_to_size(build_view(block), found, Largest(block, size), time_limit=time_limit, prove=prove)

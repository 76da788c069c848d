"""What the search works with: sewing orders without names, and their merit.

A sewing order is a binary tree. Its leaves are units, given by their patches in a valid sewing order; its inner
nodes are joins, given by the edges of the whole common boundary of the two parts.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import NamedTuple

from seamtree.proofs.claims import Claims


class Merit(NamedTuple):
    """What a sewing order costs, in the order in which it counts; less is better.

    `length` is the total length of the joins in millionths of an inch, so that sums are exact.
    """

    hard_corners: int = 0
    set_in: int = 0
    excess_pivots: int = 0
    units: int = 0
    matched_points: int = 0
    length: int = 0


@dataclass(frozen=True, slots=True)
class Grown:
    """A unit: its patches in a valid sewing order."""

    patches: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Joined:
    """A join: the edges sewn by it, in turn along the seam, and the two parts."""

    edges: tuple[int, ...]
    parts: tuple[Order, Order]


Order = Grown | Joined


def units_in(order: Order) -> Iterator[Grown]:
    """Yield the units of an order; orders may be deep."""
    stack = [order]
    while stack:
        node = stack.pop()
        if isinstance(node, Grown):
            yield node
        else:
            stack += node.parts


def count_units(order: Order) -> int:
    """Return how many units an order has."""
    return sum(1 for _ in units_in(order))


TIDIED_FIGURES = ("matched points", "different foundations", "length of joins")
"""The figures below the units, in the order of merit and in words."""


@dataclass(frozen=True, slots=True)
class Found:
    """A sewing order of a block and what is known about it.

    Parameters
    ----------
    order
        The order.
    hard_corners, units
        What no order of the block can go below.
    proven
        Whether hard corners, set-in seams, excess pivots and units are proven to be the least.
    locked
        The locked parts, each with its patches.
    unproven
        Figures below the units in the order of merit that may not be the best, in words.
    claims
        Why no order has fewer hard corners or units.
    set_in, excess_pivots
        What no order that is as good in the items before can go below.
    foundations
        What no order can go below if fewer different foundations come before fewer units.
    """

    order: Order
    hard_corners: int
    units: int
    proven: bool
    locked: tuple[tuple[int, ...], ...] = ()
    unproven: tuple[str, ...] = ()
    claims: Claims = field(default_factory=Claims)
    set_in: int = 0
    excess_pivots: int = 0
    foundations: int = 1

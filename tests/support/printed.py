"""Blocks with printed numbers, and the plain definition of what can be sewn as printed."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from functools import cache
from itertools import combinations, permutations

from seamtree.block.model import Block
from tests.support.brute_force import BruteForce


def labelled(block: Block, labels: Mapping[int, str]) -> Block:
    """Return a block with these labels and no others."""
    return replace(block, patches=tuple(replace(p, label=labels.get(k)) for k, p in enumerate(block.patches)))


def numbered(block: Block, orders: Mapping[str, Sequence[int]]) -> Block:
    """Return a block whose units are numbered in these orders."""
    return labelled(block, {p: f"{unit}{k}" for unit, order in orders.items() for k, p in enumerate(order, 1)})


class Plainly:
    """What can be sewn, as the definitions say it: sets of patches, every order and every tree tried."""

    def __init__(self, block: Block) -> None:
        self.brute = BruteForce(block)

    def is_straight(self, one: Iterable[int], other: Iterable[int]) -> bool:
        """Tell whether two sets of patches are in one piece each and meet along one unbroken straight stretch."""
        sides = frozenset(one), frozenset(other)
        if not all(map(self.brute.connected, sides)):
            return False
        seams = self.brute.seams(*sides)
        if len(seams) != 1:
            return False
        edges, junctions = seams[0]
        return len(edges) == len(junctions) + 1 and self.brute.corners(edges, junctions)[0] == 0

    def first_failure(self, order: Sequence[int]) -> int | None:
        """Return the first patch of an order that cannot be sewn."""
        steps = range(1, len(order))
        return next((order[k] for k in steps if not self.is_straight(order[:k], order[k : k + 1])), None)

    def orders(self, patches: Iterable[int]) -> list[tuple[int, ...]]:
        """Return all orders in which a unit can be sewn."""
        return [order for order in permutations(patches) if self.first_failure(order) is None]

    def can_join(self, units: Sequence[frozenset[int]]) -> bool:
        """Tell whether straight seams join units, trying every tree."""

        @cache
        def joins(group: frozenset[int]) -> bool:
            if len(group) == 1:
                return True
            first, *rest = sorted(group)
            for size in range(len(rest)):
                for more in combinations(rest, size):
                    one = frozenset((first, *more))
                    sides = [frozenset(p for u in side for p in units[u]) for side in (one, group - one)]
                    if self.is_straight(*sides) and joins(one) and joins(group - one):
                        return True
            return False

        return joins(frozenset(range(len(units))))

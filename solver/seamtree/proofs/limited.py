"""What parts cost at least if no unit may be larger than a rectangle.

A number of joins is right for a part if so many patches of it lie too far apart to share units; or its patches weigh
so much in some way of weighing in which no unit that is small enough weighs more than one; or every full straight
cut and the numbers of both sides come to no less, and the part is no unit that is small enough. (An order that turns
a hard corner costs more.) Restricting an order to one side of a straight cut makes no unit larger, so a safe cut may
come first. What a part with hard corners costs is what its pieces between safe cuts cost, as a search has settled it.
"""

from __future__ import annotations

import sys
from collections.abc import Sequence
from typing import Protocol

from seamtree.block.largest import Largest
from seamtree.errors import ProofError
from seamtree.proofs.claims import NOTHING, Cost, Searched
from seamtree.proofs.cuts import Cut, FullCuts
from seamtree.proofs.planar import Patches

_JOIN = Cost(joins=1)

WEIGHT = 720_720
"""What a small unit may weigh: a number that many others divide."""

MOST_UNITS = 20_000
"""Small units that are weighed at most."""

_DIGIT = 64
"""Bits that the weight of a part takes."""

_NOTHING = 1 << 62
"""What stands for no weight, so that less than that is no number below nought."""

_MOST_WEIGHT = 1 << 40
"""What a patch may weigh: as many as can be weighed come to less than `_NOTHING`."""


class Weights:
    """What patches weigh, in several ways.

    Parameters
    ----------
    weights
        For each patch a number, less than nothing for some, and so again for every other way of weighing; in none of
        them weighs a unit that is small enough more than `WEIGHT`.
    patches
        How many patches the block has.
    """

    def __init__(self, weights: Sequence[int], patches: int) -> None:
        self.weights = tuple(weights)
        self._patches = patches
        self._ways = len(weights) // patches
        # All ways are added up at once, as digits of one number: eight patches at a time, eight bytes a digit.
        self._none = sum(_NOTHING << _DIGIT * way for way in range(self._ways))
        self._tables: list[list[int]] = []
        for start in range(0, patches, 8):
            table = [0]
            for patch in range(start, min(start + 8, patches)):
                weight = sum(weights[way * patches + patch] << _DIGIT * way for way in range(self._ways))
                table += [known + weight for known in table]
            self._tables.append(table)

    def least_units(self, patches: Patches) -> int:
        """Return how many units a part has at least by its weight."""
        total = self._none
        for table, byte in zip(self._tables, patches.to_bytes(len(self._tables), "little"), strict=True):
            total += table[byte]
        heaviest = max(memoryview(total.to_bytes(8 * self._ways, sys.byteorder)).cast("Q"))
        return -((_NOTHING - heaviest) // WEIGHT)

    def check(self, cuts: FullCuts, largest: Largest) -> None:
        """Weigh all units that are small enough.

        Raises
        ------
        ProofError
            If one weighs too much.
        """
        if len(self.weights) != self._ways * self._patches:
            raise ProofError("the weights are not one for each patch, nor several for each")
        if any(abs(weight) > _MOST_WEIGHT for weight in self.weights):
            raise ProofError("a patch weighs more than can be added up")
        units = cuts.small_units(largest.holds, MOST_UNITS)
        if units is None:
            raise ProofError("there are too many units to be weighed")
        heavy = next((unit for unit in units if self.least_units(unit) > 1), None)
        if heavy is not None:
            raise ProofError(f"a unit of {heavy.bit_count()} patches weighs more than any may")


class LimitedCosts(Protocol):
    """What is claimed of parts."""

    def cost(self, patches: Patches) -> Cost | None:
        """Return what a part costs at least."""

    def searched(self, patches: Patches) -> Searched | None:
        """Return what a search has settled of a part."""


class LimitedChecker:
    """Follows claims from a part down.

    Parameters
    ----------
    cuts
        The full straight cuts of the block.
    largest
        What a unit may be at most.
    numbers
        What is claimed.
    weights
        What patches weigh, once that is checked.

    Attributes
    ----------
    costs, searched
        What the claims rest on.
    """

    def __init__(
        self, cuts: FullCuts, largest: Largest, numbers: LimitedCosts, weights: Weights | None = None
    ) -> None:
        self._weights = weights
        self._cuts, self._largest, self._numbers = cuts, largest, numbers
        self.costs: dict[Patches, Cost] = {}
        self.searched: dict[Patches, Searched] = {}
        self._waiting: dict[int, list[Patches]] = {}
        self._joins: dict[Patches, int] = {}
        self._low: dict[Patches, int] = {}

    def check(self, patches: Patches, cost: Cost) -> None:
        """Check that no order of a part with such units costs less.

        Raises
        ------
        ProofError
            If a claim does not follow.
        """
        self._require(patches, cost)
        for size in range(
            patches.bit_count(), 0, -1
        ):  # what rests on a part is larger, so nothing is looked at twice
            for claimed in self._waiting.pop(size, ()):
                self._justify(claimed, self.costs[claimed])

    def _require(self, patches: Patches, cost: Cost) -> None:
        known = self.costs.get(patches)
        if known is None and cost > NOTHING:
            self._waiting.setdefault(patches.bit_count(), []).append(patches)
        if cost > (known or NOTHING):
            self.costs[patches] = cost

    def _value(self, patches: Patches) -> Cost:
        searched = self._numbers.searched(patches)
        return max(self._numbers.cost(patches) or NOTHING, NOTHING if searched is None else searched.cost)

    def _justify(self, patches: Patches, cost: Cost) -> None:
        searched = self._numbers.searched(patches)
        if searched is not None and searched.cost >= cost:
            self.searched[patches] = searched
            return
        if cost >= Cost(joins=cost.joins + 1):
            self._justify_corners(patches, cost)
            return
        if cost.joins <= self._shown(patches):
            return
        if not self._shown(patches) and self._cuts.is_unit(patches) and self._largest.holds(patches):
            raise ProofError(
                f"a unit of {patches.bit_count()} patches that is small enough was claimed to need a join"
            )
        if cost.joins == 1:
            return  # what is no unit that is small enough takes two
        safe, joins = self._cuts.safe(patches), cost.joins - 1
        for cut in (safe,) if safe else self._cuts.of(patches):
            if self._shown(cut.left) + self._shown(cut.right) < joins:
                self._require_joins(cut, joins)

    def _justify_corners(self, patches: Patches, cost: Cost) -> None:
        planar = self._cuts.planar
        cut = next((c for c in self._cuts.of(patches) if planar.parts_safely(range(c.first, c.last + 1))), None)
        if cut is None:
            raise ProofError(f"nothing shows what a part of {patches.bit_count()} patches with hard corners costs")
        values = [self._value(side) for side in (cut.left, cut.right)]
        if _JOIN.plus(values[0]).plus(values[1]) < cost:
            raise ProofError(_too_little(cut))
        for side, value in zip((cut.left, cut.right), values, strict=True):
            self._require(side, value)

    def _require_joins(self, cut: Cut, joins: int) -> None:
        """Claim no more for the sides of a cut than is needed, and nothing that shows by itself."""
        one, other = self._joins_of(cut.left), self._joins_of(cut.right)
        if one + other < joins:
            raise ProofError(_too_little(cut))
        one = min(one, joins)
        for side, least in ((cut.left, one), (cut.right, joins - one)):
            if least > self._shown(side):
                self._require(side, Cost(joins=least))

    def _shown(self, patches: Patches) -> int:
        """Return how many joins a part has at least by its weight, and for patches that lie too far apart."""
        shown = self._low.get(patches)
        if shown is None:
            least = self._largest.least_units(patches)
            if self._weights is not None:
                least = max(least, self._weights.least_units(patches))
            shown = self._low[patches] = least - 1
        return shown

    def _joins_of(self, patches: Patches) -> int:
        joins = self._joins.get(patches)
        if joins is None:
            cost = self._value(patches)
            claimed = cost.joins if cost == Cost(joins=cost.joins) else 0
            joins = self._joins[patches] = max(claimed, self._shown(patches))
        return joins


def _too_little(cut: Cut) -> str:
    return f"a cut leaves parts of {cut.left.bit_count()} and {cut.right.bit_count()} patches that cost too little"

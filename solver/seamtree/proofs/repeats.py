"""What no straight order has fewer different foundations than, and then fewer units.

Patches have weights, some less than nothing, and every unit weighs something besides. A straight order takes the
block apart into units that the check lists, grown patch by patch. Together they weigh what all patches weigh, and
the rest once for each unit, of which there are as many at least as is shown elsewhere. What lies on one foundation
weighs no more than a number: its units are put in heaps, all units of a heap share a patch, so an order has one of
them at most, and the heaviest of each heap are added up. So there are as many foundations at least as often as the
block is heavier than that number.

Where foundations are known to be no fewer, a second weighing shows the units that so few take: each unit bears
`WEIGHT` by itself, and what its foundation bears of the rest is counted as before. So the block weighs no more than
`WEIGHT` for each unit and that number for each foundation.

Which units are the same foundation is what `seamtree.block.foundations` says of all of them, lowest patches first.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

from seamtree.block.foundations import classify
from seamtree.block.largest import Largest, Size
from seamtree.block.model import Block
from seamtree.errors import ProofError
from seamtree.proofs.claims import Repeats, Weighing
from seamtree.proofs.cuts import FullCuts
from seamtree.proofs.limited import MOST_UNITS, WEIGHT
from seamtree.proofs.planar import Patches, Planar, bits

Heaps = tuple[tuple[Patches, ...], ...]
"""The units of one foundation, in heaps: those of a heap share a patch."""


@dataclass(frozen=True, slots=True)
class CheckedRepeats:
    """What is shown of different foundations.

    Parameters
    ----------
    foundations, units
        No straight order has fewer different foundations, and none that has as few has fewer units.
    foundations_witnessed, units_witnessed
        Whether that was followed to the end, and not taken from the record of a search.
    largest
        Width and height (inches) that no unit may be larger than for this to hold; None if it holds of all.
    """

    foundations: int
    units: int
    foundations_witnessed: bool
    units_witnessed: bool
    largest: Size | None


def check_repeats(planar: Planar, claim: Repeats, *, least_units: int) -> CheckedRepeats:
    """Check what is claimed of different foundations.

    Parameters
    ----------
    planar
        The block.
    claim
        The claim.
    least_units
        What no straight order has fewer units than, as shown elsewhere.

    Raises
    ------
    ProofError
        If the claim does not follow.
    """
    if claim.fabrics != fabric_numbers(planar.block):
        raise ProofError("what is claimed of different foundations is about other fabrics")
    scales = _Scales(planar, claim.largest, least_units)
    foundations = 1 if claim.few is None else scales.least_foundations(claim.few)
    units = least_units if claim.then is None else max(least_units, scales.units(claim.then, claim.foundations))
    few, then = claim.foundations <= foundations, claim.units <= units
    found = claim.searched
    settled = found is not None and (claim.foundations, claim.units) <= (found.foundations, found.units)
    if not (few and then) and not settled:
        raise ProofError(
            f"nothing shows that {claim.foundations} different foundations, then {claim.units} units, are the least"
        )
    return CheckedRepeats(claim.foundations, claim.units, few, few and then, claim.largest)


class _Scales:
    """Weighs what lies on one foundation; units are listed when first asked for."""

    def __init__(self, planar: Planar, largest: Size | None, least_units: int) -> None:
        self._planar, self._largest, self._least_units = planar, largest, least_units

    def least_foundations(self, weighing: Weighing) -> int:
        """Return how many foundations there are at least."""
        most = self._most(weighing, borne=0)
        return -(-self._total(weighing) // most) if most else 1

    def units(self, weighing: Weighing, foundations: int) -> int:
        """Return how many units there are at least if there are no more foundations than some."""
        most = self._most(weighing, borne=WEIGHT)
        return -(-(self._total(weighing) - most * foundations) // WEIGHT)

    def _total(self, weighing: Weighing) -> int:
        return sum(weighing.patches) + weighing.each * self._least_units

    def _most(self, weighing: Weighing, *, borne: int) -> int:
        """Return what lies on a foundation at most, less what each unit bears by itself."""
        if len(weighing.patches) != len(self._planar.block.patches):
            raise ProofError("the weights are not one for each patch")
        if weighing.each < 0:
            raise ProofError("a unit weighs less than nothing besides its patches")
        if self._heaps is None:
            raise ProofError("there are too many units to be weighed")
        return max(heaviest(heaps, weighing.patches, weighing.each - borne) for heaps in self._heaps)

    @cached_property
    def _heaps(self) -> list[Heaps] | None:
        return heaps_of(self._planar, self._largest, MOST_UNITS)


def fabric_numbers(block: Block) -> tuple[int, ...]:
    """Return for each patch the number of its fabric, from 0 in order of first appearance."""
    numbers: dict[str, int] = {}
    return tuple(numbers.setdefault(patch.fabric or "", len(numbers)) for patch in block.patches)


def heaps_of(planar: Planar, largest: Size | None, most: int) -> list[Heaps] | None:
    """Put all units on their foundations, and those of each foundation in heaps; None if they are too many."""
    block = planar.block
    holds = (lambda _: True) if largest is None else Largest(block, largest).holds
    units = FullCuts(planar).small_units(holds, most)
    if units is None:
        return None
    ordered = sorted(units)
    alike: dict[int, list[Patches]] = {}
    for unit, kind in zip(ordered, classify(block, [list(bits(unit)) for unit in ordered]), strict=True):
        alike.setdefault(kind, []).append(unit)
    return [_heaps(some) for some in alike.values()]


def _heaps(units: Sequence[Patches]) -> Heaps:
    """Put units in heaps that share a patch, as many as can be in each."""
    heaps = []
    left = list(units)
    while left:
        held = Counter(p for unit in left for p in bits(unit))
        shared = min(held, key=lambda p: (-held[p], p))
        heaps.append(tuple(unit for unit in left if unit >> shared & 1))
        left = [unit for unit in left if not unit >> shared & 1]
    return tuple(heaps)


def heaviest(heaps: Heaps, weights: Sequence[int], each: int) -> int:
    """Return what the heaviest unit of each heap weighs, all together; no heap weighs less than nothing."""
    return sum(max(0, *(each + sum(weights[p] for p in bits(unit)) for unit in heap)) for heap in heaps)

"""Why no straight order has fewer different foundations, and then fewer units, as a claim that can be checked.

Both numbers are shown by the dual values of a linear program (`seamtree.search.solver.heaviest_heaps`): cover every
patch by one unit, with as many units as there must be, on as few foundations as can be. In 228
straight random layouts of one to three fabrics they show all of the fewest foundations, and the units that those take
in 223 (220 where units are limited to three fifths of the block's sides); of 18 samples all but one. What they do not
show is handed over as searched.
"""

from __future__ import annotations

from dataclasses import replace

from seamtree.block.largest import Size
from seamtree.block.model import Block
from seamtree.errors import ProofError
from seamtree.proofs.claims import Claims, Repeats, SearchedSets, Weighing
from seamtree.proofs.limited import MOST_UNITS
from seamtree.proofs.planar import Planar
from seamtree.proofs.repeats import Heaps, check_repeats, fabric_numbers, heaps_of
from seamtree.search.solver import heaviest_heaps
from seamtree.search.weights import whole

_WEIGHED_PER_SECOND = 300
"""Units that are weighed at most for each second there is: 2,600 took half a second."""


def claim_repeats(
    block: Block, claims: Claims, found: SearchedSets, largest: Size | None, *, time_limit: float
) -> Repeats:
    """Claim and check what a search has found of different foundations.

    Parameters
    ----------
    block
        The block, which straight seams sew.
    claims
        What is claimed of its units.
    found
        What the search has settled.
    largest
        What no unit may be larger than (inches); None if any may.
    time_limit
        Effort in seconds of an ordinary machine; counted, not clocked.
    """
    planar, units = Planar(block), claims.cost.joins + 1
    bare = Repeats(found.foundations, found.units, fabric_numbers(block), largest=largest)
    few = then = None
    if (bare.foundations, bare.units) > (1, units):
        heaps = heaps_of(planar, largest, min(MOST_UNITS, round(_WEIGHED_PER_SECOND * time_limit)))
        if heaps is not None:
            few = _weighing(heaps, block, units) if bare.foundations > 1 else None
            then = _weighing(heaps, block, units, bare.foundations) if bare.units > units else None
    shown = replace(bare, few=few, then=then)
    settled = replace(bare, searched=found)
    for claim in (bare, shown, replace(settled, few=few)):
        try:
            checked = check_repeats(planar, claim, least_units=units)
        except ProofError:
            continue
        if checked.foundations_witnessed:
            return claim
    return settled


def _weighing(heaps: list[Heaps], block: Block, units: int, few: int | None = None) -> Weighing:
    weights, each = heaviest_heaps(heaps, len(block.patches), units=units, few=few)
    return Weighing(tuple(map(whole, weights)), max(0, whole(each)))

"""Weights of patches of which no small unit has more than one, and the whole block as many as can be.

Fewest units are bounded by a linear program: every patch lies in one unit, so where no unit weighs more than one, a
part has at least as many units as it weighs. The weights that make the block heaviest are the dual values of covering
its patches (weak duality of linear programming); a patch may weigh less than nothing, for it lies in one unit only.
Many weightings are equally heavy, and a part of the block is heavy in some of them only. So the mean of several is
taken, each with some patches counted a little more: it looked at 2,500 to 16,000 parts of 127 to 222 patches where
one of them took 5,000 to 20,000, and weights that were handed out one after the other 14,000 to 59,000.
"""

from __future__ import annotations

from collections.abc import Collection

from seamtree.proofs.limited import WEIGHT
from seamtree.search.solver import heaviest
from seamtree.search.view import bits

_GROUPS = 6
"""Weightings that the mean is taken of."""

_MORE = 1e-3
"""How much more some patches count in each."""

_ROUNDING = 0.01
"""What a weight may be short of a whole number by arithmetic."""


def weigh(units: Collection[int], patches: int) -> list[int]:
    """Give patches weights with which no unit weighs more than `WEIGHT`, and all together weigh most.

    Parameters
    ----------
    units
        Patches of each unit that is small enough.
    patches
        How many patches there are.
    """
    members = [tuple(bits(unit)) for unit in sorted(units)]
    groups = [[1 + _MORE * (p % _GROUPS == group) for p in range(patches)] for group in range(_GROUPS)]
    found = heaviest(members, groups)
    weights = [int((sum(some) / len(found) * WEIGHT + _ROUNDING) // 1) for some in zip(*found, strict=True)]
    for unit in members:  # what arithmetic has rounded up
        weights[unit[0]] -= max(0, sum(weights[p] for p in unit) - WEIGHT)
    return weights

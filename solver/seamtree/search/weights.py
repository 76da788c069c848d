"""Weights of patches of which no small unit has more than one, and the whole block as many as can be.

Fewest units are bounded by a linear program: every patch lies in one unit, so where no unit weighs more than one, a
part has at least as many units as it weighs. The weights that make the block heaviest are the dual values of covering
its patches (weak duality of linear programming); a patch may weigh less than nothing, for it lies in one unit only.
Many weightings are equally heavy, and a part of the block is heavy in some of them only. So there are several, in
each of which patches that lie further in one direction count a little more; a part has as many units as the heaviest
says. Of 127 to 222 patches 38 to 17,000 parts were looked at so, and with one mean of six weightings 1,700 to 33,000.
Four directions took up to a sixth more parts, twelve about as many; further ways, heavier in the middle or in single
patches or on one side of the first cuts, took up to a third fewer, and cost as much time as that saved.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence

from seamtree.errors import Point
from seamtree.proofs.limited import WEIGHT
from seamtree.search.solver import heaviest
from seamtree.search.view import bits

_DIRECTIONS = 8
"""Directions in which patches count more."""

_MORE = 1e-3
"""How much more a patch counts for each of so many parts of an inch."""

_ROUNDING = 0.01
"""What a weight may be short of a whole number by arithmetic."""


def weigh(units: Collection[int], middles: Sequence[Point]) -> list[int]:
    """Give patches weights with which no unit weighs more than `WEIGHT`, and all together weigh most.

    Parameters
    ----------
    units
        Patches of each unit that is small enough.
    middles
        Where each patch lies.

    Returns
    -------
    list of int
        The weights of all patches, again and again, in all ways that make the block heaviest.
    """
    members = [tuple(bits(unit)) for unit in sorted(units)]
    turns = [2 * math.pi * n / _DIRECTIONS for n in range(_DIRECTIONS)]
    found = heaviest(members, [[1 + _MORE * (x * math.cos(t) + y * math.sin(t)) for x, y in middles] for t in turns])
    return [weight for weights in found for weight in _rounded(weights, members)]


def whole(weight: float) -> int:
    """Return a weight of a linear program as a number of which `WEIGHT` make one."""
    return int((weight * WEIGHT + _ROUNDING) // 1)


def _rounded(exact: Sequence[float], members: Sequence[Sequence[int]]) -> list[int]:
    weights = list(map(whole, exact))
    for unit in members:  # what arithmetic has rounded up
        weights[unit[0]] -= max(0, sum(weights[p] for p in unit) - WEIGHT)
    return weights

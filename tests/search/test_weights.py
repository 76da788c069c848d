"""Weights of patches: no unit is too heavy, and the block is as heavy as the linear program says."""

from collections.abc import Collection, Sequence

from seamtree.errors import Point
from seamtree.proofs.cuts import FullCuts
from seamtree.proofs.limited import MOST_UNITS, WEIGHT
from seamtree.proofs.planar import Planar, bits
from seamtree.search.weights import weigh
from tests.search.straight.test_parts import squares


def ways(units: Collection[int], middles: Sequence[Point]) -> list[list[int]]:
    """Weigh patches, and look at every unit in every way."""
    flat = weigh(units, middles)
    found = [flat[start : start + len(middles)] for start in range(0, len(flat), len(middles))]
    assert len(found) > 1
    assert all(sum(weights[p] for p in bits(unit)) <= WEIGHT for unit in units for weights in found)
    return found


def row(patches: int) -> list[Point]:
    return [(float(x), 0.0) for x in range(patches)]


def test_single_patches_weigh_a_unit_each():
    assert all(weights == [WEIGHT] * 3 for weights in ways([1, 2, 4], row(3)))


def test_a_row_of_pairs_weighs_half_as_much():
    pairs = [0b0011, 0b0110, 0b1100]
    assert all(sum(weights) == 2 * WEIGHT for weights in ways([1, 2, 4, 8, *pairs], row(4)))


def test_a_patch_of_a_pair_is_heavy_in_the_direction_that_counts_more():
    found = ways([1, 2, 0b11], row(2))
    assert [WEIGHT, 0] in found
    assert [0, WEIGHT] in found


def test_all_patches_of_a_unit_weigh_no_more_than_one():
    assert all(sum(weights) == WEIGHT for weights in ways([1, 2, 4, 8, 0b1001, 0b1010, 0b1100, 0b1111], row(4)))


def test_no_small_unit_of_a_grid_is_too_heavy_and_the_grid_needs_no_search():
    cuts = FullCuts(Planar(squares(6, 6)))
    units = cuts.small_units(lambda part: part.bit_count() <= 3, MOST_UNITS)
    assert units is not None
    assert all(-(-sum(weights) // WEIGHT) == 12 for weights in ways(units, cuts.middles))

"""Weights of patches: no unit is too heavy, and the block is as heavy as the linear program says."""

from seamtree.proofs.cuts import FullCuts
from seamtree.proofs.limited import MOST_UNITS, WEIGHT
from seamtree.proofs.planar import Planar, bits
from seamtree.search.weights import weigh
from tests.search.straight.test_parts import squares


def test_single_patches_weigh_a_unit_each():
    assert weigh([1, 2, 4], 3) == [WEIGHT] * 3


def test_a_row_of_pairs_weighs_half_as_much():
    pairs = [0b0011, 0b0110, 0b1100]
    assert sum(weigh([1, 2, 4, 8, *pairs], 4)) == 2 * WEIGHT


def test_all_patches_of_a_unit_weigh_no_more_than_one():
    units = [1, 2, 4, 8, 0b1001, 0b1010, 0b1100, 0b1111]
    weights = weigh(units, 4)
    assert all(sum(weights[p] for p in bits(unit)) <= WEIGHT for unit in units)
    assert sum(weights) == WEIGHT


def test_no_small_unit_of_a_grid_is_too_heavy_and_the_grid_needs_no_search():
    block = squares(6, 6)
    units = FullCuts(Planar(block)).small_units(lambda part: part.bit_count() <= 3, MOST_UNITS)
    assert units is not None
    weights = weigh(units, 36)
    assert all(sum(weights[p] for p in bits(unit)) <= WEIGHT for unit in units)
    assert -(-sum(weights) // WEIGHT) == 12

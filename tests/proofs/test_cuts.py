"""Full straight cuts found by sets, against those found by walks."""

from __future__ import annotations

import random

import pytest
from benchmarks.families import lines_across, straight_cuts

from seamtree.block.build import block_from_polygons
from seamtree.proofs.cuts import FullCuts
from seamtree.proofs.planar import Planar, bits
from tests.search.straight.test_parts import squares
from tests.support.layouts import flying_geese, log_cabin, pineapple
from tests.support.random_layouts import random_layout

BLOCKS = [
    *(block_from_polygons(random_layout(seed)) for seed in range(12)),
    block_from_polygons(lines_across(6, 2)),
    block_from_polygons(straight_cuts(20, 3)),
    block_from_polygons(pineapple(2)),
]


def parts_of(cuts, most=150):
    found, waiting = {cuts.planar.whole}, [cuts.planar.whole]
    while waiting:
        for cut in cuts.of(waiting.pop()):
            fresh = {cut.left, cut.right} - found
            found |= fresh
            waiting += fresh
    return random.Random(1).sample(sorted(found), min(most, len(found)))


@pytest.mark.parametrize("block", BLOCKS)
def test_cuts_are_those_of_the_walks(block):
    planar = Planar(block)
    cuts = FullCuts(planar)
    for part in parts_of(cuts):
        runs = planar.part_cuts(part, planar.inside(part))
        walked = sorted((run[0], run[-1], *planar.cut_sides(part, run)) for run in runs)
        assert sorted(map(tuple, cuts.of(part))) == walked
        assert cuts.is_unit(part) == planar.peels(part)
        safe = cuts.safe(part)
        assert (safe is not None) == any(planar.is_safe(range(first, last + 1)) for first, last, *_ in walked)


@pytest.mark.parametrize("block", BLOCKS)
def test_small_units_are_the_units_that_straight_cuts_leave(block):
    cuts = FullCuts(Planar(block))
    listed = cuts.small_units(lambda part: part.bit_count() <= 4, 10_000)
    assert listed is not None
    left = {part for part in parts_of(cuts, 10**6) if part.bit_count() <= 4 and cuts.is_unit(part)}
    assert left <= listed
    assert all(cuts.planar.peels(part) for part in listed)


def test_units_of_a_grid_are_its_strips():
    cuts = FullCuts(Planar(squares(4, 4)))
    listed = cuts.small_units(lambda _: True, 1000)
    assert listed is not None
    assert len(listed) == 16 + 2 * 4 * (3 + 2 + 1)
    assert cuts.small_units(lambda _: True, 20) is None
    assert all(len(list(bits(part))) <= 4 for part in listed)


@pytest.mark.parametrize("polygons", [log_cabin(3), flying_geese(4)])
def test_units_are_recognised(polygons):
    cuts = FullCuts(Planar(block_from_polygons(polygons)))
    assert cuts.is_unit(cuts.planar.whole)

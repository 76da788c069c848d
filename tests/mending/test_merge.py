"""Seams dropped between neighbours of the same fabric."""

from __future__ import annotations

import pytest
import shapely

from seamtree.block.model import Block
from seamtree.mending import mend
from seamtree.mending.merge import drop_seams
from seamtree.mending.words import describe_change
from tests.support.layouts import spun_rectangles, squares, tumbling_block

SKY, SEA = "#87ceeb", "#1f3a5f"


def test_one_seam_dropped_takes_an_inward_corner_away():
    patches = [
        shapely.box(0, 0, 2, 2),
        shapely.Polygon([(2, 0), (4, 0), (4, 4), (0, 4), (0, 2), (2, 2)]),
        shapely.box(4, 0, 6, 4),
    ]
    block = Block.from_polygons(patches, fabrics=[SEA, SEA, SKY])
    mending = mend(block, goal="merged")
    (alternative,) = mending.alternatives
    assert alternative.proven
    assert alternative.added == ()
    assert alternative.added_patches == -1
    assert alternative.plan.counts.hard_corners == 0
    (sentence,) = describe_change(alternative)
    assert sentence.startswith("drop the seam between ")
    assert sentence.endswith("from 0.00, 2.00 to 2.00, 0.00: one patch less")


def test_different_fabrics_are_never_merged():
    block = Block.from_polygons(spun_rectangles(), fabrics=["a", "b", "c", "d", "e"])
    mending = mend(block, goal="merged")
    assert mending.alternatives == ()
    assert len(mending.reasons) == 1


def test_unknown_fabrics_are_not_the_same():
    assert mend(Block.from_polygons(spun_rectangles()), goal="merged").alternatives == ()


def test_units_are_saved_where_there_are_no_hard_corners():
    block = Block.from_polygons(squares(2, 2), fabrics=[SKY, SKY, SEA, "#c8102e"])
    mending = mend(block, goal="merged")
    (alternative,) = mending.alternatives
    assert mending.before.counts.units == 2
    assert alternative.plan.counts.units == 1
    assert alternative.proven


def test_a_y_loses_its_corner_with_one_of_its_seams():
    block = Block.from_polygons(tumbling_block(), fabrics=[SKY, SKY, SEA])
    mending = mend(block, goal="merged", alternatives=5)
    # What is left is a bend between two patches: still one hard corner, so nothing is gained.
    assert mending.alternatives == ()


def test_a_merged_patch_has_no_hole():
    ring = [
        shapely.box(0, 0, 2, 4),
        shapely.Polygon([(2, 0), (6, 0), (6, 6), (0, 6), (0, 4), (4, 4), (4, 2), (2, 2)]),
    ]
    block = Block.from_polygons([*ring, shapely.box(2, 2, 4, 4)], fabrics=[SKY, SKY, SEA])
    first, second = (p for p in range(3) if block.patches[p].fabric == SKY)
    assert drop_seams(block, [(first, second)]) is None


def test_labels_of_merged_patches_are_kept():
    block = Block.from_polygons(squares(2, 1), fabrics=[SKY, SKY], labels=["cloud", "gull"])
    merged = drop_seams(block, [(0, 1)])
    assert merged is not None
    assert [p.label for p in merged.patches] == ["cloud gull"]


@pytest.mark.parametrize("pairs", [[(0, 1)], [(0, 1), (0, 2)], [(0, 1), (2, 3)]])
def test_what_is_dropped_is_gone_and_nothing_else(pairs):
    block = Block.from_polygons(squares(2, 2))
    merged = drop_seams(block, pairs)
    assert merged is not None
    assert len(merged.patches) == 4 - len(pairs)
    assert sum(shapely.Polygon(merged.polygon(p)).area for p in range(len(merged.patches))) == pytest.approx(16)

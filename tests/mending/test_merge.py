"""Seams dropped between neighbours of the same fabric."""

from __future__ import annotations

import random
from itertools import combinations

import pytest
import shapely

from seamtree.block.build import block_from_polygons
from seamtree.block.model import Block
from seamtree.mending import mend
from seamtree.mending.merge import drop_seams, merge
from seamtree.mending.words import describe_change
from seamtree.planning.build import plan
from tests.support.layouts import spun_rectangles, squares, tumbling_block
from tests.support.random_layouts import random_layout

SKY, SEA = "#87ceeb", "#1f3a5f"


def test_one_seam_dropped_takes_an_inward_corner_away():
    patches = [
        shapely.box(0, 0, 2, 2),
        shapely.Polygon([(2, 0), (4, 0), (4, 4), (0, 4), (0, 2), (2, 2)]),
        shapely.box(4, 0, 6, 4),
    ]
    block = block_from_polygons(patches, fabrics=[SEA, SEA, SKY])
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
    block = block_from_polygons(spun_rectangles(), fabrics=["a", "b", "c", "d", "e"])
    mending = mend(block, goal="merged")
    assert mending.alternatives == ()
    assert len(mending.reasons) == 1


def test_unknown_fabrics_are_not_the_same():
    assert mend(block_from_polygons(spun_rectangles()), goal="merged").alternatives == ()


def test_units_are_saved_where_there_are_no_hard_corners():
    block = block_from_polygons(squares(2, 2), fabrics=[SKY, SKY, SEA, "#c8102e"])
    mending = mend(block, goal="merged")
    (alternative,) = mending.alternatives
    assert mending.before.counts.units == 2
    assert alternative.plan.counts.units == 1
    assert alternative.proven


def test_a_y_loses_its_corner_with_one_of_its_seams():
    block = block_from_polygons(tumbling_block(), fabrics=[SKY, SKY, SEA])
    mending = mend(block, goal="merged", alternatives=5)
    # What is left is a bend between two patches: still one hard corner, so nothing is gained.
    assert mending.alternatives == ()


def test_a_merged_patch_has_no_hole():
    ring = [
        shapely.box(0, 0, 2, 4),
        shapely.Polygon([(2, 0), (6, 0), (6, 6), (0, 6), (0, 4), (4, 4), (4, 2), (2, 2)]),
    ]
    block = block_from_polygons([*ring, shapely.box(2, 2, 4, 4)], fabrics=[SKY, SKY, SEA])
    first, second = (p for p in range(3) if block.patches[p].fabric == SKY)
    assert drop_seams(block, [(first, second)]) is None


def test_labels_of_merged_patches_are_kept():
    block = block_from_polygons(squares(2, 1), fabrics=[SKY, SKY], labels=["cloud", "gull"])
    merged = drop_seams(block, [(0, 1)])
    assert merged is not None
    assert [p.label for p in merged.patches] == ["cloud gull"]


@pytest.mark.parametrize("pairs", [[(0, 1)], [(0, 1), (0, 2)], [(0, 1), (2, 3)]])
def test_what_is_dropped_is_gone_and_nothing_else(pairs):
    block = block_from_polygons(squares(2, 2))
    merged = drop_seams(block, pairs)
    assert merged is not None
    assert len(merged.patches) == 4 - len(pairs)
    assert sum(shapely.Polygon(merged.polygon(p)).area for p in range(len(merged.patches))) == pytest.approx(16)


# -- against trying everything -------------------------------------------------------------------------------------


def small_layout(seed: int) -> Block | None:
    """Return a small layout in two fabrics, some patches with inward corners."""
    rng = random.Random(seed)
    patches = random_layout(seed)
    for _ in range(rng.randint(0, 3)):
        one, other = rng.sample(range(len(patches)), 2) if len(patches) > 2 else (0, 0)
        union = patches[one].union(patches[other])
        if union.geom_type == "Polygon" and not union.interiors and one != other:
            patches = [p for n, p in enumerate(patches) if n not in (one, other)]
            patches.append(shapely.Polygon(union.exterior))
    if not 3 <= len(patches) <= 9:
        return None
    return block_from_polygons(patches, fabrics=[rng.choice((SKY, SEA)) for _ in patches], tolerance=0.001)


def figures(block: Block) -> tuple[int, int]:
    counts = plan(block, time_limit=2.0).counts
    return counts.hard_corners, counts.units


def everything(block: Block) -> dict[int, list[tuple[int, int]]]:
    """Return what one seam, and what two seams, come to, in all ways there are."""
    pairs = {
        (min(e.left, e.right), max(e.left, e.right))
        for e in block.edges
        if e.interior and block.patches[e.left].fabric == block.patches[e.right].fabric
    }
    made = {k: [drop_seams(block, way) for way in combinations(sorted(pairs), k)] for k in (1, 2)}
    return {k: [figures(m) for m in some if m is not None] for k, some in made.items()}


SEEDS = [seed for seed in range(150) if small_layout(seed) is not None][:24]


@pytest.mark.parametrize("seed", SEEDS)
def test_one_and_two_seams_are_as_good_as_trying_everything(seed):
    block = small_layout(seed)
    assert block is not None
    corners, units = figures(block)
    if units == 1:
        return
    ways = everything(block)
    answer = merge(block, alternatives=1, time_limit=30.0)
    saves = [(k, w) for k in (1, 2) for w in ways[k] if w[0] < corners or (w[0] <= corners and w[1] < units)]
    assert bool(answer.found) == bool(saves)
    if not saves:
        assert answer.proven
        return
    dropped = len(block.patches) - len(answer.found[0].block.patches)
    after = figures(answer.found[0].block)
    if any(w[0] < corners for _, w in saves):
        least = min(k for k, w in saves if w[0] < corners)
        assert after[0] < corners
        if dropped <= least:  # more are dropped only where they free a part of all its corners
            assert after[0] == min(w[0] for k, w in saves if k == least)
        else:
            assert after[0] < min(w[0] for k, w in saves if k == least)
    else:
        least = min(k for k, w in saves)
        assert (dropped, after[1]) == (least, min(w[1] for k, w in saves if k == least and w[0] <= corners))

"""Curves replaced by the fewest straight seams."""

from __future__ import annotations

import math
from itertools import combinations, pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from seamtree.block.assemble import Face, assemble_block
from seamtree.block.build import block_from_polygons
from seamtree.block.model import Block
from seamtree.mending import mend
from seamtree.mending.curves import straighten, straightest
from seamtree.mending.words import describe_straightening
from tests.support.layouts import quarter_circle, spun_rectangles


def stray(points, kept):
    """Largest distance of a point from the chord over it, as the definition says it."""
    worst = 0.0
    for a, b in pairwise(kept):
        for k in range(a + 1, b):
            (ax, ay), (bx, by), (x, y) = points[a], points[b], points[k]
            length = math.dist(points[a], points[b])
            along = ((x - ax) * (bx - ax) + (y - ay) * (by - ay)) / length if length else 0.0
            along = min(max(along, 0.0), length)
            unit = ((bx - ax) / length, (by - ay) / length) if length else (0.0, 0.0)
            worst = max(worst, math.dist((x, y), (ax + along * unit[0], ay + along * unit[1])))
    return worst


@given(
    st.lists(st.tuples(st.integers(0, 8), st.integers(0, 8)), min_size=2, max_size=8),
    st.sampled_from([0.3, 1.0, 2.5]),
)
def test_no_choice_of_corners_is_smaller(points, distance):
    kept, moved = straightest(np.array(points, dtype=float), distance=distance)
    assert moved <= distance
    assert stray(points, kept) == pytest.approx(moved)
    last = len(points) - 1
    for size in range(last):
        for inner in combinations(range(1, last), size):
            chosen = (0, *inner, last)
            if stray(points, chosen) <= distance + 1e-12:
                assert len(kept) <= len(chosen)
                if len(kept) == len(chosen):
                    assert moved <= stray(points, chosen) + 1e-9
                return


# The height of an arc over its chord is r (1 - cos(half its angle)): elementary geometry.
@pytest.mark.parametrize(("distance", "chords"), [(1.2, 1), (0.31, 2), (0.137, 3), (0.078, 4), (0.02, 8)])
def test_a_quarter_circle_takes_as_many_chords_as_the_height_of_its_arcs_says(distance, chords):
    least = next(n for n in range(1, 50) if 4 * (1 - math.cos(math.pi / 4 / n)) <= distance)
    block, done = straighten(quarter_circle(chords=24), distance=distance)
    (straightened,) = done
    assert len(straightened.kept) - 1 == least == chords
    assert straightened.moved <= distance
    assert all(edge.curve is None for edge in block.edges)
    assert len(block.patches) == 2


def test_a_straightened_quarter_circle_is_mended():
    mending = mend(quarter_circle(), curve_tolerance=0.31)
    assert mending.before.counts.curved == 1
    assert mending.after_straightening.counts.curved == 0
    (alternative,) = mending.alternatives
    assert alternative.added_patches == 1
    assert alternative.plan.counts.hard_corners == 0
    (sentence,) = describe_straightening(mending)
    assert "two straight seams" in sentence
    assert sentence.endswith("the drawing moves by up to 0.30 in")


def test_one_chord_may_be_all_it_takes():
    mending = mend(quarter_circle(), curve_tolerance=1.5)
    assert mending.alternatives == ()
    assert mending.best.verdict == "single unit"
    assert not mending.nothing_to_mend


def quarter_circle_with_a_stem() -> Block:
    """A quarter circle of twelve chords with a seam from its fifth junction to the corner of the block."""
    arc = [(4 * math.cos(k * math.pi / 24), 4 * math.sin(k * math.pi / 24)) for k in range(13)]
    vertices = [*arc, (0.0, 0.0), (6.0, 0.0), (6.0, 6.0), (0.0, 6.0)]
    return assemble_block(
        vertices,
        [
            Face((13, *range(13))),
            Face((14, 15, *range(5, -1, -1))),
            Face((15, 16, *range(12, 4, -1))),
        ],
        tolerance=0.02,
        name="buoy",
        curves={(k, k + 1): 1 for k in range(12)},
    )


def test_stems_stay_where_they_are():
    block, done = straighten(quarter_circle_with_a_stem(), distance=2.0)
    assert len(done) == 2
    at = (4 * math.cos(5 * math.pi / 24), 4 * math.sin(5 * math.pi / 24))
    assert any(math.dist(at, j) < 1e-9 for j in block.junctions)
    assert all(len(s.kept) == 2 for s in done)


def test_straight_seams_never_run_into_others():
    # A shallow bay with a rock just outside it: the chord over the bay would cut the rock.
    arc = [(4 + 3 * math.cos(math.pi * k / 16), 3 * math.sin(math.pi * k / 16)) for k in range(17)]
    rock = [(3.6, 1.2), (4.4, 1.2), (4.4, 2.4), (3.6, 2.4)]
    vertices = [*arc, (0.0, 0.0), (0.0, 6.0), (8.0, 6.0), (8.0, 0.0), *rock, (3.6, 0.0), (4.4, 0.0)]
    block = assemble_block(
        vertices,
        [
            Face((*range(17), 17, 18, 19, 20)),
            Face((*range(16, -1, -1), 26, 22, 23, 24, 21, 25)),
            Face((25, 21, 24, 23, 22, 26)),
        ],
        tolerance=0.02,
        name="bay",
        curves={(k, k + 1): 1 for k in range(16)},
    )
    straight, done = straighten(block, distance=4.0)
    assert done
    assert len(straight.patches) == 3
    assert max(s.moved for s in done) < 2.0


def test_a_block_without_curves_is_the_same_block():
    block = block_from_polygons(spun_rectangles())
    assert straighten(block, distance=0.5) == (block, ())

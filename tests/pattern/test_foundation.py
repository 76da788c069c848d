"""Foundations: mirrored patches, trim lines, ticks at matched points, markings."""

import math
from dataclasses import replace

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

import seamtree
from seamtree.block.build import block_from_polygons
from seamtree.drawing.drawn import Track
from seamtree.errors import OptionError
from seamtree.pattern.foundation import build_foundations
from tests.search.straight.test_parts import squares
from tests.support import layouts
from tests.support.random_layouts import random_layout


def in_block(foundation, path):
    return [(foundation.corner[0] - x, foundation.corner[1] + y) for x, y in path]


def near(path, other):
    return len(path) == len(other) and all(math.dist(a, b) < 1e-9 for a, b in zip(path, other, strict=True))


def check_against_block(plan, foundations, allowance):
    """Compare foundations with a plan by what the words mean."""
    block = plan.block
    place = {name: p for p, name in plan.patch_ids().items()}
    assert [f.unit for f in foundations] == [unit.name for unit in plan.units()]
    assert [q.name for f in foundations for q in f.patches] == [
        plan.patch_ids()[p] for unit in plan.units() for p in unit.patches
    ]
    for foundation in foundations:
        for patch in foundation.patches:
            assert near(in_block(foundation, patch.polygon), block.polygon(place[patch.name]))
        whole = shapely.union_all([shapely.Polygon(q.polygon) for q in foundation.patches])
        assert whole.symmetric_difference(shapely.Polygon(foundation.outline)).area < 1e-9
        trim = shapely.Polygon(foundation.trim)
        assert trim.bounds == pytest.approx((0, 0, foundation.width, foundation.height), abs=1e-9)
        assert trim.exterior.distance(whole) == pytest.approx(allowance, abs=1e-9)
        for start, end in foundation.ticks:
            assert shapely.Point(start).distance(whole.exterior) < 1e-9
            assert math.dist(start, end) == pytest.approx(allowance)
            assert shapely.Point(end).distance(whole) == pytest.approx(allowance, abs=0.02)


def test_a_foundation_is_the_mirror_image_of_its_unit():
    # A tall patch left of two others: on paper it stands on the right.
    block = block_from_polygons(
        [[(0, 0), (1, 0), (1, 4), (0, 4)], [(1, 0), (3, 0), (3, 1), (1, 1)], [(1, 1), (3, 1), (3, 4), (1, 4)]]
    )
    (foundation,) = build_foundations(seamtree.plan(block), allowance=0.5)
    assert (foundation.width, foundation.height) == (4, 5)
    tall = max(foundation.patches, key=lambda q: max(x for x, _ in q.polygon))
    assert shapely.Polygon(tall.polygon).bounds == (2.5, 0.5, 3.5, 4.5)
    assert foundation.ticks == ()


@pytest.mark.parametrize("allowance", [0.25, 0.4])
@pytest.mark.parametrize("polygons", [layouts.log_cabin(), layouts.flying_geese(), layouts.pineapple()])
def test_traditional_layouts(polygons, allowance):
    plan = seamtree.plan(block_from_polygons(polygons))
    check_against_block(plan, build_foundations(plan, allowance=allowance), allowance)


@given(st.integers(0, 10_000))
def test_random_layouts(seed):
    plan = seamtree.plan(block_from_polygons(random_layout(seed)))
    check_against_block(plan, build_foundations(plan), 0.25)


def test_matched_points_have_ticks_on_both_sides():
    plan = seamtree.plan(squares(2, 2))
    assert plan.counts.matched_points == 1
    ticks = [sorted(tuple(in_block(f, tick)) for tick in f.ticks) for f in build_foundations(plan)]
    assert [len(t) for t in ticks] == [1, 1]
    ((start, end),), ((other_start, other_end),) = ticks
    assert start == pytest.approx(other_start)
    assert start == pytest.approx((1, 1))
    # Each tick points into the allowance, so onto the other unit.
    assert ((end[0] + other_end[0]) / 2, (end[1] + other_end[1]) / 2) == pytest.approx(start)


def test_equal_units_name_each_other():
    foundations = build_foundations(seamtree.plan(squares(3, 3)))
    assert [f.alike for f in foundations] == [("B", "C"), ("A", "C"), ("A", "B")]
    assert not any(f.is_template for f in foundations)


def test_markings_are_carried_over_where_they_lie_in_the_unit():
    block = block_from_polygons([[(0, 0), (2, 0), (2, 2), (0, 2)], [(2, 0), (4, 0), (4, 2), (2, 2)]])
    track = Track(((0.5, 1.0), (3.0, 1.0), (3.0, 5.0)), False, (0, 0))
    (foundation,) = build_foundations(seamtree.plan(replace(block, markings=(track,))))
    (marking,) = foundation.markings
    assert sorted(in_block(foundation, marking)) == [(0.5, 1.0), (3.0, 1.0), (3.0, 2.0)]


def test_a_closed_marking_is_carried_over_all_round():
    ring = Track(((0.5, 0.5), (1.5, 0.5), (1.5, 1.5), (0.5, 1.5)), True, (0, 0, 0, 0))
    block = block_from_polygons([[(0, 0), (2, 0), (2, 2), (0, 2)]])
    (foundation,) = build_foundations(seamtree.plan(replace(block, markings=(ring,))))
    (marking,) = foundation.markings
    assert marking[0] == marking[-1]
    assert shapely.Polygon(marking).area == pytest.approx(1.0)


@pytest.mark.parametrize("allowance", [0.0, -1.0, 2.1, math.nan, math.inf])
def test_an_allowance_must_make_sense(allowance):
    with pytest.raises(OptionError, match="seam allowance must be"):
        build_foundations(seamtree.plan(squares(2, 2)), allowance=allowance)

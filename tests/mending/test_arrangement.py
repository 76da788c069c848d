"""Lines carried on and cut at their crossings."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from seamtree.block.build import block_from_polygons
from seamtree.block.sketch import sketch_of
from seamtree.mending.arrangement import arrange
from tests.support.emblems import CROSS, SQUARE, sketch
from tests.support.layouts import spun_rectangles
from tests.support.random_layouts import random_layout


def test_a_square_has_eight_ways_on():
    made = arrange(sketch(SQUARE))
    assert len(made.optional) == 8
    assert len(made.lines) == 4
    assert all(len(chain.edges) == 1 and chain.first != chain.last for chain in made.chains)
    assert len(made.faces(range(len(made.edges))).rings) == 9


def test_sides_on_one_line_share_a_gap():
    made = arrange(sketch(CROSS))
    assert len(made.lines) == 8
    gaps = [chain for chain in made.chains if chain.first and chain.last]
    assert len(gaps) == 4
    # Every line of the cross meets all four across it: ten lines with the outline, six rows of six areas.
    assert len(made.faces(range(len(made.edges))).rings) == 25


def test_lines_that_are_equal_within_the_tolerance_are_one():
    left, right = [(1, 2), (3, 2), (3, 6), (1, 6)], [(5, 2.01), (7, 2.01), (7, 6.01), (5, 6.01)]
    made = arrange(sketch(left, right))
    across = [chain for chain in made.chains if chain.first and chain.last]
    assert len(across) == 2
    for chain in across:
        (x, y), (z, w) = (made.points[v] for v in made.edges[chain.edges[0]])
        assert abs(y - w) == pytest.approx(0.01, abs=1e-9)
        assert {x, z} == {3, 5}


def test_a_ray_that_misses_a_corner_by_a_hair_goes_through_it():
    made = arrange(sketch([(1, 3), (3, 3), (3, 5), (1, 5)], [(5, 1), (7, 3.015), (5, 5.5)]))
    corner = next(v for v, at in enumerate(made.points) if at == pytest.approx((7, 3.015)))
    assert any(
        corner in points for points, _ in made.lines if made.points[points[0]][1] == pytest.approx(3, abs=0.03)
    )


def test_an_outline_with_an_inward_corner_ends_a_ray():
    ell = block_from_polygons([[(0, 0), (8, 0), (8, 4), (6, 2), (4, 4), (4, 8), (0, 8)], [(8, 4), (6, 2), (4, 4)]])
    made = arrange(sketch_of(ell))
    inside = [made.points[v] for points, _ in made.lines for v in points]
    assert all(x <= 4 + 1e-6 or y <= 4 + 1e-6 for x, y in inside)


@settings(max_examples=25)
@given(st.integers(0, 10**6))
def test_the_map_is_planar(seed):
    made = arrange(sketch_of(block_from_polygons(random_layout(seed))))
    faces = made.faces(range(len(made.edges)))
    used = {v for ends in made.edges for v in ends}
    # Euler's formula for a map that hangs together.
    assert len(faces.rings) == len(made.edges) - len(used) + 1
    assert not len(faces.dangling)


def test_spun_rectangles_have_four_ways_on():
    made = arrange(sketch_of(block_from_polygons(spun_rectangles())))
    assert len(made.optional) == 4

from __future__ import annotations

from itertools import combinations

import hypothesis.strategies as st
import pytest
import shapely
from hypothesis import given

from seamtree.geometry.swept import sides_of
from seamtree.picture.placing import _convex_corners, _room, _shrunk, foot_in, place_inside, place_outside

NOTHING = shapely.STRtree([])

SQUARE = [(0, 0), (100, 0), (100, 100), (0, 100)]
ANGLE = [(0, 0), (100, 0), (100, 10), (10, 10), (10, 100), (0, 100)]
"""Its centroid lies outside it."""


def test_number_stands_in_the_middle_of_a_square():
    placed = place_inside(SQUARE, "A1", sizes=(11.0, 7.0), clearance=1.0, keep_off=NOTHING)
    assert placed.size == 11.0
    assert placed.at == pytest.approx((50, 50))


@pytest.mark.parametrize("polygon", [SQUARE, ANGLE, [(0, 0), (60, 0), (0, 30)], [(0, 0), (30, 0), (30, 9), (0, 9)]])
@pytest.mark.parametrize("text", ["A1", "AB24"])
def test_number_lies_inside_its_patch(polygon, text):
    placed = place_inside(polygon, text, sizes=(11.0, 9.0, 7.0, 5.0), clearance=1.0, keep_off=NOTHING)
    assert shapely.Polygon(polygon).contains(placed.box(0.99))


def test_smaller_type_where_larger_does_not_fit():
    placed = place_inside(
        [(0, 0), (100, 0), (100, 9), (0, 9)], "A1", sizes=(11.0, 9.0, 5.0), clearance=1.0, keep_off=NOTHING
    )
    assert placed.size == 9.0


def test_number_keeps_off_signs():
    sign = shapely.Point(50, 50).buffer(10)
    placed = place_inside(SQUARE, "A1", sizes=(11.0,), clearance=1.0, keep_off=shapely.STRtree([sign]))
    assert not placed.box().intersects(sign)


def test_no_room():
    assert place_inside([(0, 0), (5, 0), (0, 5)], "A1", sizes=(11.0, 6.0), clearance=1.0, keep_off=NOTHING) is None
    whole = shapely.box(-1, -1, 101, 101)
    assert place_inside(SQUARE, "A1", sizes=(5.0,), clearance=1.0, keep_off=shapely.STRtree([whole])) is None


@given(st.lists(st.tuples(st.integers(0, 60), st.integers(0, 60)), min_size=3, max_size=9), st.integers(1, 20))
def test_room_in_a_convex_patch_is_what_the_boundary_leaves(points, width):
    patch = shapely.MultiPoint(points).convex_hull
    if not isinstance(patch, shapely.Polygon):
        return
    inner = _shrunk(_convex_corners(patch), width, 4.0)
    room = _room(patch, sides_of(patch), width, 4.0)
    assert shapely.Polygon(inner).symmetric_difference(room).area < 1e-6


def test_a_patch_with_an_inward_corner_is_not_convex():
    assert not _convex_corners(shapely.Polygon(ANGLE))
    assert not _convex_corners(shapely.box(0, 0, 9, 9) - shapely.box(3, 3, 4, 4))
    assert len(_convex_corners(shapely.Polygon(SQUARE[::-1]))) == 4


def test_line_leads_to_the_middle_of_a_strip():
    assert foot_in([(0, 0), (3, 0), (3, 90), (0, 90)]) == pytest.approx((1.5, 45))


@pytest.mark.parametrize("polygon", [SQUARE, ANGLE, [(0, 0), (60, 0), (0, 1)], [(0, 0), (1e-3, 0), (0, 1e-3)]])
def test_line_leads_well_inside(polygon):
    patch = shapely.Polygon(polygon)
    widest = shapely.maximum_inscribed_circle(patch, 1e-9).length
    assert patch.exterior.distance(shapely.Point(foot_in(polygon))) > 0.4 * widest


@given(st.lists(st.tuples(st.floats(1, 199), st.floats(1, 119)), min_size=1, max_size=40, unique=True))
def test_numbers_outside_neither_overlap_nor_reach_into_the_block(feet):
    wanted = [(f"AB{n}", foot) for n, foot in enumerate(feet, 1)]
    led = place_outside(wanted, width=200, height=120, size=8, gap=10)
    assert [(one.label.text, one.foot) for one in led] == wanted
    block = shapely.box(0, 0, 200, 120)
    boxes = [one.label.box() for one in led]
    assert not any(block.intersects(box) for box in boxes)
    assert not any(one.intersects(other) for one, other in combinations(boxes, 2))


def test_lines_to_one_side_do_not_cross():
    wanted = [("A1", (5.0, 50.0)), ("A2", (40.0, 50.5)), ("A3", (20.0, 51.0)), ("A4", (8.0, 52.0))]
    lines = [
        shapely.LineString((one.foot, one.head))
        for one in place_outside(wanted, width=200, height=120, size=8, gap=9)
    ]
    assert not any(one.crosses(other) for one, other in combinations(lines, 2))

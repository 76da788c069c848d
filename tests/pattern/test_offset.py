"""The trim line: one allowance outside, mitred, with blunt tips where corners are very sharp."""

import math

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from seamtree.pattern.offset import BLUNT, offset_outline

QUARTER = 0.25


def sides(ring):
    return list(zip(ring, (*ring[1:], ring[0]), strict=True))


def lengths(ring):
    return sorted(math.dist(a, b) for a, b in sides(ring))


@pytest.mark.parametrize("finished", [1.0, 3.0, 4.75])
def test_half_square_triangles_are_cut_seven_eighths_larger(finished):
    # Common practice: squares 7/8 in larger than finished, which is (2 + sqrt 2) / 4 in rounded up.
    trim = offset_outline([(0, 0), (finished, 0), (0, finished)], QUARTER)
    assert lengths(trim)[:2] == pytest.approx([finished + (2 + math.sqrt(2)) / 4] * 2, abs=1e-12)


@pytest.mark.parametrize("finished", [1.0, 3.0, 4.75])
def test_quarter_square_triangles_are_cut_one_and_a_quarter_larger(finished):
    # Common practice: squares 1 1/4 in larger than finished, which is (1 + sqrt 2) / 2 in rounded up.
    half = finished / 2
    trim = offset_outline([(0, 0), (finished, 0), (half, half)], QUARTER)
    assert lengths(trim)[2] == pytest.approx(finished + (1 + math.sqrt(2)) / 2, abs=1e-12)


def test_a_square_grows_by_the_allowance_on_every_side():
    trim = offset_outline([(0, 0), (2, 0), (2, 2), (0, 2)], 0.5)
    assert set(trim) == {(-0.5, -0.5), (2.5, -0.5), (2.5, 2.5), (-0.5, 2.5)}


def test_points_along_a_side_make_no_corners():
    trim = offset_outline([(0, 0), (0.7, 0), (1.1, 0), (2, 0), (2, 2), (0.3, 2), (0, 2)], QUARTER)
    assert len(trim) == 4


def test_an_inward_corner_stays_square():
    trim = offset_outline([(0, 0), (4, 0), (4, 2), (2, 2), (2, 4), (0, 4)], QUARTER)
    assert (2.25, 2.25) in [(round(x, 9), round(y, 9)) for x, y in trim]
    assert len(trim) == 6


def test_a_narrow_notch_is_closed():
    notched = [(0, 0), (4, 0), (4, 3), (2.2, 3), (2.2, 1), (1.8, 1), (1.8, 3), (0, 3)]
    assert len(offset_outline(notched, QUARTER)) == 4


def test_a_very_sharp_tip_is_blunt():
    degrees = 20.0
    rise = 8 * math.tan(math.radians(degrees / 2))
    trim = offset_outline([(0, 0), (8, -rise), (8, rise)], QUARTER)
    left = min(x for x, _ in trim)
    assert left == pytest.approx(-BLUNT * QUARTER)
    assert sum(math.isclose(x, left) for x, _ in trim) == 2


@pytest.mark.parametrize(("degrees", "corners"), [(45.0, 3), (30.0, 3), (28.0, 4)])
def test_which_tips_stay_whole(degrees, corners):
    rise = 5 * math.tan(math.radians(degrees / 2))
    assert len(offset_outline([(0, 0), (5, -rise), (5, rise)], QUARTER)) == corners


@given(
    st.lists(st.floats(0, 359.9), min_size=3, max_size=9, unique=True),
    st.floats(0.05, 1.0),
    st.booleans(),
)
def test_every_side_lies_one_allowance_outside(angles, allowance, clockwise):
    ring = [(3 * math.cos(math.radians(a)), 2 * math.sin(math.radians(a))) for a in sorted(angles)]
    area = shapely.Polygon(ring)
    if min(lengths(ring)) < 0.05 or area.area < 0.2:
        return
    trim = offset_outline(ring[::-1] if clockwise else ring, allowance)
    grown = shapely.Polygon(trim)
    assert grown.is_valid
    # GEOS offsets outlines in another way; it leaves out bends of less than a hundredth of the distance.
    other = area.buffer(allowance, join_style="mitre", mitre_limit=BLUNT)
    assert grown.hausdorff_distance(other) < 0.03 * allowance
    assert grown.exterior.distance(area) == pytest.approx(allowance, abs=1e-9)
    for a, b in sides(ring):
        middle = ((a[0] + b[0]) / 2, (a[1] + b[1]) / 2)
        assert grown.exterior.distance(shapely.Point(middle)) == pytest.approx(allowance, abs=1e-9)

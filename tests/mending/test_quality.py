"""What is awkward to sew, and what stays apart when ends are snapped."""

from __future__ import annotations

import math

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from seamtree.mending.quality import NARROW_INCHES, SHARP_DEGREES, is_awkward, is_distinct


def wedge(degrees, length=10.0):
    """Return a triangle with one sharp point."""
    half = math.radians(degrees / 2)
    return [
        (0.0, 0.0),
        (length * math.cos(half), -length * math.sin(half)),
        (length * math.cos(half), length * math.sin(half)),
    ]


def strip(width):
    return [(0.0, 0.0), (6.0, 0.0), (6.0, width), (0.0, width)]


@pytest.mark.parametrize(("degrees", "awkward"), [(SHARP_DEGREES - 0.1, True), (SHARP_DEGREES + 0.1, False)])
def test_sharp_points(degrees, awkward):
    assert is_awkward(wedge(degrees)) == awkward
    assert is_awkward(wedge(degrees)[::-1]) == awkward


@pytest.mark.parametrize(("width", "awkward"), [(NARROW_INCHES - 0.01, True), (NARROW_INCHES + 0.01, False)])
def test_narrow_strips(width, awkward):
    assert is_awkward(strip(width)) == awkward


def test_an_inward_corner_is_no_sharp_point():
    assert not is_awkward([(0, 0), (4, 0), (4, 4), (2, 1), (0, 4)])


@given(turn=st.floats(0, math.tau), awkward=st.sampled_from([strip(0.3), strip(0.4), wedge(15), wedge(30)]))
def test_turning_a_patch_changes_nothing(turn, awkward):
    turned = [(x * math.cos(turn) - y * math.sin(turn), x * math.sin(turn) + y * math.cos(turn)) for x, y in awkward]
    assert is_awkward(turned) == is_awkward(awkward)
    assert is_distinct(turned, tolerance=0.02) == is_distinct(awkward, tolerance=0.02)


@pytest.mark.parametrize(
    "corners",
    [
        [(0, 0), (4, 0)],
        [(0, 0), (4, 0), (4, 4), (4, 0)],
        [(0, 0), (4, 4), (4, 0), (0, 4)],
        strip(0.03),
        [(0, 0), (4, 0), (4, 4), (2, 0.01), (0, 4)],
    ],
    ids=["two corners", "a corner twice", "crossing itself", "a sliver", "a corner near to a side"],
)
def test_patches_that_would_not_read_back(corners):
    assert not is_distinct(corners, tolerance=0.02)


@given(st.lists(st.tuples(st.integers(0, 8), st.integers(0, 8)), min_size=3, max_size=6))
def test_a_patch_on_whole_inches_is_distinct_if_it_is_simple_and_no_corner_lies_on_a_side(corners):
    ring = shapely.Polygon(corners)
    simple = len(set(corners)) == len(corners) and ring.is_valid and ring.area > 0
    count = len(corners)
    on_side = any(
        shapely.LineString([corners[k % count], corners[(k + 1) % count]]).distance(shapely.Point(corners[i])) < 0.01
        for i in range(count)
        for k in range(i + 1, i + count - 1)
    )
    assert is_distinct(corners, tolerance=0.01) == (simple and not on_side)

"""What is awkward to sew."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from seamtree.mending.quality import NARROW_INCHES, SHARP_DEGREES, _sharpest, is_awkward


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


@given(turn=st.floats(0, math.tau), degrees=st.floats(5, 59), back=st.booleans())
def test_the_sharpest_point_is_measured_whichever_way_it_lies(turn, degrees, back):
    turned = [
        (x * math.cos(turn) - y * math.sin(turn), x * math.sin(turn) + y * math.cos(turn)) for x, y in wedge(degrees)
    ]
    assert _sharpest(turned[::-1] if back else turned) == pytest.approx(degrees)

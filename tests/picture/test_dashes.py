"""Dashed lines as their dashes."""

from __future__ import annotations

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from seamtree.picture.dashes import dashed

places = st.tuples(st.floats(-100, 100), st.floats(-100, 100))


def test_a_level_line():
    dashes = list(dashed(shapely.LineString([(0, 0), (10, 0)]), 2.0))
    assert dashes == [((0, 0), (2, 0)), ((4, 0), (6, 0)), ((8, 0), (10, 0))]


def test_a_dash_goes_round_a_corner():
    dashes = list(dashed(shapely.LineString([(0, 0), (5, 0), (5, 4)]), 3.0))
    assert dashes == [((0, 0), (3, 0)), ((5, 1), (5, 4))]
    (dash,) = dashed(shapely.LineString([(0, 0), (2, 0), (2, 1)]), 5.0)
    assert dash == ((0, 0), (2, 0), (2, 1))


@pytest.mark.parametrize("line", [shapely.LineString(), shapely.Point(1, 2), shapely.LineString([(1, 1), (1, 1)])])
def test_what_has_no_length_has_no_dashes(line):
    assert not list(dashed(line, 2.0))


@given(st.lists(places, min_size=2, max_size=8), st.floats(0.5, 50))
def test_dashes_are_alike_and_lie_on_the_line(corners, dash):
    line = shapely.LineString(corners)
    dashes = [shapely.LineString(points) for points in dashed(line, dash)]
    if line.length < 1e-9:
        return
    length = line.length / (2 * len(dashes) - 1)
    assert length <= dash * (1 + 1e-9) or len(dashes) == 1
    for one in dashes:
        assert one.length == pytest.approx(length, rel=1e-6, abs=1e-9)
        assert line.buffer(1e-6).covers(one)
    assert dashes[0].coords[0] == pytest.approx(line.coords[0])
    assert dashes[-1].coords[-1] == pytest.approx(line.coords[-1])

"""Closed lines with holes as single ones: the area stays what it is."""

from __future__ import annotations

import pytest
import shapely

from seamtree.block.holes import with_slits
from seamtree.drawing.drawn import STRAIGHT, Track


def ring(left, top, right, bottom, *, back=False):
    corners = ((left, top), (right, top), (right, bottom), (left, bottom))
    return Track(corners[::-1] if back else corners, True, (STRAIGHT,) * 4)


def areas(tracks):
    made = [shapely.Polygon(track.points) for track in tracks]
    assert all(polygon.is_valid for polygon in made)
    return [round(polygon.area, 2) for polygon in made]


@pytest.mark.parametrize("back", [False, True])
def test_a_hole(back):
    assert areas(with_slits([ring(0, 0, 1, 1), ring(0.2, 0.2, 0.8, 0.8, back=back)])) == [0.64]


@pytest.mark.parametrize("back", [False, True])
def test_two_holes(back):
    holes = [ring(0.2, 0.1, 0.8, 0.4, back=back), ring(0.2, 0.6, 0.8, 0.9)]
    assert areas(with_slits([*holes, ring(0, 0, 1, 1, back=back)])) == [0.64]


def test_what_lies_in_a_hole_is_none():
    rings = [ring(k, k, 10 - k, 10 - k) for k in range(4)]
    assert areas(with_slits(rings)) == pytest.approx([100 - 64, 36 - 16], abs=0.02)


def test_what_lies_side_by_side_stays_as_it_is():
    tracks = [ring(0, 0, 1, 1), ring(2, 0, 3, 1)]
    assert with_slits(tracks) == tracks


def test_the_curves_of_segments_go_with_them():
    outside = Track(((0, 0), (4, 0), (4, 4), (0, 4)), True, (1, 2, 3, 4))
    hole = Track(((1, 1), (3, 1), (3, 3), (1, 3)), True, (5, 6, 7, 8))
    (made,) = with_slits([outside, hole])
    path = dict(zip(zip(made.points, made.path[1:], strict=True), made.curves, strict=True))
    assert path[(4, 0), (4, 4)] == 2
    assert path[(3, 3), (3, 1)] == 6
    assert path[(0, 4), (0, 0)] == 4
    assert sorted(path.values()) == [0, 0, 1, 2, 3, 4, 5, 6, 7, 8]

from __future__ import annotations

import shapely

from seamtree.geometry.clipping import pieces_inside

WINDOW = shapely.box(0, 0, 4, 4)


def test_a_line_is_cut_off_at_the_boundary():
    assert list(pieces_inside([(-1, 2), (2, 2), (2, 6)], WINDOW)) == [[(0, 2), (2, 2), (2, 4)]]


def test_a_line_that_leaves_and_comes_back_is_in_pieces():
    pieces = list(pieces_inside([(1, 1), (1, 6), (3, 6), (3, 1)], WINDOW))
    assert sorted(sorted(piece) for piece in pieces) == [[(1, 1), (1, 4)], [(3, 1), (3, 4)]]


def test_a_line_that_crosses_itself_stays_in_one_piece_between_crossings():
    (piece,) = pieces_inside([(1, 1), (3, 1), (3, 3), (1, 3), (1, 1)], WINDOW)
    assert piece[0] == piece[-1]
    assert len(piece) == 5


def test_what_only_touches_or_is_too_short_is_left_out():
    assert not list(pieces_inside([(4, 5), (5, 4), (4, 3.999)], shapely.box(0, 0, 4, 3)))
    assert not list(pieces_inside([(-1, -1), (0, 0)], WINDOW))
    assert not list(pieces_inside([(-1, 2), (0.5, 2)], WINDOW, least=0.5))
    assert list(pieces_inside([(-1, 2), (0.51, 2)], WINDOW, least=0.5))

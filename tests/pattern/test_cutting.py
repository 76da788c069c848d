"""Pieces that cover their patches, and fabric amounts worked out by hand."""

import math
from itertools import pairwise

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from shapely import affinity

import seamtree
from seamtree.block.model import Block
from seamtree.errors import OptionError
from seamtree.pattern.cutting import Piece, build_amount, build_cutting_list, cut_strips, fit_rectangle
from tests.search.test_parts import squares
from tests.support.random_layouts import random_layout


def pieces(count, short, long):
    return [Piece(f"A{k}", short, long) for k in range(1, count + 1)]


def test_a_square_patch_is_cut_one_inch_larger():
    assert fit_rectangle([(0, 0), (3, 0), (3, 3), (0, 3)], margin=0.5, step=0.25) == (4, 4)
    assert fit_rectangle([(0, 0), (3.1, 0), (3.1, 2), (0, 2)], margin=0.5, step=0.25) == (3, 4.25)


def test_a_slanting_strip_is_cut_along_its_length():
    slanting = affinity.rotate(shapely.box(0, 0, 6, 1), 30).exterior.coords[:-1]
    assert fit_rectangle(slanting, margin=0.5, step=0.25) == pytest.approx((2, 7))


@given(
    st.lists(st.tuples(st.floats(0, 9), st.floats(0, 9)), min_size=3, max_size=8),
    st.sampled_from([0.0, 0.25, 0.5]),
    st.sampled_from([0.25, 0.5 / 2.54]),
)
def test_pieces_cover_patch_and_margin(points, margin, step):
    patch = shapely.MultiPoint(points).convex_hull
    if patch.geom_type != "Polygon" or patch.area < 0.05 or patch.minimum_clearance < 1e-3:
        return
    short, long = fit_rectangle(patch.exterior.coords[:-1], margin=margin, step=step)
    assert [short / step, long / step] == pytest.approx([round(short / step), round(long / step)])
    # Turned to and fro, the patch with its margin fits somewhere: by its own widths, measured with shapely.
    grown = patch.buffer(margin, quad_segs=32) if margin else patch
    corners = patch.exterior.coords
    turns = [math.degrees(math.atan2(b[1] - a[1], b[0] - a[0])) for a, b in pairwise(corners)]
    boxes = [affinity.rotate(grown, -turn, origin=(0, 0)).bounds for turn in turns]
    sizes = [sorted((box[2] - box[0], box[3] - box[1])) for box in boxes]
    assert any(a <= short + 1e-5 and b <= long + 1e-5 for a, b in sizes)


@given(st.integers(0, 500))
def test_every_patch_is_cut_once(seed):
    plan = seamtree.plan(Block.from_polygons(random_layout(seed)))
    (cuts,) = build_cutting_list(plan)
    assert sorted(piece.patch for piece in cuts.pieces) == sorted(plan.patch_ids().values())
    assert sorted(p.patch for s in cuts.amount.strips for p in s.pieces) == sorted(plan.patch_ids().values())
    for strip in cuts.amount.strips:
        assert all(piece.short <= strip.height for piece in strip.pieces)
        assert sum(piece.long for piece in strip.pieces) <= 40


def test_twelve_four_inch_squares_by_hand():
    # Ten to a strip of 40 in: two strips of 4 in are 8 in, which is 2/8 yd (9 in) or 20.32, so 25 cm. Of a fat
    # quarter (18 × 20 in) five to a strip: three strips, 12 in. Of a fat eighth (9 × 20 in) only ten can be cut.
    amount = build_amount(pieces(12, 4, 4), fabric_width=40)
    assert [(s.height, len(s.pieces)) for s in amount.strips] == [(4, 10), (4, 2)]
    assert (amount.length, amount.eighths, amount.centimetres, amount.fat) == (8, 2, 25, "fat quarter")


def test_one_small_piece_by_hand():
    # One strip of 2 in: 1/8 yd is the least that is sold; 5.08 cm are 10.
    amount = build_amount(pieces(1, 2, 3), fabric_width=40)
    assert (amount.length, amount.eighths, amount.centimetres, amount.fat) == (2, 1, 10, "fat eighth")


def test_large_pieces_by_hand():
    # 11 × 21 in: one to a strip of 40 in (two would be 42), so three strips, 33 in: 8/8 yd are 36 in. No fat quarter
    # is 21 in long; on 44 in two lie side by side: 22 in are 5/8 yd.
    amount = build_amount(pieces(3, 11, 21), fabric_width=40)
    assert (amount.length, amount.eighths, amount.centimetres, amount.fat) == (33, 8, 85, None)
    assert build_amount(pieces(3, 11, 21), fabric_width=44).eighths == 5


def test_mixed_pieces_by_hand():
    # Strip of 5 in: 5 × 30 and 3 × 10 side by side; strip of 3 in for the other 3 × 10.
    amount = build_amount([Piece("A1", 3, 10), Piece("A2", 5, 30), Piece("A3", 3, 10)], fabric_width=40)
    assert [(s.height, [p.patch for p in s.pieces]) for s in amount.strips] == [(5, ["A2", "A1"]), (3, ["A3"])]


def test_a_long_piece_lies_along_the_fabric():
    strips, too_wide = cut_strips([Piece("A1", 6, 45)], across=40)
    assert [s.height for s in strips] == [45]
    assert too_wide == ()


def test_what_no_fabric_is_wide_enough_for_is_named():
    amount = build_amount([Piece("A1", 41, 45), Piece("A2", 2, 2)], fabric_width=40)
    assert [p.patch for p in amount.too_wide] == ["A1"]
    assert (amount.length, amount.fat) == (2, None)


def test_fabrics_are_listed_by_their_words():
    block = Block.from_polygons(
        [[(x, 0), (x + 2, 0), (x + 2, 2), (x, 2)] for x in (0, 2, 4)], fabrics=["#ffd700", "#008080", "#ffd700"]
    )
    cuts = build_cutting_list(seamtree.plan(block))
    assert [(c.word, [(p.short, p.long) for p in c.pieces]) for c in cuts] == [
        ("gold", [(3, 3)] * 2),
        ("teal", [(3, 3)]),
    ]


@pytest.mark.parametrize("options", [{"margin": -1}, {"margin": math.nan}, {"step": 0}, {"fabric_width": 1e9}])
def test_options_must_make_sense(options):
    with pytest.raises(OptionError, match="must be between"):
        build_cutting_list(seamtree.plan(squares(2, 2)), **options)

"""Pieces that cover their patches, and fabric amounts worked out by hand."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

import seamtree
from seamtree.block.build import block_from_polygons
from seamtree.errors import OptionError
from seamtree.pattern.cutting import Cut, build_amount, build_cloths, build_cutting_list, cut_strips
from tests.search.straight.test_parts import squares
from tests.support.random_layouts import random_layout


def pieces(count, short, long):
    return [Cut(f"A{k}", short, long) for k in range(1, count + 1)]


@given(st.integers(0, 500), st.integers(1, 3))
def test_every_patch_is_cut_as_often_as_it_is_sewn(seed, copies):
    plan = seamtree.plan(block_from_polygons(random_layout(seed)))
    (cuts,) = build_cutting_list(build_cloths([(plan, copies)]))
    names = [cloth.piece.patch for row in cuts.rows for cloth in row.cloths]
    assert sorted(names) == sorted(plan.patch_ids().values())
    for row in cuts.rows:
        per = {"half": 2, "quarter": 4}.get(row.shape, 1)
        assert 0 <= row.cuts * per - copies * len(row.cloths) < per
    assert sum(len(strip.cuts) for strip in cuts.amount.strips) == sum(row.cuts for row in cuts.rows)
    for strip in cuts.amount.strips:
        assert all(cut.short <= strip.height for cut in strip.cuts)
        assert sum(cut.long for cut in strip.cuts) <= 40


def test_twelve_four_inch_squares_by_hand():
    # Ten to a strip of 40 in: two strips of 4 in are 8 in, which is 2/8 yd (9 in) or 20.32, so 25 cm. Of a fat
    # quarter (18 × 20 in) five to a strip: three strips, 12 in. Of a fat eighth (9 × 20 in) only ten can be cut.
    amount = build_amount(pieces(12, 4, 4), fabric_width=40)
    assert [(s.height, len(s.cuts)) for s in amount.strips] == [(4, 10), (4, 2)]
    assert (amount.length, amount.eighths, amount.centimetres, amount.fat) == (8, 2, 25, "fat quarter")


def test_one_small_piece_by_hand():
    # One strip of 2 in: 1/8 yd is the least that is sold; 5.08 cm are 10.
    amount = build_amount(pieces(1, 2, 3), fabric_width=40)
    assert (amount.length, amount.eighths, amount.centimetres, amount.fat) == (2, 1, 10, "fat eighth")


def test_large_pieces_by_hand():
    # 11 × 21 in: one to a strip of 40 in (two would be 42), so three strips, 33 in: 8/8 yd are 36 in; 83.8 cm, so
    # 90. No fat quarter
    # is 21 in long; on 44 in two lie side by side: 22 in are 3/4 yd, for beyond a half it is sold by the quarter.
    amount = build_amount(pieces(3, 11, 21), fabric_width=40)
    assert (amount.length, amount.eighths, amount.centimetres, amount.fat) == (33, 8, 90, None)
    assert build_amount(pieces(3, 11, 21), fabric_width=44).eighths == 6


def test_mixed_pieces_by_hand():
    # Strip of 5 in: 5 × 30 and 3 × 10 side by side; strip of 3 in for the other 3 × 10.
    amount = build_amount([Cut("A1", 3, 10), Cut("A2", 5, 30), Cut("A3", 3, 10)], fabric_width=40)
    assert [(s.height, [p.name for p in s.cuts]) for s in amount.strips] == [(5, ["A2", "A1"]), (3, ["A3"])]


def test_a_long_piece_lies_along_the_fabric():
    strips, too_wide = cut_strips([Cut("A1", 6, 45)], across=40)
    assert [s.height for s in strips] == [45]
    assert too_wide == ()


def test_what_no_fabric_is_wide_enough_for_is_named():
    amount = build_amount([Cut("A1", 41, 45), Cut("A2", 2, 2)], fabric_width=40)
    assert [p.name for p in amount.too_wide] == ["A1"]
    assert (amount.length, amount.fat) == (2, None)


def test_more_than_a_half_is_bought_by_the_quarter():
    # Common practice. 5 strips of 4 in are 20 in: 4.4 eighths of a yard, so 3/4 yd; 50.8 cm, so 60.
    amount = build_amount(pieces(50, 4, 4), fabric_width=40)
    assert (amount.length, amount.eighths, amount.centimetres) == (20, 6, 60)
    # 4 strips are 16 in: 3.6 eighths, so 1/2 yd; 40.64 cm, so 45.
    amount = build_amount(pieces(40, 4, 4), fabric_width=40)
    assert (amount.length, amount.eighths, amount.centimetres) == (16, 4, 45)


def test_fabrics_are_listed_by_their_names():
    block = block_from_polygons(
        [[(x, 0), (x + 2, 0), (x + 2, 2), (x, 2)] for x in (0, 2, 4)], fabrics=["#ffd700", "#008080", "#ffd700"]
    )
    cuts = build_cutting_list(build_cloths([(seamtree.plan(block), 4)]))
    assert [(c.fabric.name, [(r.along, r.deep, r.cuts) for r in c.rows]) for c in cuts] == [
        ("gold", [(3, 3, 8)]),
        ("teal", [(3, 3, 4)]),
    ]


@pytest.mark.parametrize("options", [{"margin": -1}, {"margin": math.nan}, {"step": 0}])
def test_options_must_make_sense(options):
    with pytest.raises(OptionError, match="must be between"):
        build_cloths([(seamtree.plan(squares(2, 2)), 1)], **options)

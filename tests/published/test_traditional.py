"""Layouts that have been sewn for generations, with what every quilter knows about them.

All expected values are common practice in the trade, written down from memory.
"""

import pytest

from seamtree.block.build import block_from_polygons
from seamtree.block.model import Block
from seamtree.planning.build import plan
from tests.support import layouts


def planned(polygons):
    return plan(polygons if isinstance(polygons, Block) else block_from_polygons(polygons))


@pytest.mark.parametrize(
    "polygons",
    [
        layouts.log_cabin(1),
        layouts.log_cabin(4),
        layouts.courthouse_steps(1),
        layouts.courthouse_steps(4),
        layouts.square_in_square(1),
        layouts.square_in_square(3),
        layouts.flying_geese(1),
        layouts.flying_geese(5),
        layouts.pineapple(1),
        layouts.pineapple(4),
    ],
    ids=["logs", "logs-4", "steps", "steps-4", "square", "square-3", "goose", "geese-5", "pineapple", "pineapple-4"],
)
def test_one_unit(polygons):
    # Common practice: each of these is sewn on a single foundation from the middle (or the first goose) on.
    answer = planned(polygons)
    assert (answer.verdict, answer.counts.units, answer.proven) == ("single unit", 1, True)
    assert answer.counts.patches == len(polygons)


@pytest.mark.parametrize(
    ("polygons", "units", "matched"),
    [(layouts.squares(2, 2), 2, 1), (layouts.squares(3, 3), 3, 4), (layouts.kaleidoscope(), 2, 1)],
    ids=["four patch", "nine patch", "kaleidoscope"],
)
def test_rows_and_halves(polygons, units, matched):
    # Common practice: rows of squares are joined row by row, wedges half by half, matching where seams meet.
    answer = planned(polygons)
    assert (answer.verdict, answer.counts.units, answer.proven) == ("joined units", units, True)
    assert answer.counts.matched_points == matched


@pytest.mark.parametrize(
    ("layout", "set_in", "partial", "curved"),
    [
        (layouts.diamond_star, 8, 0, 0),
        (layouts.attic_window, 1, 0, 0),
        (layouts.tumbling_block, 1, 0, 0),
        (layouts.hexagon_flower, 6, 0, 0),
        (layouts.spun_rectangles, 0, 1, 0),
        (layouts.quarter_circle, 0, 0, 1),
    ],
)
def test_hard_corners(layout, set_in, partial, curved):
    # Common practice: a star's background is set in square by square and triangle by triangle, a mitre and a cube
    # have one Y each, a flower six; a ring of spun rectangles starts with a partial seam; a curve is eased in.
    answer = planned(layout())
    counts = answer.counts
    assert answer.verdict == "hard corners"
    assert (counts.set_in, counts.partial, counts.curved) == (set_in, partial, curved)
    assert answer.bound.hard_corners == set_in + partial + curved


def test_a_flower_takes_four_units():
    # Common practice: never more than two pivots in one seam, so three pairs of petals and the middle stay apart.
    answer = planned(layouts.hexagon_flower())
    assert (answer.counts.units, answer.counts.excess_pivots, answer.proven) == (4, 0, True)


@pytest.mark.parametrize("chords", [4, 7, 12, 40])
def test_a_curve_counts_once_however_finely_it_is_flattened(chords):
    answer = planned(layouts.quarter_circle(chords))
    assert (answer.counts.curved, answer.counts.set_in, answer.counts.units) == (1, 0, 2)
    (join,) = answer.joins()
    assert len(join.seam.path) == chords + 1

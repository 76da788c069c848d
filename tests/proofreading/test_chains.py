"""The first step that cannot be sewn, against the plain definition and in words."""

import math
from itertools import permutations

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from seamtree.block.build import block_from_polygons
from seamtree.proofreading.chains import _Step, first_failure, unit_pieces
from seamtree.proofreading.outcome import Label
from seamtree.search.peel import peel_off
from seamtree.search.view import bits, build_view
from tests.search.test_peel import LOGS
from tests.support.layouts import attic_window, quarter_circle, spun_rectangles, squares
from tests.support.printed import Plainly
from tests.support.random_layouts import random_layout


def failure(block, order):
    labels = {p: Label("B", k) for k, p in enumerate(order, 1)}
    return first_failure(build_view(block), labels, order)


def at(block, *places):
    """Return the patches at these places."""
    shapes = [shapely.Polygon(block.polygon(p)) for p in range(len(block.patches))]
    return [next(p for p, s in enumerate(shapes) if s.contains(shapely.Point(place))) for place in places]


def failing(block, order):
    """Return the patch that is said to be the first one that cannot be sewn."""
    found = failure(block, order)
    return None if found is None else order[int(found.patches[0].removeprefix("B")) - 1]


def test_every_order_of_logs_is_accepted_exactly_if_it_can_be_sewn():
    block = block_from_polygons(LOGS)
    plain = Plainly(block)
    accepted = 0
    for order in permutations(range(5)):
        assert failing(block, order) == plain.first_failure(order)
        accepted += failure(block, order) is None
    assert accepted == len(plain.orders(range(5))) > 0


def test_every_order_of_small_layouts_is_accepted_exactly_if_it_can_be_sewn():
    layouts = [layout for seed in range(60) if len(layout := random_layout(seed)) <= 6]
    assert len(layouts) >= 10
    for layout in layouts:
        block = block_from_polygons(layout, tolerance=1e-5)
        plain = Plainly(block)
        for order in permutations(range(len(layout))):
            assert failing(block, order) == plain.first_failure(order)


@given(st.integers(0, 10**9), st.randoms(use_true_random=False))
def test_the_first_failing_step_of_any_unit_is_found(seed, rng):
    block = block_from_polygons(random_layout(seed), tolerance=1e-5)
    order = rng.sample(range(len(block.patches)), rng.randint(1, len(block.patches)))
    assert failing(block, order) == Plainly(block).first_failure(order)


def test_an_unconnected_step_says_so():
    block = block_from_polygons([shapely.box(x, 0, x + 1, 1) for x in range(3)])
    left, middle, right = at(block, (0.5, 0.5), (1.5, 0.5), (2.5, 0.5))
    found = failure(block, [left, right, middle])
    assert found.message == "B2 at 2.50, 0.50 touches nothing sewn before it."
    assert found.at == pytest.approx((2.5, 0.5))


def test_a_step_that_touches_with_a_corner_says_where():
    block = block_from_polygons(squares(2, 2))
    order = at(block, (1, 1), (3, 3), (1, 3), (3, 1))
    assert (
        failure(block, order).message == "B2 touches B1 only with a corner, at 2.00, 2.00, and nothing else before."
    )


def test_a_step_round_a_corner_says_where_the_corner_is():
    block = block_from_polygons(squares(2, 2))
    order = at(block, (1, 1), (1, 3), (3, 1), (3, 3))
    found = failure(block, order)
    # The third square meets the first one only; the last one meets the second and the third.
    assert found.message == "B4 meets B2 and B3 along two different lines, with a corner at 2.00, 2.00."
    assert found.at == pytest.approx((2, 2))
    assert found.patches == ("B4", "B2", "B3")


def test_a_step_that_closes_a_gap_names_both_stretches():
    block = block_from_polygons([shapely.box(x, 0, x + 1, 1) for x in range(3)] + [shapely.box(0, 1, 3, 2)])
    order = at(block, (1.5, 1.5), (0.5, 0.5), (2.5, 0.5), (1.5, 0.5))
    told = failure(block, order).message
    assert told == "B4 meets B1, B2 and B3 along 3 different lines, with corners at 1.00, 1.00; 2.00, 1.00."
    block = block_from_polygons(spun_rectangles())
    ring = [p for p in range(5) if not shapely.box(2, 2, 4, 4).equals(shapely.Polygon(block.polygon(p)))]
    by_turn = sorted(ring, key=lambda p: _angle(block, p))
    assert "along 2 separate stretches, at" in failure(block, by_turn).message


def _angle(block, patch):
    x, y = shapely.Polygon(block.polygon(patch)).centroid.coords[0]
    return math.atan2(y - 3, x - 3)


def test_a_line_where_a_patch_is_missing_is_broken_there():
    # Three wedges that meet in one point on a line: the middle one is not sewn yet.
    block = block_from_polygons(
        [
            [(0, 0), (2, 2), (0, 2)],
            [(0, 0), (4, 0), (2, 2)],
            [(4, 0), (4, 2), (2, 2)],
            [(0, 2), (2, 2), (4, 2), (4, 3), (0, 3)],
        ]
    )
    left, middle, right, below = at(block, (0.5, 1.5), (2, 0.5), (3.5, 1.5), (2, 2.5))
    labels = {left: Label("B", 1), right: Label("B", 2), below: Label("B", 3), middle: Label("B", 4)}
    told = _Step(build_view(block), labels, below, 1 << left | 1 << right).failure()
    assert "along a line that is broken at 2.00, 2.00" in told.message


def test_a_curve_is_called_a_curve():
    block = quarter_circle()
    assert "B2 meets B1 along a curve, through" in failure(block, [0, 1]).message


def test_a_line_that_bends_slowly_is_told():
    # Every pair of edges is in line within the tolerance, the run as a whole strays from any line.
    bow = [(k, 0.012 * k * (8 - k) / 2) for k in range(9)]
    block = block_from_polygons([[*bow, (8, -3), (0, -3)], [*reversed(bow), (0, 3), (8, 3)]])
    assert len(block.lines) == 1
    assert "along a line that bends more than cloth forgives, at" in failure(block, [0, 1]).message


def test_pieces_of_a_unit_are_named():
    block = block_from_polygons([shapely.box(x, 0, x + 1, 1) for x in range(4)])
    a, b, _, d = at(block, *((x + 0.5, 0.5) for x in range(4)))
    labels = {a: Label("A", 1), b: Label("A", 2), d: Label("A", 3)}
    view = build_view(block)
    found = unit_pieces(view, labels, "unit A", [a, b, d])
    assert found.message == "Unit A is in 2 pieces that share no edge: A1 and A2; A3."
    assert found.at == pytest.approx((3.5, 0.5))
    assert unit_pieces(view, labels, "unit A", [a, b]) is None


def test_what_locks_a_unit_is_what_no_order_can_peel():
    block = block_from_polygons(attic_window())
    assert set(bits(peel_off(build_view(block), 0b111)[0])) == {0, 1, 2}
    block = block_from_polygons([*squares(2, 2), shapely.box(0, 4, 4, 6)])
    (strip,) = at(block, (2, 5))
    assert set(bits(peel_off(build_view(block), 0b11111)[0])) == set(range(5)) - {strip}
    assert peel_off(build_view(block_from_polygons(LOGS)), 0b11111)[0].bit_count() == 1

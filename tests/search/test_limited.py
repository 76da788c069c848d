"""Units that are no larger than a rectangle: known answers, and all orders of small layouts."""

from __future__ import annotations

import pytest
from benchmarks.families import lines_across, spun_rings, straight_cuts, voronoi
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import box

from seamtree.block.build import block_from_polygons
from seamtree.block.largest import Largest
from seamtree.block.model import Block
from seamtree.planning.build import plan
from seamtree.planning.wishes import Wishes
from seamtree.proofs.check import check_claims
from seamtree.search.corners.exhaustive import sew_small_part
from seamtree.search.corners.local_rule import build_part
from seamtree.search.corners.orders import score
from seamtree.search.corners.solve_part import solve_part
from seamtree.search.find import find_limited, find_order
from seamtree.search.limited import UnitLimit, _Keeper
from seamtree.search.tree import Found, Grown, count_units, units_in
from seamtree.search.view import build_view
from tests.search.corners.test_junction_model import shaken_grid
from tests.search.straight.test_parts import squares
from tests.support.brute_force import brute_force
from tests.support.layouts import log_cabin, spun_rectangles
from tests.support.random_layouts import random_layout


def limited(block: Block, size: tuple[float, float], *, time_limit: float = 10.0) -> Found:
    """Find an order, and have it checked whatever is said of it."""
    found = find_limited(block, find_order(block, time_limit=time_limit), size, time_limit=time_limit)
    largest = Largest(block, size)
    assert all(largest.holds(sum(1 << p for p in unit.patches)) for unit in units_in(found.order))
    merit = score(build_part(block, range(len(block.patches))), found.order)
    bound = (found.hard_corners, found.set_in, found.excess_pivots, found.units)
    assert bound <= merit[:4]
    assert found.proven == (bound == merit[:4])
    checked = check_claims(block, found.claims)
    assert (checked.hard_corners, checked.units) == (found.hard_corners, found.units)
    return found


@pytest.mark.parametrize(("side", "units"), [(None, 10), (5, 18), (4, 26), (3, 34)])
def test_known_answers_of_a_grid(side: int | None, units: int) -> None:
    size = (side, side) if side else (10, 10)
    found = limited(squares(10, 10), size)
    assert count_units(found.order) == found.units == units
    assert found.proven


def test_known_answers_of_strips() -> None:
    strips = block_from_polygons([box(x, 0, x + 1, 12) for x in range(12)])
    assert limited(strips, (12, 12)).units == 1
    found = limited(strips, (12, 4))
    assert found.units == count_units(found.order) == 3
    assert found.proven


def agree(block: Block, size: tuple[float, float]) -> None:
    found = limited(block, size)
    assert found.proven
    merit = score(build_part(block, range(len(block.patches))), found.order)
    assert merit[:4] == brute_force(block, largest=size)


@settings(max_examples=30, deadline=None)
@given(st.integers(0, 10**6), st.floats(0.8, 3.2), st.floats(0.8, 3.2))
def test_small_layouts_over_all_orders(seed: int, wide: float, high: float) -> None:
    block = block_from_polygons(random_layout(seed))
    if len(block.patches) <= 9:
        share = max(block.width, block.height) / 4
        agree(block, (wide * share, high * share))


@settings(max_examples=10, deadline=None)
@given(st.integers(0, 10**6), st.integers(4, 7), st.floats(0.3, 0.9))
def test_cells_with_hard_corners_over_all_orders(seed: int, cells: int, share: float) -> None:
    block = block_from_polygons(voronoi(cells, seed), tolerance=1e-5)
    agree(block, (share * block.width, share * block.height))


@pytest.mark.parametrize("size", [(9, 9), (5, 2), (3, 3), (2, 2), (0.1, 0.1)])
def test_a_ring_over_all_orders(size: tuple[float, float]) -> None:
    agree(block_from_polygons(spun_rectangles()), size)


@pytest.mark.parametrize(
    ("block", "size"),
    [
        (block_from_polygons(shaken_grid(3, 3, 3), tolerance=1e-3), (4.3, 2.2)),
        (block_from_polygons(shaken_grid(5, 2, 4), tolerance=1e-3), (4.6, 4.6)),
        (block_from_polygons(spun_rings(2)), (4, 4)),
        (block_from_polygons(spun_rectangles()), (3, 3)),
    ],
)
def test_the_junction_model_finds_what_all_paths_find(block: Block, size: tuple[float, float]) -> None:
    view, largest = build_view(block), Largest(block, size)
    whole = range(len(block.patches))
    every = sew_small_part(view, whole, effort=5, holds=largest.holds)
    assert every is not None
    keeper = _Keeper(view, find_order(block, time_limit=5), largest, 5)
    keeper.best()
    model = solve_part(block, whole, effort=5, limit=UnitLimit(largest.holds, keeper._split))
    assert model.merit[:4] == every.merit[:4] == model.bound[:4]
    assert model.merit == score(build_part(block, whole), model.order)


@pytest.mark.parametrize("seed", range(6))
def test_locked_pieces_are_cut_off_at_safe_cuts(seed: int) -> None:
    block = block_from_polygons(random_layout(1000 + seed))
    limited(block, (0.4 * block.width, 0.4 * block.height))


def test_a_unit_that_is_too_large_is_cut() -> None:
    block = block_from_polygons(log_cabin(2))
    assert find_order(block, time_limit=1).units == 1
    found = limited(block, (0.8 * block.width, 0.8 * block.height))
    assert found.units > 1
    assert found.proven


def test_a_limit_below_every_patch_leaves_single_patches() -> None:
    found = limited(squares(3, 3), (0.5, 0.5))
    assert count_units(found.order) == 9
    assert found.proven
    assert all(isinstance(unit, Grown) and len(unit.patches) == 1 for unit in units_in(found.order))


def test_a_search_cut_short_still_ends_in_a_valid_order_and_an_honest_bound() -> None:
    block = block_from_polygons(lines_across(18, 1))
    found = limited(block, (4, 4), time_limit=0.01)
    assert not found.proven
    assert found.units < count_units(found.order)


def test_an_order_that_fits_anyway_is_the_one_without_a_limit() -> None:
    block = block_from_polygons(straight_cuts(40, 1))
    free = find_order(block, time_limit=5)
    assert find_limited(block, free, (block.width, block.height), time_limit=5) is free


def test_plans_with_limited_units_are_replayed_and_say_what_they_cost() -> None:
    found = plan(squares(4, 4), wishes=Wishes((2, 2)))
    assert found.counts.units == found.bound.units == 8
    assert found.proven
    (note,) = found.notes
    assert note.message == (
        "With units no larger than 2 × 2 in the block takes 8 units; with units of any size 4 would do."
    )

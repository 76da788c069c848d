"""Blocks of several units: what holds across the stages of the search."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest
from benchmarks.families import partly_split_squares, square_grid

from seamtree.block.assemble import Face, assemble_block
from seamtree.block.build import block_from_polygons
from seamtree.block.model import Block
from seamtree.planning.build import plan
from seamtree.proofs.claims import Claims, Cost
from seamtree.search import joined
from seamtree.search.corners import exhaustive
from seamtree.search.effort import NEVER
from seamtree.search.find import find_order
from seamtree.search.joined import _better
from seamtree.search.straight.tight import UNCOMPARED
from seamtree.search.tree import Found, Grown, Joined, Order, count_units
from seamtree.search.view import build_view
from tests.support.brute_force import brute_force
from tests.support.layouts import spun_rectangles
from tests.support.random_layouts import random_layout


def arc_across(cuts: tuple[float, ...], *, upright: bool = True, chords: int = 24) -> Block:
    """A block with an arc from side to side, and straight seams from top to bottom that cross it."""
    xs = [4 - 4 * math.cos(k * math.pi / chords) for k in range(chords + 1)]
    xs = sorted({round(x, 9) for x in xs} | set(cuts))
    places = [(x, 3 + (4 if upright else 1) * math.sqrt(max(0.0, 1 - ((x - 4) / 4) ** 2))) for x in xs]
    vertices, faces = list(places), []
    stops = [0, *(xs.index(cut) for cut in cuts), len(xs) - 1]
    ends = {}
    for stop in stops:
        ends[stop] = len(vertices), len(vertices) + 1
        vertices += [(xs[stop], 0.0), (xs[stop], 9.0)]
    for first, last in pairwise(stops):
        chord = range(first, last + 1)
        faces += [
            Face((ends[first][0], ends[last][0], *reversed(chord))),
            Face((*chord, ends[last][1], ends[first][1])),
        ]
    curves = {(k, k + 1): 1 for k in range(len(xs) - 1)}
    return assemble_block(vertices, faces, tolerance=0.02, name="arc", curves=curves)


@pytest.mark.parametrize("cuts", [(4.0,), (2.0, 6.0), (1.0, 4.0, 6.5)])
@pytest.mark.parametrize("upright", [True, False])
def test_a_curve_that_straight_seams_cross_counts_once(cuts: tuple[float, ...], upright: bool) -> None:
    # Cut along the straight seams first, each piece would have a curved seam of its own.
    answer = plan(arc_across(cuts, upright=upright))
    assert (answer.counts.curved, answer.counts.hard_corners, answer.counts.units) == (1, 1, 2)
    assert answer.bound.hard_corners == 1
    assert answer.proven


@pytest.mark.parametrize("cuts", [(4.0,), (2.0, 6.0), (1.0, 4.0, 6.5)])
@pytest.mark.parametrize("upright", [True, False])
def test_that_is_what_all_sewing_orders_say(cuts: tuple[float, ...], upright: bool) -> None:
    block = arc_across(cuts, upright=upright)
    answer = plan(block)
    counts = answer.counts
    # Every piece between straight seams is a locked part of its own, and the curve runs through all of them.
    assert [warning.code for warning in answer.warnings].count("locked-part") == len(cuts) + 1
    assert brute_force(block) == (counts.hard_corners, counts.set_in, counts.excess_pivots, counts.units)


def no_rows(monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*_: object, **__: object) -> None:
        raise AssertionError("taken by rows")

    monkeypatch.setattr(joined, "_take_by_rows", refuse)


def test_where_lines_only_cross_a_large_block_is_settled_without_rows(monkeypatch: pytest.MonkeyPatch) -> None:
    no_rows(monkeypatch)
    found = find_order(block_from_polygons(square_grid(30, 30)), time_limit=10)
    assert found.proven
    assert found.units == 30


def test_a_block_with_a_locked_part_is_not_taken_by_rows(monkeypatch: pytest.MonkeyPatch) -> None:
    block = block_from_polygons(spun_rectangles())
    known = find_order(block, time_limit=10)
    no_rows(monkeypatch)
    monkeypatch.setattr(exhaustive, "MOST_STEPS", 0)
    found = find_order(block, time_limit=10)
    assert known.proven
    assert found.proven
    assert (found.hard_corners, found.units) == (known.hard_corners, known.units) == (1, known.units)


def test_a_choice_among_equal_orders_that_is_cut_short_leaves_the_proof_as_it_is() -> None:
    # Ends of the time limit that fall between the proof and the end of the choice.
    block = block_from_polygons(partly_split_squares(14, 14, 330, 1))
    for seconds in (0.6, 1.0, 1.3):
        found = find_order(block, time_limit=seconds)
        assert found.proven
        assert found.units == 14
        assert found.unproven == UNCOMPARED


def _order_of(units: int) -> Order:
    order: Order = Grown((0,))
    for p in range(1, units):
        order = Joined((p - 1,), (order, Grown((p,))))
    return order


@pytest.mark.parametrize("turned", [False, True])
@pytest.mark.parametrize(
    ("units", "bounds", "proven"), [((3, 4), (2, 3), True), ((3, 4), (2, 2), False), ((4, 4), (4, 1), True)]
)
def test_of_two_answers_the_fewer_units_and_the_higher_bound_stand(
    units: tuple[int, int], bounds: tuple[int, int], proven: bool, turned: bool
) -> None:
    one, other = (
        Found(_order_of(n), 0, bound, proven=n == bound, claims=Claims(Cost(joins=bound - 1)))
        for n, bound in zip(units, bounds, strict=True)
    )
    best = _better(other, one) if turned else _better(one, other)
    assert count_units(best.order) == min(units)
    assert (best.units, best.claims.cost.joins + 1) == (max(bounds), max(bounds))
    assert best.proven == proven
    assert _better(one, None) is one


def test_a_search_that_is_cut_short_gives_an_order_and_a_bound_that_holds(monkeypatch: pytest.MonkeyPatch) -> None:
    blocks = [block_from_polygons(random_layout(seed), tolerance=1e-4) for seed in range(60)]
    straight = [(block, found) for block in blocks if not (found := find_order(block, time_limit=10.0)).hard_corners]
    monkeypatch.setattr(joined, "state_budget", lambda *_: 1)
    apart = 0
    for block, found in straight:
        short = joined._search_parts(build_view(block), time_limit=1.0, deadline=NEVER, crowded=set(), states=None)
        assert found.proven
        assert short.units <= found.units <= count_units(short.order)
        assert short.proven == (short.units == count_units(short.order))
        apart += count_units(short.order) > found.units
    assert apart


@pytest.mark.parametrize("time_limit", [0.0005, 0.001, 0.0015, 0.002, 0.003])
def test_where_the_choice_among_equal_orders_is_cut_short_the_order_found_first_stands(time_limit: float) -> None:
    block = block_from_polygons(random_layout(162), tolerance=1e-4)
    found = find_order(block, time_limit=time_limit)
    assert found.units <= 3 <= count_units(found.order)
    assert time_limit < 0.002 or count_units(found.order) == 3

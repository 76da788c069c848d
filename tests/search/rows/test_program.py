"""Fewest units by rows against the plain definition."""

import pytest
from benchmarks.alternatives import UNSEWABLE, plain_recursion
from benchmarks.families import partly_split_squares, quilt_top, square_grid, star_top, straight_cuts
from hypothesis import example, given, settings
from hypothesis import strategies as st

from seamtree.block.build import block_from_polygons
from seamtree.block.model import Block
from seamtree.planning.build import plan
from seamtree.proofs.claims import Through
from seamtree.proofs.rows import check_rows
from seamtree.search.claims import claim_rows
from seamtree.search.corners.local_rule import build_part
from seamtree.search.corners.orders import score
from seamtree.search.rows.by_rows import find_order_by_rows
from seamtree.search.rows.program import Best, most_added
from seamtree.search.rows.stretches import Stretches, build_stretches
from seamtree.search.rows.waits import Waits
from seamtree.search.tree import count_units
from tests.search.straight.test_sweep import chords
from tests.support.effort import times
from tests.support.random_layouts import random_layout

EFFORT = 60.0


def best_of(block: Block) -> tuple[Stretches, Best]:
    found = build_stretches(block)
    assert found is not None
    best = most_added(found, seconds=EFFORT)
    assert best is not None
    return found, best


@settings(max_examples=times(80, 1000), deadline=None)
@given(st.integers(0, 10**9))
@example(0)
def test_fewest_units_are_those_of_the_plain_recursion(seed: int) -> None:
    block = block_from_polygons(random_layout(seed), tolerance=1e-5)
    expected, _ = plain_recursion(block)
    found = build_stretches(block)
    answer = find_order_by_rows(found, seconds=EFFORT) if found else None
    if expected >= UNSEWABLE:
        assert answer is None
        return
    assert answer is not None
    order, claims = answer
    units = claims.cost.joins + 1
    merit = score(build_part(block, range(len(block.patches))), order)
    assert (merit.hard_corners, merit.units, units) == (0, expected, expected)


@pytest.mark.parametrize("seed", range(12))
def test_bundles_of_crossing_lines(seed: int) -> None:
    block = chords(8, seed)
    answer = find_order_by_rows(best_of(block)[0], seconds=EFFORT)
    assert answer is not None
    assert answer[1].cost.joins + 1 == count_units(answer[0]) == plain_recursion(block)[0]


@pytest.mark.parametrize(
    ("polygons", "units"),
    [(square_grid(7, 12), 7), (star_top(2, 2), 8), (partly_split_squares(8, 8, 100, 1), 8)],
    ids=["grid", "stars", "partly split squares"],
)
def test_lines_from_side_to_side_need_as_many_units_as_separate_crossings(polygons: list, units: int) -> None:
    _, best = best_of(block_from_polygons(polygons))
    assert best.proven
    assert best.most == len(polygons) - units


def test_blocks_of_a_quilt_top_count_apart() -> None:
    one = block_from_polygons(straight_cuts(28, 1))
    _, best = best_of(one)
    assert best.proven
    top = block_from_polygons(quilt_top(2, 2, 28, 1))
    found, best = best_of(top)
    assert best.proven
    assert len(best.proofs) > 4
    check_rows(top, claim_rows(best, found.gains))


# -- waiting seams --------------------------------------------------------------------------------------------


def test_four_seams_that_spin_round_a_square_wait_in_a_circle() -> None:
    block = block_from_polygons(square_grid(3, 3))
    found = build_stretches(block)
    assert found is not None
    line_at = {
        (round(x), round(y)): {
            ("across" if block.edges[k].start != block.edges[k + 1].end and _is_level(block, k) else "down"): line
            for line, k in found.crossings[j].items()
        }
        for j, (x, y) in enumerate(block.junctions)
        if j in found.crossings
    }
    at = {(round(x), round(y)): j for j, (x, y) in enumerate(block.junctions)}
    spin = {(1, 1): "across", (2, 1): "down", (2, 2): "across", (1, 2): "down"}
    choices = [Through(at[place], line_at[place][way]) for place, way in spin.items()]
    (row,) = Waits(found, choices).circles()
    assert {choice for choice, _ in row.terms} == set(choices)
    assert row.most == 3
    assert Waits(found, choices).in_turn() is None
    assert Waits(found, choices[:3]).in_turn() is not None


def _is_level(block: Block, edge: int) -> bool:
    ends = block.edges[edge]
    return abs(block.junctions[ends.start][1] - block.junctions[ends.end][1]) < 0.5


@pytest.mark.parametrize("seed", [427, 874, 1258])
def test_rows_that_no_choices_keep_to_mean_that_straight_seams_cannot_sew_it(seed: int) -> None:
    block = block_from_polygons(random_layout(seed), tolerance=1e-5)
    stretches = build_stretches(block)
    assert stretches is not None
    assert find_order_by_rows(stretches, seconds=5.0) is None
    assert plan(block).verdict == "hard corners"

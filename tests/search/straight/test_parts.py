"""The reduced parts graph against the plain definition of fewest units, and its certificate."""

import pytest
from benchmarks import families
from benchmarks.alternatives import UNSEWABLE, plain_recursion
from hypothesis import example, given, settings
from hypothesis import strategies as st

from seamtree.block.build import block_from_polygons
from seamtree.block.model import Block
from seamtree.errors import ProofError
from seamtree.search.claims import claim_joins
from seamtree.search.pieces import pieces
from seamtree.search.straight.parts import Locked, PartsGraph, Solved
from seamtree.search.view import build_view, runs_of
from tests.support.effort import times
from tests.support.random_layouts import random_layout


class CannotSewError(Exception):
    """Raised in place of an answer for a locked part."""


def refuse(_patches: int) -> Locked:
    raise CannotSewError


def squares(columns: int, rows: int) -> Block:
    return block_from_polygons(
        [((x, y), (x + 1, y), (x + 1, y + 1), (x, y + 1)) for x in range(columns) for y in range(rows)]
    )


def solve(block: Block, budget: int = 10**9) -> tuple[PartsGraph, Solved]:
    view = build_view(block)
    graph = PartsGraph(view, refuse, budget)
    return graph, graph.solve_part(view.all_patches)


@settings(max_examples=times(80, 1000), deadline=None)
@given(st.integers(0, 10**9))
@example(0)
def test_fewest_units_are_those_of_the_plain_recursion(seed: int) -> None:
    block = block_from_polygons(random_layout(seed), tolerance=1e-5)
    expected, _ = plain_recursion(block)
    try:
        graph, solved = solve(block)
    except CannotSewError:
        assert expected >= UNSEWABLE
        return
    assert solved.joins + 1 == expected
    claim_joins(graph, solved.joins)


@pytest.mark.parametrize(("columns", "rows"), [(1, 1), (1, 7), (2, 2), (3, 3), (4, 6), (12, 9)])
def test_a_grid_takes_as_many_units_as_its_shorter_side(columns: int, rows: int) -> None:
    _, solved = solve(squares(columns, rows))
    assert solved.joins + 1 == min(columns, rows)


def test_a_grid_is_settled_without_a_look_at_its_parts() -> None:
    graph, solved = solve(squares(20, 15), budget=0)
    assert (solved.joins, graph.cut_short, len(graph.solved)) == (14, False, 1)
    (cluster,) = graph.solved
    crossing = graph.apart[cluster][0]
    graph.apart[cluster] = (crossing, *graph.apart[cluster][:-1])
    with pytest.raises(ProofError, match="share no line"):
        claim_joins(graph, 14)


@pytest.mark.parametrize(("columns", "rows"), [(1, 1), (3, 2)])
def test_stars_edge_to_edge_take_as_many_units_as_their_shorter_side_has_squares(columns: int, rows: int) -> None:
    graph, solved = solve(block_from_polygons(families.star_top(columns, rows)))
    assert solved.joins + 1 == 4 * rows
    claim_joins(graph, solved.joins)


def test_a_certificate_for_too_many_joins_has_a_gap() -> None:
    graph, solved = solve(squares(4, 4))
    with pytest.raises(ProofError):
        claim_joins(graph, solved.joins + 1)


@pytest.mark.parametrize("seed", [6, 19, 23, 26, 27, 29, 30, 33, 36])
def test_a_forged_bound_is_found_out(seed: int) -> None:
    block = block_from_polygons(random_layout(seed), tolerance=1e-5)
    graph, solved = solve(block)
    claim_joins(graph, solved.joins)
    cluster, answer = max(graph.solved.items(), key=lambda item: item[0].bit_count())
    graph.solved[cluster] = Solved(answer.joins + 1, answer.option, cuts=answer.cuts)
    graph.swept.clear()
    with pytest.raises(ProofError):
        claim_joins(graph, solved.joins + 1)


def test_a_search_cut_short_still_ends_in_a_valid_order_and_an_honest_bound() -> None:
    block = block_from_polygons(families.lines_across(9, 1), tolerance=1e-4)
    best = solve(block)[1].joins
    graph, solved = solve(block, budget=0)
    cuts, _ = graph.chosen(solved)
    seams = 0
    for first, last in cuts:
        seams |= (1 << (last + 1)) - (1 << first)
    assert graph.cut_short
    assert len(cuts) == solved.joins >= best
    assert len(pieces(graph.view, graph.view.all_patches, seams)) == solved.joins + 1
    assert graph.least_of_part(graph.view.all_patches) <= best


def test_runs_are_maximal() -> None:
    assert runs_of(0b0110_1011) == [0b11, 0b1000, 0b110_0000]
    assert runs_of(0) == []

"""The order of patches within a unit, against all orders that can be sewn."""

from itertools import pairwise, permutations

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from shapely import Polygon

from seamtree.block.build import block_from_polygons
from seamtree.block.model import Block
from seamtree.planning.numbering import best_numberings, count_orders, number_unit
from seamtree.search.view import SeamView, build_view
from tests.search.test_peel import is_chain, whole
from tests.support import layouts
from tests.support.effort import times
from tests.support.printed import Plainly
from tests.support.random_layouts import random_layout


def changes(block: Block, order: tuple[int, ...]) -> int:
    return sum(block.patches[a].fabric != block.patches[b].fabric for a, b in pairwise(order))


def way(block: Block, order: tuple[int, ...]) -> float:
    middles = [Polygon(block.polygon(p)).centroid for p in order]
    return sum(a.distance(b) for a, b in pairwise(middles))


@settings(max_examples=times(60, 500), deadline=None)
@given(st.integers(0, 10**6), st.text("abc", min_size=7, max_size=7))
def test_fabrics_change_as_seldom_as_can_be_then_the_way_is_the_shortest(seed: int, fabrics: str) -> None:
    layout = random_layout(seed)
    assume(2 <= len(layout) <= 6)
    block = block_from_polygons(layout, fabrics=list(fabrics[: len(layout)]), tolerance=1e-5)
    chains = [order for order in permutations(range(len(layout))) if is_chain(block, order)]
    assume(chains)
    numbering = number_unit(build_view(block), whole(block))
    assert numbering.patches in chains
    assert numbering.changes == changes(block, numbering.patches) == min(changes(block, chain) for chain in chains)
    level = [chain for chain in chains if changes(block, chain) == numbering.changes]
    if len({chain[0] for chain in chains}) > 2:
        assert way(block, numbering.patches) <= min(way(block, chain) for chain in level) + 0.002 * len(layout)
    assert numbering.exact


def test_a_row_goes_from_one_end_to_the_other_from_the_top_left() -> None:
    for across in (True, False):
        row = [((x, 0), (x + 1, 0), (x + 1, 1), (x, 1)) for x in range(20)]
        block = block_from_polygons([[(x, y) if across else (y, x) for x, y in patch] for patch in row])
        numbering = number_unit(build_view(block), whole(block))
        assert [sum(block.polygon(p)[0]) for p in numbering.patches] == sorted(
            sum(block.polygon(p)[0]) for p in numbering.patches
        )
        assert numbering.exact


def test_of_orders_that_differ_in_which_comes_first_the_best_are_listed() -> None:
    row = [((x, 0), (x + 1, 0), (x + 1, 1), (x, 1)) for x in range(4)]
    block = block_from_polygons(row)
    at = sorted(range(4), key=lambda p: min(x for x, _ in block.polygon(p)))
    first, *others = best_numberings(build_view(block), whole(block), [(at[0], at[1]), (at[2], at[3])])
    assert first.patches == tuple(at)
    assert [tuple(at.index(p) for p in other.patches) for other in others] == [(3, 2, 1, 0), (1, 0, 2, 3)]


def test_very_many_orders_are_not_all_compared() -> None:
    strip = ((0, 0), (24, 0), (24, 1), (0, 1))
    waves = [((x, 1), (x + 1, 1), (x + 0.5, 2)) for x in range(24)]
    block = block_from_polygons([strip, *waves])
    numbering = number_unit(build_view(block), whole(block))
    assert not numbering.exact
    assert is_chain(block, numbering.patches)


def test_a_row_of_two_fabrics_is_sewn_fabric_by_fabric_where_that_can_be() -> None:
    row = [((x, 0), (x + 1, 0), (x + 1, 1), (x, 1)) for x in range(6)]
    block = block_from_polygons(row, fabrics=list("aaabbb"))
    assert number_unit(build_view(block), whole(block)).changes == 1
    block = block_from_polygons(row, fabrics=list("ababab"))
    assert number_unit(build_view(block), whole(block)).changes == 3  # from the middle out, both sides in turn


def test_a_log_cabin_starts_from_its_middle() -> None:
    logs = [
        ((1, 1), (2, 1), (2, 2), (1, 2)),
        ((1, 0), (2, 0), (2, 1), (1, 1)),
        ((2, 0), (3, 0), (3, 2), (2, 2)),
        ((1, 2), (3, 2), (3, 3), (1, 3)),
        ((0, 0), (1, 0), (1, 3), (0, 3)),
    ]
    block = block_from_polygons(logs)
    first = number_unit(build_view(block), whole(block)).patches[0]
    assert block.polygon(first)[0] in {(1.0, 1.0), (2.0, 1.0), (2.0, 2.0), (1.0, 2.0)}
    assert len(block.patches[first].ring) == 4
    assert {round(x) for x, _ in block.polygon(first)} == {1, 2}


def test_a_large_unit_is_numbered_all_the_same() -> None:
    row = [((x, 0), (x + 1, 0), (x + 1, 1), (x, 1)) for x in range(60)]
    block = block_from_polygons(row, fabrics=[str(x * x % 7) for x in range(60)])
    numbering = number_unit(build_view(block), whole(block))
    assert is_chain(block, numbering.patches)
    assert numbering.changes == changes(block, numbering.patches)


@pytest.mark.parametrize("first", range(0, 200, 100))
def test_as_many_orders_as_brute_force_finds(first: int) -> None:
    units = 0
    for seed in range(first, first + 100):
        polygons = random_layout(seed)
        if len(polygons) <= times(6, 7):
            block = block_from_polygons(polygons, tolerance=1e-5)
            orders = Plainly(block).orders(range(len(polygons)))
            units += bool(orders)
            if orders:
                assert count_orders(build_view(block), whole(block)) == len(orders)
    assert units > 5


def test_a_row_has_as_many_orders_as_ways_to_eat_it_up_from_both_ends() -> None:
    row = [((x, 0), (x + 1, 0), (x + 1, 1), (x, 1)) for x in range(9)]
    block = block_from_polygons(row)
    assert count_orders(build_view(block), whole(block)) == 2**8


def test_a_log_cabin_can_be_begun_with_either_of_two() -> None:
    block = block_from_polygons(layouts.log_cabin(2))
    assert count_orders(build_view(block), whole(block)) == 2


def test_too_many_orders_are_not_counted() -> None:
    """A strip with waves below it: any of them may come next."""
    strip = ((0, 0), (14, 0), (14, 1), (0, 1))
    waves = [((x, 1), (x + 1, 1), (x + 0.5, 2)) for x in range(14)]
    assert count_orders(*_view_of([strip, *waves[:5]])) == 2 * 120
    assert count_orders(*_view_of([strip, *waves])) is None


def _view_of(polygons) -> tuple[SeamView, int]:
    block = block_from_polygons(polygons)
    return build_view(block), whole(block)

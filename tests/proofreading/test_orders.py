"""The fewest patches to renumber, against all orders."""

from itertools import combinations, permutations

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from seamtree.block.build import block_from_polygons
from seamtree.proofreading.orders import nearest_order
from seamtree.search.peel import peel
from seamtree.search.view import build_view
from tests.search.test_peel import LOGS
from tests.support.layouts import cut_away, log_cabin, pineapple, square_in_square, squares
from tests.support.printed import Plainly
from tests.support.random_layouts import random_layout


def changed(printed, order, numbers):
    return sum(printed[p] != number for p, number in zip(order, numbers, strict=True))


def turned(printed, order):
    """Count the pairs of patches that come the other way round than printed."""
    return sum(printed[a] > printed[b] for a, b in combinations(order, 2))


def compare(block, plain, valid, printed, numbers, **more):
    """Check an answer against all valid orders."""
    answer = nearest_order(build_view(block), printed, numbers, **more)
    if not valid:
        assert answer is None
        return None
    assert plain.first_failure(answer.patches) is None
    assert sorted(answer.patches) == sorted(printed)
    assert answer.numbers == tuple(numbers)
    assert answer.changed == changed(printed, answer.patches, numbers)
    fewest = min(changed(printed, order, numbers) for order in valid)
    assert answer.least <= fewest <= answer.changed
    if not more and answer.changed == fewest:
        alike = [order for order in valid if changed(printed, order, numbers) == fewest]
        assert turned(printed, answer.patches) == min(turned(printed, order) for order in alike)
    return answer, fewest


def test_every_order_of_logs():
    block = block_from_polygons(LOGS)
    plain = Plainly(block)
    valid = plain.orders(range(5))
    for order in permutations(range(5)):
        printed = {p: k for k, p in enumerate(order, 1)}
        answer, fewest = compare(block, plain, valid, printed, range(1, 6))
        assert answer.changed == answer.least == fewest
        assert (fewest == 0) == (order in valid)


@pytest.mark.parametrize("polygons", [log_cabin(1), square_in_square(1), pineapple(1)[:6]])
def test_numbers_that_repeat_or_skip(polygons):
    block = block_from_polygons(polygons)
    size = len(block.patches)
    plain = Plainly(block)
    valid = plain.orders(range(size))
    assert valid
    for printed in ([1] * size, [*range(2, size + 2)], [*range(size, 0, -1)], [1, 1, *range(3, size + 1)]):
        by_patch = dict(enumerate(printed))
        answer, fewest = compare(block, plain, valid, by_patch, range(1, size + 1))
        assert answer.exact
        assert answer.changed == fewest
    skipping = {p: 2 * p + 3 for p in range(size)}
    answer, fewest = compare(block, plain, valid, skipping, sorted(skipping.values()))
    assert answer.changed == fewest


@given(st.integers(0, 10**9), st.randoms(use_true_random=False))
def test_small_layouts_in_any_order(seed, rng):
    block = block_from_polygons(random_layout(seed) if seed % 2 else _cut_up(rng), tolerance=1e-5)
    size = min(len(block.patches), 6)
    patches = rng.sample(range(len(block.patches)), size)
    plain = Plainly(block)
    printed = {p: k for k, p in enumerate(patches, 1)}
    found = compare(block, plain, plain.orders(patches), printed, range(1, size + 1))
    if found:
        assert found[0].changed == found[0].least == found[1]


def _cut_up(rng):
    """Return a square from which patches were cut with straight cuts one after the other: a unit."""
    cuts = [(rng.uniform(-1, 1), rng.choice([-1, 1]) * rng.uniform(0.1, 1), rng.uniform(1, 3)) for _ in range(5)]
    polygons = cut_away(shapely.box(-4, -4, 4, 4), cuts)
    # Slips of patches say nothing about the order and everything about rounding.
    return polygons if min(polygon.area for polygon in polygons) > 0.05 else log_cabin(1)


@given(st.randoms(use_true_random=False))
def test_bounds_are_honest_where_the_search_is_cut_short(rng):
    block = block_from_polygons(square_in_square(1) if rng.random() < 0.3 else log_cabin(1))
    size = len(block.patches)
    plain = Plainly(block)
    printed = dict(zip(rng.sample(range(size), size), range(1, size + 1), strict=True))
    compare(block, plain, plain.orders(range(size)), printed, range(1, size + 1), width=rng.choice([1, 2]))


def test_cutting_short_shows_in_the_bound():
    block = block_from_polygons(pineapple(2))
    size = len(block.patches)
    printed = {p: 1 + (7 * p) % size for p in range(size)}
    view = build_view(block)
    short = nearest_order(view, printed, range(1, size + 1), width=1)
    full = nearest_order(view, printed, range(1, size + 1))
    assert short.least <= full.least <= full.changed <= short.changed
    assert not short.exact


def test_large_units_are_answered_with_bounds():
    block = block_from_polygons(log_cabin(12))
    view = build_view(block)
    order = peel(view, (1 << len(block.patches)) - 1)
    assert order is not None
    assert len(order) == 49
    swapped = [*order[:20], order[30], *order[21:30], order[20], *order[31:]]
    printed = {p: k for k, p in enumerate(swapped, 1)}
    answer = nearest_order(view, printed, range(1, 50))
    assert answer.changed == answer.least == 2
    assert Plainly(block).first_failure(answer.patches) is None


def test_a_part_that_is_no_unit_has_no_order():
    block = block_from_polygons(squares(2, 2))
    assert nearest_order(build_view(block), dict(enumerate(range(1, 5))), range(1, 5)) is None


def test_numbers_go_on_from_the_same_end():
    # Logs in a row can be sewn from either end, and with few numbers to keep both might be as near.
    block = block_from_polygons([shapely.box(2 * k, 0, 2 * k + 2, 6) for k in range(6)])
    by_place = sorted(range(6), key=lambda p: block.polygon(p)[0][0])
    plain = Plainly(block)
    valid = plain.orders(range(6))
    for swapped in ([1, 2, 3, 4, 6, 5], [2, 1, 3, 4, 5, 6], [1, 2, 5, 4, 3, 6], [6, 5, 4, 3, 1, 2]):
        printed = dict(zip(by_place, swapped, strict=True))
        answer, fewest = compare(block, plain, valid, printed, range(1, 7))
        assert answer.changed == fewest

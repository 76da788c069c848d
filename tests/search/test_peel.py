"""Peeling parts patch by patch, against the plain definition."""

from itertools import permutations

from benchmarks.alternatives import PlainParts
from hypothesis import given, settings
from hypothesis import strategies as st

from seamtree.block.build import block_from_polygons
from seamtree.block.model import Block
from seamtree.search.peel import is_unit, peel
from seamtree.search.view import build_view
from tests.search.straight.test_parts import squares
from tests.support.effort import times
from tests.support.random_layouts import random_layout

#   ┌───────────┐
#   │     0     │
#   ├───┬───────┤     a log cabin of one round, drawn from the outside in
#   │ 1 │   2   │
#   │   ├───┬───┤
#   │   │ 3 │ 4 │
#   └───┴───┴───┘
LOGS = (
    ((0, 0), (3, 0), (3, 1), (0, 1)),
    ((0, 1), (1, 1), (1, 3), (0, 3)),
    ((1, 1), (3, 1), (3, 2), (1, 2)),
    ((1, 2), (2, 2), (2, 3), (1, 3)),
    ((2, 2), (3, 2), (3, 3), (2, 3)),
)


def whole(block: Block) -> int:
    return (1 << len(block.patches)) - 1


def is_chain(block: Block, order: tuple[int, ...]) -> bool:
    """Tell whether an order can be sewn patch by patch, by the plain definition."""
    plain = PlainParts(block)
    return all(plain._can_peel(order[k], set(order[: k + 1])) for k in range(1, len(order)))


def test_logs_are_sewn_from_the_inside_out() -> None:
    block = block_from_polygons(LOGS)
    view = build_view(block)
    order = peel(view, whole(block))
    assert order is not None
    assert is_chain(block, order)
    starts = {p for p in range(5) if peel(view, whole(block), keep=p) is not None}
    assert starts == {p[0] for p in permutations(range(5)) if is_chain(block, p)}


def test_four_squares_are_no_unit() -> None:
    block = squares(2, 2)
    assert peel(build_view(block), whole(block)) is None
    assert peel(build_view(block), 0b0011) is not None


@settings(max_examples=times(60, 1000), deadline=None)
@given(st.integers(0, 10**9))
def test_a_part_is_a_unit_when_the_plain_definition_says_so(seed: int) -> None:
    block = block_from_polygons(random_layout(seed), tolerance=1e-5)
    order = peel(build_view(block), whole(block))
    assert (order is not None) == PlainParts(block).is_unit(frozenset(range(len(block.patches))))
    assert (order is not None) == is_unit(build_view(block), whole(block))
    if order is not None:
        assert sorted(order) == list(range(len(block.patches)))
        assert is_chain(block, order)


def test_the_patch_to_keep_is_kept_whenever_it_can_be() -> None:
    layouts = [layout for seed in range(80) if len(layout := random_layout(seed)) <= 6]
    assert len(layouts) > 12
    for layout in layouts:
        block = block_from_polygons(layout, tolerance=1e-5)
        view = build_view(block)
        starts = {chain[0] for chain in permutations(range(len(layout))) if is_chain(block, chain)}
        for keep in range(len(layout)):
            order = peel(view, whole(block), keep=keep)
            assert (order is not None) == (keep in starts)
            assert order is None or (order[0] == keep and is_chain(block, order))

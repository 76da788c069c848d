"""The choice among the orders with the fewest units, against all of them."""

from itertools import product

import pytest
from benchmarks.alternatives import PlainParts

from seamtree.block.build import block_from_polygons
from seamtree.block.foundations import classify
from seamtree.block.model import Block
from seamtree.search.find import find_order
from seamtree.search.straight import tight
from seamtree.search.tree import Grown, Joined, Order
from tests.search.straight.test_parts import squares

Plan = tuple[tuple[frozenset[int], ...], float]


def all_plans(block: Block, part: frozenset[int]) -> set[Plan]:
    """Return units and total length of joins for every way to cut a part up into units."""
    plain = PlainParts(block)
    if plain.is_unit(part):
        return {((part,), 0.0)}
    plans = set()
    for cut in plain.cuts(part):
        side = plain.side(part, cut)
        length = sum(length_of(block, k) for k in cut)
        for (a, m), (b, n) in product(all_plans(block, side), all_plans(block, part - side)):
            plans.add((tuple(sorted(a + b, key=sorted)), round(m + n + length, 6)))
    return plans


def length_of(block: Block, edge: int) -> float:
    (ax, ay), (bx, by) = (block.junctions[j] for j in (block.edges[edge].start, block.edges[edge].end))
    return ((ax - bx) ** 2 + (ay - by) ** 2) ** 0.5


def leaves(order: Order) -> list[tuple[int, ...]]:
    if isinstance(order, Grown):
        return [order.patches]
    return [unit for part in order.parts for unit in leaves(part)]


def join_length(block: Block, order: Order) -> float:
    if isinstance(order, Grown):
        return 0.0
    assert isinstance(order, Joined)
    own = sum(length_of(block, k) for k in order.edges)
    return own + sum(join_length(block, part) for part in order.parts)


def uneven(widths: list[float], heights: list[float], fabrics: str = "") -> Block:
    xs = [sum(widths[:k]) for k in range(len(widths) + 1)]
    ys = [sum(heights[:k]) for k in range(len(heights) + 1)]
    boxes = [
        ((xs[i], ys[j]), (xs[i + 1], ys[j]), (xs[i + 1], ys[j + 1]), (xs[i], ys[j + 1]))
        for j in range(len(heights))
        for i in range(len(widths))
    ]
    return block_from_polygons(boxes, fabrics=list(fabrics) or None)


@pytest.mark.parametrize(
    "block",
    [
        squares(2, 2),
        squares(3, 3),
        uneven([1, 2, 1], [1, 1, 3]),
        uneven([1, 1, 1], [1, 2, 1]),
        uneven([2, 1], [1, 3]),
        uneven([1, 1, 1], [1, 1, 1], "abaabaaba"),
        uneven([1, 1, 1], [1, 1, 1], "aaabbbaaa"),
        uneven([1, 1], [1, 1], "abba"),
        uneven([1, 1], [1, 1], "abab"),
    ],
)
@pytest.mark.parametrize("pairs", [0, tight._PAIRS])
def test_fewest_foundations_then_shortest_joins(block: Block, pairs: int, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(tight, "_PAIRS", pairs)  # with none, the constraint model chooses
    plans = all_plans(block, frozenset(range(len(block.patches))))
    best = min((len(units), len(set(classify(block, units))), length) for units, length in plans)
    order = find_order(block, time_limit=10).order
    units = leaves(order)
    mine = (len(units), len(set(classify(block, units))), round(join_length(block, order), 6))
    assert mine == best

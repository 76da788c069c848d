"""Every figure in the order of merit, against all sewing orders of small layouts."""

from __future__ import annotations

import random
from itertools import pairwise

import pytest

from seamtree.block.build import block_from_polygons
from seamtree.block.foundations import classify
from seamtree.block.model import Block
from seamtree.planning.build import plan
from tests.support import layouts
from tests.support.brute_force import BruteForce
from tests.support.random_layouts import random_layout


def merit(block: Block) -> tuple[int | float, ...]:
    """Return the least figures over all sewing orders, from hard corners to the length of joins."""
    figures, plans = BruteForce(block).best_plans()
    return min((*figures, len(set(classify(block, units))), length) for units, length in plans)


def compare(block: Block) -> bool:
    """Compare a plan with all others as far as it says that it is proven; return whether that is all the way."""
    answer = plan(block)
    counts = answer.counts
    found = (
        counts.hard_corners,
        counts.set_in,
        counts.excess_pivots,
        counts.units,
        counts.matched_points,
        counts.foundations,
    )
    *least, shortest = merit(block)
    length = sum(join.seam.length for join in answer.joins())
    named = ["matched points", "different foundations", "length of joins"]
    proven = 4 + next((k for k, name in enumerate(named) if name in answer.unproven), 3)
    assert answer.proven
    assert found[:proven] == tuple(least[:proven])
    assert found >= tuple(least)
    assert proven < 7 or length == pytest.approx(shortest, abs=1e-4)
    return proven == 7


def in_fabrics(polygons, seed: int, fabrics: str) -> Block:
    rng = random.Random(seed)
    return block_from_polygons(polygons, fabrics=[rng.choice(fabrics) for _ in polygons], tolerance=1e-5)


def uneven_squares(seed: int) -> Block:
    """Return two or three rows and columns of a few widths, in one fabric or two: foundations often repeat."""
    rng = random.Random(seed)
    xs, ys = ([0], [0])
    for places, most in ((xs, 3), (ys, 3)):
        for _ in range(rng.randint(2, most)):
            places.append(places[-1] + rng.choice((1, 1, 2)))
    boxes = [((a, b), (c, b), (c, d), (a, d)) for a, c in pairwise(xs) for b, d in pairwise(ys)]
    return in_fabrics(boxes, seed, rng.choice(("a", "ab")))


@pytest.mark.parametrize("seed", range(60))
def test_uneven_squares(seed: int) -> None:
    assert compare(uneven_squares(seed))


@pytest.mark.parametrize("first", range(0, 400, 100))
def test_random_layouts(first: int) -> None:
    all_the_way = 0
    for seed in range(first, first + 100):
        polygons = random_layout(seed)
        if 3 <= len(polygons) <= 8:
            all_the_way += compare(in_fabrics(polygons, seed, "ab"))
    assert all_the_way > 10


@pytest.mark.parametrize(
    "polygons",
    [
        layouts.squares(2, 2),
        layouts.squares(3, 3),
        layouts.squares(4, 2),
        layouts.kaleidoscope(),
        layouts.attic_window(),
        layouts.tumbling_block(),
        layouts.spun_rectangles(),
        layouts.hexagon_flower(),
    ],
)
def test_traditional_layouts(polygons) -> None:
    compare(block_from_polygons(polygons))

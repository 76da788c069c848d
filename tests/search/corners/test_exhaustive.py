"""Small parts, over all of their orders: against brute force, and against the junction model in every figure."""

from __future__ import annotations

import pytest
from benchmarks.families import honeycomb, spun_rings, voronoi
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Polygon

from seamtree.block.build import block_from_polygons
from seamtree.block.model import Block
from seamtree.planning.build import plan
from seamtree.search.corners import exhaustive
from seamtree.search.corners.exhaustive import sew_small_part
from seamtree.search.corners.kinds import UnitKinds
from seamtree.search.corners.local_rule import PartResult, build_part
from seamtree.search.corners.orders import score
from seamtree.search.corners.solve_part import solve_part
from seamtree.search.view import build_view
from tests.search.corners.test_junction_model import pool, shaken_grid
from tests.search.straight.test_parts import squares
from tests.support.brute_force import brute_force
from tests.support.effort import times
from tests.support.layouts import hexagon_flower, spun_rectangles


def sew(block: Block) -> PartResult:
    """Sew a whole block as one part, and have what it says of the order checked."""
    whole = range(len(block.patches))
    result = sew_small_part(build_view(block), whole, effort=5)
    assert result is not None
    assert result.merit == score(build_part(block, whole), result.order)
    assert result.bound[:4] == result.merit[:4]
    assert result.proven
    return result


def figures(result: PartResult, kinds: UnitKinds) -> tuple[int, ...]:
    """Return what an order costs, in the order of merit."""
    return (*result.merit[:-1], kinds.count(result.order), result.merit.length)


def agree(block: Block) -> None:
    """Check that the order is as good as that of the junction model, which does not always prove the last figures."""
    kinds = UnitKinds.of(block, range(len(block.patches)))
    mine, other = sew(block), solve_part(block, range(len(block.patches)), effort=5)
    assert mine.tidied == (True, True, True)
    assert figures(mine, kinds) <= figures(other, kinds)
    proven = 5 + sum(other.tidied[1:])
    assert figures(mine, kinds)[:proven] == figures(other, kinds)[:proven]


@settings(max_examples=times(15, 100), deadline=None)
@given(st.integers(0, 10**6), st.integers(3, 8))
def test_voronoi_cells(seed: int, cells: int) -> None:
    block = block_from_polygons(voronoi(cells, seed), tolerance=1e-5)
    assert sew(block).merit[:4] == brute_force(block)


@settings(max_examples=times(15, 100), deadline=None)
@given(st.integers(0, 10**6), st.sampled_from([(2, 2), (2, 3), (2, 4), (3, 3)]))
def test_shaken_grids(seed: int, shape: tuple[int, int]) -> None:
    block = block_from_polygons(shaken_grid(seed, *shape), tolerance=1e-3)
    assert sew(block).merit[:4] == brute_force(block)


@pytest.mark.parametrize("inside", [set(), {4}, {3, 5}])
@pytest.mark.parametrize("outside", [set(), {2, 6}])
def test_curves(inside: set[int], outside: set[int]) -> None:
    block = pool(inside, outside)
    assert sew(block).merit[:4] == brute_force(block)


@pytest.mark.parametrize(
    "block",
    [
        squares(3, 3),
        block_from_polygons(spun_rectangles()),
        block_from_polygons(hexagon_flower()),
        block_from_polygons(hexagon_flower(), fabrics=list("abababa")),
        block_from_polygons(spun_rings(2)),
        block_from_polygons(spun_rings(2), fabrics=list("abcdeffedcb")),
        block_from_polygons(honeycomb(3, 2)),
        block_from_polygons(shaken_grid(1, 3, 3), tolerance=1e-3),
    ],
)
def test_every_figure_is_that_of_the_junction_model(block: Block) -> None:
    agree(block)


@settings(max_examples=times(15, 100), deadline=None)
@given(st.integers(0, 10**6), st.integers(4, 8), st.integers(0, 2))
def test_what_is_known_of_one_order_changes_nothing(seed: int, cells: int, more: int) -> None:
    block = block_from_polygons(voronoi(cells, seed), tolerance=1e-5)
    alone = sew(block)
    known = alone.merit._replace(units=alone.merit.units + more)
    told = sew_small_part(build_view(block), range(len(block.patches)), effort=5, known=known)
    assert told is not None
    assert told.merit == alone.merit
    assert told.tidied == alone.tidied


def test_one_patch_and_two() -> None:
    row = squares(2, 1)
    alone = sew_small_part(build_view(row), [1], effort=5)
    assert alone is not None
    assert alone.merit[:4] == (0, 0, 0, 1)
    assert sew(row).merit[:4] == (0, 0, 0, 1)


def test_too_many_paths_are_left_to_the_junction_model(monkeypatch: pytest.MonkeyPatch) -> None:
    flower = block_from_polygons(hexagon_flower())
    known = sew(flower)
    monkeypatch.setattr(exhaustive, "MOST_STEPS", 50)
    assert sew_small_part(build_view(flower), range(len(flower.patches)), effort=5) is None
    answer = plan(flower)
    assert answer.proven
    assert (answer.counts.hard_corners, answer.counts.units) == (known.merit.hard_corners, known.merit.units)


@pytest.mark.parametrize(("chords", "settled"), [(90, True), (1700, False)])
def test_long_paths_count_as_what_they_take(chords: int, settled: bool) -> None:
    # One seam from side to side: hardly any paths, but every step of a long one takes its time.
    wave = [(0.3 * k, 3.0 + 0.3 * (k % 2)) for k in range(chords + 1)]
    right = wave[-1][0]
    above = [(0.0, 0.0), (right, 0.0), *wave[::-1]]
    below = [*wave, (right, 6.0), (0.0, 6.0)]
    block = block_from_polygons([Polygon(above), Polygon(below)])
    found = sew_small_part(build_view(block), range(2), effort=5)
    assert (found is not None) == settled


def test_a_part_with_more_paths_than_can_be_counted_is_refused() -> None:
    big = block_from_polygons(honeycomb(9, 9))
    assert sew_small_part(build_view(big), range(len(big.patches)), effort=5) is None

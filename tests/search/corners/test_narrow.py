"""Narrow cuts: mosaics in which every seam may turn two corners and no more."""

from __future__ import annotations

import pytest
from benchmarks.families import voronoi

from seamtree.block.build import block_from_polygons
from seamtree.search.corners.greedy import construct_order
from seamtree.search.corners.local_rule import Part, build_part
from seamtree.search.corners.narrow import fewest_narrow_units
from seamtree.search.corners.orders import score
from seamtree.search.find import find_order


def mosaic(cells: int, seed: int) -> Part:
    block = block_from_polygons(voronoi(cells, seed))
    return build_part(block, range(len(block.patches)))


def test_a_mosaic_is_proven_down_to_the_units() -> None:
    part = mosaic(50, 1)
    found = find_order(part.block, time_limit=10)
    assert found.proven
    # Three cells meet at every junction but two, so every order turns a corner there; two of them fit in a join.
    assert score(part, found.order)[:4] == (68, 68, 0, 35)


@pytest.mark.parametrize(("cells", "seed"), [(50, 2), (80, 1)])
def test_an_order_that_can_be_followed_is_found_soon(cells: int, seed: int) -> None:
    part = mosaic(cells, seed)
    _, merit = construct_order(part)
    certain = [min((pair.hard, pair.set_in) for pair in pairs) for pairs in part.pairs.values()]
    hard, set_in = (sum(items) for items in zip(*certain, strict=True))
    start = merit._replace(hard_corners=hard, set_in=set_in, excess_pivots=hard, units=len(part.patches))
    found = fewest_narrow_units(part, start, last={}, budget=1)
    assert found.order is not None
    assert score(part, found.order).excess_pivots <= hard / 10

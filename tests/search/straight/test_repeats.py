"""Fewest different foundations, then fewest units: against all straight orders of small layouts."""

from __future__ import annotations

import random
from itertools import product

from benchmarks.families import lines_across, square_grid
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Polygon, box

from seamtree.block.build import block_from_polygons
from seamtree.block.foundations import classify
from seamtree.block.largest import Largest
from seamtree.block.model import Block
from seamtree.planning.build import plan
from seamtree.planning.wishes import Wishes
from seamtree.proofs.cuts import FullCuts
from seamtree.proofs.planar import Planar, bits
from seamtree.search.find import find_limited, find_order, find_repeats
from seamtree.search.tree import count_units, units_in
from tests.support.layouts import spun_rectangles
from tests.support.random_layouts import random_layout


def figures(block: Block, units) -> tuple[int, int]:
    return len(set(classify(block, units))), len(units)


def all_ways(block: Block, holds) -> set[frozenset[int]]:
    """Return the units of all straight orders."""
    cuts = FullCuts(Planar(block))
    known: dict[int, set[frozenset[int]]] = {}

    def ways(part: int) -> set[frozenset[int]]:
        if part not in known:
            found = {frozenset((part,))} if cuts.is_unit(part) and holds(part) else set()
            for cut in cuts.of(part):
                found |= {one | other for one, other in product(ways(cut.left), ways(cut.right))}
            known[part] = found
        return known[part]

    return ways(cuts.planar.whole)


@settings(max_examples=25, deadline=None)
@given(st.integers(0, 10**6), st.integers(1, 3), st.booleans())
def test_small_layouts_over_all_straight_orders(seed: int, fabrics: int, limited: bool) -> None:
    polygons = random_layout(seed)
    if len(polygons) > 9:
        return
    rng = random.Random(seed)
    block = block_from_polygons(polygons, fabrics=["abc"[rng.randrange(fabrics)] for _ in polygons], tolerance=1e-5)
    free = find_order(block, time_limit=5)
    if free.hard_corners:
        return
    size = (0.6 * block.width, 0.6 * block.height) if limited else None
    if size is not None:
        free = find_limited(block, free, size, time_limit=5)
    found = find_repeats(block, free, size, time_limit=5)
    holds = Largest(block, size).holds if size else (lambda _: True)
    assert found.proven
    best = min(figures(block, [list(bits(unit)) for unit in units]) for units in all_ways(block, holds))
    assert figures(block, [unit.patches for unit in units_in(found.order)]) == best
    assert found.units == best[1]


def radishes() -> Block:
    """Three motifs in a row, each of a leaf and a root, the seam between leaf and root running right through."""
    cells, fabrics = [], []
    for x in (0, 2, 4):
        cells += [box(x, 0, x + 2, 1), box(x, 1, x + 2, 3)]
        fabrics += ["green", "red"]
    return block_from_polygons(cells, fabrics=fabrics)


def test_a_row_of_radishes_is_sewn_as_one_radish_three_times() -> None:
    answer = plan(radishes(), wishes=Wishes(repeats=True))
    assert answer.counts.foundations == answer.bound.foundations == 1
    assert answer.counts.units == answer.bound.units == 3
    assert answer.proven
    (note,) = answer.notes
    assert note.message == (
        "With the fewest different foundations the block takes 3 units on 1 foundation; with the fewest units it "
        "takes 2 units on 2 foundations."
    )


def test_single_patches_count() -> None:
    block = block_from_polygons([box(x, 0, x + 1, 1) for x in range(3)], fabrics=["a", "b", "a"])
    found = find_repeats(block, find_order(block, time_limit=1), None, time_limit=1)
    assert count_units(found.order) == 1


def test_hard_corners_are_left_as_they_are_and_nothing_is_proven() -> None:
    answer = plan(block_from_polygons(spun_rectangles()), wishes=Wishes(repeats=True))
    assert not answer.proven
    assert [note.code for note in answer.notes] == ["repeats-not-compared"]


def test_a_search_cut_short_is_not_proven() -> None:
    block = block_from_polygons(lines_across(12, 1))
    found = find_repeats(block, find_order(block, time_limit=5), None, time_limit=0.001)
    assert not found.proven


def test_where_there_are_too_many_parts_the_model_alone_may_prove_an_order() -> None:
    """No two patches are alike: there are as many foundations as units, and no cover of the block has fewer."""
    block = block_from_polygons(lines_across(12, 1))
    found = find_repeats(block, find_order(block, time_limit=5), None, time_limit=0.05)
    assert found.proven
    assert found.foundations == found.units == count_units(found.order)
    assert "different foundations" not in found.unproven


def test_what_is_not_proven_has_a_bound() -> None:
    answer = plan(block_from_polygons(square_grid(3, 3), fabrics=list("abcabdabe")), wishes=Wishes(repeats=True))
    assert answer.proven
    assert answer.bound.foundations == answer.counts.foundations


def test_a_unit_on_its_side_is_the_same_foundation() -> None:
    cells = [Polygon([(0, 0), (2, 0), (2, 1), (0, 1)]), Polygon([(2, 0), (3, 0), (3, 2), (2, 2)])]
    block = block_from_polygons([*cells, box(0, 1, 2, 2)])
    assert plan(block, wishes=Wishes(repeats=True)).counts.foundations == 1

"""The model of seams that may be added, against trying everything."""

from __future__ import annotations

from itertools import combinations

import pytest
from benchmarks import emblems
from hypothesis import given, settings
from hypothesis import strategies as st

from seamtree.block.build import block_from_polygons
from seamtree.block.sketch import sketch_of
from seamtree.mending.arrangement import arrange
from seamtree.mending.choose import Chooser
from seamtree.mending.locked import locked_parts
from seamtree.mending.redraw import redraw
from seamtree.mending.seams import SeamModel, Wish, cut_up, solve
from seamtree.search.effort import NEVER
from seamtree.search.find import find_order
from seamtree.search.solver import Solution
from seamtree.search.tree import count_units
from tests.mending.all_extensions import smallest_mends
from tests.support.emblems import CROSS, EDGE_TO_EDGE, SQUARE, TRIANGLE, sketch
from tests.support.layouts import attic_window, log_cabin, spun_rectangles, tumbling_block
from tests.support.random_layouts import random_layout


def block_sketch(layout):
    return sketch_of(block_from_polygons(layout()))


# Proven with a prototype of the model that shares nothing with this one.
@pytest.mark.parametrize(
    ("drawing", "added", "units"),
    [
        (sketch(SQUARE), 3, 1),
        (sketch(TRIANGLE), 2, 1),
        (sketch(CROSS), 9, 2),
        (sketch(EDGE_TO_EDGE), 2, 2),
        (block_sketch(spun_rectangles), 1, 2),
    ],
    ids=["square", "triangle", "cross", "cross from edge to edge", "spun ring"],
)
def test_fewest_patches_and_units(drawing, added, units):
    chooser = Chooser(drawing, time_limit=10)
    fewest = chooser.fewest()
    assert fewest.choice.proven
    assert fewest.choice.patches == added
    best = chooser.fewest_units(added)
    assert (best.choice.patches, best.plan.counts.units, best.choice.proven) == (added, units, True)
    assert best.plan.counts.hard_corners == 0


def hung(arrangement, edges) -> bool:
    """Whether every added edge carries on what is drawn, along its line."""
    for chain in arrangement.chains:
        here = [k in edges for k in chain.edges]
        free = here.index(False) if False in here else len(here)
        for n, there in enumerate(here):
            after = all(here[n:])
            if there and not ((chain.first and n < free) or (chain.last and after)):
                return False
    return True


def try_everything(drawing) -> dict[int, int]:
    """Return the fewest added patches for every number of units that can be reached."""
    arrangement = arrange(drawing)
    found: dict[int, int] = {}
    for size in range(len(arrangement.optional) + 1):
        for edges in combinations(arrangement.optional, size):
            if not hung(arrangement, edges):
                continue
            block = redraw(arrangement, edges)
            if block is None or locked_parts(block):
                continue
            units = count_units(find_order(block, time_limit=1).order)
            more = len(block.patches) - len(drawing.areas)
            found[units] = min(more, found.get(units, more))
    return found


@pytest.mark.parametrize(
    "drawing",
    [
        sketch(SQUARE),
        sketch(TRIANGLE),
        sketch(EDGE_TO_EDGE),
        block_sketch(spun_rectangles),
        block_sketch(attic_window),
        block_sketch(tumbling_block),
    ],
    ids=["square", "triangle", "cross", "spun ring", "attic window", "tumbling block"],
)
def test_units_for_patches_as_by_trying_everything(drawing):
    least = try_everything(drawing)
    chooser = Chooser(drawing, time_limit=10)
    assert chooser.fewest().choice.patches == min(least.values())
    for units in range(1, max(least) + 1):
        within = [more for few, more in least.items() if few <= units]
        found, bound, impossible = chooser.fewest_patches(units, most=20)
        if within:
            assert found.choice.patches == bound == min(within)
            assert found.plan.counts.units <= units
        else:
            assert found is None
            assert impossible


@pytest.mark.parametrize("seed", [13, 61, 71, 83, 105, 118, 150, 168, 254, 320])
def test_random_layouts_as_by_trying_all_extensions(seed):
    block = block_from_polygons(random_layout(seed), tolerance=1e-4)
    fewest = Chooser(sketch_of(block), time_limit=10).fewest()
    assert fewest.choice.proven
    assert not fewest.stuck
    assert fewest.choice.patches == smallest_mends(block, most=fewest.choice.patches)[0]


@settings(max_examples=30)
@given(st.integers(0, 10**6))
def test_full_cuts_leave_the_parts_that_the_block_has(seed):
    block = block_from_polygons(random_layout(seed))
    parts = cut_up(arrange(sketch_of(block)))
    patches = []
    for part in parts.locked:
        members = {parts.owner[area] for k in part for area in parts.sides[k]}
        patches.append(sum(1 << p for p in members))
    assert sorted(patches) == sorted(locked_parts(block))


def test_nothing_is_locked_where_straight_seams_do():
    assert cut_up(arrange(block_sketch(log_cabin))).locked == []


@pytest.mark.parametrize("seed", [1, 18, 23, 25])
def test_emblems_get_the_fewest_seams_and_as_many_units_as_the_search_finds(seed):
    drawn = emblems.sketch(seed)
    chooser = Chooser(drawn, time_limit=10)
    fewest = chooser.fewest()
    assert fewest.choice.proven
    best = chooser.fewest_units(fewest.choice.patches)
    assert best.choice.proven
    assert best.plan.counts.hard_corners == 0
    assert best.plan.proven
    assert best.plan.counts.units == best.choice.units


@pytest.mark.parametrize("impossible", [True, False])
def test_what_the_clock_ended_is_not_certain(monkeypatch, impossible):
    nothing = Solution(found=False, optimal=False, impossible=impossible, bound=0, spent=0.0, values=())
    monkeypatch.setattr("seamtree.mending.seams.solve_model", lambda *_, **__: nothing)
    parts = cut_up(arrange(sketch(SQUARE)))
    scope = frozenset(k for k, out in enumerate(parts.arrangement.outline) if not out)
    model = SeamModel(parts, scope, parts.arrangement.on_outline, Wish())
    assert solve(model, model.patches, effort=5.0, deadline=NEVER)[1:] == (None, impossible)

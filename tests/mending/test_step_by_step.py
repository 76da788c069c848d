"""Seams added one after the other, against the model and against trying everything."""

from __future__ import annotations

import pytest

from seamtree.block.build import block_from_polygons, build_sketches
from seamtree.block.sketch import sketch_of
from seamtree.drawing.read import read_drawing
from seamtree.mending import mend
from seamtree.mending.arrangement import arrange
from seamtree.mending.choose import Chooser
from seamtree.mending.nearby import nearby
from seamtree.mending.step_by_step import Steps
from seamtree.planning.build import plan
from tests.mending.test_merge import small_layout
from tests.support.layouts import spun_rectangles, squares


def test_only_seams_through_few_patches_are_left():
    block = block_from_polygons(squares(1, 1), tolerance=0.02)
    assert nearby(arrange(sketch_of(block)), patches=1).optional == []
    whole = arrange(sketch_of(block_from_polygons(spun_rectangles(), tolerance=0.02)))
    near = nearby(whole, patches=1)
    # Each of four seams stops at a rectangle, and is carried on through that alone.
    assert len(near.optional) == 4
    assert sum(near.drawn) == sum(whole.drawn)
    far = nearby(whole, patches=9)
    assert len(far.optional) == len(whole.optional)
    assert len(near.faces(range(len(near.edges))).rings) == 9


@pytest.mark.parametrize("seed", [s for s in range(120) if small_layout(s) is not None][:14])
def test_every_step_is_what_it_says(seed):
    block = small_layout(seed)
    assert block is not None
    before = plan(block)
    if before.counts.hard_corners or before.counts.units == 1:
        return
    chooser = Chooser(sketch_of(block), time_limit=5.0, reach=3)
    steps = Steps.of(chooser, before.counts.units, time_limit=5.0)
    units, patches = before.counts.units, 0
    for rung in steps.rungs():
        assert rung.plan.counts.units < units
        assert rung.choice.patches > patches
        assert rung.plan.counts.patches == len(block.patches) + rung.choice.patches
        units, patches = rung.plan.counts.units, rung.choice.patches
    # One patch more, whatever way it comes about: the model knows no better.
    model = Chooser(sketch_of(block), time_limit=5.0)
    found, _, _ = model.fewest_patches(before.counts.units - 1, most=1)
    assert steps.singles is not None
    assert (found is not None) == (steps.singles < before.counts.units)


def test_fewer_units_of_a_drawing_that_the_model_takes_long_for():
    (sketch,) = build_sketches(read_drawing("samples/buoy.svg"))
    mending = mend(sketch, goal="units", units=7)
    (found,) = mending.alternatives
    assert (found.plan.counts.units, found.added_patches, found.least) == (7, 2, 2)
    assert found.proven

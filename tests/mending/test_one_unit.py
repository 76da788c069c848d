"""Blocks made a single unit by carrying seams on."""

from __future__ import annotations

import pytest
import shapely

from seamtree.block.model import Block
from seamtree.mending import mend
from seamtree.mending.words import describe_change
from tests.support.layouts import attic_window, spun_rectangles, squares, tumbling_block


def corner(rounds: int = 1) -> list[shapely.Polygon]:
    """A square with Ls round it."""
    ells = [
        shapely.Polygon([(a, 0), (a + 2, 0), (a + 2, a + 2), (0, a + 2), (0, a), (a, a)])
        for a in range(2, 2 + 2 * rounds, 2)
    ]
    return [shapely.box(0, 0, 2, 2), *ells]


def test_either_arm_of_a_bend_makes_one_unit():
    mending = mend(Block.from_polygons(corner()), goal="one unit", alternatives=5)
    assert len(mending.alternatives) == 2
    assert [a.plan.counts.units for a in mending.alternatives] == [1, 1]
    assert [a.added_patches for a in mending.alternatives] == [1, 1]
    assert all(a.proven for a in mending.alternatives)
    ends = {a.added[0].path for a in mending.alternatives}
    assert ends == {((2.0, 2.0), (4.0, 2.0)), ((2.0, 2.0), (2.0, 4.0))}
    assert "through" in describe_change(mending.alternatives[0])[0]


def test_every_bend_needs_a_seam_of_its_own():
    mending = mend(Block.from_polygons(corner(2)), goal="one unit", alternatives=5)
    assert len(mending.alternatives) == 4
    assert all(len(a.added) == 2 and a.plan.counts.units == 1 for a in mending.alternatives)


@pytest.mark.parametrize("layout", [lambda: squares(2, 2), attic_window, tumbling_block])
def test_crossings_and_ys_are_named_as_the_obstacle(layout):
    mending = mend(Block.from_polygons(layout()), goal="one unit")
    assert mending.alternatives == ()
    (reason,) = mending.reasons
    assert "no patch spans the seams that meet at" in reason


def test_seams_that_wait_for_each_other_stay_more_than_one_unit():
    mending = mend(Block.from_polygons(spun_rectangles()), goal="one unit")
    assert mending.alternatives == ()
    assert mending.reasons == ("Carrying seams on cannot make this block a single unit: every way was tried.",)


def test_a_unit_is_left_alone():
    mending = mend(Block.from_polygons(squares(4, 1)), goal="one unit")
    assert mending.nothing_to_mend
    assert mending.reasons == ()

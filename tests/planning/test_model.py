"""Plans as data: what can be asked of a tree."""

from __future__ import annotations

import sys

import pytest

import seamtree
from seamtree.planning.model import Counts, Join, Seam, Unit, id_order, joins_of, nodes_in_turn, units_of
from tests.support import layouts


def comb(teeth):
    """Return a tree as deep as it has joins."""
    node = Unit("A", (0,))
    for k in range(1, teeth):
        node = Join(k, Seam("straight", (k, k + 1), 1.0), (node, Unit(f"T{k}", (k,))))
    return node


def test_deep_trees_are_walked_without_deep_calls():
    depth = 10 * sys.getrecursionlimit()
    tree = comb(depth)
    nodes = list(nodes_in_turn(tree))
    assert len(nodes) == 2 * depth - 1
    assert nodes[-1] is tree
    assert [join.step for join in joins_of(tree)] == list(range(1, depth))
    assert [unit.patches[0] for unit in units_of(tree)] == list(range(depth))
    assert tree.patches == tuple(range(depth))
    assert (
        repr(tree) == f"<Join {depth - 1}: straight seam of 1.00 in between join {depth - 2} and unit T{depth - 1}>"
    )


def test_figures_in_words():
    counts = Counts(9, 3, 2, 0, set_in=1, partial=0, curved=2, excess_pivots=0, matched_points=0)
    assert (counts.hard_corners, counts.corners_by_kind) == (3, "1 set-in, 2 curved")
    assert Counts(9, 3, 2, 0, 0, 0, 0, 0, 0).corners_by_kind == ""


def test_ids_sort_by_unit_then_by_number():
    ids = ["AA1", "B2", "A10", "A9", "Z1", "AB1"]
    assert sorted(ids, key=id_order) == ["A9", "A10", "B2", "Z1", "AA1", "AB1"]


def test_every_patch_has_one_id_and_units_are_found_by_name():
    plan = seamtree.plan(seamtree.block_from_polygons(layouts.squares(4, 4)))
    ids = plan.patch_ids()
    assert sorted(ids) == list(range(16))
    assert len(set(ids.values())) == 16
    for unit in plan.units():
        assert plan.unit(unit.name) is unit
        assert [ids[p] for p in unit.patches] == [f"{unit.name}{k}" for k in range(1, len(unit.patches) + 1)]


@pytest.mark.parametrize("name", ["", "a", "A1", "Z"])
def test_units_that_are_not_there(name):
    plan = seamtree.plan(seamtree.block_from_polygons(layouts.squares(2, 2)))
    with pytest.raises(seamtree.OptionError, match=f"name must be a unit of the plan, A to B, not '{name}'"):
        plan.unit(name)

"""Plans and blocks as graphs."""

from __future__ import annotations

import networkx as nx
import pytest

import seamtree
from tests.support import layouts


@pytest.fixture(scope="module", params=["samples/buoy.svg", "samples/net-shed.svg", "samples/mackerel.wkt"])
def plan(request):
    return seamtree.plan(seamtree.read(request.param)[0])


@pytest.fixture(autouse=True, scope="module")
def in_the_project():
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(__file__.rpartition("tests")[0])
        yield


def test_the_tree_is_a_tree_of_all_units_and_joins(plan):
    graph = plan.to_networkx()
    assert nx.is_arborescence(graph)
    assert {key for key, kind in graph.nodes(data="kind") if kind == "unit"} == {unit.name for unit in plan.units()}
    assert {key for key, kind in graph.nodes(data="kind") if kind == "join"} == set(range(1, plan.counts.joins + 1))
    assert sum(number for _, number in graph.nodes(data="hard_corners", default=0)) == plan.counts.hard_corners
    assert sum(number for _, number in graph.nodes(data="matched_points", default=0)) == plan.counts.matched_points


def test_a_node_has_the_patches_of_its_parts(plan):
    graph = plan.to_networkx()
    for key in graph:
        parts = sorted(graph.successors(key), key=lambda part: graph.edges[key, part]["part"])
        if parts:
            assert graph.nodes[key]["patches"] == sum((graph.nodes[part]["patches"] for part in parts), ())
            assert sorted(graph.edges[key, part]["pressed_here"] for part in parts) == [False, True]
    for unit in plan.units():
        assert graph.nodes[unit.name]["patches"] == tuple(f"{unit.name}{k}" for k in range(1, len(unit.patches) + 1))


def test_a_single_unit_is_a_single_node():
    graph = seamtree.plan(seamtree.block_from_polygons(layouts.log_cabin())).to_networkx()
    assert list(graph) == ["A"]


def test_patches_that_share_a_seam_are_neighbours(plan):
    block = plan.block
    graph = block.to_networkx()
    assert nx.is_connected(graph)
    assert nx.is_planar(graph)
    assert sorted(graph) == list(range(len(block.patches)))
    lengths = sum(length for *_, length in graph.edges(data="length"))
    assert lengths == pytest.approx(sum(map(block.edge_length, block.interior_edges)))
    used = sorted(edge for *_, edges in graph.edges(data="edges") for edge in edges)
    assert used == list(block.interior_edges)
    assert [graph.nodes[p]["fabric"] for p in graph] == [patch.fabric for patch in block.patches]


def test_stretches_between_the_same_two_patches_are_added_up():
    bay = [(0, 0), (6, 0), (6, 1), (4, 1), (4, 2), (6, 2), (6, 3), (0, 3)]
    block = seamtree.block_from_polygons([bay, [(4, 1), (6, 1), (6, 2), (4, 2)]])
    graph = block.to_networkx()
    assert graph.edges[0, 1]["length"] == pytest.approx(5)
    assert len(graph.edges[0, 1]["edges"]) == 3

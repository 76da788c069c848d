"""Blocks are planar maps: Euler's formula, and planarity as `networkx` tests it.

Sources: Euler's formula V - E + F = 2 for a connected plane graph, counting the face outside; the left-right
planarity test of `networkx` (de Fraysseix & Rosenstiehl; Brandes 2009, 'The left-right planarity test', from memory).
"""

import math

import networkx as nx
import pytest
from benchmarks import families

from seamtree.block.build import block_from_polygons
from seamtree.block.model import OUTSIDE, Block
from tests.support import layouts
from tests.support.floorplans import floorplan_block, floorplans
from tests.support.random_layouts import random_layout

BLOCKS = {
    **{f"random-{seed}": (lambda seed=seed: random_layout(seed), 1e-5) for seed in range(12)},
    "straight cuts": (lambda: families.straight_cuts(60, 1), 0.02),
    "lines across": (lambda: families.lines_across(10, 1), 0.02),
    "split squares": (lambda: families.split_squares(5, 4, 1), 0.02),
    "voronoi": (lambda: families.voronoi(40, 1), 1e-5),
    "honeycomb": (lambda: families.honeycomb(5, 4), 0.02),
    "spun rings": (lambda: families.spun_rings(5), 0.02),
    "picture": (lambda: families.picture_with_locked_parts(1), 0.02),
    "pineapple": (lambda: layouts.pineapple(4), 0.02),
    "diamond star": (layouts.diamond_star, 0.02),
}


@pytest.fixture(params=[*BLOCKS, "quarter circle", "floorplan"])
def block(request: pytest.FixtureRequest) -> Block:
    if request.param == "quarter circle":
        return layouts.quarter_circle()
    if request.param == "floorplan":
        return floorplan_block(floorplans(6)[-100])
    make, tolerance = BLOCKS[request.param]
    return block_from_polygons(make(), tolerance=tolerance)


def map_of(block: Block) -> nx.Graph:
    return nx.Graph((edge.start, edge.end) for edge in block.edges)


def test_euler(block: Block) -> None:
    graph = map_of(block)
    assert nx.is_connected(graph)
    assert graph.number_of_nodes() == len(block.junctions)
    assert graph.number_of_edges() == len(block.edges)
    assert len(block.junctions) - len(block.edges) + len(block.patches) + 1 == 2


def test_the_map_is_planar_and_turns_as_drawn(block: Block) -> None:
    graph = map_of(block)
    planar, _ = nx.check_planarity(graph)
    assert planar
    # Going round with the edges turned as they are drawn must find the patches and the outside, and nothing else.
    embedding = nx.PlanarEmbedding()
    for j in graph:
        last = None
        for k in sorted(graph[j], key=lambda k: heading(block.junctions[j], block.junctions[k])):
            embedding.add_half_edge(j, k, **({} if last is None else {"cw": last}))
            last = k
    embedding.check_structure()
    seen: set[tuple[int, int]] = set()
    faces = [frozenset(embedding.traverse_face(*half, seen)) for half in embedding.edges if half not in seen]
    assert len(faces) == len(block.patches) + 1
    assert {frozenset(patch.ring) for patch in block.patches} <= set(faces)


def heading(start: tuple[float, float], end: tuple[float, float]) -> float:
    return math.atan2(end[1] - start[1], end[0] - start[0])


def test_neighbours_form_a_planar_graph(block: Block) -> None:
    graph = nx.Graph((e.left, e.right) for e in block.edges if OUTSIDE not in (e.left, e.right))
    graph.add_nodes_from(range(len(block.patches)))
    assert nx.is_connected(graph)
    assert nx.check_planarity(graph)[0]


def test_every_edge_has_its_patches_on_its_sides(block: Block) -> None:
    sides = {
        (a, b): p
        for p, patch in enumerate(block.patches)
        for a, b in zip(patch.ring, (*patch.ring[1:], patch.ring[0]), strict=True)
    }
    for edge in block.edges:
        assert sides.get((edge.start, edge.end), OUTSIDE) == edge.left
        assert sides.get((edge.end, edge.start), OUTSIDE) == edge.right

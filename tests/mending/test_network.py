"""The network of a block and its candidates, against the block itself."""

from __future__ import annotations

import math

import pytest

from seamtree.block.model import Block
from seamtree.mending.network import build_network, locked_parts
from seamtree.search.view import bits
from tests.support.layouts import (
    attic_window,
    hexagon_flower,
    log_cabin,
    pineapple,
    spun_rectangles,
    squares,
    tumbling_block,
)
from tests.support.random_layouts import random_layout

LOCKED = [
    spun_rectangles,
    tumbling_block,
    attic_window,
    hexagon_flower,
    lambda: random_layout(13),
    lambda: random_layout(61),
]


def made(layout):
    block = Block.from_polygons(layout(), tolerance=1e-4)
    return block, build_network(block, locked_parts(block), most_pieces=12)


@pytest.mark.parametrize("layout", [log_cabin, pineapple, lambda: squares(3, 3)])
def test_a_block_that_straight_cuts_take_apart_has_no_locked_part(layout):
    assert locked_parts(Block.from_polygons(layout())) == []


def test_a_locked_part_is_what_is_left_when_everything_is_cut():
    block, _ = made(spun_rectangles)
    assert locked_parts(block) == [(1 << len(block.patches)) - 1]


@pytest.mark.parametrize("layout", LOCKED)
def test_the_edges_that_are_drawn_are_those_of_the_block(layout):
    block, network = made(layout)
    at = [vertex.at for vertex in network.vertices]
    drawn = sum(
        math.dist(at[network.slot_vertex[slot]], at[network.slot_vertex[slot + 1]]) for slot in bits(network.base)
    )
    assert drawn == pytest.approx(sum(map(block.edge_length, block.interior_edges)))
    assert at[: len(block.junctions)] == list(block.junctions)


@pytest.mark.parametrize("layout", LOCKED)
def test_every_candidate_carries_a_seam_straight_on_from_where_it_stops(layout):
    block, network = made(layout)
    outline = block.boundary_junctions()
    assert network.rays
    for ray in network.rays:
        line = block.lines[ray.source[0]]
        edge = block.edges[line.first if ray.source[1] == 0 else line.stop - 1]
        start = network.vertices[ray.vertices[0]].at
        assert block.junctions.index(start) not in outline
        assert start in (block.junctions[edge.start], block.junctions[edge.end])
        behind = block.junctions[edge.end] if start == block.junctions[edge.start] else block.junctions[edge.start]
        for v in ray.vertices[1:]:
            (ax, ay), (bx, by), (cx, cy) = behind, start, network.vertices[v].at
            turn = (bx - ax) * (cy - by) - (by - ay) * (cx - bx)
            assert abs(turn) <= 1e-6 * math.dist(behind, start) * math.dist(start, (cx, cy)) + 1e-9
        assert len(ray.vertices) == len(ray.edges) + 1 == len(ray.pieces) + 1
        assert not network.base & sum(1 << slot for slot in ray.edges)


@pytest.mark.parametrize("layout", LOCKED)
def test_slots_know_their_vertices_and_the_other_way_round(layout):
    block, network = made(layout)
    for v, slots in enumerate(network.vertex_slots):
        for slot in bits(slots):
            assert network.slot_vertex[slot] == v
    filled = [slot for slot, v in enumerate(network.slot_vertex) if v >= 0]
    assert all(network.vertex_slots[network.slot_vertex[slot]] >> slot & 1 for slot in filled)
    outline = block.boundary_junctions()
    inside = {network.slot_vertex[slot] for slot in bits(network.interior)}
    assert {v for v in inside if v < len(block.junctions)} == set(range(len(block.junctions))) - outline


@pytest.mark.parametrize("layout", LOCKED)
def test_what_is_drawn_cannot_be_cut_away_where_a_part_is_locked(layout):
    _, network = made(layout)
    left = network.cut(network.base, network.interior)
    assert left
    assert sum(knot.bit_count() for knot in network.knots(left)) == left.bit_count()

"""Noding: segments that cross, miss by a hair or lie on each other become a network that meets only at vertices."""

from __future__ import annotations

import random
from itertools import combinations

import numpy as np
import pytest
import shapely
from hypothesis import assume, given
from hypothesis import strategies as st

from seamtree.block.noding import CROSSING, FREE, JOINT, build_network, lead_through, merge_vertices
from seamtree.block.paint import Segments

TOLERANCE = 0.02


def noded(*lines, tolerance=TOLERANCE):
    ends = np.array([[*start, *end] for start, end in lines], dtype=np.float64).reshape(-1, 4)
    segments = Segments(
        ends[:, :2],
        ends[:, 2:],
        np.zeros(len(ends), dtype=np.int64),
        np.arange(len(ends)),
        np.zeros((len(ends), 2), dtype=bool),
        np.zeros((len(ends), 2), dtype=bool),
    )
    return build_network(segments, tolerance=tolerance, visible=tolerance / 10)


def places(network):
    return {(round(x, 6), round(y, 6)) for x, y in network.points.tolist()}


def lengths(network):
    return sorted(round(line.length, 6) for line in network.linestrings())


def test_lines_that_cross_get_a_vertex_there():
    network = noded(((0, 0), (4, 4)), ((0, 4), (4, 0)))
    assert places(network) == {(0, 0), (4, 4), (0, 4), (4, 0), (2, 2)}
    assert sorted(network.kind.tolist()) == sorted([FREE] * 4 + [CROSSING])
    assert len(network.edges) == 4
    assert network.snapped == 0


def test_an_end_that_misses_a_line_moves_onto_it():
    network = noded(((0, 0), (4, 0)), ((2, 0.015), (2, 3)))
    assert (2, 0) in places(network)
    assert network.snapped == 1
    assert lengths(network) == [2, 2, 3]


def test_an_end_that_overshoots_is_taken_back():
    network = noded(((0, 0), (4, 0)), ((2, -0.015), (2, 3)))
    assert places(network) == {(0, 0), (4, 0), (2, 0), (2, 3)}


@pytest.mark.parametrize(("miss", "vertices"), [(0.019, 3), (0.021, 4)])
def test_ends_nearer_to_each_other_than_the_tolerance_become_one(miss, vertices):
    network = noded(((0, 0), (4, 0)), ((4 + miss, 0), (4, 3)))
    assert len(network.points) == vertices


def test_a_line_drawn_twice_or_in_pieces_is_there_once():
    whole, halves = ((0, 0), (4, 0)), [((0, 0), (2, 0)), ((2, 0), (4, 0))]
    network = noded(whole, *halves, whole, halves[0])
    assert sorted(map(tuple, network.edges.tolist())) == [(0, 1), (1, 2)]


def test_lines_at_a_small_angle_do_not_close_up_like_a_zip():
    network = noded(((0, 0), (10, 0)), ((0, 0), (10, 1)))
    assert lengths(network) == pytest.approx([10, np.hypot(10, 1)])


def test_vertices_can_be_put_onto_others():
    network = noded(((0, 0), (4, 0)), ((4, 0), (4, 4)), ((4, 4), (0, 0)))
    onto = np.arange(3)
    onto[2] = 1
    assert len(merge_vertices(network, onto).edges) == 1


def test_an_edge_can_be_led_through_a_vertex():
    network = noded(((0, 0), (4, 0)), ((2, 1), (2, 3)))
    edge = next(k for k, line in enumerate(network.linestrings()) if line.length == 4)
    vertex = next(k for k, at in enumerate(network.points.tolist()) if at == [2.0, 1.0])
    led = lead_through(network, np.array([edge]), np.array([vertex]))
    assert lengths(led) == pytest.approx(sorted([2, np.sqrt(5), np.sqrt(5)]))
    behind = next(k for k, at in enumerate(network.points.tolist()) if at == [4.0, 0.0])
    assert len(lead_through(network, np.array([edge]), np.array([behind])).edges) == len(network.edges)


NUMBER = st.integers(min_value=0, max_value=40).map(lambda k: k / 4)
LINE = st.tuples(st.tuples(NUMBER, NUMBER), st.tuples(NUMBER, NUMBER)).filter(lambda line: line[0] != line[1])


@given(lines=st.lists(LINE, min_size=1, max_size=7))
def test_edges_meet_at_their_ends_only_and_no_line_is_lost(lines):
    network = noded(*lines)
    made = list(network.linestrings())
    for (a, one), (b, other) in combinations(enumerate(made), 2):
        shared = set(network.edges[a].tolist()) & set(network.edges[b].tolist())
        met = shapely.intersection(one, other)
        assert met.is_empty or all(
            any(part.hausdorff_distance(shapely.Point(network.points[v])) <= 1e-6 for v in shared)
            for part in shapely.get_parts(met)
        )
    drawn = shapely.union_all([shapely.LineString(line) for line in lines])
    there = shapely.union_all(made) if made else shapely.LineString()
    assert drawn.hausdorff_distance(there) <= 2 * TOLERANCE
    assert (network.edges[:, 0] < network.edges[:, 1]).all()
    assert len({tuple(edge) for edge in network.edges.tolist()}) == len(network.edges)


@given(lines=st.lists(LINE, min_size=1, max_size=6), seed=st.integers(0, 10**6))
def test_the_order_of_the_lines_does_not_show(lines, seed):
    order = random.Random(seed)
    network = noded(*lines)
    mixed = list(lines)
    order.shuffle(mixed)
    again = noded(*(line if order.random() < 0.5 else line[::-1] for line in mixed))
    assert np.array_equal(again.points, network.points)
    assert np.array_equal(again.edges, network.edges)
    assert np.array_equal(again.kind, network.kind)


@given(lines=st.lists(LINE, min_size=2, max_size=6))
def test_where_nothing_comes_near_the_vertices_are_ends_and_crossings(lines):
    strings = [shapely.LineString(line) for line in lines]
    whole = shapely.node(shapely.MultiLineString(strings))
    corners = shapely.get_coordinates(whole)
    if len(corners) > 1:
        distances = shapely.distance(shapely.points(corners)[:, None], shapely.points(corners))
        assume(not ((distances > 0) & (distances < 3 * TOLERANCE)).any())
        near = shapely.distance(shapely.points(corners)[:, None], shapely.get_parts(whole))
        assume(not ((near > 1e-9) & (near < 3 * TOLERANCE)).any())
    ends = {tuple(at) for at in np.round(corners, 6).tolist()}
    network = noded(*lines)
    # Where two pieces of a line go on as one and nobody drew a corner, there is no vertex.
    assert places(network) <= ends
    degrees = network.degrees()
    assert (degrees[network.kind == JOINT] > 0).all()
    assert shapely.union_all(list(network.linestrings())).length == pytest.approx(shapely.union_all(strings).length)

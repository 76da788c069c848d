"""Faces of networks, against shapely's polygonizer and Euler's formula."""

from __future__ import annotations

import networkx as nx
import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from seamtree.block.faces import OPEN, dangling_chains, find_faces
from seamtree.block.noding import JOINT, Network


def network(points, edges):
    pairs = np.array(sorted(tuple(sorted(edge)) for edge in edges), dtype=np.int64).reshape(-1, 2)
    return Network(
        np.array(points, dtype=np.float64).reshape(-1, 2),
        np.full(len(points), JOINT),
        pairs,
        np.zeros(len(pairs), dtype=np.int64),
    )


def grid(columns, rows, edges):
    """Return a network of some edges of a grid, given as bits: to the right and down of every vertex in turn."""
    points = [(x, y) for y in range(rows) for x in range(columns)]
    every = []
    for k, (x, y) in enumerate(points):
        every += [(k, k + 1)] if x + 1 < columns else []
        every += [(k, k + columns)] if y + 1 < rows else []
    return network(points, [edge for n, edge in enumerate(every) if edges >> n & 1])


def square_and(*more_edges, points=()):
    return network([(0, 0), (4, 0), (4, 4), (0, 4), *points], [(0, 1), (1, 2), (2, 3), (3, 0), *more_edges])


def test_a_square_is_one_face_with_the_open_outside():
    faces = find_faces(square_and())
    assert len(faces.rings) == 1
    assert set(faces.beside[0]) == {OPEN}
    assert faces.areas.tolist() == [16.0]
    assert faces.perimeters.tolist() == [16.0]
    assert len(faces.pieces) == 1
    assert faces.dangling.size == faces.parting_nothing.size == 0


def test_both_sides_of_a_seam_know_each_other():
    faces = find_faces(square_and((0, 2)))
    assert sorted(map(sorted, faces.beside)) == [[OPEN, OPEN, 0], [OPEN, OPEN, 1]]


def test_a_seam_that_ends_in_the_open_is_dangling_as_a_whole():
    faces = find_faces(square_and((0, 4), (4, 5), points=[(1, 1), (2, 1.5)]))
    assert len(faces.rings) == 1
    assert {tuple(edge) for edge in faces.network.edges[faces.dangling].tolist()} == {(0, 4), (4, 5)}
    ((end, chain, at),) = dangling_chains(faces)
    assert (end, len(chain), at) == (5, 2, 0)


def test_a_lone_line_is_told_from_one_of_its_ends():
    faces = find_faces(square_and((4, 5), points=[(1, 1), (2, 1)]))
    assert [(len(chain), {end, at}) for end, chain, at in dangling_chains(faces)] == [(1, {4, 5})] * 2


def test_a_bridge_parts_nothing():
    inner = [(1, 1), (3, 1), (3, 3), (1, 3)]
    faces = find_faces(square_and((4, 5), (5, 6), (6, 7), (7, 4), (0, 4), points=inner))
    assert {tuple(edge) for edge in faces.network.edges[faces.parting_nothing].tolist()} == {(0, 4)}
    assert sorted(faces.areas.tolist()) == [4.0, 16.0]
    assert [len(faces.islands), len(faces.pieces)] == [1, 2]


def test_an_island_is_cut_out_of_the_smallest_face_around_it():
    outer = [(-1, -1), (9, -1), (9, 9), (-1, 9)]
    island = [(1, 1), (2, 1), (2, 2)]
    edges = [(4, 5), (5, 6), (6, 7), (7, 4), (8, 9), (9, 10), (10, 8)]
    faces = find_faces(square_and(*edges, points=[*outer, *island]))
    areas = sorted(polygon.area for polygon in faces.polygons)
    assert areas == pytest.approx([0.5, 15.5, 84.0])


def test_nothing_encloses_nothing():
    faces = find_faces(network([(0, 0), (1, 0)], [(0, 1)]))
    assert (faces.rings, faces.islands, len(faces.polygons)) == ((), (), 0)
    assert faces.dangling.tolist() == [0]


@given(edges=st.integers(min_value=0, max_value=2**24 - 1))
def test_faces_are_those_that_shapely_finds(edges):
    made = grid(4, 4, edges)
    faces = find_faces(made)
    lines = list(made.linestrings()) if len(made.edges) else []
    found, cuts, dangles, _ = shapely.polygonize_full(lines)
    expected = sorted(round(polygon.area, 9) for polygon in shapely.get_parts(found))
    assert sorted(round(polygon.area, 9) for polygon in faces.polygons) == expected
    assert faces.dangling.size == shapely.get_num_geometries(dangles)
    assert faces.parting_nothing.size == shapely.get_num_geometries(cuts)


@given(edges=st.integers(min_value=0, max_value=2**24 - 1))
def test_euler(edges):
    made = grid(4, 4, edges)
    faces = find_faces(made)
    graph = nx.Graph(made.edges.tolist())
    parts = nx.number_connected_components(graph)
    assert graph.number_of_nodes() - graph.number_of_edges() + len(faces.rings) == parts
    for n, ring in enumerate(faces.rings):
        for other in set(faces.beside[n]) - {OPEN}:
            assert n in faces.beside[other]
        assert len(ring) == len(faces.beside[n])

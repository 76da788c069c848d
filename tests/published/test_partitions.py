"""Partitions made by general libraries, with an answer that follows from how they are made.

A treemap (Bruls, Huizing & van Wijk 2000, 'Squarified treemaps'; the package `squarify`) and a k-d tree (Bentley
1975, 'Multidimensional binary search trees used for associative searching'; `scipy.spatial`) divide by full cuts, so
straight seams can sew them. In a Voronoi diagram in general position (`scipy.spatial`, Qhull) three cells meet at
every vertex, and no two of their three sides lie in line: each vertex inside the block is one hard corner, whatever
is done. Titles are from memory.
"""

import numpy as np
import pytest
import shapely
import squarify
from benchmarks.families import voronoi
from scipy.spatial import cKDTree

from seamtree.block.build import block_from_polygons
from seamtree.planning.build import plan


@pytest.mark.parametrize("seed", range(12))
def test_squarified_treemaps_are_straight(seed: int) -> None:
    rng = np.random.default_rng(seed)
    width, height = rng.uniform(6, 14, 2)
    sizes = sorted(rng.uniform(1, 20, 4 + 3 * seed), reverse=True)
    rooms = squarify.squarify(squarify.normalize_sizes(sizes, width, height), 0, 0, width, height)
    boxes = [shapely.box(room["x"], room["y"], room["x"] + room["dx"], room["y"] + room["dy"]) for room in rooms]
    answer = plan(block_from_polygons(boxes))
    assert answer.verdict in ("single unit", "joined units")
    assert answer.counts.patches == len(sizes)
    assert answer.proven


def leaves(node, box: tuple[float, float, float, float]):
    """Yield the boxes of the leaves of a k-d tree."""
    if node.split_dim < 0:
        yield box
        return
    below, above = list(box), list(box)
    below[2 + node.split_dim] = above[node.split_dim] = node.split
    yield from leaves(node.lesser, tuple(below))
    yield from leaves(node.greater, tuple(above))


@pytest.mark.parametrize("seed", range(12))
def test_leaves_of_a_k_d_tree_are_straight(seed: int) -> None:
    points = np.random.default_rng(seed).uniform(0, 10, (5 + 6 * seed, 2))
    boxes = list(leaves(cKDTree(points, leafsize=1).tree, (0.0, 0.0, 10.0, 10.0)))
    answer = plan(block_from_polygons([shapely.box(*box) for box in boxes], tolerance=1e-5))
    assert answer.verdict in ("single unit", "joined units")
    assert answer.counts.patches == len(points)
    assert answer.proven


@pytest.mark.parametrize(("cells", "seed"), [(4, 0), (5, 1), (6, 2), (7, 3), (8, 4), (10, 5), (13, 6), (16, 7)])
def test_voronoi_diagrams_have_a_hard_corner_at_every_inner_vertex(cells: int, seed: int) -> None:
    polygons = voronoi(cells, seed)
    side = np.sqrt(2.0 * cells)
    corners = np.round(shapely.get_coordinates(polygons), 6)
    inner = {(x, y) for x, y in corners.tolist() if min(x, y) > 1e-5 and max(x, y) < side - 1e-5}
    answer = plan(block_from_polygons(polygons, tolerance=1e-5), time_limit=0.5)
    counts = answer.counts
    assert (counts.set_in, counts.partial, counts.curved) == (len(inner), 0, 0)
    assert answer.bound.hard_corners == len(inner)

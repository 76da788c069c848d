"""The fewest added patches against all sets of extensions, tried one by one."""

from __future__ import annotations

import pytest
import shapely

from seamtree.block.model import Block
from seamtree.mending.network import build_network, locked_parts
from seamtree.mending.rebuild import Rebuilder
from seamtree.mending.search import Demands, Search, group_knots
from tests.mending.all_extensions import middles, smallest_mends
from tests.support.layouts import attic_window, spun_rectangles, tumbling_block
from tests.support.random_layouts import random_layout

TOLERANCE = 1e-4


def search_all(block: Block, most_pieces: int = 12):
    """Return the fewest added patches and all blocks that come of them, as the middles of their patches."""
    network = build_network(block, locked_parts(block), most_pieces=most_pieces)
    (group,) = group_knots(network)
    search = Search(network, Demands(network), group, accept=lambda _seams: True, nodes=100_000)
    answer = search.solve(upper=20)
    assert answer.complete
    assert answer.bound == answer.added
    rebuilder = Rebuilder(network)
    blocks = [rebuilder.add_seams(seams) for seams in answer.solutions]
    assert all(len(b.patches) == len(block.patches) + answer.added for b in blocks)
    assert all(network.added_patches(seams) == answer.added for seams in answer.solutions)
    return answer.added, {middles([shapely.Polygon(b.polygon(p)) for p in range(len(b.patches))]) for b in blocks}


def voronoi(count: int, seed: int) -> Block:
    numpy = pytest.importorskip("numpy")
    spatial = pytest.importorskip("scipy.spatial")
    sites = numpy.random.default_rng(seed).uniform(1, 9, (count, 2))
    mirrored = [sites, sites * [-1, 1], sites * [1, -1], [20, 0] - sites * [1, -1], [0, 20] - sites * [-1, 1]]
    diagram = spatial.Voronoi(numpy.concatenate(mirrored))
    cells = [shapely.Polygon(diagram.vertices[diagram.regions[diagram.point_region[n]]]) for n in range(count)]
    return Block.from_polygons([shapely.set_precision(cell, 1e-6) for cell in cells], tolerance=TOLERANCE)


@pytest.mark.parametrize("layout", [spun_rectangles, tumbling_block, attic_window], ids=lambda f: f.__name__)
def test_traditional_layouts(layout):
    block = Block.from_polygons(layout(), tolerance=TOLERANCE)
    assert search_all(block) == smallest_mends(block, most=2)


@pytest.mark.parametrize(("count", "seed"), [(4, 0), (4, 1), (4, 2), (4, 3), (4, 4), (5, 1), (5, 2)])
def test_voronoi_diagrams(count, seed):
    block = voronoi(count, seed)
    added, blocks = search_all(block)
    assert (added, blocks) == smallest_mends(block, most=added)
    assert added > 1


@pytest.mark.parametrize(
    "seed", [13, 61, 71, 77, 83, 105, 115, 118, 124, 150, 152, 168, 246, 254, 286, 320, 349, 427, 446]
)
def test_random_layouts(seed):
    block = Block.from_polygons(random_layout(seed), tolerance=TOLERANCE)
    added, blocks = search_all(block)
    assert (added, blocks) == smallest_mends(block, most=added)


def test_extensions_of_one_piece_each_find_what_longer_ones_find_if_it_is_small():
    block = Block.from_polygons(spun_rectangles(), tolerance=TOLERANCE)
    assert search_all(block, most_pieces=1) == search_all(block, most_pieces=12)


def test_parts_that_have_nothing_to_do_with_each_other_are_groups_of_their_own():
    apart = [shapely.affinity.translate(p, 10 * n, 0) for n in range(3) for p in spun_rectangles()]
    between = [shapely.box(10 * n + 6, 0, 10 * n + 10, 6) for n in range(2)]
    block = Block.from_polygons([*apart, *between])
    network = build_network(block, locked_parts(block), most_pieces=4)
    groups = group_knots(network)
    assert len(groups) == 3
    assert all(not a.patches & b.patches for a in groups for b in groups if a is not b)
    assert sum(sum(map(bool, group.caps)) for group in groups) == len(network.rays)


def test_a_search_without_nodes_proves_no_more_than_its_first_bound():
    block = voronoi(5, 1)
    network = build_network(block, locked_parts(block), most_pieces=4)
    (group,) = group_knots(network)
    answer = Search(network, Demands(network), group, accept=lambda _seams: True, nodes=5).solve(upper=20)
    assert answer.solutions == ()
    assert answer.bound <= search_all(block)[0] < answer.added


def test_solutions_that_are_not_accepted_are_passed_over():
    block = Block.from_polygons(spun_rectangles())
    network = build_network(block, locked_parts(block), most_pieces=4)
    (group,) = group_knots(network)
    every = Search(network, Demands(network), group, accept=lambda _seams: True, nodes=10_000).solve(upper=3)
    fewer = Search(
        network, Demands(network), group, accept=lambda seams: seams != every.solutions[0], nodes=10_000
    ).solve(upper=3)
    assert set(fewer.solutions) == set(every.solutions[1:])
    none = Search(network, Demands(network), group, accept=lambda _seams: False, nodes=10_000).solve(upper=2)
    assert none.solutions == ()
    assert none.bound > 2

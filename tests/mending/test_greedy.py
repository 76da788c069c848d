"""The greedy way to mend, where the search would take too long."""

from __future__ import annotations

import pytest

from seamtree.block.model import Block
from seamtree.mending.greedy import mend_greedily
from seamtree.mending.network import build_network, locked_parts
from seamtree.mending.rebuild import Rebuilder
from seamtree.mending.search import Demands, bound, group_knots
from tests.mending.test_search import search_all, voronoi
from tests.support.layouts import attic_window, spun_rectangles, tumbling_block


@pytest.mark.parametrize("seed", range(4))
def test_the_greedy_way_mends_but_may_add_more(seed):
    block = voronoi(9, seed)
    network = build_network(block, locked_parts(block), most_pieces=12)
    demands = Demands(network)
    added = 0
    for group in group_knots(network):
        seams = mend_greedily(network, demands, group, accept=lambda _seams, _new: True)
        assert seams is not None
        block = Rebuilder(network).add_seams(seams)
        assert network.added_patches(seams) >= bound(
            demands.find(network.base, network.cut(network.base, group.slots), group.caps)
        )
        added |= seams
    assert not locked_parts(Rebuilder(network).add_seams(added))


@pytest.mark.parametrize("layout", [spun_rectangles, tumbling_block, attic_window], ids=lambda f: f.__name__)
def test_the_greedy_way_never_adds_fewer_than_the_fewest(layout):
    block = Block.from_polygons(layout(), tolerance=1e-4)
    network = build_network(block, locked_parts(block), most_pieces=12)
    (group,) = group_knots(network)
    seams = mend_greedily(network, Demands(network), group, accept=lambda _seams, _new: True)
    assert seams is not None
    assert network.added_patches(seams) >= search_all(block)[0]
    assert not network.cut(network.base | seams, group.slots)


def test_what_is_not_accepted_is_not_added():
    block = Block.from_polygons(spun_rectangles())
    network = build_network(block, locked_parts(block), most_pieces=12)
    (group,) = group_knots(network)
    assert mend_greedily(network, Demands(network), group, accept=lambda _seams, _new: False) is None

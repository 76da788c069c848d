"""Every check of a witness of a hard corner has a forged one that only it refuses."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

import pytest
from benchmarks.families import voronoi
from shapely import box

from seamtree.block.build import block_from_polygons
from seamtree.errors import ProofError
from seamtree.proofs.claims import Bend, Corner, Fork, Ring
from seamtree.proofs.corners import _places, check_corners, places_of
from seamtree.search.corners.witnesses import find_witnesses
from tests.proofs.blocks import bowed, forked, found, grid, hexagons, junction_at, planar, spun, tumbling, two_rings
from tests.support.layouts import quarter_circle


@pytest.mark.parametrize("draw", [spun, two_rings, hexagons, tumbling, bowed, quarter_circle, forked])
def test_witnesses_account_for_all_hard_corners(draw):
    block = draw()
    answer = found(block)
    assert answer.hard_corners == len(answer.claims.corners) > 0
    check_corners(planar(block), answer.claims.corners)


def test_every_vertex_of_a_voronoi_diagram_is_a_witness():
    block = block_from_polygons(voronoi(12, 3), tolerance=1e-5)
    corners = find_witnesses(block, 100)
    assert {type(corner) for corner in corners} == {Corner}
    assert len(corners) == len(planar(block).inner)


def test_no_more_witnesses_are_found_than_are_wanted():
    assert len(find_witnesses(hexagons(), 2)) == 2


def ring():
    (witness,) = found(spun()).claims.corners
    assert isinstance(witness, Ring)
    return witness


def refused(block, match, *witnesses):
    with pytest.raises(ProofError, match=match):
        check_corners(planar(block), witnesses)


def test_a_corner_has_no_edges_in_line():
    block = spun()
    refused(block, "no two edges in line", Corner(planar(block).inner[0]))


def test_a_corner_is_inside():
    refused(tumbling(), "on the outline", Corner(junction_at(tumbling(), 0, 0)))


def test_a_corner_counts_once():
    (corner,) = found(tumbling()).claims.corners
    refused(tumbling(), "hard corner 2 shares", corner, corner)


def test_a_corner_on_a_drawn_curve_may_lie_anywhere_on_it():
    block = quarter_circle()
    (witness,) = found(block).claims.corners
    assert "curve" in {kind for kind, _ in places_of(planar(block), witness)}


def test_a_ring_leads_from_each_junction_to_the_next():
    walk = ring().walk
    swapped = Ring((walk[1], walk[0], *walk[2:]))
    refused(spun(), "from each junction to the next", swapped)


def test_a_ring_passes_each_junction_once():
    refused(spun(), "each once", Ring(ring().walk * 2))
    refused(spun(), "each once", Ring(()))
    refused(spun(), "from each junction to the next", Ring(ring().walk[:1]))


def test_a_ring_counts_once():
    refused(spun(), "hard corner 2 shares", ring(), ring())


def test_a_ring_the_other_way_round_need_not_wait():
    walk = ring().walk
    edges = [edge for _, edge in walk]
    back = tuple((junction, edges[n - 1]) for n, (junction, _) in enumerate(walk))[::-1]
    refused(spun(), "need not wait", Ring(back))


def test_a_ring_over_a_crossing_is_open():
    block = grid()
    inner = {(x, y): junction_at(block, x, y) for x in (1, 2) for y in (1, 2)}
    between = block.edge_between()
    turn = [(1, 1), (2, 1), (2, 2), (1, 2)]
    steps = zip(turn, turn[1:] + turn[:1], strict=True)
    walk = [(inner[a], between[frozenset((inner[a], inner[b]))]) for a, b in steps]
    refused(block, "more than one pair", Ring(tuple(walk)))


def test_a_bend_is_one_line_that_is_not_straight():
    (bend,) = found(bowed()).claims.corners
    assert isinstance(bend, Bend)
    refused(bowed(), "not straight as a whole", replace(bend, last=bend.last - 1))
    refused(bowed(), "not straight as a whole", Bend(bend.last, bend.first))
    refused(bowed(), "on the outline", replace(bend, last=bend.last + 3))


def test_a_bend_may_lie_at_every_junction_of_its_line():
    (bend,) = found(bowed()).claims.corners
    inner = {("junction", junction_at(bowed(), 2.0 * n, 2.1)) for n in (1, 2, 3)}
    assert places_of(planar(bowed()), bend) == inner
    refused(bowed(), "hard corner 2 shares", bend, bend)


def test_a_bend_across_a_crossing_is_none_where_the_other_line_goes_through():
    block = bowed(crossed=True)
    junction = junction_at(block, 4, 2.12)
    one, other = planar(block).through[junction]
    line = next(line for line in block.lines if not line.straight)
    bend = Bend(line.first, line.stop - 1)
    refused(block, "more than one pair", bend)
    refused(block, "need not be", Fork(junction, ((one, bend), (other, bend))))


def test_below_a_fork_the_corner_may_lie_at_the_fork():
    rings = [box(1, 1, 2, 2), box(0, 0, 2, 1), box(2, 0, 3, 2), box(1, 2, 3, 3), box(0, 1, 1, 3)]
    block = block_from_polygons([*rings, *(box(x, y, x + 1, y + 1.5) for x in (3, 4) for y in (0, 1.5))])
    (ring,) = found(block).claims.corners
    junction = junction_at(block, 4, 1.5)
    fork = Fork(junction, tuple((way, ring) for way in planar(block).through[junction]))
    assert places_of(planar(block), fork) == {*places_of(planar(block), ring), ("junction", junction)}


def test_a_corner_inside_a_drawn_curve_may_lie_anywhere_on_it_and_at_its_ends_nowhere_else():
    block = quarter_circle()
    chords = [edge for edge in block.edges if edge.curve is not None]
    met = Counter(j for edge in chords for j in (edge.start, edge.end))
    for junction, often in met.items():
        curves = {("curve", chords[0].curve)} if often > 1 else set()
        assert _places(planar(block), junction) == {("junction", junction), *curves}
    assert set(met.values()) == {1, 2}


def test_a_ring_below_a_fork_is_none_without_it():
    (fork,) = found(forked()).claims.corners
    assert isinstance(fork, Fork)
    (one, first), (other, second) = fork.ways
    refused(forked(), "more than one pair", first)
    refused(forked(), "need not wait", Fork(fork.junction, ((one, second), (other, first))))


def test_a_fork_takes_every_pair_once():
    block = grid()
    junction = planar(block).inner[0]
    one, other = planar(block).through[junction]
    corner = Corner(junction)
    refused(block, "every pair in line", Fork(junction, ((one, corner),)))
    refused(block, "every pair in line", Fork(junction, ((one, corner), (one, corner))))
    again = Fork(junction, ((one, corner), (other, corner)))
    refused(block, "every pair in line", Fork(junction, ((one, again), (other, again))))


def test_below_a_fork_the_pair_that_was_taken_counts():
    block = grid()
    junction = planar(block).inner[0]
    one, other = planar(block).through[junction]
    refused(block, "no two edges in line", Fork(junction, ((one, Corner(junction)), (other, Corner(junction)))))

"""Hard corners in words, on layouts whose corners are known."""

from __future__ import annotations

import pytest

import seamtree
from seamtree.planning.corners import find_ring, is_one_cut
from tests.support import layouts


def corners_of(polygons):
    block = polygons if isinstance(polygons, seamtree.Block) else seamtree.block_from_polygons(polygons)
    plan = seamtree.plan(block)
    return block, plan, [corner for join in plan.joins() for corner in join.seam.corners]


@pytest.mark.parametrize(
    ("layout", "kind", "reason"),
    [
        (layouts.spun_rectangles, "partial", "the two wait for each other"),
        (layouts.attic_window, "set-in", "three seams meet here"),
        (layouts.tumbling_block, "set-in", "three seams meet here"),
        (layouts.quarter_circle, "curved", "follows a drawn curve"),
    ],
    ids=lambda value: getattr(value, "__name__", None),
)
def test_kinds_and_reasons(layout, kind, reason):
    block, plan, (corner,) = corners_of(layout())
    assert corner.kind == kind
    assert reason in corner.reason
    (warning,) = [w for w in plan.warnings if w.code == f"{kind}-seam"]
    assert warning.at == block.place(corner.junction)
    around = {plan.patch_ids()[p] for p, patch in enumerate(block.patches) if corner.junction in patch.ring}
    assert set(warning.patches) == around


def test_a_boundary_that_turns_a_corner_between_two_patches():
    bay = [(0, 0), (6, 0), (6, 2), (2, 2), (2, 6), (0, 6)]
    _, _, (corner,) = corners_of([bay, [(2, 2), (6, 2), (6, 6), (2, 6)]])
    assert (corner.kind, corner.reason) == ("set-in", "the boundary between two patches turns a corner")


def test_the_ring_of_waiting_seams_is_named_and_each_ends_on_the_next():
    block, plan, (corner,) = corners_of(layouts.spun_rectangles())
    ring = find_ring(block, corner.junction)
    assert len(ring) == len(set(ring)) == 4
    lines = [block.lines[block.line_of(k)] for k in ring]
    for k, onto in zip(ring, (*lines[1:], lines[0]), strict=True):
        ends = {block.edges[k].start, block.edges[k].end}
        inside = {block.edges[e].end for e in range(onto.first, onto.stop - 1)}
        assert len(ends & inside) == 1
    (warning,) = [w for w in plan.warnings if w.code == "partial-seam"]
    assert warning.message.count(" → ") == 3


def test_there_is_no_ring_where_nothing_waits():
    block = seamtree.block_from_polygons(layouts.squares(3, 3))
    assert all(find_ring(block, j) == () for j in range(len(block.junctions)))


def test_one_cut_is_a_run_of_one_line():
    block = seamtree.block_from_polygons(layouts.squares(3, 3))
    for line in block.lines:
        every = list(range(line.first, line.stop))
        assert is_one_cut(block, every)
        assert is_one_cut(block, every[::-1])
        assert not is_one_cut(block, [every[0], every[2]])
        if line.stop < block.interior_edges.stop:
            assert not is_one_cut(block, [every[-1], line.stop])

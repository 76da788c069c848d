"""Faces into which chords divide a patch, against shapely's polygonizer."""

from __future__ import annotations

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from seamtree.block.check import check_structure
from seamtree.block.model import Block
from seamtree.mending.network import build_network, locked_parts
from seamtree.mending.rebuild import Rebuilder, faces_of
from seamtree.search.view import bits
from tests.support.layouts import attic_window, hexagon_flower, spun_rectangles, tumbling_block

RING = [(6, 0), (4, 0), (2, 0), (0, 0), (0, 2), (0, 4), (0, 6), (2, 6), (4, 6), (6, 6), (6, 4), (6, 2)]
"""Counter-clockwise as seen, y down: the face on the left hand."""


def area(face, points):
    return shapely.Polygon([points[v] for v in face]).area


def on_the_left(face, points):
    ring = shapely.LinearRing([points[v] for v in face])
    return not ring.is_ccw  # y points down


def test_a_patch_without_chords_is_one_face():
    (face,) = faces_of(tuple(range(12)), [], RING)
    assert area(face, RING) == 36
    assert on_the_left(face, RING)


def test_chords_that_meet_inside_divide_it_in_four():
    points = [*RING, (2, 2)]
    chords = [(2, 12), (12, 7), (4, 12), (12, 11)]
    faces = faces_of(tuple(range(12)), chords, points)
    assert sorted(area(face, points) for face in faces) == [4, 8, 8, 16]


@given(ends=st.sets(st.tuples(st.integers(0, 11), st.integers(0, 11)), max_size=5))
def test_faces_are_those_that_shapely_finds(ends):
    outline = shapely.LinearRing(RING)
    chords, drawn = [], []
    for a, b in sorted(ends):
        line = shapely.LineString([RING[a], RING[b]])
        if (
            a < b
            and not outline.covers(line)
            and not any(line.crosses(other) or line.overlaps(other) for other in drawn)
        ):
            chords.append((a, b))
            drawn.append(line)
    faces = faces_of(tuple(range(12)), chords, RING)
    expected = shapely.get_parts(shapely.polygonize([shapely.node(shapely.MultiLineString([outline, *drawn]))]))
    assert sorted(area(face, RING) for face in faces) == pytest.approx(sorted(p.area for p in expected))
    assert all(on_the_left(face, RING) for face in faces)


@pytest.mark.parametrize("layout", [spun_rectangles, tumbling_block, attic_window, hexagon_flower])
def test_a_block_put_together_with_one_more_seam_is_whole(layout):
    polygons = layout()
    block = Block.from_polygons(
        polygons, fabrics=[f"#{n:06x}" for n in range(len(polygons))], labels=[f"A{n}" for n in range(len(polygons))]
    )
    network = build_network(block, locked_parts(block), most_pieces=12)
    rebuilder = Rebuilder(network)
    assert network.rays
    for ray in network.rays:
        sewn = network.base | sum(1 << slot for slot in ray.edges)
        extra = sewn & ~network.base
        mended = rebuilder.add_seams(extra)
        check_structure(mended)
        assert len(mended.patches) == len(block.patches) + network.added_patches(sewn)
        new = rebuilder.new_patches(extra)
        assert len(new) == len(mended.patches) - len(block.patches) + len(
            {network.piece_patches[p] for p in ray.pieces}
        )
        before = {p.fabric: shapely.Polygon(block.polygon(n)) for n, p in enumerate(block.patches)}
        for n, patch in enumerate(mended.patches):
            assert before[patch.fabric].buffer(1e-6).covers(shapely.Polygon(mended.polygon(n)))
        labels = [patch.label for patch in mended.patches if patch.label]
        assert sorted(labels) == sorted(patch.label for patch in block.patches)
        assert sorted(bits(extra)) == sorted(ray.edges)

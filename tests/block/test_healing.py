"""What misses by a hair is healed, and told; what misses by more is not."""

from __future__ import annotations

import math
import random
from fractions import Fraction

import numpy as np
import pytest
import shapely

from seamtree.block.faces import find_faces
from seamtree.block.heal import close_slivers, slivers
from seamtree.block.noding import Network, build_network
from seamtree.block.paint import drawn_points, paint
from seamtree.tolerances import TOLERANCE
from tests.block.drawn import area, blocks, box, codes, drawing, faults, frame, jitter, line, look, moved, one_block

HAIR = 0.9 * TOLERANCE
MORE = 1.1 * TOLERANCE


def told(block) -> str:
    return " ".join(note.message for note in block.notes if note.code == "healed")


@pytest.mark.parametrize("miss", [HAIR, 1e-3, 1e-6, -1e-6, -1e-3, -HAIR])
def test_an_end_that_falls_short_or_goes_too_far_by_a_hair(miss: float) -> None:
    block = one_block(frame(0, 0, 4, 4), line((2, 0), (2, 4 - miss)))
    assert len(block.patches) == 2
    assert (block.width, block.height) == (4, 4)
    assert block.junctions[-2] == (2, 4)
    assert ("1 end" in told(block)) == (abs(miss) > 0.002)


@pytest.mark.parametrize("miss", [MORE, -MORE])
def test_a_larger_miss_is_a_loose_end(miss: float) -> None:
    assert codes(faults(frame(0, 0, 4, 4), line((2, 0), (2, 4 - miss)))) == ["loose-end"]


def test_a_corner_that_does_not_close() -> None:
    block = one_block(line((0, 0), (4, 0), (4, 4), (0, 4), (0.01, 0.01)))
    assert len(block.patches) == 1


@pytest.mark.parametrize("over", [0.004, 0.012, 0.019])
def test_corners_that_overshoot_both_ways(over: float) -> None:
    sides = [
        line((-over, 0), (4, 0)),
        line((4, -over), (4, 4)),
        line((4 + over, 4), (0, 4)),
        line((0, 4 + over), (0, -over)),
    ]
    block = one_block(*sides)
    assert len(block.patches) == 1
    assert len(block.edges) == 4
    assert block.width == pytest.approx(4, abs=TOLERANCE)


def test_a_seam_meets_the_middle_of_a_side_exactly() -> None:
    """A through line passes exactly through the end of the stem."""
    block = one_block(
        area((0, 0), (4, 0), (4, 2), (0, 2)), area((0, 2.01), (2, 2.005), (2, 4), (0, 4)), box(2, 2, 4, 4)
    )
    assert len(block.patches) == 3
    assert len(block.lines) == 2
    assert all(each.straight for each in block.lines)


def test_two_stems_that_end_at_the_same_place_of_a_line() -> None:
    block = one_block(
        frame(0, 0, 4, 4), line((0, 2), (4, 2)), line((2, 0), (2, 1.99)), line((2.01, 2.015), (2.01, 4))
    )
    assert len(block.patches) == 4
    crossing = [j for j in block.junctions if 1.9 < j[0] < 2.1 and 1.9 < j[1] < 2.1]
    assert len(crossing) == 1
    assert crossing[0][1] == 2


def test_lines_that_should_cross_in_one_point() -> None:
    """Four lines through the middle; drawn by hand, no three of them meet exactly."""
    rng = random.Random(4)
    spokes = [((0, 2), (4, 2)), ((2, 0), (2, 4)), ((0, 0), (4, 4)), ((0, 4), (4, 0))]
    for _ in range(20):
        lines = [line(*(jitter(rng, 0.009)(at) for at in spoke)) for spoke in spokes]
        block = one_block(frame(0, 0, 4, 4), *lines)
        assert len(block.patches) == 8
        assert len(block.lines) == 4
        assert all(each.straight for each in block.lines)


def test_a_line_drawn_twice_is_harmless() -> None:
    once = one_block(frame(0, 0, 4, 4), line((2, 0), (2, 4)))
    assert one_block(frame(0, 0, 4, 4), line((2, 0), (2, 4)), line((2, 4), (2, 0))) == once
    partly = one_block(frame(0, 0, 4, 4), line((2, 0), (2, 4)), line((2, 1), (2, 3)), line((2, 2.5), (2, 4)))
    assert partly == once


def test_a_line_drawn_twice_with_an_unsteady_hand() -> None:
    block = one_block(
        frame(0, 0, 4, 4), line((2, 0), (2, 4)), line((2.015, 4), (1.99, 0)), line((2.01, 1), (1.99, 3))
    )
    assert len(block.patches) == 2
    assert len([edge for edge in block.edges if edge.interior]) == 1


def test_hairlines_between_shapes_close() -> None:
    block = one_block(box(0, 0, 2, 4), box(2.015, 0, 4, 4))
    assert len(block.patches) == 2
    assert "moved onto" in told(block)


def test_slivers_wider_than_the_tolerance_close_as_well() -> None:
    """What disappears when shrunk by the tolerance is up to two tolerances wide."""
    block = one_block(box(0, 0, 2, 4), box(2.035, 0, 4, 4), frame(0, 0, 4, 4))
    assert len(block.patches) == 2
    assert told(block) == "Healed: 1 sliver was closed up."


def test_seams_that_end_on_either_side_of_a_sliver_meet_the_seam_that_is_left() -> None:
    block = one_block(
        frame(0, 0, 4, 4),
        line((2, 0), (2, 4)),
        line((2.035, 0), (2.035, 4)),
        line((0, 1), (2, 1)),
        line((2.035, 3), (4, 3)),
    )
    assert len(block.patches) == 4
    assert len(block.lines) == 3
    assert all(each.straight for each in block.lines)


def test_a_small_triangle_between_three_lines_closes_to_a_point() -> None:
    block = one_block(frame(0, 0, 4, 4), line((0, 1.97), (4, 2)), line((1.98, 0), (2.01, 4)), line((0, 0.02), (4, 4)))
    assert len(block.patches) == 6
    assert all(each.straight for each in block.lines)


def test_lines_at_a_small_angle_do_not_close_up_like_a_zip() -> None:
    """Stems end on both sides of a wedge of two degrees all along; only its tip is too narrow to sew."""
    angle = math.tan(math.radians(2))
    stems = [line((x, 3), (x, 2)) for x in np.arange(0.25, 8, 0.25)]
    block = one_block(frame(0, 0, 8, 3), line((0, 2), (8, 2)), line((0, 2), (8, 2 - 8 * angle)), *stems)
    assert len(block.patches) == 34
    # Closing the tip turns one line by less than the tolerance; a zip would leave hardly any of the wedge.
    wedge = [p for p in range(34) if all(1.7 < y <= 2.01 for _, y in block.polygon(p))]
    assert len(wedge) == 1
    assert shapely.Polygon(block.polygon(wedge[0])).area == pytest.approx(32 * angle, abs=4 * TOLERANCE)


def test_points_move_by_less_than_the_tolerance() -> None:
    rng = random.Random(7)
    for _ in range(10):
        shapes = moved([box(0, 0, 2, 2), box(2, 0, 4, 2), box(0, 2, 4, 4)], jitter(rng, 0.0099))
        network = network_of(shapes)
        corners = np.array([point for shape in shapes for point in shape.tracks[0].points])
        corners -= corners.min(axis=0)
        gaps = shapely.distance(shapely.points(corners), shapely.multipoints(network.points))
        assert gaps.max() <= TOLERANCE


def network_of(shapes) -> Network:
    drawn = drawing(*shapes)
    seen = paint(drawn, drawn_points(drawn), tolerance=TOLERANCE).seen
    return build_network(seen, tolerance=TOLERANCE, visible=0.1 * TOLERANCE)


@pytest.mark.parametrize("seed", range(12))
def test_edges_of_a_network_meet_only_at_vertices(seed: int) -> None:
    """Whatever is drawn: long and short lines at random, many of them nearly in one or nearly touching."""
    rng = random.Random(seed)
    ends = [(rng.uniform(0, 3), rng.uniform(0, 3)) for _ in range(30)]
    near = [jitter(rng, 0.03)(rng.choice(ends)) for _ in range(30)]
    scribble = [line(rng.choice(ends + near), rng.choice(ends + near)) for _ in range(45)]
    network = network_of([s for s in scribble if s.tracks[0].points[0] != s.tracks[0].points[1]])
    lines = network.linestrings()
    first, second = shapely.STRtree(lines).query(lines, predicate="intersects")
    shared = (network.edges[first][:, :, None] == network.edges[second][:, None, :]).sum(axis=(1, 2))
    assert (shared[first != second] == 1).all()
    meets = shapely.intersection(lines[first[first != second]], lines[second[first != second]])
    assert set(shapely.get_type_id(meets)) <= {shapely.GeometryType.POINT}


@pytest.mark.parametrize("seed", range(12))
def test_faces_are_those_of_the_geometry_library(seed: int) -> None:
    rng = random.Random(seed)
    scribble = [line(*((rng.uniform(0, 9), rng.uniform(0, 9)) for _ in range(2))) for _ in range(25)]
    network = network_of(scribble)
    faces = find_faces(network)
    polygons, cuts, dangles, _ = shapely.polygonize_full(network.linestrings())
    expected = shapely.get_parts(polygons)
    assert len(faces.polygons) == len(expected)
    assert sorted(faces.polygons.tolist(), key=lambda p: p.area) == sorted(
        map(shapely.normalize, expected), key=lambda p: p.area
    ) or np.allclose(np.sort(shapely.area(faces.polygons)), np.sort(shapely.area(expected)))
    assert len(faces.dangling) == shapely.get_num_geometries(dangles)
    assert len(faces.parting_nothing) == shapely.get_num_geometries(cuts)


def test_no_sliver_is_left_that_can_be_closed() -> None:
    rng = random.Random(11)
    ends = [(0.0, rng.uniform(0, 8)) for _ in range(30)], [(8.0, rng.uniform(0, 8)) for _ in range(30)]
    shapes = [frame(0, 0, 8, 8), *(line(a, b) for a, b in zip(*ends, strict=True))]
    network = network_of(shapes)
    assert len(slivers(find_faces(network), TOLERANCE)) > 5
    faces, closed = close_slivers(network, tolerance=TOLERANCE)
    assert slivers(faces, TOLERANCE) == []
    assert closed > 5
    assert faces.areas.sum() == pytest.approx(64, abs=0.5)


@pytest.mark.parametrize("tolerance", [1e-5, 1e-3, 0.02, 0.1])
def test_the_tolerance_scales(tolerance: float) -> None:
    size = tolerance / 0.02
    shapes = moved(
        [frame(0, 0, 4, 4), line((2, 0.01), (2, 3.985)), box(2, 2, 4.01, 4)], lambda at: (at[0] * size, at[1] * size)
    )
    reference = one_block(frame(0, 0, 4, 4), line((2, 0.01), (2, 3.985)), box(2, 2, 4.01, 4))
    block = one_block(*shapes, tolerance=tolerance)
    assert len(block.patches) == len(reference.patches) == 3
    assert look([block])[0][1:3] == look([reference])[0][1:3]


def test_far_away_from_the_origin() -> None:
    shapes = [box(0, 0, 2, 4), box(2, 0, 4, 2), box(2.01, 2, 4, 4)]
    here = blocks(*shapes)
    there = blocks(*moved(shapes, lambda at: (at[0] + 1e6, at[1] - 1e6)))
    assert look(here) == look(there)


def test_a_tiny_face_far_out_is_a_face() -> None:
    # Found by random drawings: areas counted from the corner of a drawing lost their sign, and the block had a hole.
    corners = np.array(
        [(59204.227368661, 68581.728053550), (59204.257442189, 68581.791924460), (59204.257444178, 68581.7919254633)]
    )
    network = Network(
        corners, np.zeros(3, dtype=np.int64), np.array([(0, 1), (0, 2), (1, 2)]), np.zeros(3, dtype=np.int64)
    )
    faces = find_faces(network)
    assert len(faces.rings) == len(faces.pieces) == 1
    (ax, ay), (bx, by), (cx, cy) = (map(Fraction, corner) for corner in corners.tolist())
    assert faces.areas[0] == pytest.approx(float(abs((bx - ax) * (cy - ay) - (cx - ax) * (by - ay)) / 2), rel=1e-3)

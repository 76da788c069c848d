"""What must not change a block: how its drawing lies, in which order and in which way it is drawn, a shaking hand."""

from __future__ import annotations

import math
import random
from functools import cache
from itertools import combinations, pairwise

import networkx as nx
import pytest
import shapely
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from seamtree.block.model import Block
from seamtree.drawing.drawn import Shape
from tests.block.drawn import area, blocks, jitter, line, look, moved, turn
from tests.support.random_layouts import random_layout

COARSE = 0.06
"""Corners and sides of a layout that tolerates shaking are farther apart than this."""

seeds = st.integers(0, 400)


def corners_only(polygon: shapely.Polygon) -> list[tuple[float, float]]:
    """The corners of a polygon without those in the middle of a side."""
    ring = list(polygon.exterior.coords[:-1])
    return [
        at
        for before, at, after in zip(ring[-1:] + ring, ring, ring[1:] + ring[:1], strict=False)
        if abs((at[0] - before[0]) * (after[1] - at[1]) - (at[1] - before[1]) * (after[0] - at[0])) > 1e-6
    ]


@cache
def layout(seed: int) -> tuple[tuple[tuple[float, float], ...], ...] | None:
    """A layout at random, 8 in wide, if its corners and sides are far enough apart."""
    polygons = random_layout(seed)
    scale = 8 / max(p.bounds[2] for p in polygons)
    rings = [tuple((x * scale, y * scale) for x, y in corners_only(p)) for p in polygons]
    corners = shapely.points(sorted({(round(x, 6), round(y, 6)) for ring in rings for x, y in ring}))
    sides = [shapely.LineString([a, b]) for ring in rings for a, b in zip(ring, ring[1:] + ring[:1], strict=True)]
    if any(1e-6 < d < COARSE for side in sides for d in shapely.distance(side, corners).tolist()):
        return None
    return tuple(rings) if all(shapely.distance(a, b) > COARSE for a, b in combinations(corners, 2)) else None


def shapes_of(seed: int) -> list[Shape]:
    rings = layout(seed)
    assume(rings is not None)
    assert rings is not None
    return [area(*ring, fill=f"#{k:06x}", name=f"patch {k}") for k, ring in enumerate(rings)]


def lines_of(built: tuple[Block, ...]) -> list[tuple[tuple[float, float], tuple[float, float]]]:
    return [(b.junctions[e.start], b.junctions[e.end]) for b in built for e in b.edges]


def counts(built: tuple[Block, ...]) -> list[object]:
    """What bare lines keep of a block: all but the fabrics."""
    return [(a, b, c, sorted(size for size, _, _ in patches), lines) for a, b, c, patches, lines, _ in look(built)]


@given(seeds, st.floats(-10, 10), st.tuples(st.floats(-1e6, 1e6), st.floats(-1e6, 1e6)), st.booleans())
def test_turning_mirroring_and_moving(seed: int, angle: float, shift: tuple[float, float], mirrored: bool) -> None:
    shapes = shapes_of(seed)
    reference = look(blocks(*shapes))
    if mirrored:
        shapes = moved(shapes, lambda at: (-at[0], at[1]))
    assert look(blocks(*moved(shapes, turn(angle, shift)))) == reference


@given(seeds, st.integers(0, 10**6))
def test_the_order_of_shapes_and_points(seed: int, order: int) -> None:
    rng, shapes = random.Random(order), shapes_of(seed)
    reference = blocks(*shapes)
    shuffled = []
    for shape in rng.sample(shapes, len(shapes)):
        points = shape.tracks[0].points
        start = rng.randrange(len(points))
        points = points[start:] + points[:start]
        shuffled.append(area(*(points if rng.random() < 0.5 else points[::-1]), fill=shape.fill))
    assert blocks(*shuffled) == reference


@given(seeds, st.integers(0, 10**6))
def test_shapes_lines_and_lines_in_pieces(seed: int, order: int) -> None:
    rng = random.Random(order)
    reference = blocks(*shapes_of(seed))
    assume(len(reference) == 1)
    pieces = []
    for a, b in lines_of(reference):
        shares = [0.0, *sorted(rng.uniform(0.1, 0.9) for _ in range(rng.randrange(3))), 1.0]
        at = [(a[0] + s * (b[0] - a[0]), a[1] + s * (b[1] - a[1])) for s in shares]
        pieces += [line(p, q) for p, q in pairwise(at) if math.dist(p, q) > 0.05]
        assume(all(math.dist(p, q) > 0.05 for p, q in pairwise(at)))
    rng.shuffle(pieces)
    assert counts(blocks(*pieces)) == counts(reference)


@given(seeds)
def test_a_stack_on_a_background(seed: int) -> None:
    shapes = shapes_of(seed)
    reference = blocks(*shapes)
    ground = shapely.union_all([shapely.Polygon(s.tracks[0].points) for s in shapes], grid_size=1e-6)
    assume(ground.geom_type == "Polygon")
    assert look(blocks(area(*corners_only(ground), fill="#ffffff"), *shapes)) == look(reference)


@given(seeds, st.integers(0, 10**6), st.sampled_from(["painted", "polygons", "lines", "stack"]))
def test_a_shaking_hand(seed: int, order: int, way: str) -> None:
    """Every point of every shape moves on its own by up to half the tolerance."""
    rng, shapes = random.Random(order), shapes_of(seed)
    reference = blocks(*shapes)
    assume(len(reference) == 1)
    if way == "lines":
        shapes = [line(a, b) for a, b in lines_of(reference)]
    elif way == "stack":
        ground = shapely.union_all([shapely.Polygon(s.tracks[0].points) for s in shapes], grid_size=1e-6)
        shapes = [area(*corners_only(ground), fill="#ffffff"), *shapes]
    shaken = blocks(*moved(shapes, jitter(rng, 0.0099)), kind="polygons" if way == "polygons" else "painted")
    assert counts(shaken) == counts(reference)
    if way != "lines":
        assert look(shaken) == look(reference)


@given(seeds, st.floats(0.05, 20))
def test_scaling_with_the_tolerance(seed: int, scale: float) -> None:
    reference = blocks(*shapes_of(seed))
    assume(len(reference) == 1)
    # Bare lines, as gaps between filled shapes have a width of their own.
    lines = [line(a, b) for a, b in lines_of(reference)]
    scaled = blocks(*moved(lines, lambda at: (at[0] * scale, at[1] * scale)), tolerance=0.02 * scale)
    assert counts(scaled) == counts(reference)


@settings(max_examples=25)
@given(seeds)
def test_a_block_is_planar_and_keeps_eulers_formula(seed: int) -> None:
    """networkx.check_planarity judges by the graph alone (Brandes 2009, 'The left-right planarity test')."""
    for block in blocks(*shapes_of(seed)):
        graph = nx.Graph((edge.start, edge.end) for edge in block.edges)
        assert graph.number_of_edges() == len(block.edges)
        assert nx.is_connected(graph)
        assert nx.check_planarity(graph)[0]
        assert graph.number_of_nodes() - graph.number_of_edges() + len(block.patches) + 1 == 2


@given(seeds)
def test_areas_add_up(seed: int) -> None:
    shapes = shapes_of(seed)
    total = sum(shapely.Polygon(s.tracks[0].points).area for s in shapes)
    built = blocks(*shapes)
    assert sum(shapely.Polygon(b.polygon(p)).area for b in built for p in range(len(b.patches))) == pytest.approx(
        total
    )

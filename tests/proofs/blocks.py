"""Small blocks for forged claims, with what there is in them found by place."""

from __future__ import annotations

import math
from functools import cache
from itertools import pairwise

from benchmarks.families import lines_across, spun_rings
from shapely import Polygon, box

from seamtree.block.build import block_from_polygons
from seamtree.block.model import Block
from seamtree.proofs.planar import Planar
from seamtree.search.find import find_order
from seamtree.search.tree import Found
from tests.search.straight.test_parts import squares
from tests.support.layouts import hexagon_flower, spun_rectangles, tumbling_block
from tests.support.random_layouts import random_layout


@cache
def spun() -> Block:
    """Four rectangles round a square: one ring of four seams that wait for each other."""
    return block_from_polygons(spun_rectangles())


@cache
def two_rings() -> Block:
    return block_from_polygons(spun_rings(2))


@cache
def hexagons() -> Block:
    return block_from_polygons(hexagon_flower())


@cache
def tumbling() -> Block:
    return block_from_polygons(tumbling_block())


@cache
def grid(columns: int = 3, rows: int = 3) -> Block:
    return squares(columns, rows)


@cache
def crossing() -> Block:
    """Thirteen lines across."""
    return block_from_polygons(lines_across(13, 1), tolerance=1e-4)


@cache
def log_cabin() -> Block:
    """One unit: a square, and strips round it one after the other."""
    return block_from_polygons([box(1, 1, 2, 2), box(1, 0, 2, 1), box(2, 0, 3, 2), box(1, 2, 3, 3), box(0, 0, 1, 3)])


@cache
def bowed(*, crossed: bool = False) -> Block:
    """A line from side to side that bends a little, four times, too much as a whole; another may cross it."""
    ys = [2.0, 2.08, 2.12, 2.08, 2.0]
    places = [(2.0 * n, y) for n, y in enumerate(ys)]
    above = [Polygon([(x, 0), (u, 0), (u, v), (x, y)]) for (x, y), (u, v) in pairwise(places)]
    below = [Polygon([*places, (8, 4), (0, 4)])]
    if crossed:
        below = [Polygon([*places[:3], (4, 4), (0, 4)]), Polygon([*places[2:], (8, 4), (4, 4)])]
    return block_from_polygons([*above, *below], tolerance=0.05)


@cache
def forked() -> Block:
    """Six patches round a crossing: whichever line goes through, seams wait for each other."""
    return block_from_polygons(random_layout(874), tolerance=1e-5)


@cache
def found(block: Block) -> Found:
    return find_order(block, time_limit=10.0)


def junction_at(block: Block, x: float, y: float) -> int:
    return min(range(len(block.junctions)), key=lambda j: math.dist(block.junctions[j], (x, y)))


@cache
def planar(block: Block) -> Planar:
    return Planar(block)

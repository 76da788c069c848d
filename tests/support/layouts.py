"""Layouts that quilters know by name, drawn anew from their geometry (sizes in inches, y down)."""

from __future__ import annotations

import math
from dataclasses import replace

import shapely
from shapely import affinity

from seamtree.block.assemble import Face, assemble_block
from seamtree.block.build import block_from_polygons
from seamtree.block.model import Block
from seamtree.tolerances import TOLERANCE

Polygons = list[shapely.Polygon]
Cut = tuple[float, float, float]


def cut_away(shape: shapely.Polygon, cuts: list[Cut]) -> Polygons:
    """Cut patches off a convex shape one after the other: ``(a, b, c)`` takes away where ``a·x + b·y > c``.

    The patches come in sewing order, the rest that is left in the middle first.
    """
    patches = []
    for a, b, c in cuts:
        size = math.hypot(a, b)
        nx, ny, at = a / size, b / size, c / size
        foot, far = (nx * at, ny * at), 1000.0
        ends = [(foot[0] - far * ny, foot[1] + far * nx), (foot[0] + far * ny, foot[1] - far * nx)]
        beyond = shapely.Polygon([*ends, *((x + far * nx, y + far * ny) for x, y in reversed(ends))])
        patches.append(shape.intersection(beyond))
        shape = shape.difference(beyond)
    return [shape, *reversed(patches)]


def log_cabin(rounds: int = 2) -> Polygons:
    """Logs sewn round a square, each along the whole side of what is there."""
    cuts = []
    for k in range(rounds, 0, -1):
        inner = k - 0.5
        cuts += [(-1, 0, inner), (0, 1, inner), (1, 0, inner), (0, -1, inner)]
    return cut_away(shapely.box(-rounds - 0.5, -rounds - 0.5, rounds + 0.5, rounds + 0.5), cuts)


def courthouse_steps(rounds: int = 2) -> Polygons:
    """Logs sewn to a square left and right, then above and below, and so on."""
    cuts = []
    for k in range(rounds, 0, -1):
        inner = k - 0.5
        cuts += [(0, -1, inner), (0, 1, inner), (-1, 0, inner), (1, 0, inner)]
    return cut_away(shapely.box(-rounds - 0.5, -rounds - 0.5, rounds + 0.5, rounds + 0.5), cuts)


def square_in_square(rounds: int = 2) -> Polygons:
    """A square with triangles on its sides, turned by half a right angle at every round."""
    cuts: list[Cut] = []
    half = 4.0
    for k in range(rounds):
        if k % 2 == 0:
            cuts += [(a, b, half) for a in (-1, 1) for b in (-1, 1)]
            half /= 2
        else:
            cuts += [(1, 0, half), (-1, 0, half), (0, 1, half), (0, -1, half)]
    return cut_away(shapely.box(-4, -4, 4, 4), cuts)


def flying_geese(count: int = 3) -> Polygons:
    """A strip of geese: large triangles that fly one behind the other, with sky on either side."""
    patches = []
    for k in range(count):
        top, bottom = 2 * k, 2 * k + 2
        patches += [
            shapely.Polygon([(0, bottom), (2, top), (4, bottom)]),
            shapely.Polygon([(0, top), (2, top), (0, bottom)]),
            shapely.Polygon([(2, top), (4, top), (4, bottom)]),
        ]
    return patches


def pineapple(rounds: int = 3) -> Polygons:
    """A square with rounds of strips, straight and slanting in turn."""
    half = 1.0 + rounds
    cuts: list[Cut] = []
    for k in range(rounds, 0, -1):
        cuts += [(a, b, 1.3 * k + 0.9) for a in (-1, 1) for b in (-1, 1)]
        cuts += [(1, 0, float(k)), (-1, 0, float(k)), (0, 1, float(k)), (0, -1, float(k))]
    return cut_away(shapely.box(-half, -half, half, half), cuts)


def squares(columns: int, rows: int) -> Polygons:
    """Squares in columns and rows; two by two is a four patch, three by three a nine patch."""
    return [shapely.box(2 * x, 2 * y, 2 * x + 2, 2 * y + 2) for y in range(rows) for x in range(columns)]


def split_square_star() -> Polygons:
    """A star of split squares: a large square, its eight points, and squares in the corners."""
    corners = [shapely.box(x, y, x + 2, y + 2) for x in (0, 6) for y in (0, 6)]
    side = [
        shapely.Polygon([(2, 0), (2, 2), (4, 2)]),
        shapely.Polygon([(2, 0), (4, 0), (4, 2)]),
        shapely.Polygon([(4, 0), (6, 0), (4, 2)]),
        shapely.Polygon([(6, 0), (6, 2), (4, 2)]),
    ]
    points = [affinity.rotate(p, 90 * k, origin=(4, 4)) for k in range(4) for p in side]
    return [shapely.box(2, 2, 6, 6), *corners, *points]


def kaleidoscope() -> Polygons:
    """Eight wedges that meet in the middle of a square."""
    rim = [(0, 0), (3, 0), (6, 0), (6, 3), (6, 6), (3, 6), (0, 6), (0, 3)]
    return [shapely.Polygon([(3, 3), a, b]) for a, b in zip(rim, rim[1:] + rim[:1], strict=True)]


def diamond_star() -> Polygons:
    """Eight diamonds that meet in the middle, with squares in the corners and triangles at the sides."""
    side = 3.0
    spoke = [(side * math.cos(k * math.pi / 4), side * math.sin(k * math.pi / 4)) for k in range(8)]
    tip = [(a[0] + b[0], a[1] + b[1]) for a, b in zip(spoke, spoke[1:] + spoke[:1], strict=True)]
    half = side * (1 + math.sqrt(0.5))
    patches = [shapely.Polygon([(0, 0), spoke[k], tip[k], spoke[(k + 1) % 8]]) for k in range(8)]
    for k in range(0, 8, 2):
        patches.append(shapely.Polygon([spoke[k], tip[k - 1], tip[k]]))
        sx, sy = (math.copysign(half, c) for c in spoke[k + 1])
        patches.append(shapely.Polygon([spoke[k + 1], tip[k], (sx, sy), tip[k + 1]]))
    return patches


def attic_window() -> Polygons:
    """A pane with a sill and a side that meet in a mitre."""
    return [
        shapely.box(1.5, 0, 6, 4.5),
        shapely.Polygon([(0, 0), (1.5, 0), (1.5, 4.5), (0, 6)]),
        shapely.Polygon([(0, 6), (1.5, 4.5), (6, 4.5), (6, 6)]),
    ]


def _hexagon(x: float, y: float, side: float) -> list[tuple[float, float]]:
    return [
        (x + side * math.cos(math.radians(60 * k + 30)), y + side * math.sin(math.radians(60 * k + 30)))
        for k in range(6)
    ]


def tumbling_block() -> Polygons:
    """Three diamonds that look like a cube."""
    rim = _hexagon(0, 0, 3)
    return [shapely.Polygon([(0, 0), rim[k], rim[k + 1], rim[(k + 2) % 6]]) for k in (0, 2, 4)]


def hexagon_flower() -> Polygons:
    """Seven hexagons: one with six round it."""
    side = 1.5
    away = side * math.sqrt(3)
    middles = [(0.0, 0.0)] + [
        (away * math.cos(math.radians(60 * k)), away * math.sin(math.radians(60 * k))) for k in range(6)
    ]
    return [shapely.Polygon(_hexagon(x, y, side)) for x, y in middles]


def spun_rectangles() -> Polygons:
    """Four rectangles spun round a square."""
    return [
        shapely.box(2, 2, 4, 4),
        shapely.box(0, 0, 4, 2),
        shapely.box(4, 0, 6, 4),
        shapely.box(2, 4, 6, 6),
        shapely.box(0, 2, 2, 6),
    ]


def known() -> list[Polygons]:
    """Return layouts of every verdict."""
    return [
        log_cabin(2),
        pineapple(2),
        squares(3, 3),
        kaleidoscope(),
        attic_window(),
        tumbling_block(),
        spun_rectangles(),
        diamond_star(),
        hexagon_flower(),
    ]


def quarter_circle(chords: int = 12) -> Block:
    """A quarter circle set into a corner: two patches with a drawn curve between them."""
    arc = [
        (4 * math.cos(k * math.pi / 2 / chords), 4 * math.sin(k * math.pi / 2 / chords)) for k in range(chords + 1)
    ]
    vertices = [*arc, (0.0, 0.0), (6.0, 0.0), (6.0, 6.0), (0.0, 6.0)]
    last = chords
    origin, right, far, below = range(last + 1, last + 5)
    return assemble_block(
        vertices,
        [
            Face((origin, *range(last + 1))),
            Face((*range(last, -1, -1), right, far, below)),
        ],
        tolerance=0.02,
        name="quarter circle",
        curves={(k, k + 1): 1 for k in range(chords)},
    )


def at_width(layout: Polygons | Block, width: float) -> Block:
    """Return a layout as a block of a finished width."""
    block = layout if isinstance(layout, Block) else block_from_polygons(layout, tolerance=1e-5)
    factor = width / block.width
    return replace(
        block,
        width=width,
        height=block.height * factor,
        tolerance=TOLERANCE,
        junctions=tuple((x * factor, y * factor) for x, y in block.junctions),
    )

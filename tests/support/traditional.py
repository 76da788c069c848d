"""Traditional blocks, drawn anew from their geometry, in the order in which they are usually taught.

The drawings and the order are common practice in the trade, written down from memory. Sizes are in inches, y down;
all are drawn anew at any finished width.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Literal

import shapely
from shapely import affinity

from seamtree.block.model import Block
from tests.support import layouts
from tests.support.files import read
from tests.support.layouts import Polygons

Slant = Literal["/", "\\", "x"]
Point = tuple[float, float]


@dataclass(frozen=True)
class Traditional:
    """A block: its name, and how it is drawn, as patches or as the shapes of an SVG file of that width."""

    name: str
    draw: Callable[[], Polygons | Block | tuple[float, str]]

    def at_width(self, width: float) -> Block:
        """Return the block at a finished width."""
        drawn = self.draw()
        if not isinstance(drawn, tuple):
            return layouts.at_width(drawn, width)
        size, shapes = drawn
        head = (
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{size}in" height="{size}in" viewBox="0 0 {size} {size}">'
        )
        (block,) = read(f"{head}{shapes}</svg>".encode(), "svg", width=width)
        return block


# -- squares that are split -------------------------------------------------------------------------------------


def split_square(x: float, y: float, slant: Slant, side: float = 1.0) -> Polygons:
    """Return a square of two triangles, or with ``x`` of four."""
    a, b, c, d = (x, y), (x + side, y), (x + side, y + side), (x, y + side)
    middle = (x + side / 2, y + side / 2)
    corners = {
        "/": [(a, b, d), (b, c, d)],
        "\\": [(a, b, c), (a, c, d)],
        "x": [(a, b, middle), (b, c, middle), (c, d, middle), (d, a, middle)],
    }
    return [shapely.Polygon(points) for points in corners[slant]]


def grid(rows: Iterable[str]) -> Polygons:
    """Return squares in rows: ``.`` whole, ``/`` and ``\\`` of two triangles, ``x`` of four."""
    patches: Polygons = []
    for y, row in enumerate(rows):
        for x, cell in enumerate(row):
            patches += [shapely.box(x, y, x + 1, y + 1)] if cell == "." else split_square(x, y, cell)
    return patches


def four_times(quarter: Polygons, side: float) -> Polygons:
    """Return the upper left quarter of a block with three copies, each turned by a right angle more."""
    return [affinity.rotate(p, 90 * k, origin=(side, side)) for k in range(4) for p in quarter]


def rail_fence() -> Polygons:
    """Three rails in each of four squares, upright and level in turn."""
    return four_times([shapely.box(0, y, 3, y + 1) for y in range(3)], 3)


def churn_dash() -> Polygons:
    """Split squares in the corners, two rails at each side, a square in the middle."""
    rails = [shapely.box(2, 0, 4, 1), shapely.box(2, 1, 4, 2)]
    return [shapely.box(2, 2, 4, 4), *four_times([*split_square(0, 0, "/", 2), *rails], 3)]


def dutchmans_puzzle() -> Polygons:
    """Two geese in each quarter, flying round the middle."""
    goose = [
        shapely.Polygon([(0, 2), (2, 0), (4, 2)]),
        shapely.Polygon([(0, 0), (2, 0), (0, 2)]),
        shapely.Polygon([(2, 0), (4, 0), (4, 2)]),
    ]
    return four_times([*goose, *(affinity.translate(p, 0, 2) for p in goose)], 4)


def bears_paw() -> Polygons:
    """Four paws: a large square with four claws and a corner; a cross between them."""
    claws = [split_square(1, 0, "\\"), split_square(2, 0, "\\"), split_square(0, 1, "\\"), split_square(0, 2, "\\")]
    paw = [shapely.box(1, 1, 3, 3), shapely.box(0, 0, 1, 1), *(p for claw in claws for p in claw)]
    return [shapely.box(3, 3, 4, 4), *four_times([*paw, shapely.box(3, 0, 4, 3)], 3.5)]


def card_trick() -> Polygons:
    """Four cards that lie over each other: split squares at the corners, three triangles at each side."""
    side = [
        shapely.Polygon([(1, 0), (2, 0), (1, 1)]),
        shapely.Polygon([(2, 0), (2, 1), (1.5, 0.5)]),
        shapely.Polygon([(1, 1), (1.5, 0.5), (2, 1)]),
    ]
    return [*split_square(1, 1, "x"), *four_times([*split_square(0, 0, "/"), *side], 1.5)]


def kaleidoscope() -> Polygons:
    """Eight wedges in an octagon, with a triangle in each corner."""
    near = 4 * math.tan(math.pi / 8)
    rim = [(-near, -4), (near, -4), (4, -near), (4, near), (near, 4), (-near, 4), (-4, near), (-4, -near)]
    wedges = [shapely.Polygon([(0, 0), a, b]) for a, b in zip(rim, rim[1:] + rim[:1], strict=True)]
    corner = shapely.Polygon([(-4, -4), (-near, -4), (-4, -near)])
    return [*wedges, *(affinity.rotate(corner, 90 * k, origin=(0, 0)) for k in range(4))]


def storm_at_sea() -> Polygons:
    """A large square in squares, long diamonds at its sides, small squares in squares at its corners."""
    middle = [
        affinity.translate(affinity.scale(p, 0.5, 0.5, origin=(0, 0)), 4, 4) for p in layouts.square_in_square(2)
    ]
    small = [
        affinity.translate(affinity.scale(p, 0.25, 0.25, origin=(0, 0)), 1, 1) for p in layouts.square_in_square(1)
    ]
    diamond = shapely.Polygon([(2, 1), (4, 0), (6, 1), (4, 2)])
    rest = list(shapely.box(2, 0, 6, 2).difference(diamond).geoms)
    return [*middle, *four_times([*small, diamond, *rest], 4)]


def feathered_star() -> Polygons:
    """A star of split squares with a row of small split squares, its feathers, along every slanting seam."""
    point = shapely.Polygon([(4, 0), (8, 4), (4, 4)])
    feathers = 5
    wide = 4 * math.sqrt(2) / (feathers + 2)
    # The row between the slanting seam, from (4, 0) to (8, 4), and its parallel; at either end a triangle is left.
    lines = [[(0, wide), (7 * wide, wide)]]
    for k in range(1, feathers + 1):
        lines.append([(k * wide, wide), (k * wide, 0)])
        lines.append([(k * wide, wide), ((k + 1) * wide, 0)])
    lines.append([((feathers + 1) * wide, wide), ((feathers + 1) * wide, 0)])
    turned = affinity.translate(affinity.rotate(shapely.MultiLineString(lines), 45, origin=(0, 0)), 4, 0)
    inside = turned.intersection(point.buffer(1e-9))
    noded = shapely.node(shapely.set_precision(shapely.union(point.exterior, inside), 1e-7))
    half = list(shapely.polygonize([noded]).geoms)
    other = [affinity.scale(p, -1, 1, origin=(8, 0)) for p in half]
    goose = shapely.Polygon([(4, 0), (12, 0), (8, 4)])
    return [shapely.box(4, 4, 12, 12), *four_times([*half, *other, goose, shapely.box(0, 0, 4, 4)], 8)]


# -- curves -----------------------------------------------------------------------------------------------------

SKY, SAND, RED, TEAL, NAVY = "#dfe8ee", "#e2cfa4", "#a33a2c", "#2f7f86", "#1d2f4f"


def _square(x: float, y: float, side: float, colour: str) -> str:
    return f'<rect x="{x}" y="{y}" width="{side}" height="{side}" fill="{colour}"/>'


def _quarter(corner: Point, radius: float, turn: int, colour: str) -> str:
    """Return a quarter of a disc about a corner; turned by no right angle it lies to the right and below."""
    return _sector(corner, radius, 90 * turn, 90 * turn + 90, colour)


def _sector(corner: Point, radius: float, start: float, stop: float, colour: str) -> str:
    ends = [(corner[0] + radius * _cos(a), corner[1] + radius * _sin(a)) for a in (start, stop)]
    (ax, ay), (bx, by) = ends
    return (
        f'<path d="M{corner[0]} {corner[1]} L{ax:.9f} {ay:.9f} A{radius} {radius} 0 0 1 {bx:.9f} {by:.9f} Z" '
        f'fill="{colour}"/>'
    )


def _polygon(points: Iterable[Point], colour: str) -> str:
    return f'<polygon points="{" ".join(f"{x:.9f},{y:.9f}" for x, y in points)}" fill="{colour}"/>'


def _cos(degrees: float) -> float:
    return math.cos(math.radians(degrees))


def _sin(degrees: float) -> float:
    return math.sin(math.radians(degrees))


def fan() -> tuple[float, str]:
    """Six blades about a quarter of a disc, on a background."""
    blades = [_sector((0, 0), 6.5, 15 * k, 15 * k + 15, (RED, SAND, TEAL)[k % 3]) for k in range(6)]
    return 8, "".join([_square(0, 0, 8, SKY), *blades, _quarter((0, 0), 2.5, 0, NAVY)])


def beauty() -> tuple[float, str]:
    """An arc of five spikes between two curved seams, about a quarter of a disc."""
    shapes = [_square(0, 0, 8, SKY), _quarter((0, 0), 6.5, 0, SAND)]
    # Each spike goes beyond the inner curve, which is painted over it.
    for k in range(5):
        base = [(3.4 * _cos(a), 3.4 * _sin(a)) for a in (18 * k, 18 * k + 18)]
        tip = 6.5 * _cos(18 * k + 9), 6.5 * _sin(18 * k + 9)
        shapes.append(_polygon([*base, tip], RED))
    return 8, "".join([*shapes, _quarter((0, 0), 3.5, 0, TEAL)])


def four_quarters() -> tuple[float, str]:
    """Four squares, each with a quarter of a disc in its upper left corner."""
    places = [(x, y) for y in (0, 4) for x in (0, 4)]
    squares = [_square(x, y, 4, (SKY, SAND)[(x + y) // 4 % 2]) for x, y in places]
    return 8, "".join([*squares, *(_quarter(at, 2.8, 0, (NAVY, RED)[sum(at) // 4 % 2]) for at in places)])


def compass() -> tuple[float, str]:
    """A disc with sixteen points in three ranks, each of a light and a dark half, set into four quarters."""
    shapes = [_square(x, y, 4, (SKY, "#d3dde4")[(x + y) % 8 // 4]) for x in (0, 4) for y in (0, 4)]
    shapes.append(f'<circle cx="4" cy="4" r="3.5" fill="{SAND}"/>')
    ranks = (
        (22.5, 45, 1.2, 22.5, (TEAL, "#79b3b7")),
        (45, 90, 1.15, 45, (RED, "#d08a7c")),
        (0, 90, 1.1, 45, (NAVY, "#5a7096")),
    )
    for start, step, inner, half, colours in ranks:
        for at in range(360 // step):
            turn = start + step * at
            for side, colour in zip((-half, half), colours, strict=True):
                ends = [(0, 0), (3.5, 0), (inner, side)]
                shapes.append(_polygon([(4 + r * _cos(turn + a), 4 + r * _sin(turn + a)) for r, a in ends], colour))
    return 8, "".join(shapes)


TAUGHT: tuple[tuple[Traditional, ...], ...] = (
    (
        Traditional("four patch", lambda: layouts.squares(2, 2)),
        Traditional("nine patch", lambda: layouts.squares(3, 3)),
        Traditional("rail fence", rail_fence),
        Traditional("log cabin", lambda: layouts.log_cabin(3)),
        Traditional("courthouse steps", lambda: layouts.courthouse_steps(3)),
        Traditional("square in a square", lambda: layouts.square_in_square(2)),
        Traditional("flying geese", lambda: layouts.flying_geese(3)),
    ),
    (
        Traditional("pinwheel", layouts.kaleidoscope),
        Traditional("shoofly", lambda: grid(["/.\\", "...", "\\./"])),
        Traditional("friendship star", lambda: grid([".\\.", "/./", ".\\."])),
        Traditional("churn dash", churn_dash),
    ),
    (
        Traditional("sawtooth star", layouts.split_square_star),
        Traditional("Ohio star", lambda: grid([".x.", "x.x", ".x."])),
        Traditional("Dutchman's puzzle", dutchmans_puzzle),
        Traditional("card trick", card_trick),
        Traditional("kaleidoscope", kaleidoscope),
        Traditional("pineapple", lambda: layouts.pineapple(3)),
        Traditional("rectangles spun round a square", layouts.spun_rectangles),
    ),
    (
        Traditional("attic window", layouts.attic_window),
        Traditional("tumbling block", layouts.tumbling_block),
        Traditional("quarter circle", layouts.quarter_circle),
        Traditional("bear's paw", bears_paw),
        Traditional("storm at sea", storm_at_sea),
    ),
    (
        Traditional("grandmother's fan", fan),
        Traditional("four quarter circles", four_quarters),
        Traditional("seven-hexagon flower", layouts.hexagon_flower),
        Traditional("arc of spikes", beauty),
    ),
    (
        Traditional("eight-pointed diamond star", layouts.diamond_star),
        Traditional("simplified feathered star", feathered_star),
        Traditional("mariner's compass", compass),
    ),
)

"""Arrows across the seams of joins, toward the side that their allowances are pressed to."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from itertools import pairwise

import numpy as np

from seamtree.errors import Point
from seamtree.pattern.lengths import POINTS
from seamtree.pattern.pdf import Pen
from seamtree.picture import Picture, Polygon
from seamtree.picture.lettering import CAP_HEIGHT
from seamtree.picture.shapes import Text
from seamtree.planning.model import Join, Node, Plan, units_of

_ARROW = 0.17
"""Length of an arrow, inches."""

_COLOUR = "#b00020"

_SHARES = (0.36, 0.64, 0.22, 0.78, 0.5)
"""Where on the longest stretch of a seam its arrow may stand, the best first: beside the middle, where signs are."""

_CLEAR = 0.03
"""Inches between an arrow and a name, if there is room for them."""


def draw_press_arrow(pen: Pen, plan: Plan, join: Join, picture: Picture, corner: Point) -> None:
    """Draw the arrow of a join on its picture.

    Parameters
    ----------
    pen
        Of the page.
    plan, join
        The plan, and the join that the picture shows.
    picture, corner
        The picture, and where its top left corner lies on the page (inches).
    """
    junctions = plan.block.junctions
    place = _placing(plan, join, picture, corner)
    longest = max(
        pairwise(join.seam.path), key=lambda pair: (math.dist(junctions[pair[0]], junctions[pair[1]]), pair)
    )
    edge = next(edge for edge in plan.block.edges if {edge.start, edge.end} == set(longest))
    a, b = place(junctions[edge.start]), place(junctions[edge.end])
    length = math.dist(a, b)
    side = 1.0 if edge.left in set(_patches(join.parts[join.press])) else -1.0
    across = side * (b[1] - a[1]) / length, side * (a[0] - b[0]) / length  # to the left, for y runs down
    names = [
        ((corner[0] + x / POINTS, corner[1] + (y - CAP_HEIGHT * size / 2) / POINTS), size * len(name) / 2.6 / POINTS)
        for (x, y), size, name in (
            (shape.at, shape.size, shape.text) for shape in picture.shapes() if isinstance(shape, Text)
        )
    ]
    _arrow(pen, find_foot(a, b, across, names), across)


def find_foot(a: Point, b: Point, across: Point, names: Sequence[tuple[Point, float]]) -> Point:
    """Return where on a stretch of a seam an arrow stands best.

    Parameters
    ----------
    a, b
        Ends of the stretch, inches.
    across
        Which way the arrow points, of length 1.
    names
        Middle of every name that it must not cover, and how far the letters reach from there.
    """

    def clear(foot: Point) -> float:
        steps = [
            (foot[0] + across[0] * _ARROW * t, foot[1] + across[1] * _ARROW * t) for t in (-0.35, 0, 0.35, 0.7, 1)
        ]
        return min((math.dist(at, name) - reach for at in steps for name, reach in names), default=math.inf)

    feet = [(a[0] + share * (b[0] - a[0]), a[1] + share * (b[1] - a[1])) for share in _SHARES]
    return next((foot for foot in feet if clear(foot) >= _ARROW * 0.32 + _CLEAR), max(feet, key=clear))


def _placing(plan: Plan, join: Join, picture: Picture, corner: Point) -> Callable[[Point], Point]:
    """Return the function that leads from places in the block to places on the page.

    The patches are found in the picture again, for the picture alone knows its scale and its margins.
    """
    layer = next(layer for layer in picture.layers if layer.name == "units")
    drawn = [at for shape in layer.shapes if isinstance(shape, Polygon) for at in shape.points]
    meant = [at for part in join.parts for p in _patches(part) for at in plan.block.polygon(p)]
    (left, top), (right, _) = np.min(drawn, axis=0), np.max(drawn, axis=0)
    (from_left, from_top), (from_right, _) = np.min(meant, axis=0), np.max(meant, axis=0)
    scale = (right - left) / (from_right - from_left)

    def place(at: Point) -> Point:
        x, y = left + scale * (at[0] - from_left), top + scale * (at[1] - from_top)
        return corner[0] + x / POINTS, corner[1] + y / POINTS

    return place


def _patches(part: Node) -> Iterator[int]:
    for unit in units_of(part):
        yield from unit.patches


def _arrow(pen: Pen, foot: Point, across: Point) -> None:
    """Draw an arrow with a white edge from just before a seam."""

    def at(along: float, beside: float) -> Point:
        return foot[0] + across[0] * along - across[1] * beside, foot[1] + across[1] * along + across[0] * beside

    shaft = [at(-_ARROW * 0.35, 0), at(_ARROW * 0.7, 0)]
    head = [at(_ARROW, 0), at(_ARROW * 0.45, _ARROW * 0.32), at(_ARROW * 0.45, -_ARROW * 0.32)]
    for weight, colour in ((3.4, "#ffffff"), (1.4, _COLOUR)):
        with pen.style(weight=weight, colour=colour, fill=colour):
            pen.lines([shaft])
            pen.polygon(head, stroke=weight > 2, fill=True)

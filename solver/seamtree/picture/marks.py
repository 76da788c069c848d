"""The signs for hard corners and matched points: four different outlines, so that no colour is needed."""

from __future__ import annotations

import math
from typing import Literal

from seamtree.errors import Point
from seamtree.picture.shapes import Disc, Lines, Polygon, Shape

MarkKind = Literal["set-in", "partial", "curved", "matched"]

MARK_WORDS: dict[MarkKind, str] = {
    "set-in": "set-in corner: stop and pivot",
    "partial": "partial seam: sewn in two goes",
    "curved": "curved seam: ease the cloth round",
    "matched": "matched point: seams must meet",
}
"""What the legend says, in the order of the legend."""

BLACK, WHITE = "#000000", "#ffffff"


def draw_mark(kind: MarkKind, at: Point, radius: float) -> tuple[Shape, ...]:
    """Return the sign for a place.

    Parameters
    ----------
    kind
        A solid triangle for a set-in corner, a half-filled square for a partial seam, a ring with a wave for a curved
        one, an open diamond for a matched point.
    at
        The place (points of the picture).
    radius
        The sign lies within this distance of it (points), a thin white edge included.
    """
    x, y = at
    edge = 0.18 * radius
    if kind == "set-in":
        corners = tuple(
            (x + 0.9 * radius * math.sin(turn), y - 0.9 * radius * math.cos(turn))
            for turn in (0.0, math.tau / 3, 2 * math.tau / 3)
        )
        return (Polygon(corners, BLACK, WHITE, edge),)
    if kind == "partial":
        half = 0.62 * radius
        square = ((x - half, y - half), (x + half, y - half), (x + half, y + half), (x - half, y + half))
        return (
            Polygon(square, WHITE, WHITE, 3 * edge),
            Polygon(square, WHITE, BLACK, edge),
            Polygon((square[0], square[1], square[3]), BLACK),
        )
    if kind == "curved":
        wave = tuple((x + 0.55 * radius * t / 8, y - 0.3 * radius * math.sin(math.pi * t / 8)) for t in range(-8, 9))
        return (
            Disc(at, 0.9 * radius, WHITE),
            Disc(at, 0.75 * radius, WHITE, BLACK, edge),
            Lines((wave,), BLACK, edge),
        )
    reach = 0.72 * radius
    diamond = ((x, y - reach), (x + reach, y), (x, y + reach), (x - reach, y))
    return (Polygon(diamond, WHITE, WHITE, 2.5 * edge), Polygon(diamond, WHITE, BLACK, edge))

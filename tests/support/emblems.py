"""Motifs on a background, as designers draw them: no seam of the background is there."""

from __future__ import annotations

from collections.abc import Sequence

from seamtree.block.build import build_sketches
from seamtree.block.sketch import Sketch
from seamtree.drawing.svg.read import read_svg

Corners = Sequence[tuple[float, float]]

FABRICS = ("#c8102e", "#1f3a5f", "#ddcc99")

SQUARE = [(2, 2), (6, 2), (6, 6), (2, 6)]
TRIANGLE = [(2, 2), (6, 3), (3, 6)]
CROSS = [(3, 1), (5, 1), (5, 3), (7, 3), (7, 5), (5, 5), (5, 7), (3, 7), (3, 5), (1, 5), (1, 3), (3, 3)]
EDGE_TO_EDGE = [(3, 0), (5, 0), (5, 3), (8, 3), (8, 5), (5, 5), (5, 8), (3, 8), (3, 5), (0, 5), (0, 3), (3, 3)]


def svg(*shapes: Corners, more: str = "") -> str:
    """Return shapes on a background of 8 by 8 in as SVG."""
    paths = "".join(
        f'<path fill="{FABRICS[n % 3]}" d="M {" L ".join(f"{x} {y}" for x, y in shape)} Z"/>'
        for n, shape in enumerate(shapes)
    )
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" width="8in" height="8in" viewBox="0 0 8 8">'
        f'<rect width="8" height="8" fill="#87ceeb"/>{paths}{more}</svg>'
    )


def sketch(*shapes: Corners, more: str = "") -> Sketch:
    """Return shapes on a background as they are drawn."""
    data = svg(*shapes, more=more).encode()
    (made,) = build_sketches(read_svg(data, source="emblem.svg"))
    return made

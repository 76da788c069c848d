"""Polygons written as drawings in every format that is read, at any size, place and angle, and precision."""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

import shapely
from shapely import affinity

from seamtree.block.build import build_blocks
from seamtree.block.model import Block
from seamtree.drawing.drawn import Drawing
from seamtree.drawing.geojson import read_geojson
from seamtree.drawing.svg.read import read_svg
from seamtree.drawing.wkt import read_wkt
from seamtree.tolerances import PX_PER_INCH

Format = Literal["svg", "geojson", "wkt"]
Corners = Sequence[tuple[float, float]]

FABRICS = ("#aa3344", "#335577", "#ddcc99")


@dataclass(frozen=True)
class Placing:
    """How polygons are laid on the page.

    Parameters
    ----------
    width
        Inches across before turning.
    angle
        Degrees.
    offset
        Where the middle of the drawing lies, inches.
    decimals
        Of all coordinates.
    """

    width: float = 8.0
    angle: float = 0.0
    offset: tuple[float, float] = (0.0, 0.0)
    decimals: int = 15

    def place(self, polygons: Iterable[shapely.Polygon]) -> list[Corners]:
        """Return the corners of every polygon, not yet rounded."""
        shapes = shapely.GeometryCollection(list(polygons))
        left, top, right, bottom = shapes.bounds
        factor = self.width / (right - left)
        middle = ((left + right) / 2, (top + bottom) / 2)
        shapes = affinity.translate(shapes, -middle[0], -middle[1])
        shapes = affinity.rotate(affinity.scale(shapes, factor, factor, origin=(0, 0)), self.angle, origin=(0, 0))
        moved = affinity.translate(shapes, *self.offset)
        return [list(p.exterior.coords)[:-1] for p in moved.geoms]


def write(outlines: Sequence[Corners], form: Format, *, decimals: int = 15) -> bytes:
    """Write patches as a file; SVG in px, the others in inches."""

    def number(value: float) -> str:
        return f"{value:.{decimals}f}"

    if form == "svg":
        shapes = [
            f'<polygon fill="{FABRICS[k % 3]}" points="{" ".join(f"{number(x)},{number(y)}" for x, y in ring)}"/>'
            for k, ring in enumerate(outlines)
        ]
        body = "\n".join(shapes)
        return (
            f'<svg xmlns="http://www.w3.org/2000/svg"><g transform="scale({PX_PER_INCH})">{body}</g></svg>'.encode()
        )
    closed = [[*ring, ring[0]] for ring in outlines]
    if form == "wkt":
        rings = ", ".join("((" + ", ".join(f"{number(x)} {number(y)}" for x, y in ring) + "))" for ring in closed)
        return f"MULTIPOLYGON ({rings})".encode()
    features = [
        {
            "type": "Feature",
            "properties": {"fabric": FABRICS[k % 3]},
            "geometry": {
                "type": "Polygon",
                "coordinates": [[[round(x, decimals), round(y, decimals)] for x, y in ring]],
            },
        }
        for k, ring in enumerate(closed)
    ]
    return json.dumps({"type": "FeatureCollection", "features": features}).encode()


def parse(data: bytes, form: Format, *, tolerance: float = 0.02, width: float | None = None) -> Drawing:
    """Parse a file that is in memory."""
    if form == "svg":
        return read_svg(data, source="t.svg", tolerance=tolerance, width=width)
    reader = read_geojson if form == "geojson" else read_wkt
    return reader(data, source=f"t.{form}", width=width)


def read(data: bytes, form: Format, *, tolerance: float = 0.02, width: float | None = None) -> tuple[Block, ...]:
    """Read the blocks of a file that is in memory."""
    return build_blocks(parse(data, form, tolerance=tolerance, width=width), tolerance=tolerance)

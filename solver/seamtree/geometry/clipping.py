"""Lines cut off where an area ends."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import shapely
from shapely.geometry.base import BaseGeometry

from seamtree.errors import Point


def pieces_inside(line: Sequence[Point], area: BaseGeometry, *, least: float = 0.0) -> Iterator[list[Point]]:
    """Yield the pieces of a line that lie inside an area and are longer than `least`, each as its points."""
    inside = shapely.intersection(shapely.LineString(line), area)
    whole = shapely.line_merge(inside) if inside.geom_type == "MultiLineString" else inside
    for piece in shapely.get_parts(whole):
        if piece.geom_type == "LineString" and piece.length > least:
            yield [(x, y) for x, y in piece.coords]

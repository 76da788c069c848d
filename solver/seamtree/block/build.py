"""From drawings and polygons to blocks."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

import numpy as np
import shapely

from seamtree.block.assemble import Face, assemble_block
from seamtree.block.model import Block


def block_from_polygons(
    polygons: Iterable[Any],
    *,
    fabrics: Sequence[str | None] | None = None,
    labels: Sequence[str | None] | None = None,
    tolerance: float,
    name: str,
) -> Block:
    """Build a block from polygons that lie side by side."""
    shapes = [shapely.geometry.shape(p) if isinstance(p, dict) else shapely.Polygon(p) for p in polygons]
    lines = shapely.union_all([s.exterior for s in shapes], grid_size=1e-7)
    faces = shapely.get_parts(shapely.polygonize([lines]))
    tree = shapely.STRtree(shapes)
    owner = dict(zip(*tree.query(shapely.point_on_surface(faces), predicate="within"), strict=True))
    vertices: dict[tuple[float, float], int] = {}
    made = []
    for k, face in enumerate(faces):
        ring = tuple(
            vertices.setdefault((float(x), float(y)), len(vertices))
            for x, y in np.round(shapely.get_coordinates(face.exterior)[:-1], 9)
        )
        which = int(owner[k])
        made.append(Face(ring, fabrics[which] if fabrics else None, labels[which] if labels else None))
    return assemble_block(list(vertices), made, tolerance=tolerance, name=name)

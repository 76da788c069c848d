"""From chosen seams back to a block, and whether a drawing of it would be read as the same block."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace

import numpy as np
import shapely

from seamtree.block.assemble import Face, assemble_block
from seamtree.block.build import block_from_polygons
from seamtree.block.cover import inner_points
from seamtree.block.faces import Faces
from seamtree.block.model import Block
from seamtree.block.sketch import Sketch
from seamtree.errors import DrawingError, Point
from seamtree.mending.arrangement import Arrangement, Pair

Ring = tuple[int, ...]

SLIP = 0.15
"""What is narrower than this was hardly meant, inches: a slip of the hand never becomes a patch."""


def redraw(arrangement: Arrangement, added: Collection[int]) -> Block | None:
    """Return a drawing with seams added; None if a patch still floats, touches itself or is a sliver.

    Parameters
    ----------
    arrangement
        The drawing and what may be added.
    added
        Edges that are added.
    """
    sketch = arrangement.sketch
    present = [k for k, drawn in enumerate(arrangement.drawn) if drawn or k in added]
    faces = arrangement.faces(present)
    if faces.islands or len(faces.dangling) or len(faces.parting_nothing):
        return None
    if any(len(set(ring)) < len(ring) for ring in faces.rings):
        return None
    if shapely.is_empty(shapely.buffer(faces.polygons, -sketch.tolerance)).any():
        return None
    if _has_new_slivers(sketch, faces):
        return None
    middles = inner_points(faces.polygons, tolerance=sketch.tolerance)
    areas = np.array([area.shape for area in sketch.areas], dtype=object)
    face, area = shapely.STRtree(areas).query(shapely.points(middles), predicate="intersects")
    owner = dict(zip(face[::-1].tolist(), area[::-1].tolist(), strict=True))
    largest: dict[int, int] = {}
    for f in sorted(owner, key=lambda f: -faces.areas[f]):
        largest.setdefault(owner[f], f)
    if len(owner) < len(faces.rings):
        return None
    curves = {arrangement.edges[k]: c for k, c in enumerate(arrangement.curves) if c is not None}
    made = assemble_block(
        arrangement.points,
        [
            Face(
                ring, sketch.areas[owner[f]].fabric, sketch.areas[owner[f]].label if largest[owner[f]] == f else None
            )
            for f, ring in enumerate(faces.rings)
        ],
        tolerance=sketch.tolerance,
        name=sketch.name,
        curves=curves,
        notes=sketch.notes,
    )
    return replace(made, markings=sketch.markings, fabric_names=sketch.fabric_names)


def _has_new_slivers(sketch: Sketch, faces: Faces) -> bool:
    """Tell whether a patch is so narrow that only a slip of the hand can have made it, and was not drawn so."""
    narrow = np.flatnonzero(shapely.is_empty(shapely.buffer(faces.polygons, -SLIP / 2)))
    known = [round(float(area.shape.area), 4) for area in sketch.areas]
    return any(round(float(faces.areas[f]), 4) not in known for f in narrow.tolist())


def reads_back(block: Block) -> bool:
    """Tell whether a drawing of the patches, read again, has the same patches, seams and lines."""
    try:
        again = block_from_polygons(
            [block.polygon(p) for p in range(len(block.patches))], tolerance=block.tolerance, name=block.name
        )
    except DrawingError:
        return False
    return (len(again.patches), len(again.edges)) == (len(block.patches), len(block.edges))


def assemble(block: Block, points: Sequence[Point], faces: Sequence[Face], curves: Mapping[Pair, int]) -> Block:
    """Put a changed block together.

    Parameters
    ----------
    block
        The block before; its name, tolerance, notes, markings and names of fabrics stay.
    points, faces, curves
        See `seamtree.block.assemble.assemble_block`.
    """
    made = assemble_block(points, faces, tolerance=block.tolerance, name=block.name, curves=curves, notes=block.notes)
    return replace(made, markings=block.markings, fabric_names=block.fabric_names)

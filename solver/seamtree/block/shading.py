"""What see-through paint lies over: it is no patch, and it is told what it covers."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from seamtree.block.faces import Faces
from seamtree.block.model import Block
from seamtree.block.paint import Painting, filled_regions
from seamtree.block.places import place
from seamtree.drawing.drawn import Shading
from seamtree.errors import Finding, Point
from seamtree.remedies import SKIP_LAYERS
from seamtree.tolerances import OPAQUE
from seamtree.words import count

_LEAST_COMMON = 0.5
"""Shading has at least this share of its own area, or of all patches, in common with the patches."""


@dataclass(frozen=True, slots=True)
class Shade:
    """See-through paint in the frame of the drawing's top left corner.

    Parameters
    ----------
    shading
        As it was read.
    whole, seen
        Its area, and what of that is not hidden by what was painted later.
    """

    shading: Shading
    whole: shapely.Geometry
    seen: shapely.Geometry


def find_shades(painting: Painting) -> list[Shade]:
    """Return the see-through paint of a drawing, as far as it has any area that is seen."""
    shadings = painting.drawing.shadings
    if not shadings:
        return []
    shapes = [shading.shape for shading in shadings]
    points = np.array([point for shape in shapes for track in shape.tracks for point in track.points])
    regions = filled_regions(shapes, points - painting.corner)
    fills = painting.fills
    tree = shapely.STRtree(fills.regions)
    shades = []
    for region, k in zip(regions.regions, regions.shape.tolist(), strict=True):
        near = tree.query(region, predicate="intersects")
        later = near[fills.shape[near] >= shadings[k].above]
        seen = shapely.difference(region, shapely.union_all(fills.regions[later])) if len(later) else region
        if seen.area > 0.0:
            shades.append(Shade(shadings[k], region, seen))
    return shades


def lone_shades(shades: Sequence[Shade], faces: Faces) -> Iterator[Finding]:
    """Name see-through paint that lies beside the patches: whoever drew it may have meant a patch."""
    if not shades or not len(faces.polygons):
        return
    tree = shapely.STRtree(faces.polygons)
    total = float(faces.areas.sum())
    for shade in shades:
        near = tree.query(shade.whole, predicate="intersects")
        common = float(shapely.area(shapely.intersection(faces.polygons[near], shade.whole)).sum())
        if common < _LEAST_COMMON * min(shade.whole.area, total):
            at = _inside(shade.seen)
            shape = shade.shading.shape
            message = (
                f"The fill of {shape.name} at {place(at)} is {shade.shading.veil}, so it is shading and no patch, "
                f"but nothing lies under it. Make it at least {OPAQUE:.0%} opaque if it is a patch; if a shadow "
                f"or a glow, leave its layer out with {SKIP_LAYERS}."
            )
            yield Finding("see-through-patch", message, at, remedies=(SKIP_LAYERS,))


def shading_notes(shades: Sequence[Shade], block: Block, corner: Point) -> Iterator[Finding]:
    """Say which see-through paint was left out and what of a block it covers.

    Parameters
    ----------
    shades
        All of the drawing.
    block
        The block.
    corner
        Its top left corner in the frame of the shades.
    """
    if not shades:
        return
    polygons = shapely.polygons([shapely.linearrings(block.polygon(p)) for p in range(len(block.patches))])
    tree = shapely.STRtree(polygons)
    for shade in shades:
        seen = shapely.transform(shade.seen, lambda at: at - np.array(corner))
        # What reaches into a patch by less than cloth can tell does not cover it.
        core = shapely.buffer(seen, -block.tolerance)
        near = np.sort(tree.query(core, predicate="intersects"))
        covered = near[shapely.area(shapely.intersection(polygons[near], core)) > 0.0].tolist()
        if not covered and not shapely.intersects(seen, shapely.box(0.0, 0.0, block.width, block.height)):
            continue  # it belongs to another block
        shape = shade.shading.shape
        at = _inside(shapely.intersection(polygons[covered[0]], core) if covered else seen)
        message = (
            f"The fill of {shape.name} is {shade.shading.veil}: shading and no patch, so it is left out. It covers "
            f"{count(len(covered), 'patch', 'patches')}, at {place(at)}."
        )
        yield Finding("shading-left-out", message, at, tuple(map(str, covered)))


def _inside(area: shapely.Geometry) -> Point:
    x, y = shapely.get_coordinates(shapely.point_on_surface(area))[0].tolist()
    return x, y

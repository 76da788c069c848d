"""Hatching as plain lines, cut to shape and left out where something is written."""

from __future__ import annotations

import math

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from seamtree.errors import Point
from seamtree.picture.shapes import Lines
from seamtree.picture.tints import Hatching, Tint

Path = tuple[Point, ...]

_ANGLES: dict[Hatching, tuple[float, ...]] = {
    "none": (),
    "rising": (-45.0,),
    "falling": (45.0,),
    "steep": (-72.0,),
    "crossed": (-60.0, 60.0),
    "dotted": (-30.0,),
}
"""Directions of the lines in degrees from the x axis towards y; none is level or upright, as most seams are."""

_DOT = 0.02
"""Length of the stroke that its round ends make a dot; some printers leave out strokes of no length."""


def hatch(
    area: BaseGeometry, tint: Tint, *, spacing: float, weight: float, leave: BaseGeometry | None
) -> list[Lines]:
    """Return the hatching of an area.

    Parameters
    ----------
    area
        What is hatched (points of the picture). Lines of one tint are in step all over the picture.
    tint
        Which hatching, and its colour.
    spacing, weight
        Of the lines (points).
    leave
        Where there is to be none; None for nowhere.
    """
    if tint.hatching == "none" or area.is_empty:
        return []
    free = area if leave is None else shapely.difference(area, leave)
    parts = [part for part in shapely.get_parts(free) if not part.is_empty]
    if tint.hatching == "dotted":
        weight *= 2.4
        paths = [dot for part in parts for dot in _dots(part, spacing=1.2 * spacing, radius=weight / 2)]
    else:
        paths = [
            path for part in parts for angle in _ANGLES[tint.hatching] for path in _strokes(part, angle, spacing)
        ]
    return [Lines(tuple(paths), tint.ink, weight)] if paths else []


def _strokes(area: BaseGeometry, angle: float, spacing: float) -> list[Path]:
    """Return parallel lines inside an area."""
    along = np.array((math.cos(math.radians(angle)), math.sin(math.radians(angle))))
    across = np.array((-along[1], along[0]))
    corners = shapely.get_coordinates(area)
    low, high = (corners @ along).min() - 1, (corners @ along).max() + 1
    rows = np.arange(
        math.ceil((corners @ across).min() / spacing), math.floor((corners @ across).max() / spacing) + 1
    )
    bases = rows[:, None] * spacing * across
    lines = shapely.linestrings(np.stack([bases + low * along, bases + high * along], axis=1))
    pieces = shapely.get_parts(shapely.get_parts(shapely.intersection(lines, area)))
    pieces = pieces[(shapely.get_type_id(pieces) == shapely.GeometryType.LINESTRING) & (shapely.length(pieces) > 0.3)]
    ends = (shapely.get_coordinates(shapely.get_point(pieces, end)).tolist() for end in (0, -1))
    return [((a, b), (c, d)) for (a, b), (c, d) in zip(*ends, strict=True)]


def _dots(area: BaseGeometry, *, spacing: float, radius: float) -> list[Path]:
    """Return a grid of dots that is turned a little; none touches the boundary of the area."""
    turn = math.radians(_ANGLES["dotted"][0])
    axes = np.array(((math.cos(turn), math.sin(turn)), (-math.sin(turn), math.cos(turn)))) * spacing
    core = shapely.buffer(area, -1.5 * radius)
    if core.is_empty:
        return []
    steps = shapely.get_coordinates(core) @ np.linalg.inv(axes)
    low, high = np.floor(steps.min(axis=0)).astype(int), np.ceil(steps.max(axis=0)).astype(int)
    grid = np.stack(np.meshgrid(*map(np.arange, low, high + 1), indexing="ij"), axis=-1).reshape(-1, 2) @ axes
    shapely.prepare(core)
    dots = grid[shapely.contains_xy(core, grid[:, 0], grid[:, 1])]
    return [((x, y), (x + _DOT, y)) for x, y in dots.tolist()]

"""Which fills lie over which faces."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely

from seamtree.block.faces import Faces
from seamtree.block.noding import Floats, Geometries, Ints
from seamtree.block.paint import Fills

NOTHING = -1
"""Stands for the shape where no fill lies over a face."""


@dataclass(frozen=True, slots=True)
class Cover:
    """What lies over the faces.

    Parameters
    ----------
    middles
        A point well inside of each face, inches; shape (n, 2).
    top
        Index of the topmost filled shape over each face, `NOTHING` where there is none.
    pairs
        Rows of a face and a shape, for every fill over every face; sorted.
    """

    middles: Floats
    top: Ints
    pairs: Ints

    @property
    def mostly_filled(self) -> bool:
        """Whether more than half of the faces are filled, so that a face without fill is worth a remark."""
        return 2 * int((self.top == NOTHING).sum()) < len(self.top)


def find_cover(faces: Faces, fills: Fills, *, tolerance: float) -> Cover:
    """Find the fills over the middle of each face."""
    middles = inner_points(faces.polygons, tolerance=tolerance)
    top = np.full(len(faces.polygons), NOTHING)
    if not len(fills) or not len(top):
        return Cover(middles, top, np.empty((0, 2), dtype=np.int64))
    face, region = shapely.STRtree(fills.regions).query(shapely.points(middles))
    inside = shapely.contains_xy(fills.regions[region], middles[face])
    face, shape = face[inside], fills.shape[region[inside]]
    np.maximum.at(top, face, shape)
    order = np.lexsort((shape, face))
    return Cover(middles, top, np.column_stack([face, shape])[order])


def inner_points(polygons: Geometries, *, tolerance: float) -> Floats:
    """Return a point inside of each polygon, farther from its boundary than the tolerance where that is possible."""
    points = shapely.point_on_surface(polygons)
    near = shapely.distance(points, shapely.boundary(polygons)) < 2 * tolerance
    if near.any():
        circles = shapely.maximum_inscribed_circle(polygons[near], tolerance=tolerance / 10)
        points[near] = shapely.get_point(circles, 0)
    found: Floats = shapely.get_coordinates(points)
    return found

"""Where a rectangle reaches whose middle is carried along the boundary of an area."""

from __future__ import annotations

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry


def sides_of(area: BaseGeometry) -> NDArray[np.float64]:
    """Return the sides of an area: an array of shape (sides, 2 ends, 2 coordinates)."""
    points, ring = shapely.get_coordinates(shapely.get_rings(shapely.get_parts(area)), return_index=True)
    together = ring[:-1] == ring[1:]
    return np.stack([points[:-1][together], points[1:][together]], axis=1)


def swept(sides: NDArray[np.float64], w: float, h: float) -> BaseGeometry:
    """Return what a rectangle of 2 w by 2 h covers whose middle runs along sides (see `sides_of`).

    It is the Minkowski sum of the two: side by side the convex hull of the rectangle at both ends.
    """
    corners = np.array([(-w, -h), (w, -h), (w, h), (-w, h)])
    covered = shapely.convex_hull(shapely.multipoints((sides[:, :, None, :] + corners).reshape(len(sides), 8, 2)))
    return shapely.union_all(covered)

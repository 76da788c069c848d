"""How wide a patch is: the diameter of the largest circle in it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import combinations

import numpy as np
import numpy.typing as npt
import shapely
from shapely.geometry.polygon import orient

from seamtree.errors import Point

_MOST_SIDES = 32
"""Convex patches with more sides, which are drawn curves, are measured like those with inward corners."""

_CIRCLE_SHARE = 1e-5
"""The largest circle in any other patch is found within this share of the size of the patch."""

_STRAIGHT_SHARE = 1e-3
"""A corner that turns inward by less than this share of the size of the patch is one by rounding, and left out."""

Floats = npt.NDArray[np.float64]


def width_of(corners: Sequence[Point]) -> float:
    """Return the diameter of the largest circle in a patch, inches.

    Parameters
    ----------
    corners
        Corners of the patch in turn, inches.
    """
    polygon = shapely.Polygon(corners)
    size = math.sqrt(polygon.area)
    hull = orient(polygon.convex_hull)
    at = np.array(hull.exterior.coords[:-1])
    inward = shapely.hausdorff_distance(polygon.exterior, hull.exterior)
    if len(at) <= _MOST_SIDES and inward <= _STRAIGHT_SHARE * size:
        return _convex_width(at, np.roll(at, -1, axis=0) - at)
    return 2.0 * float(shapely.maximum_inscribed_circle(polygon, tolerance=_CIRCLE_SHARE * size).length)


def _convex_width(at: Floats, sides: Floats) -> float:
    """Return the width of a convex patch.

    The largest circle is the answer of a linear programme in its middle and radius. By duality its radius is the
    least weighted mean of the distances of three sides, over all three whose outward normals have a weighted mean of
    zero.
    """
    normals = np.column_stack((sides[:, 1], -sides[:, 0])) / np.hypot(sides[:, 0], sides[:, 1])[:, None]
    away = np.sum(normals * (at - at.mean(axis=0)), axis=1)
    threes = np.array(list(combinations(range(len(at)), 3)))
    a, b, c = (normals[threes[:, n]] for n in range(3))
    weights = np.column_stack((_cross(b, c), _cross(c, a), _cross(a, b)))
    total = weights.sum(axis=1)
    closed = np.all(weights * np.sign(total)[:, None] >= -1e-12, axis=1) & (np.abs(total) > 1e-12)
    radii = np.sum(weights[closed] * away[threes[closed]], axis=1) / total[closed]
    return 2.0 * float(radii.min())


def _cross(one: Floats, other: Floats) -> Floats:
    return one[:, 0] * other[:, 1] - one[:, 1] * other[:, 0]

"""Dashed lines as their dashes."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from seamtree.errors import Point

DASH = 2.5
"""Length of a dash, and of a gap, by the unit of a picture."""


def dashed(line: BaseGeometry, dash: float) -> Iterator[tuple[Point, ...]]:
    """Yield the dashes of a line, as long as the gaps between them; it begins and ends with a dash.

    Parameters
    ----------
    line
        A line string; nothing, and what has no length, has no dashes.
    dash
        How long a dash is at most (points); all are of one length.
    """
    corners = shapely.get_coordinates(line)
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(corners, axis=0).T))])
    if len(corners) < 2 or along[-1] == 0:
        return
    number = max(1, math.ceil((along[-1] / dash + 1) / 2))
    ends = np.linspace(0.0, along[-1], 2 * number)
    places = np.column_stack([np.interp(ends, along, corners[:, axis]) for axis in (0, 1)])
    first, last = np.searchsorted(along, ends[0::2], side="right"), np.searchsorted(along, ends[1::2], side="left")
    for n in range(number):
        passed = corners[first[n] : last[n]]
        yield tuple((x, y) for x, y in np.vstack([places[2 * n], passed, places[2 * n + 1]]).tolist())

"""Narrow slots in an outline: gaps between patches that are open to the outside."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import shapely

from seamtree.block.noding import Floats

_DEEP = 2.0
"""A slot is at least this many times as deep as its mouth is wide; what is shallower is a corner of the outline."""

_LEAST_TURN = 0.26
"""An outline that turns by less than this (radians, 15 degrees) has no corner there at which a slot could begin."""


def find_slots(ring: Floats, *, width: float) -> list[shapely.Polygon]:
    """Find the places where an outline runs close to itself on the outside.

    Parameters
    ----------
    ring
        Corners of the outline in turn, shape (n, 2), the outside on the left hand if y pointed up.
    width
        Slots are narrower than this everywhere, inches.

    Returns
    -------
    list of Polygon
        The slots, each once.
    """
    found: list[shapely.Polygon] = []
    for slot in sorted(_pockets(ring, width), key=lambda slot: (-slot.area, slot.bounds)):
        middle = shapely.point_on_surface(slot)
        if not any(shapely.intersects(other, middle) for other in found):
            found.append(slot)
    return found


def _pockets(ring: Floats, width: float) -> Iterator[shapely.Polygon]:
    """Yield what lies between corners of an outline and the sides near them."""
    count = len(ring)
    step = np.roll(ring, -1, axis=0) - ring
    length = np.hypot(*step.T)
    before = np.roll(step, 1, axis=0)
    turn = np.arctan2(before[:, 0] * step[:, 1] - before[:, 1] * step[:, 0], (before * step).sum(axis=1))
    corners = np.flatnonzero(turn < -_LEAST_TURN)
    sides = shapely.linestrings(np.stack([ring, ring + step], axis=1))
    corner, side = shapely.STRtree(sides).query(shapely.points(ring[corners]), predicate="dwithin", distance=width)
    corner = corners[corner]
    apart = (side != corner) & (side != (corner - 1) % count)
    corner, side = corner[apart], side[apart]
    share = np.clip(((ring[corner] - ring[side]) * step[side]).sum(axis=1) / length[side] ** 2, 0.0, 1.0)
    foot = ring[side] + share[:, None] * step[side]
    mouth = np.hypot(*(foot - ring[corner]).T)
    at = np.append(0.0, np.cumsum(length))
    ahead = (at[side] + share * length[side] - at[corner]) % at[-1]
    for forward in (True, False):
        way = ahead if forward else at[-1] - ahead
        deep = (way > 2 * _DEEP * mouth) & (mouth > 0.0)
        for c, s, f, m in zip(corner[deep], side[deep], foot[deep], mouth[deep], strict=True):
            steps = (s - c) % count if forward else (c - s - 1) % count
            first = c + 1 if forward else s + 1
            chain = ring[np.arange(first, first + steps) % count]
            slot = np.array([ring[c], *chain, f]) if forward else np.array([f, *chain, ring[c]])
            yield from _narrow(slot, float(m), width)


def _narrow(corners: Floats, mouth: float, width: float) -> Iterator[shapely.Polygon]:
    """Yield the polygon if it is a slot."""
    if len(corners) < 3:
        return
    x, y = corners.T
    if (x * np.roll(y, -1) - y * np.roll(x, -1)).sum() <= 0.0:
        return
    slot = shapely.Polygon(corners)
    # The mouth leads from the last corner back to the first.
    depth = shapely.distance(shapely.points(corners), shapely.LineString(corners[[0, -1]])).max()
    if depth >= _DEEP * mouth and slot.is_valid and shapely.is_empty(shapely.buffer(slot, -width / 2)):
        yield slot

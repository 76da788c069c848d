"""Narrow slots in an outline: gaps between patches that are open to the outside."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import shapely

from seamtree.block.noding import Floats

_DEEP = 2.0
"""A slot is at least this many times as deep as its mouth is wide; what is shallower is a corner of the outline."""

_LEAST_TURN = 0.26
"""An outline that turns by less than this (radians, 15 degrees) has no corner there at which a slot could begin."""

_ROUNDING = 1e-10
"""An area is off by less than this share of all that were summed up on the way to it."""

_SPARE = 1.1
"""More than 1, as a shape that is shrunk is simplified by a hundredth of that first."""

_AT_ONCE = 64
"""Corners that are looked at together, so that the pairs of corners and sides fit into memory."""


@dataclass(frozen=True, slots=True)
class _Pocket:
    """What a straight mouth cuts off on the outside of an outline.

    Parameters
    ----------
    first, steps
        The corners of the outline along it: so many from this one on.
    corners
        Ends of the mouth, as the corners before and after these, shape (2, 2).
    mouth
        Length of the mouth, inches.
    area
        Area but for rounding, square inches.
    """

    first: int
    steps: int
    corners: Floats
    mouth: float
    area: float

    def within(self, other: _Pocket, count: int) -> bool:
        """Tell whether an outline of so many corners takes the other along its whole way."""
        return (self.first - other.first) % count + self.steps <= other.steps


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
    known: list[_Pocket] = []
    for pocket in sorted(_pockets(ring, width), key=lambda pocket: (-round(pocket.area, 9), pocket.first)):
        if any(pocket.within(other, len(ring)) for other in known):
            continue
        chain = ring[np.arange(pocket.first, pocket.first + pocket.steps) % len(ring)]
        slot = _slot(np.vstack([pocket.corners[:1], chain, pocket.corners[1:]]), pocket.mouth, width)
        if slot and not any(shapely.intersects(other, shapely.point_on_surface(slot)) for other in found):
            found.append(slot)
            known.append(pocket)
    return found


def _pockets(ring: Floats, width: float) -> Iterator[_Pocket]:
    """Yield what lies between corners of an outline and the sides near them, as far as it can be a slot."""
    count = len(ring)
    following = np.concatenate([ring[1:], ring[:1]])
    step = following - ring
    before = np.concatenate([step[-1:], step[:-1]])
    turn = np.arctan2(_cross(before, step), (before * step).sum(axis=1))
    if turn[turn > 0.0].sum() < _LEAST_TURN:
        return  # at the end of a slot an outline turns outwards by far more
    corners = np.flatnonzero(turn < -_LEAST_TURN)
    tree = shapely.STRtree(shapely.linestrings(np.stack([ring, ring + step], axis=1)))
    length = np.hypot(*step.T)
    at = np.append(0.0, np.cumsum(length))
    # Twice the area between the way so far and the first corner.
    swept = _cross(ring - ring[0], following - ring[0])
    off = _ROUNDING * float(np.abs(swept).sum())
    swept = np.append(0.0, np.cumsum(swept))
    for few in np.array_split(corners, len(corners) // _AT_ONCE + 1):
        k, side = tree.query(shapely.points(ring[few]), predicate="dwithin", distance=width)
        corner = few[k]
        apart = (side != corner) & (side != (corner - 1) % count)
        corner, side = corner[apart], side[apart]
        share = np.clip(((ring[corner] - ring[side]) * step[side]).sum(axis=1) / length[side] ** 2, 0.0, 1.0)
        foot = ring[side] + share[:, None] * step[side]
        mouth = np.hypot(*(foot - ring[corner]).T)
        ahead = (at[side] + share * length[side] - at[corner]) % at[-1]
        between = np.where(side < corner, swept[-1], 0.0) + swept[side] - swept[corner]
        between += _cross(ring[side] - ring[0], foot - ring[0]) + _cross(foot - ring[0], ring[corner] - ring[0])
        for forward in (True, False):
            way = ahead if forward else at[-1] - ahead
            area = (between if forward else swept[-1] - between) / 2
            # What is nowhere wider than twice r has an area of no more than its perimeter times r (Bonnesen).
            narrow = (area > -off) & (area < _SPARE * (way + mouth) * width / 2 + off)
            for p in np.flatnonzero((way > 2 * _DEEP * mouth) & (mouth > 0.0) & narrow):
                c, s = int(corner[p]), int(side[p])
                ends = np.array([ring[c], foot[p]] if forward else [foot[p], ring[c]])
                first, steps = (c + 1, (s - c) % count) if forward else (s + 1, (c - s - 1) % count)
                yield _Pocket(first % count, steps, ends, float(mouth[p]), float(area[p]))


def _cross(first: Floats, second: Floats) -> Floats:
    """Return the cross products of vectors in pairs, shape (n,)."""
    crossed: Floats = first[:, 0] * second[:, 1] - first[:, 1] * second[:, 0]
    return crossed


def _slot(corners: Floats, mouth: float, width: float) -> shapely.Polygon | None:
    """Return the polygon if it is a slot."""
    if len(corners) < 3 or _cross(corners, np.roll(corners, -1, axis=0)).sum() <= 0.0:
        return None
    # The mouth leads from the last corner back to the first.
    depth = shapely.distance(shapely.points(corners), shapely.LineString(corners[[0, -1]])).max()
    if depth < _DEEP * mouth:
        return None
    slot = shapely.Polygon(corners)
    return slot if slot.is_valid and shapely.is_empty(shapely.buffer(slot, -width / 2)) else None

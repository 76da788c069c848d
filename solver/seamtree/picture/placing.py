"""Where numbers go: inside a patch where they fit, else outside the block with a line that leads to the patch."""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Literal

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry
from shapely.geometry.polygon import orient
from shapely.ops import nearest_points

from seamtree.errors import Point
from seamtree.geometry.swept import sides_of, swept
from seamtree.picture.lettering import CAP_HEIGHT, text_width

Coordinates = NDArray[np.float64]

Side = Literal["left", "right", "top", "bottom"]


@dataclass(frozen=True, slots=True)
class Placed:
    """A number with its place: the middle of its box, and how large the type is (points)."""

    text: str
    at: Point
    size: float

    def box(self, clearance: float = 0.0) -> BaseGeometry:
        """Return the rectangle that the letters take, and so much round it."""
        x, y = self.at
        w, h = half_box(self.text, self.size, clearance)
        return shapely.box(x - w, y - h, x + w, y + h)


@dataclass(frozen=True, slots=True)
class Led:
    """A number outside the block: what leads to it starts at `foot`, inside the patch, and ends at `head`."""

    label: Placed
    foot: Point
    head: Point


def half_box(text: str, size: float, clearance: float = 0.0) -> tuple[float, float]:
    """Return half the width and half the height of a bold number with so much clear space all round."""
    return text_width(text, size, bold=True) / 2 + clearance, size * CAP_HEIGHT / 2 + clearance


def place_inside(
    polygon: Sequence[Point], text: str, *, sizes: Iterable[float], clearance: float, keep_off: shapely.STRtree
) -> Placed | None:
    """Place a number inside a patch, at the first size that fits.

    Parameters
    ----------
    polygon
        Corners of the patch in turn.
    text
        The number.
    sizes
        Sizes of type (points) to try, the largest first.
    clearance
        Space to leave between the letters and the boundary (points).
    keep_off
        What else must not be written on, as a tree of shapes.

    Returns
    -------
    Placed or None
        With the middle of the letters as near to the centroid of the patch as they fit well; None if they fit
        nowhere.
    """
    patch = shapely.Polygon(polygon)
    tried = list(dict.fromkeys(sizes))
    # What has no room in the hull of the patch, as many letters have, has none in the patch less what is on it.
    if not _shrunk(_convex_corners(patch.convex_hull), *half_box(text, tried[-1], clearance)):
        return None
    middle = patch.centroid
    near = keep_off.geometries[keep_off.query(patch, predicate="intersects")]
    free = shapely.difference(patch, shapely.union_all(near)) if len(near) else patch
    if free.is_empty:
        return None
    seat = _Seat(free, text)
    # Where letters have no room, larger ones have none: so the sizes are searched by halves.
    first = bisect_left(tried, True, key=lambda size: seat.room(size, clearance) is not None)
    if first == len(tried):
        return None
    size = tried[first]
    rooms = (seat.room(size, space) for space in (3 * clearance, 1.8 * clearance, clearance))
    room = next(room for room in rooms if room is not None)
    at = nearest_points(room, middle)[0]
    return Placed(text, (at.x, at.y), size)


class _Seat:
    """Tells where in an area the middle of a number can be."""

    def __init__(self, area: BaseGeometry, text: str) -> None:
        self._area = area
        self._text = text
        self._bounds = area.bounds
        self._corners = _convex_corners(area)
        self._sides = sides_of(area)

    def room(self, size: float, space: float) -> BaseGeometry | None:
        """Return where letters of a size with so much space round them lie in the area; None if nowhere."""
        w, h = half_box(self._text, size, space)
        left, top, right, bottom = self._bounds
        if right - left <= 2 * w or bottom - top <= 2 * h:
            return None
        if self._corners:
            inner = _shrunk(self._corners, w, h)
            return shapely.Polygon(inner) if inner else None
        room = _room(self._area, self._sides, w, h)
        return None if room.is_empty else room


def _convex_corners(area: BaseGeometry) -> list[Point]:
    """Return the corners of a convex polygon, the inside to the left of each side; none for other areas."""
    if not isinstance(area, shapely.Polygon) or area.interiors:
        return []
    ring: list[Point] = [(x, y) for x, y in orient(area).exterior.coords[:-1]]
    straight = 1e-9 * area.area
    for (ax, ay), (bx, by), (cx, cy) in zip(ring, [*ring[1:], ring[0]], [*ring[2:], *ring[:2]], strict=True):
        if (bx - ax) * (cy - by) - (by - ay) * (cx - bx) < -straight:
            return []
    return ring


def _shrunk(corners: Sequence[Point], w: float, h: float) -> list[Point]:
    """Return where the middle of a rectangle of 2 w by 2 h can be so that it lies in a convex polygon.

    Side by side the polygon is cut off as far inward as the rectangle reaches (Sutherland and Hodgman, 'Reentrant
    polygon clipping', 1974).
    """
    left = list(corners)
    for (ax, ay), (bx, by) in zip(corners, [*corners[1:], corners[0]], strict=True):
        across, down = ay - by, bx - ax  # to the inside
        reach = abs(across) * w + abs(down) * h
        inside = [across * (x - ax) + down * (y - ay) - reach for x, y in left]
        kept: list[Point] = []
        for n, (x, y) in enumerate(left):
            here, before = inside[n], inside[n - 1]
            if (here > 0) != (before > 0):
                px, py = left[n - 1]
                share = before / (before - here)
                kept.append((px + share * (x - px), py + share * (y - py)))
            if here > 0:
                kept.append((x, y))
        left = kept
        if len(left) < 3:
            return []
    return left


def _room(area: BaseGeometry, sides: Coordinates, w: float, h: float) -> BaseGeometry:
    """Return where the middle of a rectangle of 2 w by 2 h can be so that all of it lies in an area with such sides.

    It is the area less all places from which the rectangle would reach the boundary.
    """
    return shapely.difference(area, swept(sides, w, h))


def foot_in(polygon: Sequence[Point]) -> Point:
    """Return the point of a patch, well inside it, that is nearest to its centroid.

    Well inside are the points that lie at least half as far from the boundary as the middle of the largest circle
    that fits in.
    """
    patch = shapely.Polygon(polygon)
    across = math.sqrt(patch.area)
    circle = shapely.maximum_inscribed_circle(patch, across / 1000)
    core = shapely.buffer(patch, -circle.length / 2)
    if core.is_empty:  # hardly any patch is left within the precision of the circle
        core = shapely.Point(circle.coords[0])
    at = nearest_points(core, patch.centroid)[0]
    return at.x, at.y


def place_outside(
    wanted: Sequence[tuple[str, Point]], *, width: float, height: float, size: float, gap: float
) -> list[Led]:
    """Place numbers round a block of width by height whose top left corner is the origin.

    Parameters
    ----------
    wanted
        Numbers, each with the point inside its patch that a line is to lead to.
    width, height
        Of the block (points).
    size
        Of the type (points).
    gap
        Between the block and the numbers (points).

    Returns
    -------
    list of Led
        In the order given. Lines to the same side do not cross.
    """
    found: dict[int, Led] = {}
    for side, members in _share_out(wanted, width, height, size).items():
        if not members:
            continue
        flat = side in ("top", "bottom")
        order = sorted(members, key=lambda n: (wanted[n][1][0 if flat else 1], n))
        half = max(half_box(wanted[n][0], size, size / 4)[0 if flat else 1] for n in order)
        spots = _spread([wanted[n][1][0 if flat else 1] for n in order], half)
        places = [(spot, -gap) if flat else (-gap, spot) for spot in spots]
        if side == "bottom":
            places = [(x, height + gap) for x, _ in places]
        if side == "right":
            places = [(width + gap, y) for _, y in places]
        order = _uncross(order, [wanted[n][1] for n in order], places)
        for n, head in zip(order, places, strict=True):
            w, h = half_box(wanted[n][0], size, size / 4)
            shift = {"left": (-w, 0.0), "right": (w, 0.0), "top": (0.0, -h), "bottom": (0.0, h)}[side]
            label = Placed(wanted[n][0], (head[0] + shift[0], head[1] + shift[1]), size)
            found[n] = Led(label, wanted[n][1], head)
    return [found[n] for n in range(len(wanted))]


def _share_out(
    wanted: Sequence[tuple[str, Point]], width: float, height: float, size: float
) -> dict[Side, list[int]]:
    """Send every number to the nearest side that has room left; where none has, to the nearest."""
    room: dict[Side, float] = {"left": height, "right": height, "top": width, "bottom": width}
    members: dict[Side, list[int]] = {side: [] for side in room}
    ways: list[dict[Side, float]] = [
        {"left": x, "right": width - x, "top": y, "bottom": height - y} for _, (x, y) in wanted
    ]
    for n in sorted(range(len(wanted)), key=lambda n: (min(ways[n].values()), n)):
        w, h = half_box(wanted[n][0], size, size / 4)
        need: dict[Side, float] = {"left": 2 * h, "right": 2 * h, "top": 2 * w, "bottom": 2 * w}
        free = [side for side in room if room[side] >= need[side]] or list(room)
        side = min(free, key=lambda s: ways[n][s])
        members[side].append(n)
        room[side] -= need[side]
    return members


def _spread(wanted: Sequence[float], half: float) -> list[float]:
    """Move places on a line as little as need be so that neighbours are twice `half` apart, in the order given.

    Runs that push each other are moved as one to the mean of what they want (pool adjacent violators).
    """
    offsets = [2 * half * n for n in range(len(wanted))]
    runs: list[tuple[float, int]] = []
    for target in (place - offset for place, offset in zip(wanted, offsets, strict=True)):
        total, number = target, 1
        while runs and runs[-1][0] / runs[-1][1] >= total / number:
            before, more = runs.pop()
            total, number = total + before, number + more
        runs.append((total, number))
    starts = [total / number for total, number in runs for _ in range(number)]
    return [start + offset for start, offset in zip(starts, offsets, strict=True)]


def _uncross(order: Sequence[int], feet: Sequence[Point], heads: Sequence[Point]) -> list[int]:
    """Swap numbers whose lines cross until none do; every swap makes the lines shorter in total, so this ends."""
    order, feet = list(order), list(feet)
    crossed = True
    while crossed:
        crossed = False
        for a, b in combinations(range(len(order)), 2):
            if shapely.LineString((feet[a], heads[a])).crosses(shapely.LineString((feet[b], heads[b]))):
                order[a], order[b] = order[b], order[a]
                feet[a], feet[b] = feet[b], feet[a]
                crossed = True
    return order

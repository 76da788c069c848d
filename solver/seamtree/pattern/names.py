"""What stands between outline and trim line of a foundation: the unit, which way is up, the block."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import shapely
from shapely.geometry.base import BaseGeometry

from seamtree.errors import Point
from seamtree.pattern.foundation import Foundation
from seamtree.pattern.labels import Measure
from seamtree.pattern.lengths import POINTS
from seamtree.words import cut_short

SIZES = (4.0, 7.5)
"""Least and largest size of type, points; between them as large as the allowance allows."""

_SHARE = 0.44
"""Size of type by the width of the allowance."""

_ENDS = 0.07
"""Inches that names stay away from corners, ticks and edges of tiles."""

_APART = 0.12
"""Inches between two names on one side."""

_LEAST_SIDE = 0.12
"""Inches; on shorter stretches nothing is written."""


@dataclass(frozen=True, slots=True)
class Name:
    """A line of text beside an outline.

    Parameters
    ----------
    text
        What is written; empty for the arrow that points up.
    at
        Its middle, inches in the frame of the foundation.
    angle
        Degrees that it is turned anticlockwise as seen; of the arrow those from straight up.
    size
        Size of type, points; of the arrow its length.
    bold
        Whether it is bold.
    """

    text: str
    at: Point
    angle: float
    size: float
    bold: bool = False


@dataclass(slots=True)
class _Stretch:
    """A free piece along an outline: where it begins, its direction, and what is left of its length (inches)."""

    start: Point
    along: Point
    length: float
    used: float = 0.0

    def take(self, width: float) -> Point:
        """Return the middle of the next so many inches."""
        middle = self.used + width / 2
        self.used += width + _APART
        return self.start[0] + self.along[0] * middle, self.start[1] + self.along[1] * middle

    @property
    def left(self) -> float:
        return self.length - self.used


def place_names(
    foundation: Foundation,
    block: str,
    measure: Measure,
    *,
    window: tuple[float, float, float, float] | None = None,
) -> tuple[Name, ...]:
    """Return what is written inside the trim line.

    Parameters
    ----------
    foundation
        As it is printed.
    block
        Name of its block.
    measure
        Widths of text.
    window
        Left, top, right and bottom of the tile of it that is printed, inches; None for all of it.

    Returns
    -------
    tuple of names
        The unit's letter and the arrow always; the others where there is room for them.
    """
    size = min(SIZES[1], max(SIZES[0], _SHARE * foundation.allowance * POINTS))
    high = size / POINTS
    stretches = sorted(_stretches(foundation, high, window), key=lambda s: (-round(s.length, 3), s.start))
    arrow = min(0.2, 0.85 * foundation.allowance)
    names = []

    def put(texts: list[str], *, bold: bool = False, extra: float = 0.0) -> _Stretch | None:
        for text in texts:
            wide = measure(text, size, bold=bold) / POINTS + extra
            for stretch in stretches:
                if stretch.left >= wide:
                    at = stretch.take(wide - extra)
                    names.append(Name(text, at, _readable(stretch.along), size, bold))
                    return stretch
        return None

    unit = f"Unit {foundation.unit}" + (" mirrored" if foundation.twin else "")
    short = foundation.unit + ("′" if foundation.twin else "")
    first = put([unit, short], bold=True, extra=arrow + _APART)
    host = first or max(stretches, key=lambda s: s.left, default=None)
    if host is not None:
        at = host.take(arrow)
        names.append(Name("", at, -foundation.turned, arrow * POINTS))
        put(["up"])
    elif window is None:
        x, y = shapely.maximum_inscribed_circle(shapely.Polygon(foundation.outline), 0.01).coords[0]
        names.append(Name("", (x, y), -foundation.turned, arrow * POINTS))
    room = max((stretch.left for stretch in stretches), default=0.0) * POINTS
    shown = cut_short(block, lambda text: measure(text, size) <= room)
    if len(shown) > 1:
        put([shown])
    patches = len(foundation.patches)
    put(["template, one patch" if patches == 1 else f"{patches} patches"])
    if foundation.alike:
        put([f"like {', '.join(foundation.alike)}"])
    return tuple(names)


def _readable(along: Point) -> float:
    """Return the angle at which text along a direction does not stand on its head (degrees anticlockwise)."""
    angle = math.degrees(math.atan2(-along[1], along[0]))  # y runs down
    return angle - 180 if angle > 90 + 1e-6 else angle + 180 if angle <= -90 + 1e-6 else angle


def _stretches(
    foundation: Foundation, high: float, window: tuple[float, float, float, float] | None
) -> Iterator[_Stretch]:
    """Yield the free pieces along the outline, in the middle of the allowance."""
    trim, outline = shapely.Polygon(foundation.trim), shapely.Polygon(foundation.outline)
    room: BaseGeometry = trim.buffer(-0.5 * high).difference(outline.buffer(0.5 * high))
    if foundation.ticks:
        room = room.difference(shapely.MultiLineString(foundation.ticks).buffer(_ENDS))
    if window is not None:
        room = room.intersection(shapely.box(*window).buffer(-1.2 * high))
    ring = foundation.outline
    turn = 1.0 if shapely.LinearRing(ring).is_ccw else -1.0
    for n, a in enumerate(ring):
        b = ring[(n + 1) % len(ring)]
        length = math.dist(a, b)
        if length < _LEAST_SIDE:
            continue
        ux, uy = (b[0] - a[0]) / length, (b[1] - a[1]) / length
        out = turn * uy * foundation.allowance / 2, -turn * ux * foundation.allowance / 2
        middle = shapely.LineString([(a[0] + out[0], a[1] + out[1]), (b[0] + out[0], b[1] + out[1])])
        for piece in shapely.get_parts(middle.intersection(room)):
            if piece.geom_type != "LineString" or piece.length < _LEAST_SIDE:
                continue
            (sx, sy), (ex, ey) = piece.coords[0], piece.coords[-1]
            along = (ex - sx) / piece.length, (ey - sy) / piece.length
            if not -90 + 1e-6 < math.degrees(math.atan2(-along[1], along[0])) <= 90 + 1e-6:
                sx, sy, along = ex, ey, (-along[0], -along[1])
            yield _Stretch((sx, sy), along, piece.length)

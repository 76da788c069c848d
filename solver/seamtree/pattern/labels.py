"""Where the number and the fabric's word of a patch are printed, and how large.

Text is printed upright if it can be read so, else along the patch. Where there is no room for the word, the number
stands alone, and the word goes into a key beside the foundation.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations, pairwise
from typing import Protocol

import numpy as np
import shapely
from shapely import affinity
from shapely.geometry.base import BaseGeometry

from seamtree.errors import Point
from seamtree.pattern.lengths import POINTS

SIZES = (11.0, 10.0, 9.0, 8.0, 7.5, 7.0, 6.5, 6.0)
"""Sizes of type of a number with its word below, points; the word is smaller."""

NUMBER_SIZES = (9.0, 8.0, 7.0, 6.0, 5.0, 4.5, 4.0)
"""Sizes of type of a number alone, points."""

WORD_SHARE = 0.8
"""Size of the word by that of the number."""

LEADING = 1.12
"""From line to line by the size of the type."""

_UPRIGHT = 7.0
"""Points; text of this size or larger is not turned to become larger still."""

_AWAY = 0.025
"""Inches that text stays away from seam lines."""

_GRID = 9
"""Places that are tried along either side of a patch's bounding box."""

_SPOTS = np.array([(x, y) for y in range(1, _GRID + 1) for x in range(1, _GRID + 1)]) / (_GRID + 1)
"""The same places in a box of 1 by 1, row by row."""

_LONGEST_WORD = 40
"""Letters; longer words are cut short."""


class Measure(Protocol):
    """Tells how wide a line of text is, in points."""

    def __call__(self, text: str, size: float, *, bold: bool = False) -> float:
        """Return the width of a text of one size of type (points)."""


@dataclass(frozen=True, slots=True)
class Line:
    """A line of a label: the number's if `bold`."""

    text: str
    bold: bool


@dataclass(frozen=True, slots=True)
class Label:
    """Text in a patch.

    Parameters
    ----------
    patch
        Printed number.
    lines
        From top to bottom; text of one line may have two parts, the number and the word.
    at
        Middle of the text, inches.
    angle
        Degrees that it is turned, anticlockwise as seen.
    size
        Of the number's type, points.
    complete
        Whether the word is there.
    """

    patch: str
    lines: tuple[tuple[Line, ...], ...]
    at: Point
    angle: float
    size: float
    complete: bool

    def line_size(self, line: Line) -> float:
        """Return the size of type of a part of a line, points."""
        return self.size if line.bold else self.size * WORD_SHARE


def place_label(polygon: Sequence[Point] | shapely.Polygon, number: str, word: str, measure: Measure) -> Label:
    """Return number and word of a patch where they fit best.

    Parameters
    ----------
    polygon
        Corners of the room for the text, inches, y down; the patch, or what of it is on the sheet.
    number, word
        What is printed.
    measure
        Widths of text.

    Returns
    -------
    Label
        As large as there is room for. A number that fits at no size is printed at the smallest in the middle.
    """
    area = polygon if isinstance(polygon, shapely.Polygon) else shapely.Polygon(polygon)
    word = short_word(word)
    full = list(_arrangements(number, word))
    bare = [((Line(number, True),),)]
    tries = (
        (full, False, [s for s in SIZES if s >= _UPRIGHT]),
        (full, True, SIZES),
        (full, False, [s for s in SIZES if s < _UPRIGHT]),
        (bare, False, NUMBER_SIZES),
        (bare, True, NUMBER_SIZES),
    )
    upright = _Room(area, 0.0)
    rooms = {False: upright}
    for arrangements, turned, sizes in tries:
        if turned not in rooms:  # hardly half of the patches need it
            rooms[turned] = _Room(area, _long_direction(area))
        room = rooms[turned]
        for size in sizes:
            for lines in arrangements:
                at = room.find(*_extent(lines, size, measure))
                if at is not None:
                    return Label(number, lines, at, room.angle, size, arrangements is full)
    return Label(number, bare[0], upright.middle, 0.0, NUMBER_SIZES[-1], False)


def short_word(word: str) -> str:
    """Return the word for a fabric, cut short where it would fill the sheet."""
    return word if len(word) <= _LONGEST_WORD else word[: _LONGEST_WORD - 1] + "…"


def _arrangements(number: str, word: str) -> Iterator[tuple[tuple[Line, ...], ...]]:
    """Yield ways to share number and word out among lines."""
    head = Line(number, True)
    parts = word.split()
    for breaks in range(len(parts)):
        for cuts in combinations(range(1, len(parts)), breaks):
            bounds = (0, *cuts, len(parts))
            rows = [" ".join(parts[a:b]) for a, b in pairwise(bounds)]
            yield ((head,), *((Line(row, False),) for row in rows))
            if breaks == 0:
                yield ((head, Line(rows[0], False)),)
        if breaks >= 2:
            break


def line_width(line: Sequence[Line], size: float, measure: Measure) -> float:
    """Return how wide a line of a label is, in points, a space between its parts."""
    widths = [measure(part.text, size if part.bold else size * WORD_SHARE, bold=part.bold) for part in line]
    return math.fsum(widths) + (len(line) - 1) * space(size)


def space(size: float) -> float:
    """Return the space between number and word on one line, points."""
    return 0.3 * size


def _extent(lines: Sequence[Sequence[Line]], size: float, measure: Measure) -> tuple[float, float]:
    """Return width and height of a label, inches."""
    width = max(line_width(line, size, measure) for line in lines)
    height = math.fsum(LEADING * (size if line[0].bold else size * WORD_SHARE) for line in lines)
    return width / POINTS, height / POINTS


def _long_direction(area: shapely.Polygon) -> float:
    """Return the direction in which a patch is longest, degrees anticlockwise as seen, within a quarter turn."""
    box = shapely.minimum_rotated_rectangle(area)
    if box.geom_type != "Polygon":
        return 0.0
    a, b, c, *_ = box.exterior.coords
    start, end = (a, b) if math.dist(a, b) >= math.dist(b, c) else (b, c)
    angle = math.degrees(math.atan2(start[1] - end[1], end[0] - start[0]))  # y runs down
    while angle > 90.0 + 1e-6:
        angle -= 180.0
    while angle <= -90.0 + 1e-6:
        angle += 180.0
    return angle


class _Room:
    """A patch, turned so that text that is turned by an angle runs level in it."""

    def __init__(self, area: shapely.Polygon, angle: float) -> None:
        self.angle = angle
        inner = area.buffer(-_AWAY, join_style="mitre")
        self._level = self._turned(inner if not inner.is_empty else area, angle)
        shapely.prepare(self._level)
        centre = area.centroid
        inside = self._level.contains(self._turned(centre, angle))
        self.middle: Point = (centre if inside else shapely.maximum_inscribed_circle(area, 0.01)).coords[0]
        turned = self._turned(shapely.Point(self.middle), angle)
        left, top, right, bottom = self._level.bounds
        grid = np.array([left, top]) + _SPOTS * np.array([right - left, bottom - top])
        grid = grid[shapely.contains_xy(self._level, grid[:, 0], grid[:, 1])]
        far = np.hypot(grid[:, 0] - turned.x, grid[:, 1] - turned.y)
        self._places = np.vstack([[turned.x, turned.y], grid[np.argsort(far, kind="stable")]])

    @staticmethod
    def _turned(shape: BaseGeometry, angle: float) -> BaseGeometry:
        """Return a shape turned about the origin; most text is upright."""
        return affinity.rotate(shape, angle, origin=(0, 0)) if angle else shape

    def find(self, width: float, height: float) -> Point | None:
        """Return the middle of a place for a box nearest to the middle, None if there is none."""
        x, y = self._places[:, 0], self._places[:, 1]
        boxes = shapely.box(x - width / 2, y - height / 2, x + width / 2, y + height / 2)
        fits = np.flatnonzero(shapely.contains(self._level, boxes))
        if not len(fits):
            return None
        back = self._turned(shapely.Point(self._places[fits[0]]), -self.angle)
        return back.x, back.y

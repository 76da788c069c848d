"""Shapes nested into each other's corners, where packing their boxes wastes paper.

Shapes are laid on a grid of small cells; two shapes lie clear of each other if they have no cell in common. Where a
shape has room is found for all places at once, as a convolution of the free cells with the cells of the shape.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely
from shapely import affinity
from shapely.geometry.base import BaseGeometry

from seamtree.errors import Point

_CELL = 0.08
"""Side of a cell, inches."""

Cells = npt.NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Nested:
    """Where a shape lies: the sheet, which of its variants it is, and its origin on the sheet (inches)."""

    sheet: int
    variant: int
    at: Point


@dataclass(frozen=True, slots=True)
class _Variant:
    """One variant of an item: its cells, their spectrum, the last row and column where it may begin, its bulk."""

    cells: Cells
    spectrum: npt.NDArray[np.complex128]
    last: tuple[int, int]
    bulk: int


class _Sheet:
    """The cells of a sheet that are taken, and their spectrum."""

    def __init__(self, size: tuple[int, ...]) -> None:
        self.taken: Cells = np.zeros(size, dtype=bool)
        self._spectrum = np.fft.rfft2(self.taken)

    def free_places(self, variant: _Variant) -> Cells:
        """Return for every place of the top left cell whether a shape lies clear there."""
        # Within the valid places a circular correlation over the sheet wraps nothing round.
        overlap = np.fft.irfft2(self._spectrum * np.conj(variant.spectrum), s=self.taken.shape)
        return np.asarray(overlap[: variant.last[0] + 1, : variant.last[1] + 1] < 0.5, dtype=bool)

    def put(self, cells: Cells, row: int, column: int) -> None:
        """Take the cells of a shape at a place."""
        self.taken[row : row + cells.shape[0], column : column + cells.shape[1]] |= cells
        self._spectrum = np.fft.rfft2(self.taken)


def nest(shapes: Sequence[Sequence[BaseGeometry]], room: tuple[float, float], *, gap: float) -> list[Nested]:
    """Lay shapes out on sheets: the largest first, each on the first sheet with room, as far up as it goes.

    Parameters
    ----------
    shapes
        For each item its variants, in the order of preference; each has its top left corner at the origin, and the
        first one fits on a sheet (inches).
    room
        Width and height of what is free on a sheet, inches.
    gap
        Inches between shapes.

    Returns
    -------
    list
        One entry for every item. Of two ways to choose among variants that end alike (the first one; the one whose
        bulk lies nearest to the top left corner), the one that takes fewer sheets.
    """
    size = tuple(math.ceil((side + gap) / _CELL - 1e-6) for side in reversed(room))
    items = [[_variant(shape, room, gap, size) for shape in variants] for variants in shapes]
    order = sorted(range(len(shapes)), key=lambda n: (-shapes[n][0].area, n))
    ways = [_laid(items, order, size, bulky=bulky) for bulky in (False, True)]
    return min(ways, key=lambda way: max((place.sheet for place in way), default=0))


def free_place(
    taken: Sequence[tuple[BaseGeometry, Point]],
    boxes: Sequence[tuple[float, float]],
    room: tuple[float, float],
    *,
    gap: float,
) -> tuple[int, Point] | None:
    """Return which box has room on a sheet, and where its top left corner lies; None if none has.

    Parameters
    ----------
    taken
        What lies there: shapes with their top left corners at the origin, and where these are, inches.
    boxes
        Width and height of the boxes that would do, the best first, inches.
    room, gap
        As for `nest`.
    """
    rows, columns = (math.ceil((side + gap) / _CELL - 1e-6) for side in reversed(room))
    sheet = _Sheet((rows, columns))
    if taken:
        lying = shapely.union_all([affinity.translate(shape, *at) for shape, at in taken])
        grown = affinity.translate(lying.buffer(gap / 2, join_style="mitre", mitre_limit=1.0), gap / 2, gap / 2)
        shapely.prepare(grown)
        row, column = np.mgrid[0:rows, 0:columns] * _CELL
        cells = shapely.intersects(grown, shapely.box(column, row, column + _CELL, row + _CELL))
        sheet.put(np.asarray(cells, dtype=bool), 0, 0)
    for number, (width, height) in enumerate(boxes):
        variant = _variant(shapely.box(0, 0, width, height), room, gap, (rows, columns))
        if variant is None:
            continue
        free = np.argwhere(sheet.free_places(variant))
        if len(free):
            y, x = max(map(tuple, free))  # at the foot of the page, on the right
            return number, (float(x) * _CELL, float(y) * _CELL)
    return None


def _laid(
    items: Sequence[Sequence[_Variant | None]], order: Sequence[int], size: tuple[int, ...], *, bulky: bool
) -> list[Nested]:
    """Lay items out in an order."""
    sheets: list[_Sheet] = []
    found: dict[int, Nested] = {}
    for n in order:
        blank = _Sheet(size)
        for number_of_sheet, sheet in enumerate((*sheets, blank)):
            best = _best_place(sheet, items[n], bulky=bulky)
            if best is None:
                continue
            cells, number, row, column = best
            if sheet is blank:
                sheets.append(blank)
            sheet.put(cells, row, column)
            found[n] = Nested(number_of_sheet, number, (column * _CELL, row * _CELL))
            break
    return [found[n] for n in range(len(items))]


def _variant(shape: BaseGeometry, room: tuple[float, float], gap: float, size: tuple[int, ...]) -> _Variant | None:
    """Return the cells that a shape with half the gap round it touches, None if it is larger than a sheet.

    The shape is moved by half a gap, so that the gap on the left and at the top lies outside the room, as it may.
    """
    width, height = shape.bounds[2:]
    last = tuple(math.floor((side - extent) / _CELL + 1e-6) for side, extent in ((room[1], height), (room[0], width)))
    if min(last) < 0:
        return None
    # Corners cut off where a circle would end: never nearer than half the gap.
    half = shape.buffer(gap / 2, join_style="mitre", mitre_limit=1.0)
    grown = affinity.translate(half, gap / 2, gap / 2)
    shapely.prepare(grown)
    rows, columns = (math.ceil((side + gap) / _CELL - 1e-6) for side in (height, width))
    row, column = np.mgrid[0:rows, 0:columns] * _CELL
    boxes = shapely.box(column, row, column + _CELL, row + _CELL)
    cells = np.asarray(shapely.intersects(grown, boxes), dtype=bool)
    return _Variant(
        cells, np.fft.rfft2(cells, s=size), (last[0], last[1]), sum(int(at.sum()) for at in np.nonzero(cells))
    )


def _best_place(
    sheet: _Sheet, variants: Sequence[_Variant | None], *, bulky: bool
) -> tuple[Cells, int, int, int] | None:
    """Return cells, number of the variant, row and column where an item ends highest, then farthest to the left."""
    places = []
    for number, variant in enumerate(variants):
        if variant is None:
            continue
        rows, columns = np.nonzero(sheet.free_places(variant))
        if len(rows):
            row, column = int(rows[0]), int(columns[0])
            ends = row + variant.cells.shape[0], column + variant.cells.shape[1]
            places.append((*ends, bulky * variant.bulk, number, row, column, variant.cells))
    if not places:
        return None
    *_, number, row, column, cells = min(places, key=lambda place: place[:4])
    return cells, number, row, column

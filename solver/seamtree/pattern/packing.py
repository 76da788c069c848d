"""Shapes packed onto sheets, also into each other's corners, where packing their boxes would waste paper.

Shapes are laid on a grid of small cells; two shapes lie clear of each other if they have no cell in common. Where a
shape has room is found for all places at once, as a convolution of the free cells with the cells of the shape.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np
import numpy.typing as npt
import shapely
from shapely.geometry.base import BaseGeometry

from seamtree.errors import Point
from seamtree.geometry.swept import sides_of, swept

_CELL = 0.08
"""Side of a cell, inches."""

Cells = npt.NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Packed:
    """Where a shape lies: the sheet, which of its variants it is, and its origin on the sheet (inches)."""

    sheet: int
    variant: int
    at: Point


@dataclass(frozen=True, slots=True)
class Raster:
    """A shape as cells.

    Parameters
    ----------
    cells
        What it touches with half the gap round it.
    width, height
        Of the shape, inches.
    before, after
        How far to the right and down the first cell begins before it, gap and all, and the last one ends after it.
    """

    cells: Cells
    width: float
    height: float
    before: Point
    after: Point

    def half_turned(self) -> Raster:
        """Return the cells of the shape turned by half a turn."""
        return Raster(self.cells[::-1, ::-1], self.width, self.height, self.after, self.before)


def _cells_for(length: float) -> int:
    return math.ceil(length / _CELL - 1e-6)


def _raster(cells: Cells, width: float, height: float, gap: float) -> Raster:
    rows, columns = cells.shape
    after = columns * _CELL - width - gap, rows * _CELL - height - gap
    return Raster(cells, width, height, (0.0, 0.0), after)


def rasterise(shape: BaseGeometry, *, gap: float) -> Raster:
    """Return a shape as cells.

    Parameters
    ----------
    shape
        With its top left corner at the origin, inches.
    gap
        Inches to other shapes; half of it is added round the shape.
    """
    width, height = shape.bounds[2:]
    rows, columns = _cells_for(height + gap), _cells_for(width + gap)
    # Corners cut off where a circle would end: never nearer than half the gap.
    grown = shape.buffer(gap / 2, join_style="mitre", mitre_limit=1.0)
    # A shape touches a cell where the cell's middle lies in the shape with half a cell round it.
    half = _CELL / 2 - 1e-9
    reached = shapely.union(grown, swept(sides_of(grown), half, half))
    shapely.prepare(reached)
    x, y = ((np.arange(number) + 0.5) * _CELL - gap / 2 for number in (columns, rows))
    cells = shapely.contains_xy(reached, *(axis.ravel() for axis in np.meshgrid(x, y)))
    return _raster(np.asarray(cells, dtype=bool).reshape(rows, columns), width, height, gap)


@dataclass(frozen=True, slots=True)
class _Variant:
    """A raster on sheets of one size: its spectrum, the last row and column where it may begin, its bulk."""

    raster: Raster
    spectrum: npt.NDArray[np.complexfloating]
    last: tuple[int, int]
    number: int
    bulk: int


class _Format:
    """Sheets of one size.

    Parameters
    ----------
    room
        Width and height of what is free on a sheet, inches.
    gap
        Inches between shapes.
    """

    def __init__(self, room: tuple[float, float], gap: float) -> None:
        self.room = room
        # The gap on the left, at the top and beyond the last shape lies outside the room, as it may.
        self.size = _cells_for(room[1] + gap), _cells_for(room[0] + gap)
        self.shape = tuple(map(_smooth, self.size))

    def variant(self, raster: Raster) -> _Variant | None:
        """Return a raster for these sheets, None if the shape is larger than they are."""
        last = []
        for side, extent, before, cells, own in zip(
            self.room,
            (raster.width, raster.height),
            raster.before,
            reversed(self.size),
            reversed(raster.cells.shape),
            strict=True,
        ):
            last.append(min(math.floor((side - extent - before) / _CELL + 1e-6), cells - own))
        if min(last) < 0:
            return None
        rows, columns = (at.astype(np.int64) for at in np.nonzero(raster.cells))
        return _Variant(
            raster, self.spectrum(raster.cells), (last[1], last[0]), len(rows), int(rows.sum() + columns.sum())
        )

    def spectrum(self, cells: Cells) -> npt.NDArray[np.complexfloating]:
        return np.fft.rfft2(cells.astype(np.float32), s=self.shape)

    def place(self, raster: Raster, row: int, column: int) -> Point:
        """Return where the origin of a shape is on the sheet, by its first row and column."""
        return column * _CELL + raster.before[0], row * _CELL + raster.before[1]

    def cell(self, raster: Raster, at: Point) -> tuple[int, int]:
        """Return the first row and column of a shape that lies at a place."""
        return round((at[1] - raster.before[1]) / _CELL), round((at[0] - raster.before[0]) / _CELL)


def _smooth(number: int) -> int:
    """Return the next number without prime factors above five: transforms of such sizes are quick."""
    while True:
        rest = number
        for prime in (2, 3, 5):
            while rest % prime == 0:
                rest //= prime
        if rest == 1:
            return number
        number += 1


class _Sheet:
    """The cells of a sheet that are taken, and their spectrum."""

    def __init__(self, kind: _Format) -> None:
        self._kind = kind
        self._taken: Cells = np.zeros(kind.size, dtype=bool)
        self._free = self._taken.size
        self._spectrum = kind.spectrum(self._taken)

    def free_places(self, variant: _Variant) -> Cells | None:
        """Return for every place of the top left cell whether a shape lies clear there; None if it has no room."""
        if variant.number > self._free:
            return None
        # Within the valid places a circular correlation over the sheet wraps nothing round.
        overlap = np.fft.irfft2(self._spectrum * np.conj(variant.spectrum), s=self._kind.shape)
        return np.asarray(overlap[: variant.last[0] + 1, : variant.last[1] + 1] < 0.5, dtype=bool)

    def put(self, cells: Cells, row: int, column: int) -> None:
        """Take the cells of a shape at a place."""
        rows, columns = cells.shape
        self._taken[row : row + rows, column : column + columns] |= cells
        self._free = self._taken.size - int(self._taken.sum())
        self._spectrum = self._kind.spectrum(self._taken)


def pack(items: Sequence[Sequence[Raster]], room: tuple[float, float], *, gap: float) -> list[Packed]:
    """Lay shapes on as few sheets as this finds: the largest or the longest first, each as high up as it goes.

    Parameters
    ----------
    items
        What is laid out; of each its variants, of which the first one fits on a sheet.
    room
        Width and height of what is free on a sheet, inches.
    gap
        Inches between shapes, as their cells were made for.

    Returns
    -------
    list
        One entry for every item. Of the orders, and of two ways to choose among variants that end alike (the first
        one; the one whose bulk lies nearest to the top left corner), what takes the fewest sheets.
    """
    kind = _Format(room, gap)
    shown = [[kind.variant(raster) for raster in variants] for variants in items]
    least = math.ceil(sum(variants[0].cells.sum() for variants in items) / math.prod(kind.size))
    choices = (False, True) if any(len(variants) > 1 for variants in items) else (False,)
    best: list[Packed] | None = None
    for key, bulky in product((_area, _girth), choices):
        order = sorted(range(len(items)), key=lambda n: (-key(items[n][0]), n))
        way = _laid(kind, shown, order, bulky=bulky)
        best = way if best is None or sheets_of(way) < sheets_of(best) else best
        if sheets_of(best) <= least:
            break
    return best or []


def _area(raster: Raster) -> float:
    return float(raster.cells.sum())


def _girth(raster: Raster) -> float:
    return raster.width + raster.height


def sheets_of(way: Sequence[Packed]) -> int:
    """Return how many sheets are taken."""
    return 1 + max((place.sheet for place in way), default=-1)


def free_place(
    taken: Sequence[tuple[Raster, Point]],
    boxes: Sequence[tuple[float, float]],
    room: tuple[float, float],
    *,
    gap: float,
) -> tuple[int, Point] | None:
    """Return which box has room on a sheet, and where its top left corner lies; None if none has.

    Parameters
    ----------
    taken
        What lies there, and where, inches: as `pack` has laid it.
    boxes
        Width and height of the boxes that would do, the best first, inches.
    room, gap
        As for `pack`.
    """
    kind = _Format(room, gap)
    sheet = _Sheet(kind)
    for raster, at in taken:
        sheet.put(raster.cells, *kind.cell(raster, at))
    for number, (width, height) in enumerate(boxes):
        cells = np.ones((_cells_for(height + gap), _cells_for(width + gap)), dtype=bool)
        raster = _raster(cells, width, height, gap)
        variant = kind.variant(raster)
        places = None if variant is None else sheet.free_places(variant)
        free = np.argwhere(places) if places is not None else ()
        if len(free):
            return number, kind.place(raster, *max(map(tuple, free)))  # at the foot of the page, on the right
    return None


def _laid(
    kind: _Format, items: Sequence[Sequence[_Variant | None]], order: Sequence[int], *, bulky: bool
) -> list[Packed]:
    """Lay items out in an order."""
    sheets: list[_Sheet] = []
    found: dict[int, Packed] = {}
    for n in order:
        blank = _Sheet(kind)
        for number_of_sheet, sheet in enumerate((*sheets, blank)):
            best = _best_place(sheet, items[n], bulky=bulky)
            if best is None:
                continue
            raster, number, row, column = best
            if sheet is blank:
                sheets.append(blank)
            sheet.put(raster.cells, row, column)
            found[n] = Packed(number_of_sheet, number, kind.place(raster, row, column))
            break
    return [found[n] for n in range(len(items))]


def _best_place(
    sheet: _Sheet, variants: Sequence[_Variant | None], *, bulky: bool
) -> tuple[Raster, int, int, int] | None:
    """Return raster, number of the variant, row and column where an item ends highest, then farthest to the left."""
    places = []
    for number, variant in enumerate(variants):
        free = None if variant is None else sheet.free_places(variant)
        if variant is None or free is None or not free.any():
            continue
        row, column = divmod(int(free.argmax()), free.shape[1])
        rows, columns = variant.raster.cells.shape
        places.append((row + rows, column + columns, bulky * variant.bulk, number, row, column, variant.raster))
    if not places:
        return None
    *_, number, row, column, raster = min(places, key=lambda place: place[:4])
    return raster, number, row, column

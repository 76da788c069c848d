"""Shapes packed onto sheets, also into each other's corners, where packing their boxes would waste paper.

Shapes are laid on a grid of small cells; two shapes lie clear of each other if they have no cell in common. Where a
shape has room is found for all places at once, as a convolution of the free cells with the cells of the shape.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely
from scipy import fft
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
    """A raster on sheets of one size: its number in its item, the last row and column to begin in, its bulk."""

    raster: Raster
    number: int
    last: tuple[int, int]
    bulk: int


@dataclass(frozen=True, slots=True)
class _Item:
    """The variants of an item that fit on a sheet: their spectra, conjugated, and the fewest cells that they take."""

    variants: tuple[_Variant, ...]
    spectra: npt.NDArray[np.complexfloating]
    least: int


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

    def item(self, rasters: Sequence[Raster]) -> _Item:
        """Return the variants of an item that are no larger than these sheets."""
        placed = ((number, raster, self._last(raster)) for number, raster in enumerate(rasters))
        variants = tuple(
            _Variant(raster, number, last, sum(int(at.sum()) for at in np.nonzero(raster.cells)))
            for number, raster, last in placed
            if min(last) >= 0
        )
        spectra = [np.conj(self.spectrum(variant.raster.cells)) for variant in variants]
        least = min((int(variant.raster.cells.sum()) for variant in variants), default=0)
        return _Item(variants, np.array(spectra), least)

    def _last(self, raster: Raster) -> tuple[int, int]:
        """Return the last row and column where a raster may begin, below 0 if the shape is larger than the sheet."""
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
        return last[1], last[0]

    def spectrum(self, cells: Cells) -> npt.NDArray[np.complexfloating]:
        spectrum: npt.NDArray[np.complexfloating] = fft.rfft2(cells.astype(np.float32), s=self.shape)
        return spectrum

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

    def free_places(self, item: _Item) -> Iterator[tuple[_Variant, Cells]]:
        """Yield for every variant with room the places of its top left cell, and whether it lies clear there."""
        if item.least > self._free or not item.variants:
            return
        # Within the valid places a circular correlation over the sheet wraps nothing round.
        overlaps = fft.irfft2(self._spectrum * item.spectra, s=self._kind.shape)
        for variant, overlap in zip(item.variants, overlaps, strict=True):
            free = np.asarray(overlap[: variant.last[0] + 1, : variant.last[1] + 1] < 0.5, dtype=bool)
            if free.any():
                yield variant, free

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
    shown = list(map(kind.item, items))
    least = math.ceil(sum(variants[0].cells.sum() for variants in items) / math.prod(kind.size))
    ways = [(_area, False), (_girth, False)]
    if any(len(variants) > 1 for variants in items):
        ways.insert(1, (_area, True))
    best: list[Packed] | None = None
    for key, bulky in ways:
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
        for _, free in sheet.free_places(kind.item([raster])):
            row, column = max(map(tuple, np.argwhere(free)))  # at the foot of the page, on the right
            return number, kind.place(raster, int(row), int(column))
    return None


def _laid(kind: _Format, items: Sequence[_Item], order: Sequence[int], *, bulky: bool) -> list[Packed]:
    """Lay items out in an order."""
    sheets: list[_Sheet] = []
    found: dict[int, Packed] = {}
    for n in order:
        places = ((number, _best_place(sheet, items[n], bulky=bulky)) for number, sheet in enumerate(sheets))
        number, best = next(((number, place) for number, place in places if place is not None), (len(sheets), None))
        if best is None:
            sheets.append(_Sheet(kind))
            best = _best_place(sheets[-1], items[n], bulky=bulky)
        if best is not None:  # every item fits on a blank sheet
            variant, row, column = best
            sheets[number].put(variant.raster.cells, row, column)
            found[n] = Packed(number, variant.number, kind.place(variant.raster, row, column))
    return [found[n] for n in range(len(items))]


def _best_place(sheet: _Sheet, item: _Item, *, bulky: bool) -> tuple[_Variant, int, int] | None:
    """Return the variant, row and column where an item ends highest, then farthest to the left."""
    places = []
    for variant, free in sheet.free_places(item):
        row, column = divmod(int(free.argmax()), free.shape[1])
        rows, columns = variant.raster.cells.shape
        places.append(((row + rows, column + columns, bulky * variant.bulk, variant.number), variant, row, column))
    return min(places, key=lambda place: place[0])[1:] if places else None

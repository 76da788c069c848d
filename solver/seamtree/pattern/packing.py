"""Shapes packed onto sheets, also into each other's corners, where packing their boxes would waste paper.

Shapes are laid on a grid of small cells; two shapes lie clear of each other if they have no cell in common. The cells
of a sheet are the bits of one whole number, row after row. Where a shape has room is found for all places at once: it
is where every one of the rectangles that make up the shape begins on free cells only.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

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
    rectangles
        The same as rectangles: top, left, height and width of each, in cells.
    width, height
        Of the shape, inches.
    before, after
        How far to the right and down the first cell begins before it, gap and all, and the last one ends after it.
    """

    cells: Cells
    rectangles: tuple[tuple[int, int, int, int], ...]
    width: float
    height: float
    before: Point
    after: Point

    def half_turned(self) -> Raster:
        """Return the cells of the shape turned by half a turn."""
        rows, columns = self.cells.shape
        turned = ((rows - top - high, columns - left - wide, high, wide) for top, left, high, wide in self.rectangles)
        return Raster(self.cells[::-1, ::-1], tuple(turned), self.width, self.height, self.after, self.before)

    @property
    def area(self) -> int:
        """How many cells it takes."""
        return sum(high * wide for _, _, high, wide in self.rectangles)

    @property
    def bulk(self) -> int:
        """How far down and to the right its cells lie, summed."""
        return sum(
            high * wide * (2 * (top + left) + high + wide - 2) // 2 for top, left, high, wide in self.rectangles
        )


def _cells_for(length: float) -> int:
    return math.ceil(length / _CELL - 1e-6)


def _raster(cells: Cells, width: float, height: float, gap: float) -> Raster:
    rows, columns = cells.shape
    after = columns * _CELL - width - gap, rows * _CELL - height - gap
    return Raster(cells, _rectangles(cells), width, height, (0.0, 0.0), after)


def _rectangles(cells: Cells) -> tuple[tuple[int, int, int, int], ...]:
    """Return top, left, height and width of rectangles that make up cells.

    Each is as high as the same cells of a row stay taken from the row above.
    """
    steps = np.zeros((cells.shape[0], cells.shape[1] + 1), dtype=np.int8)
    steps[:, :-1] = cells
    steps[:, 1:] -= cells
    ends = zip(np.argwhere(steps > 0).tolist(), np.argwhere(steps < 0)[:, 1].tolist(), strict=True)
    found: list[tuple[int, int, int, int]] = []
    going: dict[tuple[int, int], tuple[int, int]] = {}
    for (row, left), end in ends:
        top, high = going.get((left, end), (row, 0))
        if top + high < row:
            found.append((top, left, high, end - left))
            top, high = row, 0
        going[left, end] = top, high + 1
    return (*found, *((top, left, high, end - left) for (left, end), (top, high) in going.items()))


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
    """A raster on sheets of one size.

    Parameters
    ----------
    raster, number
        What it is, and its number in its item.
    places
        The cells of a sheet that it may begin in.
    rectangles
        What it is made of, the largest first: the bit of the first cell of each, how wide and how high it is.
    """

    raster: Raster
    number: int
    places: int
    rectangles: tuple[tuple[int, int, int], ...]


@dataclass(frozen=True, slots=True)
class _Item:
    """The variants of an item that fit on a sheet, and the fewest cells that they take."""

    variants: tuple[_Variant, ...]
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
        self.rows, self.columns = _cells_for(room[1] + gap), _cells_for(room[0] + gap)

    def item(self, rasters: Sequence[Raster]) -> _Item:
        """Return the variants of an item that are no larger than these sheets."""

        def largest(raster: Raster) -> list[tuple[int, int, int, int]]:
            return sorted(raster.rectangles, key=lambda one: -one[2] * one[3])

        placed = ((number, raster, *self._last(raster)) for number, raster in enumerate(rasters))
        variants = tuple(
            _Variant(
                raster,
                number,
                self._corner(row + 1, column + 1),
                tuple((top * self.columns + left, wide, high) for top, left, high, wide in largest(raster)),
            )
            for number, raster, row, column in placed
            if row >= 0 and column >= 0
        )
        return _Item(variants, min((variant.raster.area for variant in variants), default=0))

    def _last(self, raster: Raster) -> tuple[int, int]:
        """Return the last row and column where a raster may begin, below 0 if the shape is larger than the sheet."""
        last = []
        for side, extent, before, cells, own in zip(
            self.room,
            (raster.width, raster.height),
            raster.before,
            (self.columns, self.rows),
            reversed(raster.cells.shape),
            strict=True,
        ):
            last.append(min(math.floor((side - extent - before) / _CELL + 1e-6), cells - own))
        return last[1], last[0]

    def _corner(self, rows: int, columns: int) -> int:
        """Return the cells of so many rows and columns from the top left corner of a sheet on."""
        beginnings = ((1 << rows * self.columns) - 1) // ((1 << self.columns) - 1)
        return ((1 << columns) - 1) * beginnings

    def blank(self) -> int:
        """Return all cells of a sheet."""
        return self._corner(self.rows, self.columns)

    def bits(self, cells: Cells) -> int:
        """Return cells as they lie in the top left corner of a sheet."""
        rows = np.zeros((len(cells), self.columns), dtype=bool)
        rows[:, : cells.shape[1]] = cells
        return int.from_bytes(np.packbits(rows, bitorder="little").tobytes(), "little")

    def place(self, raster: Raster, row: int, column: int) -> Point:
        """Return where the origin of a shape is on the sheet, by its first row and column."""
        return column * _CELL + raster.before[0], row * _CELL + raster.before[1]

    def cell(self, raster: Raster, at: Point) -> tuple[int, int]:
        """Return the first row and column of a shape that lies at a place."""
        return round((at[1] - raster.before[1]) / _CELL), round((at[0] - raster.before[0]) / _CELL)


class _Sheet:
    """The cells of a sheet that are free."""

    def __init__(self, kind: _Format) -> None:
        self._kind = kind
        self._free = kind.blank()
        self._number = self._free.bit_count()
        self._beginnings: dict[tuple[int, int], int] = {}

    def free_places(self, item: _Item) -> Iterator[tuple[_Variant, int]]:
        """Yield every variant with room, and the cells that it may begin in."""
        if item.least > self._number:
            return
        for variant in item.variants:
            places = variant.places
            for first, wide, high in variant.rectangles:
                places &= self._begins(wide, high) >> first
                if not places:
                    break
            else:
                yield variant, places

    def _begins(self, wide: int, high: int) -> int:
        """Return the cells where a free rectangle begins; a row goes on in the next, where no shape may begin."""
        if (wide, high) not in self._beginnings:
            if high > 1:
                found = _lasting(self._begins(wide, 1), high, self._kind.columns)
            else:
                found = _lasting(self._free, wide, 1)
            self._beginnings[wide, high] = found
        return self._beginnings[wide, high]

    def put(self, cells: Cells, row: int, column: int) -> None:
        """Take the cells of a shape at a place."""
        self._free &= ~(self._kind.bits(cells) << row * self._kind.columns + column)
        self._number = self._free.bit_count()
        self._beginnings.clear()


def _lasting(bits: int, number: int, step: int) -> int:
    """Return the bits that are followed by others, one step after another, until so many are set."""
    done = 1
    while done < number:
        more = min(done, number - done)
        bits &= bits >> more * step
        done += more
    return bits


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
    least = math.ceil(sum(variants[0].area for variants in items) / (kind.rows * kind.columns))
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
    return raster.area


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
            row, column = divmod(free.bit_length() - 1, kind.columns)  # at the foot of the page, on the right
            return number, kind.place(raster, row, column)
    return None


def _laid(kind: _Format, items: Sequence[_Item], order: Sequence[int], *, bulky: bool) -> list[Packed]:
    """Lay items out in an order."""
    sheets: list[_Sheet] = []
    found: dict[int, Packed] = {}
    for n in order:
        places = ((number, _best_place(kind, sheet, items[n], bulky=bulky)) for number, sheet in enumerate(sheets))
        number, best = next(((number, place) for number, place in places if place is not None), (len(sheets), None))
        if best is None:
            sheets.append(_Sheet(kind))
            best = _best_place(kind, sheets[-1], items[n], bulky=bulky)
        if best is not None:  # every item fits on a blank sheet
            variant, row, column = best
            sheets[number].put(variant.raster.cells, row, column)
            found[n] = Packed(number, variant.number, kind.place(variant.raster, row, column))
    return [found[n] for n in range(len(items))]


def _best_place(kind: _Format, sheet: _Sheet, item: _Item, *, bulky: bool) -> tuple[_Variant, int, int] | None:
    """Return the variant, row and column where an item ends highest, then farthest to the left."""
    places = []
    for variant, free in sheet.free_places(item):
        row, column = divmod((free & -free).bit_length() - 1, kind.columns)
        rows, columns = variant.raster.cells.shape
        places.append(
            ((row + rows, column + columns, bulky and variant.raster.bulk, variant.number), variant, row, column)
        )
    return min(places, key=lambda place: place[0])[1:] if places else None

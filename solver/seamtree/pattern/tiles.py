"""Foundations that are larger than a sheet, in tiles that overlap.

In the middle of each overlap the same marks are printed on both tiles, to be laid on each other.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

import shapely
from shapely.geometry.base import BaseGeometry

from seamtree.errors import Point, SeamtreeError
from seamtree.pattern.foundation import Foundation, PaperPatch
from seamtree.pattern.labels import Label, Measure, place_label
from seamtree.pattern.panels import Mark, Panel, Window, caption_lines, caption_width, turn

OVERLAP = 0.6
"""Inches that neighbouring tiles of a foundation have in common."""

_TILE_CAPTION = 1.0
"""Inches kept free below each tile of a foundation for its caption."""

_CLEAR = 0.15
"""Inches; alignment marks need not be farther than this from lines."""

_SHARES = (0.25, 0.2, 0.3, 0.15, 0.35, 0.1, 0.4, 0.05, 0.0)
"""Where on an overlap its first mark may be, the best place first; the second one likewise from the other end."""

_INSIDE = 0.12
"""Inches; an alignment mark whose middle is so far inside a tile lies in it as a whole."""

_APART = 0.24
"""Inches; alignment marks whose middles are farther from each other do not touch."""

_LEAST_BAND = 0.8
"""Inches; a shorter line has no room for two alignment marks."""

_MOST_TILES = 400
"""A foundation of more tiles than this is taken for a slip."""


@dataclass(frozen=True, slots=True)
class _Grid:
    """How a foundation is shared out: equal windows in columns and rows."""

    columns: int
    rows: int
    width: float
    height: float

    def tell(self, column: int, row: int) -> str:
        """Say where a window is, which bears the number of its tile already."""
        if self.rows == 1:
            return "from left to right"
        if self.columns == 1:
            return "from top to bottom"
        return f"row {row + 1} of {self.rows}, column {column + 1} of {self.columns}"

    def window(self, column: int, row: int) -> Window:
        left, top = column * (self.width - OVERLAP), row * (self.height - OVERLAP)
        return left, top, left + self.width, top + self.height


def tile_panels(foundation: Foundation, room: tuple[float, float], measure: Measure) -> Iterator[Panel]:
    """Yield a foundation as tiles that overlap.

    Raises
    ------
    SeamtreeError
        If it would take an absurd number of pages.
    """
    high = room[1] - _TILE_CAPTION
    ways = (foundation, turn(foundation, 90))
    laid, grid = min(
        ((way, _grid(way, room[0], high)) for way in ways), key=lambda pair: pair[1].columns * pair[1].rows
    )
    if grid.columns * grid.rows > _MOST_TILES:
        raise SeamtreeError(
            f"unit {foundation.unit} is {foundation.width:.1f} × {foundation.height:.1f} in and would take "
            f"{grid.columns * grid.rows} pages; is the width of the drawing right?"
        )
    places = _places(grid, laid)
    windows = [grid.window(*place) for place in places]
    labels = _shared_labels(laid, windows, measure)
    bands = list(_bands(grid, places, laid))
    marks = _marks(bands, laid)
    tiles = len(places)
    for number, (window, (column, row), mine) in enumerate(zip(windows, places, labels, strict=True), 1):
        box = shapely.box(*window)
        head = f"Unit {foundation.unit}, tile {number} of {tiles} · {grid.tell(column, row)}"
        caption = caption_lines(head, laid, mine, grid.width, measure)
        yield Panel(
            laid,
            window,
            tuple(mine),
            tuple(mark for mark in marks if box.buffer(-0.99 * _INSIDE).contains(shapely.Point(mark.at))),
            tuple(line for line in bands if box.buffer(1e-9).covers(shapely.LineString(line))),
            number,
            tiles,
            caption,
            caption_width(caption, measure),
        )


def _grid(foundation: Foundation, wide: float, high: float) -> _Grid:
    columns, rows = (
        max(1, math.ceil((size - OVERLAP) / (most - OVERLAP) - 1e-9))
        for size, most in ((foundation.width, wide), (foundation.height, high))
    )
    return _Grid(
        columns,
        rows,
        (foundation.width + (columns - 1) * OVERLAP) / columns,
        (foundation.height + (rows - 1) * OVERLAP) / rows,
    )


def _places(grid: _Grid, foundation: Foundation) -> list[tuple[int, int]]:
    """Return columns and rows of the windows in which there is something to print."""
    area = shapely.Polygon(foundation.trim)
    return [
        (column, row)
        for row in range(grid.rows)
        for column in range(grid.columns)
        if shapely.intersection(area, shapely.box(*grid.window(column, row))).area > 0
    ]


def _bands(grid: _Grid, places: Sequence[tuple[int, int]], foundation: Foundation) -> Iterator[tuple[Point, Point]]:
    """Yield the middle line of the overlap of every two neighbouring windows in which there is something to print."""
    area, filled = shapely.Polygon(foundation.trim), set(places)
    for column, row in places:
        left, top, right, bottom = grid.window(column, row)
        if (column + 1, row) in filled:
            yield from _band(area, (right - OVERLAP, top, right, bottom), upright=True)
        if (column, row + 1) in filled:
            yield from _band(area, (left, bottom - OVERLAP, right, bottom), upright=False)


def _band(area: shapely.Polygon, overlap: Window, *, upright: bool) -> Iterator[tuple[Point, Point]]:
    """Yield the middle line of an overlap, if anything of the area lies there.

    It ends where the paper ends when the foundation is cut out, so that the marks on it are not cut off.
    """
    left, top, right, bottom = overlap
    x, y = (left + right) / 2, (top + bottom) / 2
    middle = ((x, top), (x, bottom)) if upright else ((left, y), (right, y))
    for shape in (shapely.LineString(middle), shapely.box(*overlap)):
        inside = shapely.intersection(area, shape)
        if inside.is_empty:
            continue
        start, end = inside.bounds[1::2] if upright else inside.bounds[0::2]
        first, last = (top + _INSIDE, bottom - _INSIDE) if upright else (left + _INSIDE, right - _INSIDE)
        start = max(first, min(start, (start + end - _LEAST_BAND) / 2, last - _LEAST_BAND))
        end = min(last, max(end, start + _LEAST_BAND))
        yield ((x, start), (x, end)) if upright else ((start, y), (end, y))
        return


def _marks(bands: Iterable[tuple[Point, Point]], foundation: Foundation) -> tuple[Mark, ...]:
    """Return two marks for every overlap, lettered: clear of each other, then of the lines of the foundation."""
    rings = [foundation.trim, foundation.outline, *(patch.polygon for patch in foundation.patches)]
    lines = shapely.union_all([shapely.LinearRing(ring) for ring in rings])
    places: list[Point] = []
    for a, b in bands:
        for shares in (_SHARES, [1 - share for share in _SHARES]):
            spots = [(a[0] + share * (b[0] - a[0]), a[1] + share * (b[1] - a[1])) for share in shares]
            places.append(max(spots, key=lambda spot: (_apart(spot, places), _away_from(spot, lines))))
    return tuple(Mark(_letters(n), at) for n, at in enumerate(places))


def _apart(spot: Point, others: Iterable[Point]) -> float:
    """Return how far a mark is from the nearest other mark, as far as it matters."""
    return min([_APART, *(math.dist(spot, other) for other in others)])


def _away_from(spot: Point, lines: BaseGeometry) -> float:
    """Return how far a place is from lines, as far as it matters."""
    return min(_CLEAR, float(shapely.Point(spot).distance(lines)))


def _letters(number: int) -> str:
    """Return the letter of a mark: a to z, then aa, ab and so on."""
    name = ""
    number += 1
    while number:
        number, rest = divmod(number - 1, 26)
        name = chr(ord("a") + rest) + name
    return name


def _shared_labels(foundation: Foundation, windows: Sequence[Window], measure: Measure) -> list[list[Label]]:
    """Return the labels that stand in each window: every patch has its text once, where there is most room."""
    shared: list[list[Label]] = [[] for _ in windows]
    free = [_free(window, foundation) for window in windows]
    every = [shapely.box(*window) for window in windows]
    for patch in foundation.patches:
        fits = list(_fits(patch, free, measure))
        if all(incomplete for incomplete, *_ in fits):
            # The patch lies in the overlaps, or mostly so: then the text may as well.
            fits += _fits(patch, every, measure)
        *_, n, label = min(fits, key=lambda fit: fit[:4])
        shared[n].append(label)
    return shared


def _free(window: Window, foundation: Foundation) -> shapely.Polygon:
    """Return what of a window lies clear of the marks in its overlaps."""
    left, top, right, bottom = window
    away = 0.75 * OVERLAP
    return shapely.box(
        left + away * (left > 0),
        top + away * (top > 0),
        right - away * (right < foundation.width - 1e-6),
        bottom - away * (bottom < foundation.height - 1e-6),
    )


def _fits(
    patch: PaperPatch, rooms: Sequence[shapely.Polygon], measure: Measure
) -> Iterator[tuple[bool, float, float, int, Label]]:
    """Yield the label of a patch in each room that it reaches, with what tells good from bad."""
    area = shapely.Polygon(patch.polygon)
    for n, room in enumerate(rooms):
        for piece in shapely.get_parts(shapely.intersection(area, room)):
            if piece.geom_type == "Polygon" and piece.area > 1e-6:
                label = place_label(piece, patch.name, patch.code, measure)
                yield not label.complete, -label.size, -piece.area, n, label

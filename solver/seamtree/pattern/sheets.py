"""Foundations laid out on sheets: several on a sheet without waste, one that is larger than a sheet in parts.

A *panel* is what is printed in one place: a whole foundation or a part of one, with its labels and its caption. Parts
overlap; in the middle of each overlap the same marks are printed on both parts, to be laid on each other.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import product

import shapely
from shapely.geometry.base import BaseGeometry

from seamtree.errors import Point, SeamtreeError
from seamtree.pattern.foundation import Foundation, PaperPatch, Path
from seamtree.pattern.labels import Label, Measure, place_label, short_word
from seamtree.pattern.lengths import POINTS
from seamtree.pattern.nesting import nest
from seamtree.pattern.paper import Paper

GAP = 0.12
"""Inches between panels."""

OVERLAP = 0.6
"""Inches that neighbouring parts of a foundation have in common."""

CAPTION_SIZE = 8.0
"""Size of type of captions, points."""

CAPTION_LEADING = 10.0 / POINTS
"""Inches from line to line of a caption."""

_LEAST_CAPTION = 1.7
"""Inches; captions of narrow panels may be this wide."""

_PART_CAPTION = 1.0
"""Inches kept free below each part of a foundation for its caption."""

_CLEAR = 0.15
"""Inches; alignment marks need not be farther than this from lines."""

_MOST_PARTS = 400
"""A foundation of more parts than this is taken for a slip."""

_SCALE = 10_000
"""The packing library counts in whole numbers: this many to the inch."""

Window = tuple[float, float, float, float]


@dataclass(frozen=True, slots=True)
class Mark:
    """An alignment mark: a letter and where it lies on the foundation, inches."""

    name: str
    at: Point


@dataclass(frozen=True, slots=True)
class Panel:
    """What is printed in one place.

    Parameters
    ----------
    foundation
        The foundation, turned as it is printed.
    window
        Left, top, right and bottom of what of it is printed, inches in the frame of the foundation.
    labels
        Of the patches whose text stands in this panel.
    marks
        Alignment marks.
    glue
        Lines in the middle of the overlaps with the neighbouring parts.
    part, parts
        Number of the part, from 1, and how many there are.
    caption
        Lines below the panel; the first one begins with the unit.
    caption_width
        Of the widest of them, inches.
    """

    foundation: Foundation
    window: Window
    labels: tuple[Label, ...]
    marks: tuple[Mark, ...]
    glue: tuple[tuple[Point, Point], ...]
    part: int
    parts: int
    caption: tuple[str, ...]
    caption_width: float

    @property
    def width(self) -> float:
        """Of what is printed, without its caption, inches."""
        return self.window[2] - self.window[0]

    @property
    def height(self) -> float:
        """Of what is printed, without its caption, inches."""
        return self.window[3] - self.window[1]

    @property
    def whole(self) -> bool:
        """Whether it is a whole foundation."""
        return self.parts == 1


@dataclass(frozen=True, slots=True)
class Placement:
    """A panel and where its top left corner lies in the room of a sheet, inches."""

    panel: Panel
    at: Point


@dataclass(frozen=True, slots=True)
class Sheet:
    """A page of panels; on a `tall` one the test squares stand on the right, so that it has room for long units."""

    placements: tuple[Placement, ...]
    tall: bool


def lay_out(foundations: Sequence[Foundation], paper: Paper, measure: Measure) -> tuple[Sheet, ...]:
    """Lay foundations out on sheets: as few parts as possible, then as few sheets as the packing finds.

    Parameters
    ----------
    foundations
        All that are printed.
    paper
        What they are printed on.
    measure
        Widths of text.

    Returns
    -------
    tuple of sheets
        In the order of the first unit on each. Foundations lie as they do in the mirrored block if that takes no
        more sheets, else some are turned by a quarter; one that is too large for a sheet is turned any way that
        makes it fit, and comes in parts if none does.

    Raises
    ------
    SeamtreeError
        If a foundation would take an absurd number of pages.
    """
    wide = _Layout(paper.room, measure, tall=False)
    tall = _Layout(paper.tall_room, measure, tall=True)
    long = {f.unit for f in foundations if not wide.holds(f) and tall.holds(f)}
    ways = [wide.sheets(foundations)]
    if long:
        ways += [
            tall.sheets(foundations),
            wide.sheets([f for f in foundations if f.unit not in long])
            + tall.sheets([f for f in foundations if f.unit in long]),
        ]
    best = min(ways, key=lambda sheets: (sum(len(sheet.placements) for sheet in sheets), len(sheets)))
    order = {f.unit: n for n, f in enumerate(foundations)}

    def place(placement: Placement) -> tuple[int, int]:
        return order[placement.panel.foundation.unit], placement.panel.part

    ordered = [Sheet(tuple(sorted(sheet.placements, key=place)), sheet.tall) for sheet in best]
    return tuple(sorted(ordered, key=lambda sheet: place(sheet.placements[0])))


class _Layout:
    """Lays foundations out on sheets of one kind."""

    def __init__(self, room: tuple[float, float], measure: Measure, *, tall: bool) -> None:
        self._room = room
        self._measure = measure
        self._tall = tall
        self._panels: dict[tuple[str, bool], tuple[Panel, ...]] = {}

    def holds(self, foundation: Foundation) -> bool:
        """Tell whether a foundation fits on a sheet as a whole."""
        return self._panels_of(foundation, quarter=False)[0].whole

    def sheets(self, foundations: Iterable[Foundation]) -> list[Sheet]:
        """Return the sheets, turned in the way that takes the fewest."""
        foundations = list(foundations)
        ways = [
            _packed([panel for f in foundations for panel in self._panels_of(f, quarter=turned(f))], self._room)
            for turned in (_never, _if_tall, _if_wide)
        ]
        best = min(ways, key=len)
        if len(best) > self._least(best):
            nested = self._nested(foundations)
            best = nested if len(nested) < len(best) else best
        return [Sheet(tuple(placements), self._tall) for placements in best]

    def _least(self, sheets: Sequence[Sequence[Placement]]) -> int:
        """Return how many sheets are needed at least, by the area of what is printed."""
        area = math.fsum(_shape(placement.panel).area for sheet in sheets for placement in sheet)
        return math.ceil(area / (self._room[0] * self._room[1]))

    def _nested(self, foundations: Iterable[Foundation]) -> list[list[Placement]]:
        """Nest panels into each other's corners, turned by quarters."""
        items: list[tuple[Panel, ...]] = []
        for f in foundations:
            upright, turned = (self._panels_of(f, quarter=quarter) for quarter in (False, True))
            if upright[0].whole:
                panels = [upright[0], *(turned if turned[0].whole else ())]
                items.append((*panels, *map(_half_turned, panels)))
            else:
                items += ((panel,) for panel in upright)
        places = nest([[_shape(panel) for panel in item] for item in items], self._room, gap=GAP)
        sheets: list[list[Placement]] = [[] for _ in range(1 + max((p.sheet for p in places), default=-1))]
        for item, place in zip(items, places, strict=True):
            sheets[place.sheet].append(Placement(item[place.variant], place.at))
        return sheets

    def _panels_of(self, foundation: Foundation, *, quarter: bool) -> tuple[Panel, ...]:
        key = foundation.unit, quarter
        if key not in self._panels:
            self._panels[key] = tuple(_panels(foundation, self._room, self._measure, quarter=quarter))
        return self._panels[key]


def _never(foundation: Foundation) -> bool:  # noqa: ARG001
    return False


def _if_tall(foundation: Foundation) -> bool:
    return foundation.height > foundation.width


def _if_wide(foundation: Foundation) -> bool:
    return foundation.width > foundation.height


# -- turning ---------------------------------------------------------------------------------------------------


def turn(foundation: Foundation, degrees: float) -> Foundation:
    """Return a foundation turned on the paper, clockwise as seen."""
    quarter = degrees / 90
    if quarter == round(quarter):
        cos, sin = ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))[round(quarter) % 4]
    else:
        cos, sin = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))

    def about_origin(at: Point) -> Point:
        return cos * at[0] - sin * at[1], sin * at[0] + cos * at[1]

    trim = [about_origin(at) for at in foundation.trim]
    left, top = min(x for x, _ in trim), min(y for _, y in trim)

    def turned(at: Point) -> Point:
        x, y = about_origin(at)
        return x - left, y - top

    def path(points: Path) -> Path:
        return tuple(map(turned, points))

    # The new origin as it lay before.
    back = cos * left + sin * top, -sin * left + cos * top
    return replace(
        foundation,
        patches=tuple(replace(patch, polygon=path(patch.polygon)) for patch in foundation.patches),
        outline=path(foundation.outline),
        trim=path(foundation.trim),
        ticks=tuple((turned(a), turned(b)) for a, b in foundation.ticks),
        markings=tuple(map(path, foundation.markings)),
        corner=(foundation.corner[0] - back[0], foundation.corner[1] + back[1]),
        turned=(foundation.turned + degrees) % 360,
        width=max(x for x, _ in trim) - left,
        height=max(y for _, y in trim) - top,
    )


def _laid_best(foundation: Foundation) -> Iterator[Foundation]:
    """Yield a foundation turned so that one side of its smallest box is level, both ways."""
    box = shapely.minimum_rotated_rectangle(shapely.Polygon(foundation.trim))
    a, b, *_ = box.exterior.coords
    degrees = -math.degrees(math.atan2(b[1] - a[1], b[0] - a[0])) % 90
    for angle in (degrees, degrees + 90):
        yield turn(foundation, angle)


# -- panels ----------------------------------------------------------------------------------------------------


def _panels(foundation: Foundation, room: tuple[float, float], measure: Measure, *, quarter: bool) -> Iterator[Panel]:
    """Yield a foundation as one panel, or as the panels of its parts."""
    usual = turn(foundation, 90) if quarter else foundation
    for laid in (usual, turn(foundation, 0 if quarter else 90), *_laid_best(foundation)):
        panel = _whole(laid, measure)
        if _box(panel)[0] <= room[0] and _box(panel)[1] <= room[1]:
            yield panel
            return
    yield from _parts(foundation, room, measure)


def _whole(foundation: Foundation, measure: Measure) -> Panel:
    labels = tuple(place_label(p.polygon, p.name, p.word, measure) for p in foundation.patches)
    window = (0.0, 0.0, foundation.width, foundation.height)
    head = _head(foundation)
    caption = _caption(head, foundation, labels, foundation.width, measure)
    return Panel(foundation, window, labels, (), (), 1, 1, caption, _caption_width(caption, measure))


def _head(foundation: Foundation) -> str:
    alike = f" · like {', '.join(foundation.alike)}" if foundation.alike else ""
    if foundation.is_template:
        return f"Unit {foundation.unit} · template, one patch{alike}"
    return f"Unit {foundation.unit} · {len(foundation.patches)} patches{alike}"


def _caption(
    head: str, foundation: Foundation, labels: Sequence[Label], width: float, measure: Measure
) -> tuple[str, ...]:
    """Return the lines of a caption: what it is, and the key to numbers without a word."""
    words = {patch.name: short_word(patch.word) for patch in foundation.patches}
    # The unit's letter is left out, so that the whole number stands on the foundation only.
    numbers = {label.patch: label.patch.removeprefix(foundation.unit) for label in labels if not label.complete}
    key = ", ".join(f"{number} {words[name]}" for name, number in numbers.items())
    wide = max(width, _LEAST_CAPTION) * POINTS
    # The unit's letter is bold, so a little wider.
    lines = list(_wrapped(head, wide * 0.94, measure))
    return (*lines, *(_wrapped(f"Key: {key}", wide, measure) if key else ()))


def _caption_width(caption: Sequence[str], measure: Measure) -> float:
    # The unit's letter is bold, and stands a little apart.
    head, *key = (measure(line, CAPTION_SIZE) for line in caption)
    return max(head / 0.94 + 4.0, *key, 0.0) / POINTS


def _wrapped(text: str, width: float, measure: Measure) -> Iterator[str]:
    line = ""
    for word in text.split():
        longer = f"{line} {word}" if line else word
        if line and measure(longer, CAPTION_SIZE) > width:
            yield line
            line = word
        else:
            line = longer
    yield line


def _box(panel: Panel) -> tuple[float, float]:
    """Return width and height of a panel with its caption, inches."""
    return max(panel.width, _LEAST_CAPTION), panel.height + caption_height(panel)


def _shape(panel: Panel) -> BaseGeometry:
    """Return what a panel takes of a sheet, from its top left corner: within its trim line, and its caption."""
    caption = shapely.box(0.0, panel.height, panel.caption_width, panel.height + caption_height(panel))
    if not panel.whole:
        return shapely.union(shapely.box(0.0, 0.0, panel.width, panel.height), caption)
    return shapely.union(shapely.Polygon(panel.foundation.trim), caption)


def _half_turned(panel: Panel) -> Panel:
    """Return a whole foundation turned by half a turn; its texts stay upright, and fit as before."""
    width, height = panel.width, panel.height
    return replace(
        panel,
        foundation=turn(panel.foundation, 180),
        labels=tuple(replace(label, at=(width - label.at[0], height - label.at[1])) for label in panel.labels),
    )


def caption_height(panel: Panel) -> float:
    """Return the height of a panel's caption, inches, with the space above it."""
    return CAPTION_LEADING * (len(panel.caption) + 0.4)


# -- parts -----------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Grid:
    """How a foundation is parted: equal windows in columns and rows."""

    columns: int
    rows: int
    width: float
    height: float

    def window(self, column: int, row: int) -> Window:
        left, top = column * (self.width - OVERLAP), row * (self.height - OVERLAP)
        return left, top, left + self.width, top + self.height


def _parts(foundation: Foundation, room: tuple[float, float], measure: Measure) -> Iterator[Panel]:
    high = room[1] - _PART_CAPTION
    ways = (foundation, turn(foundation, 90))
    laid, grid = min(
        ((way, _grid(way, room[0], high)) for way in ways), key=lambda pair: pair[1].columns * pair[1].rows
    )
    parts = grid.columns * grid.rows
    if parts > _MOST_PARTS:
        raise SeamtreeError(
            f"unit {foundation.unit} is {foundation.width:.1f} × {foundation.height:.1f} in and would take {parts} "
            "pages; is the width of the drawing right?"
        )
    places = [(column, row) for row in range(grid.rows) for column in range(grid.columns)]
    windows = [grid.window(*place) for place in places]
    labels = _shared_labels(laid, windows, measure)
    marks = _marks(grid, laid)
    glue = _glue(grid)
    for number, window in enumerate(windows, 1):
        box = shapely.box(*window)
        mine = tuple(labels[number - 1])
        column, row = places[number - 1]
        where = f"row {row + 1} of {grid.rows}, column {column + 1} of {grid.columns}"
        head = f"Unit {foundation.unit}, part {number} of {parts} · {where}"
        caption = _caption(head, laid, mine, grid.width, measure)
        yield Panel(
            laid,
            window,
            mine,
            tuple(mark for mark in marks if box.contains(shapely.Point(mark.at))),
            tuple(line for line in glue if box.contains(shapely.LineString(line).centroid)),
            number,
            parts,
            caption,
            _caption_width(caption, measure),
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


def _bands(grid: _Grid) -> Iterator[tuple[Point, Point]]:
    """Yield the middle line of the overlap of every two neighbouring windows, within both."""
    half = OVERLAP / 2
    for row in range(grid.rows):
        for column in range(grid.columns):
            left, top, right, bottom = grid.window(column, row)
            if column + 1 < grid.columns:
                yield (right - half, top), (right - half, bottom)
            if row + 1 < grid.rows:
                yield (left, bottom - half), (right, bottom - half)


def _glue(grid: _Grid) -> tuple[tuple[Point, Point], ...]:
    return tuple(_bands(grid))


def _marks(grid: _Grid, foundation: Foundation) -> tuple[Mark, ...]:
    """Return two marks for every overlap, lettered, as far from the lines of the foundation as can be."""
    rings = [foundation.trim, foundation.outline, *(patch.polygon for patch in foundation.patches)]
    lines = shapely.union_all([shapely.LinearRing(ring) for ring in rings])
    places = []
    for a, b in _bands(grid):
        for shares in ((0.25, 0.2, 0.3, 0.15, 0.35, 0.1, 0.4), (0.75, 0.7, 0.8, 0.65, 0.85, 0.6, 0.9)):
            spots = [(a[0] + share * (b[0] - a[0]), a[1] + share * (b[1] - a[1])) for share in shares]
            away = [min(_CLEAR, shapely.Point(spot).distance(lines)) for spot in spots]
            places.append(spots[away.index(max(away))])
    return tuple(Mark(_letters(n), at) for n, at in enumerate(places))


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
                label = place_label(piece, patch.name, patch.word, measure)
                yield not label.complete, -label.size, -piece.area, n, label


# -- packing ---------------------------------------------------------------------------------------------------


def _packed(panels: Sequence[Panel], room: tuple[float, float]) -> list[list[Placement]]:
    """Pack panels onto as few sheets as one of several ways to pack finds."""
    import rectpack

    width, height = (math.floor(side * _SCALE) for side in room)
    boxes = [tuple(math.ceil(side * _SCALE) for side in _box(panel)) for panel in panels]
    gap = round(GAP * _SCALE)
    best: list[tuple[int, int, int, int]] | None = None
    for bins, way, order in product(
        (rectpack.PackingBin.BFF, rectpack.PackingBin.BBF),
        (rectpack.MaxRectsBl, rectpack.MaxRectsBssf, rectpack.MaxRectsBaf, rectpack.SkylineBlWm),
        (rectpack.SORT_AREA, rectpack.SORT_LSIDE, rectpack.SORT_SSIDE),
    ):
        packer = rectpack.newPacker(
            mode=rectpack.PackingMode.Offline, bin_algo=bins, pack_algo=way, sort_algo=order, rotation=False
        )
        for n, (wide, high) in enumerate(boxes):
            packer.add_rect(wide + gap, high + gap, n)
        # The gap on the far side of the last panel lies outside the room.
        packer.add_bin(width + gap, height + gap, count=len(boxes))
        packer.pack()
        packed = [(sheet, y, x, n) for sheet, x, y, _, _, n in packer.rect_list()]
        if best is None or _sheets_of(packed) < _sheets_of(best):
            best = packed
    sheets: list[list[Placement]] = [[] for _ in range(_sheets_of(best or []))]
    for sheet, y, x, n in best or []:
        sheets[sheet].append(Placement(panels[n], (x / _SCALE, y / _SCALE)))
    return sheets


def _sheets_of(packed: Sequence[tuple[int, int, int, int]]) -> int:
    return 1 + max((sheet for sheet, *_ in packed), default=-1)

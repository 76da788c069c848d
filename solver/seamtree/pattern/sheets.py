"""Foundations laid out on sheets: several on one without waste, with the key beside them, larger ones in tiles."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import chain, product

import numpy as np
import numpy.typing as npt
import shapely
from shapely.geometry.base import BaseGeometry

from seamtree.errors import Point
from seamtree.geometry.rectangle import fitting_turn
from seamtree.pattern.foundation import Foundation
from seamtree.pattern.labels import Measure
from seamtree.pattern.names import place_names
from seamtree.pattern.packing import Raster, free_place, pack, rasterise, sheets_of
from seamtree.pattern.panels import LEAST_CAPTION, Panel, caption_height, turn, whole_panel
from seamtree.pattern.paper import Paper
from seamtree.pattern.tiles import tile_panels

GAP = 0.12
"""Inches between panels."""

_ANGLES = range(3, 90, 3)
"""Degrees that a foundation is turned by if it fits in no other way."""

_MOST_AT_ONCE = 6
"""So many copies of a block share their sheets at most."""

_SMALL = 1
"""A block that takes more sheets by itself is printed by itself."""


Size = tuple[float, float]
"""Width and height, inches."""


@dataclass(frozen=True, slots=True)
class Placement:
    """A panel and where its top left corner lies in the room of a sheet, inches."""

    panel: Panel
    at: Point


@dataclass(frozen=True, slots=True)
class Sheet:
    """A page of panels.

    Parameters
    ----------
    placements
        What lies on it.
    key
        Which of the boxes for the key has room, and where its top left corner lies; None if none has.
    """

    placements: tuple[Placement, ...]
    key: tuple[int, Point] | None = None


@dataclass(frozen=True, slots=True)
class Keys:
    """Boxes for the key: width and height in inches, the best first; those of the first sheet hold more."""

    first: tuple[Size, ...] = ()
    others: tuple[Size, ...] = ()


def lay_out(
    foundations: Sequence[Foundation],
    paper: Paper,
    measure: Measure,
    *,
    keys: Keys | None = None,
    block: str = "",
    prints: Prints | None = None,
    times: int = 1,
) -> tuple[Sheet, ...]:
    """Lay foundations out on sheets: as few tiles as possible, then as few sheets as the packing finds.

    Parameters
    ----------
    foundations
        All that are printed.
    paper
        What they are printed on.
    measure
        Widths of text.
    keys
        Boxes of which one is wanted on every sheet.
    block
        Name of the block.
    prints
        What was made for other layouts of the same foundations.
    times
        How often the sheets are printed, where several copies share them: a page with the key is printed once.

    Returns
    -------
    tuple of sheets
        In the order of the first unit on each. Foundations lie as they do in the mirrored block if that takes no
        more sheets, else some are turned by a quarter; one that is too large for a sheet is turned any way that
        makes it fit, and comes in tiles if none does. Where a key would take a sheet more, it is left out.

    Raises
    ------
    SeamtreeError
        If a foundation would take an absurd number of pages.
    """
    keys = keys or Keys()
    prints = prints or Prints(measure)
    order = {f.unit: n for n, f in enumerate(foundations)}

    def place(placement: Placement) -> tuple[int, int]:
        return order[placement.panel.foundation.unit], placement.panel.tile

    def finished(sheets: Iterable[list[Placement]]) -> tuple[Sheet, ...]:
        rows = sorted((tuple(sorted(sheet, key=place)) for sheet in sheets), key=lambda row: place(row[0]))
        return tuple(
            _with_key(row, keys.others if n else keys.first, paper.room, prints) for n, row in enumerate(rows)
        )

    full = _Layout(paper.room, prints)
    ways = [finished(full.sheets(foundations))]
    wanted = bool(keys.first)
    if wanted and _bare(ways[0]):
        # Sheets with a foot left free for the key; what is too long for them lies on others.
        wide, high = paper.room
        for foot in sorted({min(box[1] for box in boxes) for boxes in (keys.first, keys.others)}):
            layout = _Layout((wide, high - foot - GAP), prints)
            short, rest = list[Foundation](), list[Foundation]()
            for f in foundations:
                (short if layout.tiles(f) == full.tiles(f) else rest).append(f)
            ways.append(finished([*layout.sheets(short), *(full.sheets(rest) if rest else [])]))
            if not _bare(ways[-1]) and len(ways[-1]) == len(ways[0]):
                break
    # A page before the sheets holds the keys that have no room on them.
    best = min(
        ways,
        key=lambda sheets: (
            sum(len(sheet.placements) for sheet in sheets),
            len(sheets) * times + (wanted and _bare(sheets) > 0),
            _bare(sheets),
        ),
    )
    return tuple(
        replace(sheet, placements=tuple(_named(p, block, measure) for p in sheet.placements)) for sheet in best
    )


def _named(placement: Placement, block: str, measure: Measure) -> Placement:
    """Return a placement with the names inside the trim line of its panel."""
    panel = placement.panel
    names = place_names(panel.foundation, block, measure, window=None if panel.whole else panel.window)
    return replace(placement, panel=replace(panel, names=names))


def copies_at_once(
    foundations: Sequence[Foundation], copies: int, paper: Paper, measure: Measure, *, keys: Keys, block: str = ""
) -> tuple[int, tuple[Sheet, ...]]:
    """Return how many copies of a block share their sheets so that the fewest are printed, and the sheets."""
    prints = Prints(measure)
    sheets = lay_out(foundations, paper, measure, keys=keys, block=block, prints=prints)
    best = (len(sheets) * copies, 1, sheets)
    wide, high = paper.room
    area = math.fsum(shapely.Polygon(f.trim).area for f in foundations)
    most = min(copies, _MOST_AT_ONCE) if len(sheets) <= _SMALL else 1
    for number in range(2, most + 1):
        times = math.ceil(copies / number)
        if times == math.ceil(copies / (number - 1)) or math.ceil(number * area / (wide * high)) * times >= best[0]:
            continue
        together = list(foundations) * number
        some = lay_out(together, paper, measure, keys=keys, block=block, prints=prints, times=times)
        best = min(best, (len(some) * times, number, some), key=lambda way: way[:2])
    return best[1], best[2]


def _bare(sheets: Sequence[Sheet]) -> int:
    """Return how many sheets have no key."""
    return sum(sheet.key is None for sheet in sheets)


def _with_key(placements: tuple[Placement, ...], boxes: Sequence[Size], room: Size, prints: Prints) -> Sheet:
    taken = [(prints.raster(placement.panel), placement.at) for placement in placements]
    return Sheet(placements, free_place(taken, boxes, room, gap=GAP) if boxes else None)


class Prints:
    """Panels of the foundations of a block, and the cells that they touch: layouts share them, for both take time.

    Parameters
    ----------
    measure
        Widths of text.
    """

    def __init__(self, measure: Measure) -> None:
        self.measure = measure
        self._whole: dict[tuple[str, float], Panel] = {}
        self._halves: dict[int, Panel] = {}
        self._rasters: dict[int, tuple[Panel, Raster]] = {}

    def whole(self, foundation: Foundation, degrees: float) -> Panel:
        """Return a foundation as one panel, turned."""
        key = foundation.unit, degrees
        if key not in self._whole:
            self._whole[key] = whole_panel(turn(foundation, degrees) if degrees else foundation, self.measure)
        return self._whole[key]

    def half_turned(self, panel: Panel) -> Panel:
        """Return a whole foundation turned by half a turn; its texts stay upright, and fit as before."""
        if id(panel) not in self._halves:
            width, height = panel.width, panel.height
            labels = (replace(label, at=(width - label.at[0], height - label.at[1])) for label in panel.labels)
            made = replace(panel, foundation=turn(panel.foundation, 180), labels=tuple(labels))
            self._halves[id(panel)] = made
            if not panel.caption:
                self._rasters[id(made)] = made, self.raster(panel).half_turned()
        return self._halves[id(panel)]

    def raster(self, panel: Panel) -> Raster:
        """Return the cells of a panel."""
        if id(panel) not in self._rasters:
            self._rasters[id(panel)] = panel, rasterise(_shape(panel), gap=GAP)
        return self._rasters[id(panel)][1]


class _Layout:
    """Lays foundations out on sheets of one kind."""

    def __init__(self, room: Size, prints: Prints) -> None:
        self._room = room
        self._prints = prints
        self._panels: dict[tuple[str, bool], tuple[Panel, ...]] = {}

    def holds(self, foundation: Foundation) -> bool:
        """Tell whether a foundation fits on a sheet as a whole."""
        return self._panels_of(foundation, quarter=False)[0].whole

    def tiles(self, foundation: Foundation) -> int:
        """Return in how many tiles a foundation is printed, one for a whole one."""
        return len(self._panels_of(foundation, quarter=False))

    def sheets(self, foundations: Sequence[Foundation]) -> list[list[Placement]]:
        """Return what lies on each sheet: nothing is turned unless that takes fewer."""
        upright = [(panel,) for f in foundations for panel in self._panels_of(f, quarter=False)]
        best = self._laid(upright)
        if len(best) > self._least(best):
            turned = self._laid([ways for f in foundations for ways in self._ways(f)])
            best = turned if len(turned) < len(best) else best
        return best

    def _laid(self, items: Sequence[tuple[Panel, ...]]) -> list[list[Placement]]:
        """Pack panels, each in one of several ways."""
        rasters = [[self._prints.raster(panel) for panel in item] for item in items]
        places = pack(rasters, self._room, gap=GAP)
        sheets: list[list[Placement]] = [[] for _ in range(sheets_of(places))]
        for item, place in zip(items, places, strict=True):
            sheets[place.sheet].append(Placement(item[place.variant], place.at))
        return sheets

    def _least(self, sheets: Sequence[Sequence[Placement]]) -> int:
        """Return how many sheets are needed at least, by the area of what is printed."""
        area = math.fsum(_shape(placement.panel).area for sheet in sheets for placement in sheet)
        return math.ceil(area / (self._room[0] * self._room[1]))

    def _ways(self, foundation: Foundation) -> Iterator[tuple[Panel, ...]]:
        """Yield a foundation turned by quarters, or its tiles."""
        upright, turned = (self._panels_of(foundation, quarter=quarter) for quarter in (False, True))
        if upright[0].whole:
            panels = [upright[0], *(turned if turned[0].whole else ())]
            yield (*panels, *map(self._prints.half_turned, panels))
        else:
            yield from ((panel,) for panel in upright)

    def _panels_of(self, foundation: Foundation, *, quarter: bool) -> tuple[Panel, ...]:
        key = foundation.unit, quarter and self.holds(foundation)
        if key not in self._panels:
            self._panels[key] = tuple(_panels(foundation, self._room, self._prints, quarter=quarter))
        return self._panels[key]


# -- panels ----------------------------------------------------------------------------------------------------


def _panels(foundation: Foundation, room: Size, prints: Prints, *, quarter: bool) -> Iterator[Panel]:
    """Yield a foundation as one panel, or as its tiles."""
    trim = np.array(foundation.trim)
    for degrees in chain((90.0, 0.0) if quarter else (0.0, 90.0), _otherwise(foundation, room)):
        if not _fits(trim, degrees, room):
            continue
        panel = prints.whole(foundation, degrees)
        wide, high = _box(panel)
        if wide <= room[0] + 1e-9 and high <= room[1] + 1e-9:
            yield panel
            return
    yield from tile_panels(foundation, room, prints.measure)


def _box(panel: Panel) -> Size:
    """Return width and height of a panel with its caption, inches."""
    return max(panel.width, LEAST_CAPTION if panel.caption else 0.0), panel.height + caption_height(panel)


def _fits(trim: npt.NDArray[np.float64], degrees: float, room: Size) -> bool:
    """Tell whether an outline that is turned by an angle is no larger than the room."""
    angle = math.radians(degrees)
    turned = trim @ np.array([[math.cos(angle), math.sin(angle)], [-math.sin(angle), math.cos(angle)]])
    wide, high = turned.max(axis=0) - turned.min(axis=0)
    return bool(wide <= room[0] + 1e-9 and high <= room[1] + 1e-9)


def _otherwise(foundation: Foundation, room: Size) -> Iterator[float]:
    """Yield angles at which a side of a foundation's smallest box is level, those between, and one that must fit."""
    box = shapely.minimum_rotated_rectangle(shapely.Polygon(foundation.trim))
    a, b, c, *_ = box.exterior.coords
    degrees = -math.degrees(math.atan2(b[1] - a[1], b[0] - a[0])) % 90
    yield from (degrees, degrees + 90)
    if max(math.dist(a, b), math.dist(b, c)) <= math.hypot(*room):
        yield from (base + more for more, base in product(_ANGLES, (degrees, degrees + 90)))
    exactly = fitting_turn(foundation.trim, *room)
    if exactly is not None:
        yield math.degrees(exactly)


def _shape(panel: Panel) -> BaseGeometry:
    """Return what a panel takes of a sheet, from its top left corner: within its trim line, and its caption."""
    caption = shapely.box(0.0, panel.height, panel.caption_width, panel.height + caption_height(panel))
    shape = (
        shapely.Polygon(panel.foundation.trim) if panel.whole else shapely.box(0.0, 0.0, panel.width, panel.height)
    )
    return shapely.union(shape, caption) if panel.caption else shape

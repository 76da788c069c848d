"""Foundations laid out on sheets: several on one without waste, with the key beside them, larger ones in parts."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import product

import numpy as np
import numpy.typing as npt
import shapely
from shapely.geometry.base import BaseGeometry

from seamtree.errors import Point
from seamtree.geometry.rectangle import fitting_turn
from seamtree.pattern.foundation import Foundation
from seamtree.pattern.labels import Measure
from seamtree.pattern.names import place_names
from seamtree.pattern.nesting import free_place, nest
from seamtree.pattern.panels import LEAST_CAPTION, Panel, caption_height, turn, whole_panel
from seamtree.pattern.paper import Paper
from seamtree.pattern.parts import part_panels

GAP = 0.12
"""Inches between panels."""

_SCALE = 10_000
"""The packing library counts in whole numbers: this many to the inch."""

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
    foundations: Sequence[Foundation], paper: Paper, measure: Measure, *, keys: Keys | None = None, block: str = ""
) -> tuple[Sheet, ...]:
    """Lay foundations out on sheets: as few parts as possible, then as few sheets as the packing finds.

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

    Returns
    -------
    tuple of sheets
        In the order of the first unit on each. Foundations lie as they do in the mirrored block if that takes no
        more sheets, else some are turned by a quarter; one that is too large for a sheet is turned any way that
        makes it fit, and comes in parts if none does. Where a key would take a sheet more, it is left out.

    Raises
    ------
    SeamtreeError
        If a foundation would take an absurd number of pages.
    """
    keys = keys or Keys()
    order = {f.unit: n for n, f in enumerate(foundations)}

    def place(placement: Placement) -> tuple[int, int]:
        return order[placement.panel.foundation.unit], placement.panel.part

    def finished(sheets: Iterable[list[Placement]]) -> tuple[Sheet, ...]:
        rows = sorted((tuple(sorted(sheet, key=place)) for sheet in sheets), key=lambda row: place(row[0]))
        return tuple(_with_key(row, keys.others if n else keys.first, paper.room) for n, row in enumerate(rows))

    whole: dict[tuple[str, float], Panel] = {}
    full = _Layout(paper.room, measure, whole)
    ways = [finished(full.sheets(foundations))]
    wanted = bool(keys.first)
    if wanted and _bare(ways[0]):
        # Sheets with a foot left free for the key; what is too long for them lies on others.
        wide, high = paper.room
        for foot in sorted({min(box[1] for box in boxes) for boxes in (keys.first, keys.others)}):
            layout = _Layout((wide, high - foot - GAP), measure, whole)
            short, rest = list[Foundation](), list[Foundation]()
            for f in foundations:
                (short if layout.parts(f) == full.parts(f) else rest).append(f)
            ways.append(finished([*layout.sheets(short), *(full.sheets(rest) if rest else [])]))
            if not _bare(ways[-1]) and len(ways[-1]) == len(ways[0]):
                break
    # A page before the sheets holds the keys that have no room on them.
    best = min(
        ways,
        key=lambda sheets: (
            sum(len(sheet.placements) for sheet in sheets),
            len(sheets) + (wanted and _bare(sheets) > 0),
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
    sheets = lay_out(foundations, paper, measure, keys=keys, block=block)
    best = (len(sheets) * copies, 1, sheets)
    wide, high = paper.room
    area = math.fsum(shapely.Polygon(f.trim).area for f in foundations)
    most = min(copies, _MOST_AT_ONCE) if len(sheets) <= _SMALL else 1
    for number in range(2, most + 1):
        times = math.ceil(copies / number)
        if times == math.ceil(copies / (number - 1)) or math.ceil(number * area / (wide * high)) * times >= best[0]:
            continue
        some = lay_out(list(foundations) * number, paper, measure, keys=keys, block=block)
        best = min(best, (len(some) * times, number, some), key=lambda way: way[:2])
    return best[1], best[2]


def _bare(sheets: Sequence[Sheet]) -> int:
    """Return how many sheets have no key."""
    return sum(sheet.key is None for sheet in sheets)


def _with_key(placements: tuple[Placement, ...], boxes: Sequence[Size], room: Size) -> Sheet:
    taken = [(_shape(placement.panel), placement.at) for placement in placements]
    return Sheet(placements, free_place(taken, boxes, room, gap=GAP) if boxes else None)


class _Layout:
    """Lays foundations out on sheets of one kind; several share the panels of whole foundations."""

    def __init__(self, room: Size, measure: Measure, whole: dict[tuple[str, float], Panel]) -> None:
        self._room = room
        self._measure = measure
        self._whole = whole
        self._panels: dict[tuple[str, bool], tuple[Panel, ...]] = {}

    def holds(self, foundation: Foundation) -> bool:
        """Tell whether a foundation fits on a sheet as a whole."""
        return self._panels_of(foundation, quarter=False)[0].whole

    def parts(self, foundation: Foundation) -> int:
        """Return in how many parts a foundation is printed."""
        return len(self._panels_of(foundation, quarter=False))

    def sheets(self, foundations: Iterable[Foundation]) -> list[list[Placement]]:
        """Return what lies on each sheet, turned in the way that takes the fewest."""
        foundations = list(foundations)
        ways: dict[tuple[Size, ...], list[Panel]] = {}
        for turned in (_never, _if_tall, _if_wide):
            panels = [panel for f in foundations for panel in self._panels_of(f, quarter=turned(f))]
            ways.setdefault(tuple(map(_box, panels)), panels)
        best = min((_packed(panels, boxes, self._room) for boxes, panels in ways.items()), key=len)
        if len(best) > self._least(best):
            nested = self._nested(foundations)
            best = nested if len(nested) < len(best) else best
        return best

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
        key = foundation.unit, quarter and self.holds(foundation)
        if key not in self._panels:
            self._panels[key] = tuple(_panels(foundation, self._room, self._measure, self._whole, quarter=quarter))
        return self._panels[key]


def _never(foundation: Foundation) -> bool:  # noqa: ARG001
    return False


def _if_tall(foundation: Foundation) -> bool:
    return foundation.height > foundation.width


def _if_wide(foundation: Foundation) -> bool:
    return foundation.width > foundation.height


# -- panels ----------------------------------------------------------------------------------------------------


def _panels(
    foundation: Foundation,
    room: Size,
    measure: Measure,
    whole: dict[tuple[str, float], Panel],
    *,
    quarter: bool,
) -> Iterator[Panel]:
    """Yield a foundation as one panel, or as the panels of its parts; whole ones are kept, for labels take time."""
    trim = np.array(foundation.trim)
    for degrees in (*((90.0, 0.0) if quarter else (0.0, 90.0)), *_otherwise(foundation, room)):
        if not _fits(trim, degrees, room):
            continue
        key = foundation.unit, degrees
        if key not in whole:
            whole[key] = whole_panel(turn(foundation, degrees) if degrees else foundation, measure)
        panel = whole[key]
        wide, high = _box(panel)
        if wide <= room[0] + 1e-9 and high <= room[1] + 1e-9:
            yield panel
            return
    yield from part_panels(foundation, room, measure)


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


def _half_turned(panel: Panel) -> Panel:
    """Return a whole foundation turned by half a turn; its texts stay upright, and fit as before."""
    width, height = panel.width, panel.height
    return replace(
        panel,
        foundation=turn(panel.foundation, 180),
        labels=tuple(replace(label, at=(width - label.at[0], height - label.at[1])) for label in panel.labels),
    )


# -- packing ---------------------------------------------------------------------------------------------------


def _packed(panels: Sequence[Panel], boxes: Sequence[Size], room: Size) -> list[list[Placement]]:
    """Pack panels, whose boxes these are, onto as few sheets as one of several ways to pack finds."""
    import rectpack

    width, height = (math.ceil(side * _SCALE - 1e-3) for side in room)
    counted = [tuple(math.floor(side * _SCALE + 1e-3) for side in box) for box in boxes]
    gap = round(GAP * _SCALE)
    best: list[tuple[int, int, int, int]] | None = None
    area = math.fsum(wide * high for wide, high in counted)
    for bins, way, order in product(
        (rectpack.PackingBin.BFF, rectpack.PackingBin.BBF),
        (rectpack.MaxRectsBl, rectpack.MaxRectsBssf, rectpack.MaxRectsBaf, rectpack.SkylineBlWm),
        (rectpack.SORT_AREA, rectpack.SORT_LSIDE, rectpack.SORT_SSIDE),
    ):
        packer = rectpack.newPacker(
            mode=rectpack.PackingMode.Offline, bin_algo=bins, pack_algo=way, sort_algo=order, rotation=False
        )
        for n, (wide, high) in enumerate(counted):
            packer.add_rect(wide + gap, high + gap, n)
        # The gap on the far side of the last panel lies outside the room.
        packer.add_bin(width + gap, height + gap, count=len(counted))
        packer.pack()
        packed = [(sheet, y, x, n) for sheet, x, y, _, _, n in packer.rect_list()]
        if best is None or _sheets_of(packed) < _sheets_of(best):
            best = packed
        if _sheets_of(best) <= math.ceil(area / (width * height)):
            break
    sheets: list[list[Placement]] = [[] for _ in range(_sheets_of(best or []))]
    for sheet, y, x, n in best or []:
        sheets[sheet].append(Placement(panels[n], (x / _SCALE, y / _SCALE)))
    return sheets


def _sheets_of(packed: Sequence[tuple[int, int, int, int]]) -> int:
    return 1 + max((sheet for sheet, *_ in packed), default=-1)

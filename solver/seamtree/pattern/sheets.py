"""Foundations laid out on sheets: several on one without waste, long ones on tall sheets, larger ones in parts."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import product

import shapely
from shapely.geometry.base import BaseGeometry

from seamtree.errors import Point
from seamtree.pattern.foundation import Foundation
from seamtree.pattern.labels import Measure
from seamtree.pattern.nesting import nest
from seamtree.pattern.panels import LEAST_CAPTION, Panel, caption_height, turn, whole_panel
from seamtree.pattern.paper import Paper
from seamtree.pattern.parts import part_panels

GAP = 0.12
"""Inches between panels."""

_SCALE = 10_000
"""The packing library counts in whole numbers: this many to the inch."""


Size = tuple[float, float]
"""Width and height, inches."""


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

    def __init__(self, room: Size, measure: Measure, *, tall: bool) -> None:
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
        ways: dict[tuple[Size, ...], list[Panel]] = {}
        for turned in (_never, _if_tall, _if_wide):
            panels = [panel for f in foundations for panel in self._panels_of(f, quarter=turned(f))]
            ways.setdefault(tuple(map(_box, panels)), panels)
        best = min((_packed(panels, boxes, self._room) for boxes, panels in ways.items()), key=len)
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
        key = foundation.unit, quarter and self.holds(foundation)
        if key not in self._panels:
            self._panels[key] = tuple(_panels(foundation, self._room, self._measure, quarter=quarter))
        return self._panels[key]


def _never(foundation: Foundation) -> bool:  # noqa: ARG001
    return False


def _if_tall(foundation: Foundation) -> bool:
    return foundation.height > foundation.width


def _if_wide(foundation: Foundation) -> bool:
    return foundation.width > foundation.height


# -- panels ----------------------------------------------------------------------------------------------------


def _panels(foundation: Foundation, room: Size, measure: Measure, *, quarter: bool) -> Iterator[Panel]:
    """Yield a foundation as one panel, or as the panels of its parts."""
    usual = (foundation, turn(foundation, 90))
    for laid in (*(reversed(usual) if quarter else usual), *_laid_best(foundation)):
        if laid.width > room[0] or laid.height > room[1]:
            continue  # before any thought about labels
        panel = whole_panel(laid, measure)
        wide, high = _box(panel)
        if wide <= room[0] and high <= room[1]:
            yield panel
            return
    yield from part_panels(foundation, room, measure)


def _box(panel: Panel) -> Size:
    """Return width and height of a panel with its caption, inches."""
    return max(panel.width, LEAST_CAPTION), panel.height + caption_height(panel)


def _laid_best(foundation: Foundation) -> Iterator[Foundation]:
    """Yield a foundation turned so that one side of its smallest box is level, both ways."""
    box = shapely.minimum_rotated_rectangle(shapely.Polygon(foundation.trim))
    a, b, *_ = box.exterior.coords
    degrees = -math.degrees(math.atan2(b[1] - a[1], b[0] - a[0])) % 90
    for angle in (degrees, degrees + 90):
        yield turn(foundation, angle)


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


# -- packing ---------------------------------------------------------------------------------------------------


def _packed(panels: Sequence[Panel], boxes: Sequence[Size], room: Size) -> list[list[Placement]]:
    """Pack panels, whose boxes these are, onto as few sheets as one of several ways to pack finds."""
    import rectpack

    width, height = (math.floor(side * _SCALE) for side in room)
    counted = [tuple(math.ceil(side * _SCALE) for side in box) for box in boxes]
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
        for n, (wide, high) in enumerate(counted):
            packer.add_rect(wide + gap, high + gap, n)
        # The gap on the far side of the last panel lies outside the room.
        packer.add_bin(width + gap, height + gap, count=len(counted))
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

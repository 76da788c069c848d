"""The key on a sheet of foundations: the fabrics with their codes, and where its units lie in the block."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import shapely

from seamtree.colour import BARE
from seamtree.errors import Point
from seamtree.pattern.fabrics import Fabric, Fabrics
from seamtree.pattern.fonts import text_width
from seamtree.pattern.foundation import unit_area
from seamtree.pattern.lengths import CM, POINTS
from seamtree.pattern.pdf import Pen, draw_test_squares, wrap
from seamtree.pattern.sheets import Keys
from seamtree.planning.model import Plan
from seamtree.words import cut_short

PICTURE = 1.35
"""Longest side of the picture, inches."""

_ROW, _SWATCH = 0.165, 0.22
"""Height of a row and width of a swatch, inches."""

_SIZE, _SMALL = 7.5, 6.5
"""Sizes of type of the fabrics and of the advice, points."""

_WIDEST = 1.7
"""Inches; longer names are cut short."""

_GAP = 0.12
"""Inches between picture, fabrics and squares."""

_SQUARES = (1.0 + 0.15 + 3.0 / CM + 0.02, 3.0 / CM + 0.04)
"""Room for the test squares, inches."""

_BLANK_LINE = 1.0
"""Length of the line to write a fabric on, inches."""

_ADVICE = (
    "Printed side: a mirror image, the cloth goes on the blank side. Solid lines are seams; cut on the dashed line "
    "after sewing."
)
_TWIN = (
    "Printed side for mirrored blocks: the cloth goes on the blank side. Solid lines are seams; cut on the "
    "dashed line after sewing."
)
_TEST = "Print at actual size (100 %), then measure both squares."


@dataclass(frozen=True, slots=True)
class KeyBox:
    """One way to lay out a key.

    Parameters
    ----------
    width, height
        Inches.
    columns
        Of fabrics.
    beside
        Whether the fabrics stand beside the picture, not below it.
    first
        Whether the test squares are there.
    """

    width: float
    height: float
    columns: int
    beside: bool
    first: bool


class Key:
    """The key for the sheets of a block.

    Parameters
    ----------
    plan
        Of the block.
    fabrics
        Of the pattern; those of the block are shown.
    twin
        Whether the sheets are for mirror twins.
    """

    def __init__(self, plan: Plan, fabrics: Fabrics, *, twin: bool = False) -> None:
        block = plan.block
        self._plan = plan
        self._fabrics = fabrics
        self._shown = fabrics.used(patch.fabric for patch in block.patches)
        self._twin = twin
        self._scale = PICTURE / max(block.width, block.height)
        self._size = block.width * self._scale, block.height * self._scale
        widths = (text_width(f.words, _SIZE) / POINTS if f.known else _BLANK_LINE for f in self._shown)
        self._column = min(_WIDEST, max(widths)) + _SWATCH + 0.2
        self._boxes = {first: tuple(self._layouts(first=first)) for first in (True, False)}

    @property
    def boxes(self) -> Keys:
        """The sizes that would do."""
        first, others = (tuple((box.width, box.height) for box in self._boxes[first]) for first in (True, False))
        return Keys(first, others)

    def box(self, number: int, *, first: bool) -> KeyBox:
        """Return one of the ways to lay it out."""
        return self._boxes[first][number]

    def _layouts(self, *, first: bool) -> Iterator[KeyBox]:
        wide, high = self._size
        found = []
        for columns in range(1, min(5, len(self._shown)) + 1):
            rows = math.ceil(len(self._shown) / columns) * _ROW
            table = columns * self._column
            for beside in (True, False):
                width = wide + _GAP + table if beside else max(wide, table)
                height = max(high, rows) if beside else high + _GAP + rows
                if first:
                    if beside:
                        width, height = width + _GAP + _SQUARES[0], max(height, _SQUARES[1])
                    else:
                        width, height = max(width, _SQUARES[0]), height + _GAP + _SQUARES[1]
                width = max(width, 1.6)
                height += 0.115 * len(self._advice(width, first=first)) + 0.06
                if width <= 7.4:
                    found.append(KeyBox(width, height, columns, beside, first))
        yield from sorted(found, key=lambda box: (box.width * box.height, box.height))

    def _advice(self, width: float, *, first: bool) -> list[str]:
        words = f"{_TWIN if self._twin else _ADVICE} {_TEST if first else ''}"
        return wrap(words, _SMALL, width * POINTS)

    def draw(self, pen: Pen, box: KeyBox, corner: Point, units: Sequence[str]) -> None:
        """Draw it with some units marked; `corner` is its top left one, inches."""
        x, y = corner
        wide, high = self._size
        self._draw_picture(pen, corner, units)
        table = (x + wide + _GAP, y) if box.beside else (x, y + high + _GAP)
        rows = math.ceil(len(self._shown) / box.columns)
        for n, fabric in enumerate(self._shown):
            spot = table[0] + (n // rows) * self._column, table[1] + (n % rows) * _ROW
            _draw_row(pen, fabric, spot)
        foot = y + (max(high, rows * _ROW) if box.beside else high + _GAP + rows * _ROW)
        if box.first:
            if box.beside:
                draw_test_squares(pen, (table[0] + box.columns * self._column + _GAP, y + 0.01))
                foot = max(foot, y + _SQUARES[1])
            else:
                draw_test_squares(pen, (x, foot + _GAP))
                foot += _GAP + _SQUARES[1]
        for n, line in enumerate(self._advice(box.width, first=box.first), 1):
            pen.text((x, foot + 0.115 * n), line, _SMALL)

    def _draw_picture(self, pen: Pen, corner: Point, units: Sequence[str]) -> None:
        block, scale = self._plan.block, self._scale

        def placed(at: Point) -> Point:
            x = block.width - at[0] if self._twin else at[0]
            return corner[0] + x * scale, corner[1] + at[1] * scale

        marked = [unit for unit in self._plan.units() if unit.name in units]
        bright = {p for unit in marked for p in unit.patches}
        by_fill: dict[str, list[int]] = {}
        for p, patch in enumerate(block.patches):
            colour = self._fabrics.of(patch.fabric).colour or BARE
            by_fill.setdefault(colour if p in bright else _faded(colour), []).append(p)
        for fill, patches in by_fill.items():
            with pen.style(weight=0.3, colour="#888888", fill=fill):
                for p in patches:
                    pen.polygon([placed(at) for at in block.polygon(p)], fill=True)
        areas = [unit_area(block, unit) for unit in marked]
        with pen.style(weight=1.3):
            for area in areas:
                pen.polygon([placed(at) for at in list(area.exterior.coords)[:-1]])
        for unit, area in zip(marked, areas, strict=True):
            x, y = placed(shapely.maximum_inscribed_circle(area, 0.05 / scale).coords[0])
            half = text_width(unit.name, _SMALL, bold=True) / POINTS / 2 + 0.015
            with pen.style(fill="#ffffff"):
                pen.polygon(
                    [(x - half, y - 0.05), (x + half, y - 0.05), (x + half, y + 0.05), (x - half, y + 0.05)],
                    stroke=False,
                    fill=True,
                )
            pen.text((x, y + 0.033), unit.name, _SMALL, bold=True, anchor="middle")


def draw_swatch(pen: Pen, colour: str | None, corner: Point, width: float, height: float) -> None:
    """Draw the colour of a fabric, framed; on white where there is none."""
    x, y = corner
    with pen.style(weight=0.4, fill=colour or "#ffffff"):
        pen.polygon([(x, y), (x + width, y), (x + width, y + height), (x, y + height)], fill=True)


def _draw_row(pen: Pen, fabric: Fabric, corner: Point) -> None:
    x, y = corner
    draw_swatch(pen, fabric.colour, (x, y + 0.02), _SWATCH, _ROW - 0.05)
    base = y + 0.115
    if not fabric.known:
        with pen.style(weight=0.5):
            pen.lines([[(x + _SWATCH + 0.06, base + 0.02), (x + _SWATCH + 0.06 + _BLANK_LINE, base + 0.02)]])
        return
    pen.text((x + _SWATCH + 0.05, base), fabric.code, _SIZE, bold=True)
    after = text_width(fabric.code, _SIZE, bold=True) / POINTS + 0.05
    room = (_WIDEST - after + 0.05) * POINTS
    name = cut_short(fabric.name, lambda text: text_width(text, _SIZE) <= room)
    pen.text((x + _SWATCH + 0.05 + after, base), name, _SIZE)


def _faded(colour: str) -> str:
    """Return a colour as it looks under tracing paper."""
    return "#" + "".join(f"{round(255 - 0.35 * (255 - int(colour[k : k + 2], 16))):02x}" for k in (1, 3, 5))

"""Steps in pictures: for every unit each piece that is added to it, as a handout for a class."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

import shapely

from seamtree.colour import BARE, ink_on
from seamtree.errors import Point
from seamtree.pattern.directions import CAUTIONS, tell_size
from seamtree.pattern.fabrics import Fabrics
from seamtree.pattern.flow import Column
from seamtree.pattern.fonts import text_width
from seamtree.pattern.labels import Label, place_label, short_word
from seamtree.pattern.lengths import POINTS, Lengths
from seamtree.pattern.paper import Paper
from seamtree.pattern.pdf import BELOW_SIZE, Page, Pen, height_below, wrap, write_below
from seamtree.pattern.sheet_pages import draw_label
from seamtree.pattern.steps import Addition, Step, UnitStep
from seamtree.pattern.work import BlockWork
from seamtree.planning.naming import name_units

_ROW, _GAP = 5, 0.18
"""So many pictures stand side by side, so many inches apart."""

_HEAD = 0.2
"""Inches above the pictures for the name of the unit."""

_TITLE = 15.0
"""Size of type of the title, points."""

_LEGIBLE = 5.0
"""Points; smaller numbers of patches are left out of the pictures, and stand below them."""

_LINE_COLOUR, _PAPER_COLOUR = "#b00020", "#999999"


def step_pages(
    block: BlockWork,
    steps: Sequence[Step],
    fabrics: Fabrics,
    *,
    paper: Paper,
    lengths: Lengths,
    allowance: float,
) -> list[Page]:
    """Return the pages with the steps of a block.

    Parameters
    ----------
    block, steps
        The block, and how it is sewn (see `seamtree.pattern.steps`).
    fabrics
        Of the pattern.
    paper, lengths, allowance
        What it is printed on, how lengths are written, and the seam allowance (inches).
    """
    column = Column(paper)
    column.title(f"{block.title}: step by step", _TITLE)
    column.note_section("Step by step")
    for text in _directions(block, lengths, allowance):
        column.paragraph(text)
    for text in CAUTIONS:
        column.paragraph(text, mark=True)
    column.space(6)
    units = [_UnitPicture(block, fabrics, step) for step in steps if isinstance(step, UnitStep)]
    width = (paper.room[0] - (_ROW - 1) * _GAP) / _ROW
    shown: dict[str, str] = {}
    cells = []
    for unit in units:
        if unit.step.unit.name in shown:
            continue
        shown.update(dict.fromkeys((unit.step.unit.name, *unit.step.alike), unit.step.unit.name))
        cells += [_Cell(unit, addition, width, lengths) for addition in unit.step.additions]
    for row in _rows(cells):
        _add_row(column, row, width)
    return column.pages(block.title)


def _directions(block: BlockWork, lengths: Lengths, allowance: float) -> Iterator[str]:
    twins = " A mirrored block is sewn in the same order; its pictures are mirror images of these." * bool(
        block.mirrored
    )
    yield (
        "Seen from the fabric side, as the block will look; the printed side of the paper is the mirror image. What "
        "is sewn has its colours, the heavy line is the one to sew on, and dashes show the new piece as it lies when "
        f"it is sewn and flipped open.{twins}"
    )
    yield (
        f"Before each new piece fold the paper back on its line and trim to {lengths.size(allowance)}. Lay the piece "
        "along that edge, right sides together, its middle at the middle of its patch; turn the paper up and sew on "
        f"the line, {lengths.size(0.25)} beyond both ends; flip the piece over and press. Sizes are those to cut: "
        "along the line × deep."
    )


class _UnitPicture:
    """Draws the steps of one unit, all at one scale."""

    def __init__(self, block: BlockWork, fabrics: Fabrics, step: UnitStep) -> None:
        self.step = step
        self._block = block.plan.block
        self._fabrics = fabrics
        self._rings = {addition.patch: self._block.polygon(addition.patch) for addition in step.additions}
        places = [at for ring in self._rings.values() for at in ring] + [at for a in step.additions for at in a.laid]
        self._left, self._top = (min(at[axis] for at in places) for axis in (0, 1))
        self._size = max(x for x, _ in places) - self._left, max(y for _, y in places) - self._top
        self._labels: dict[int, Label] = {}
        self._scale = 0.0

    @property
    def title(self) -> str:
        """What stands above its pictures."""
        unit = self.step.unit.name
        if not self.step.alike:
            return f"Unit {unit}"
        return f"Unit {unit}; {name_units(self.step.alike)} alike"

    def fit(self, side: float) -> float:
        """Set the scale so that a picture fits into a square, side in inches; return its height."""
        self._scale = side / max(self._size)
        return self._size[1] * self._scale

    def _colour(self, patch: int) -> str:
        return self._fabrics.of(self._block.patches[patch].fabric).colour or BARE

    @cached_property
    def _outlines(self) -> tuple[list[Point], ...]:
        area = shapely.union_all([shapely.Polygon(ring) for ring in self._rings.values()])
        return tuple(list(ring.coords)[:-1] for ring in (area.exterior, *area.interiors))

    def draw(self, pen: Pen, addition: Addition, corner: Point) -> None:
        """Draw a step with its top left corner at a place on the page (inches)."""

        def placed(at: Point) -> Point:
            return corner[0] + (at[0] - self._left) * self._scale, corner[1] + (at[1] - self._top) * self._scale

        with pen.style(weight=0.4, colour=_PAPER_COLOUR):
            for ring in self._rings.values():
                pen.polygon([placed(at) for at in ring])
        for patch in (*addition.before, addition.patch):
            with pen.style(weight=0.7, fill=self._colour(patch)):
                pen.polygon([placed(at) for at in self._rings[patch]], fill=True)
        with pen.style(weight=0.8):
            for outline in self._outlines:
                pen.polygon([placed(at) for at in outline])
        with pen.style(weight=0.7, dashes=(2.5, 1.5)):
            pen.polygon([placed(at) for at in addition.laid])
        if addition.line is not None:
            for weight, colour in ((4.0, "#ffffff"), (2.2, _LINE_COLOUR)):
                with pen.style(weight=weight, colour=colour):
                    pen.lines([[placed(at) for at in addition.line]])
        for shown in self.step.additions[: addition.number]:
            label = self._label(shown)
            if label.size >= _LEGIBLE:
                spot = corner[0] + label.at[0], corner[1] + label.at[1]
                draw_label(pen, label, spot, colour=ink_on(self._colour(shown.patch)))

    def _label(self, addition: Addition) -> Label:
        """Return the number of a patch where it fits, from the corner of the picture."""
        if addition.patch not in self._labels:
            ring = [
                ((x - self._left) * self._scale, (y - self._top) * self._scale)
                for x, y in self._rings[addition.patch]
            ]
            self._labels[addition.patch] = place_label(ring, addition.name, "", text_width)
        return self._labels[addition.patch]


@dataclass(frozen=True, slots=True)
class _Cell:
    """A picture and what stands below it."""

    unit: _UnitPicture
    addition: Addition
    width: float
    lengths: Lengths

    @property
    def lines(self) -> list[str]:
        """What stands below, the first line bold."""
        addition = self.addition
        fabric = short_word(addition.fabric.words) if addition.fabric.known else ""
        where = f"onto {', '.join(addition.onto)}" if addition.onto else "pin it, right side up"
        if self.unit.step.is_template:
            where = "template: nothing to sew on it"
        told = (f"{addition.name} {fabric}".strip(), tell_size(addition.piece, self.lengths), where)
        return [line for text in told for line in wrap(text, BELOW_SIZE, self.width * POINTS)]


def _rows(cells: Sequence[_Cell]) -> Iterator[list[_Cell]]:
    """Yield the cells row by row; a unit that a row can hold stays in one."""
    row: list[_Cell] = []
    for cell in cells:
        number = len(cell.unit.step.additions)
        begins = cell.addition.number == 1
        if len(row) == _ROW or (begins and len(row) + number > _ROW and (number <= _ROW or len(row) > _ROW - 2)):
            yield row
            row = []
        row.append(cell)
    if row:
        yield row


def _add_row(column: Column, row: Sequence[_Cell], width: float) -> None:
    """Add pictures side by side with the names of their units above."""
    high = max(cell.unit.fit(width) for cell in row)
    lines = [cell.lines for cell in row]
    deep = height_below(max(map(len, lines)))

    def draw(pen: Pen, corner: Point) -> None:
        top = corner[1] + _HEAD
        for n, (cell, told) in enumerate(zip(row, lines, strict=True)):
            left = corner[0] + n * (width + _GAP)
            if n == 0 or row[n - 1].unit is not cell.unit:
                _draw_head(pen, row, n, (left, corner[1]), width)
            cell.unit.draw(pen, cell.addition, (left, top))
            write_below(pen, (left, top + high), told)

    column.drawing(_HEAD + high + deep, draw)
    column.space(8)


def _draw_head(pen: Pen, row: Sequence[_Cell], first: int, corner: Point, width: float) -> None:
    """Write the name of a unit over its pictures in a row, from the first one on, with a line below."""
    unit = row[first].unit
    number = sum(cell.unit is unit for cell in row)
    wide = number * (width + _GAP) - _GAP
    title = unit.title if row[first].addition.number == 1 else f"Unit {unit.step.unit.name}, more"
    pen.text((corner[0], corner[1] + 0.1), wrap(title, 8.0, wide * POINTS, bold=True)[0], 8.0, bold=True)
    with pen.style(weight=0.5):
        pen.lines([[(corner[0], corner[1] + 0.14), (corner[0] + wide, corner[1] + 0.14)]])

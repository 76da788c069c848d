"""Whole pages with a picture of a block: lines alone to be coloured in, and lines with the numbers of the patches."""

from __future__ import annotations

from collections.abc import Iterator

import shapely

from seamtree.errors import Point
from seamtree.pattern.fonts import text_width
from seamtree.pattern.labels import place_label
from seamtree.pattern.paper import MARGIN, Paper
from seamtree.pattern.pdf import Page, Pen, wrap
from seamtree.pattern.sheet_pages import draw_label
from seamtree.pattern.work import BlockWork, Work
from seamtree.planning.model import Plan

_HEAD = 0.5
"""Inches at the top of a page for its title."""

_COLOURING = "Colour it in to try out your fabrics: as finished, seen from the fabric side."
_LINES = "Seen from the fabric side, with the numbers of the patches; heavy lines are joins."


def colouring_pages(work: Work, paper: Paper) -> Iterator[Page]:
    """Yield a page to colour in for every block."""
    for block in work.blocks:
        yield Page(_Drawn(block, paper, numbers=False), "Colouring page", block.title)


def line_pages(work: Work, paper: Paper) -> Iterator[Page]:
    """Yield a line drawing of every block."""
    for block in work.blocks:
        yield Page(_Drawn(block, paper, numbers=True), "Line drawing", block.title)


class _Drawn:
    """Draws a block as large as the page."""

    def __init__(self, block: BlockWork, paper: Paper, *, numbers: bool) -> None:
        self._block = block
        self._paper = paper
        self._numbers = numbers

    def __call__(self, pen: Pen) -> None:
        """Draw it."""
        plan, (wide, high) = self._block.plan, self._paper.room
        scale = min(wide / plan.block.width, (high - _HEAD) / plan.block.height)
        left = MARGIN + (wide - plan.block.width * scale) / 2

        def placed(at: Point) -> Point:
            return left + at[0] * scale, MARGIN + _HEAD + at[1] * scale

        title = wrap(self._block.title, 15, wide * 72, bold=True)[:1]
        pen.text((MARGIN, MARGIN + 0.2), "".join(title), 15, bold=True)
        pen.text((MARGIN, MARGIN + 0.38), _LINES if self._numbers else _COLOURING, 8)
        rings = [[placed(at) for at in plan.block.polygon(p)] for p in range(len(plan.block.patches))]
        with pen.style(weight=0.6, colour="#000000" if self._numbers else "#666666"):
            for ring in rings:
                pen.polygon(ring)
        with pen.style(weight=0.5, colour="#666666", dashes=(0.8, 2.4)):
            pen.lines([placed(at) for at in track.path] for track in plan.block.markings)
        if self._numbers:
            _draw_units(pen, plan, rings)


def _draw_units(pen: Pen, plan: Plan, rings: list[list[Point]]) -> None:
    """Draw outlines of units and the numbers of patches."""
    with pen.style(weight=1.4):
        for unit in plan.units():
            area = shapely.union_all([shapely.Polygon(rings[p]) for p in unit.patches])
            for ring in (area.exterior, *area.interiors):
                pen.polygon(list(ring.coords)[:-1])
    for p, name in plan.patch_ids().items():
        label = place_label(rings[p], name, "", text_width)
        draw_label(pen, label, label.at)

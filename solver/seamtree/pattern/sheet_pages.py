"""Foundation sheets drawn on pages."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import shapely
from shapely import affinity

from seamtree.errors import Point
from seamtree.geometry.clipping import pieces_inside
from seamtree.pattern.labels import LEADING, Label, line_width, space
from seamtree.pattern.lengths import POINTS
from seamtree.pattern.panels import CAPTION_LEADING, CAPTION_SIZE, Panel
from seamtree.pattern.paper import MARGIN
from seamtree.pattern.pdf import Page, Pen, text_width
from seamtree.pattern.sheets import Sheet

_SEAM, _OUTLINE, _TRIM, _TICK, _MARKING, _GLUE = 0.8, 1.3, 0.8, 1.0, 0.6, 0.5
"""Weights of lines, points."""

_TRIM_DASHES, _MARKING_DASHES, _GLUE_DASHES = (5.0, 3.0), (0.8, 2.4), (8.0, 2.0, 1.5, 2.0)
"""Lengths of dashes and gaps, points."""

_MARKING_COLOUR, _GLUE_COLOUR = "#555555", "#555555"

_MARK = 0.11
"""Half of the diagonal of an alignment mark, inches."""

_ADVICE = (
    "Printed side: a mirror image. The cloth goes on the blank side. Solid lines are seams; cut on the dashed line "
    "after sewing."
)

_PARTS = "Parts of a unit: lay equal letters on each other and tape the parts together."


def sheet_pages(sheets: Sequence[Sheet], heading: str) -> Iterator[Page]:
    """Yield a page for every sheet of foundations of a block, whose name is the heading."""
    for number, sheet in enumerate(sheets, 1):

        def draw(pen: Pen, sheet: Sheet = sheet) -> None:
            for placement in sheet.placements:
                draw_panel(pen, placement.panel, (MARGIN + placement.at[0], MARGIN + placement.at[1]))

        parted = any(not placement.panel.whole for placement in sheet.placements)
        advice = f"{_ADVICE} {_PARTS}" if parted else _ADVICE
        yield Page(draw, f"Foundations, sheet {number} of {len(sheets)}", heading, advice, tall=sheet.tall)


def draw_panel(pen: Pen, panel: Panel, corner: Point) -> None:
    """Draw a panel with its caption; `corner` is where its top left corner lies on the page, inches."""
    foundation = panel.foundation
    left, top, *_ = panel.window
    shift = corner[0] - left, corner[1] - top

    def moved(at: Point) -> Point:
        return at[0] + shift[0], at[1] + shift[1]

    window = None if panel.whole else affinity.translate(shapely.box(*panel.window), *shift)
    with pen.style(weight=_TRIM, dashes=_TRIM_DASHES):
        _ring(pen, [moved(at) for at in foundation.trim], window)
    with pen.style(weight=_MARKING, dashes=_MARKING_DASHES, colour=_MARKING_COLOUR):
        for marking in foundation.markings:
            _line(pen, [moved(at) for at in marking], window)
    with pen.style(weight=_SEAM):
        for patch in foundation.patches:
            _ring(pen, [moved(at) for at in patch.polygon], window)
    with pen.style(weight=_OUTLINE):
        _ring(pen, [moved(at) for at in foundation.outline], window)
    with pen.style(weight=_TICK):
        for tick in foundation.ticks:
            _line(pen, [moved(at) for at in tick], window)
    _draw_alignment(pen, panel, shift)
    for label in panel.labels:
        draw_label(pen, label, moved(label.at))
    _draw_caption(pen, panel, corner)


def _ring(pen: Pen, points: list[Point], window: shapely.Polygon | None) -> None:
    """Draw a closed line, or what of it lies in a window."""
    if window is None or window.covers(shapely.Polygon(points)):
        pen.polygon(points)
    else:
        _line(pen, [*points, points[0]], window)


def _line(pen: Pen, points: list[Point], window: shapely.Polygon | None) -> None:
    """Draw an open line, or what of it lies in a window."""
    pen.lines([points] if window is None else pieces_inside(points, window))


def _draw_alignment(pen: Pen, panel: Panel, shift: Point) -> None:
    """Draw the lines and marks at which the parts of a foundation are put together."""
    with pen.style(weight=_GLUE, dashes=_GLUE_DASHES, colour=_GLUE_COLOUR):
        pen.lines([[(x + shift[0], y + shift[1]) for x, y in line] for line in panel.glue])
    for mark in panel.marks:
        x, y = mark.at[0] + shift[0], mark.at[1] + shift[1]
        with pen.style(weight=_GLUE, fill="#ffffff"):
            pen.polygon([(x - _MARK, y), (x, y - _MARK), (x + _MARK, y), (x, y + _MARK)], fill=True)
        pen.text((x, y + 0.032), mark.name, 6.5, anchor="middle")


def draw_label(pen: Pen, label: Label, at: Point) -> None:
    """Draw number and word of a patch; `at` is their middle on the page, inches."""
    heights = [LEADING * label.line_size(line[0]) for line in label.lines]
    down = -math.fsum(heights) / 2
    cos, sin = math.cos(math.radians(label.angle)), math.sin(math.radians(label.angle))
    for line, height in zip(label.lines, heights, strict=True):
        size = label.line_size(line[0])
        base = down + height / 2 + 0.36 * size  # letters stand on the base line, their middle this far above it
        along = -line_width(line, label.size, text_width) / 2
        for part in line:
            part_size = label.line_size(part)
            x, y = along / POINTS, base / POINTS
            spot = at[0] + cos * x + sin * y, at[1] - sin * x + cos * y
            pen.text(spot, part.text, part_size, bold=part.bold, angle=label.angle)
            along += text_width(part.text, part_size, bold=part.bold) + space(label.size)
        down += height


def _draw_caption(pen: Pen, panel: Panel, corner: Point) -> None:
    x, y = corner[0], corner[1] + panel.height + 0.2 * CAPTION_LEADING
    for number, line in enumerate(panel.caption):
        y += CAPTION_LEADING
        if number == 0:
            head, gap, rest = line.partition(" · ")
            pen.text((x, y), head, CAPTION_SIZE, bold=True)
            wide = text_width(head, CAPTION_SIZE, bold=True) / POINTS
            if gap:
                pen.text((x + wide + 0.04, y), f"· {rest}", CAPTION_SIZE)
        else:
            pen.text((x, y), line, CAPTION_SIZE)

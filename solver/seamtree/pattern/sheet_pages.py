"""Foundation sheets drawn on pages."""

from __future__ import annotations

import math
from collections.abc import Sequence

import shapely
from shapely import affinity

from seamtree.errors import Point
from seamtree.geometry.clipping import pieces_inside
from seamtree.pattern.fonts import text_width
from seamtree.pattern.foundation import Foundation
from seamtree.pattern.keys import Key
from seamtree.pattern.labels import LEADING, Label, line_width, space
from seamtree.pattern.lengths import POINTS
from seamtree.pattern.names import Name
from seamtree.pattern.panels import CAPTION_LEADING, CAPTION_SIZE, Panel
from seamtree.pattern.paper import MARGIN
from seamtree.pattern.pdf import Page, Pen
from seamtree.pattern.sheets import Sheet

_SEAM, _OUTLINE, _TRIM, _TICK, _MARKING, _GLUE = 0.8, 1.3, 0.8, 1.0, 0.6, 0.5
"""Weights of lines, points."""

_TRIM_DASHES, _MARKING_DASHES, _GLUE_DASHES = (5.0, 3.0), (0.8, 2.4), (8.0, 2.0, 1.5, 2.0)
"""Lengths of dashes and gaps, points."""

_MARKING_COLOUR, _GLUE_COLOUR = "#555555", "#555555"

_MARK = 0.11
"""Half of the diagonal of an alignment mark, inches."""

_TAPED = "lay equal letters on each other and tape"


def sheet_pages(
    sheets: Sequence[Sheet], key: Key, heading: str, *, times: int = 1, keep: tuple[int, str] | None = None
) -> list[Page]:
    """Return a page for every sheet of foundations of a block.

    Parameters
    ----------
    sheets
        What lies on them.
    key
        Of the block; a page with it comes first where some sheet has no room for it.
    heading
        Name of the block.
    times
        How often each sheet is printed.
    keep
        How many copies of the block are on the sheets, and a word for them.
    """
    number = f", print {times} times" if times > 1 else ""
    pages = []
    if any(sheet.key is None for sheet in sheets):
        box = key.box(0, first=True)
        units = [p.panel.foundation.unit for sheet in sheets for p in sheet.placements]

        def draw_key(pen: Pen) -> None:
            key.draw(pen, box, (MARGIN, MARGIN), units)

        pages.append(Page(draw_key, "Key to the foundations", heading))
    for n, sheet in enumerate(sheets, 1):

        def draw(pen: Pen, sheet: Sheet = sheet, *, first: bool = n == 1) -> None:
            for placement in sheet.placements:
                draw_panel(pen, placement.panel, (MARGIN + placement.at[0], MARGIN + placement.at[1]))
            if sheet.key is not None:
                which, (x, y) = sheet.key
                units = [p.panel.foundation.unit for p in sheet.placements]
                key.draw(pen, key.box(which, first=first), (MARGIN + x, MARGIN + y), units)

        taped = any(not placement.panel.whole for placement in sheet.placements)
        together = f", {keep[0]} {keep[1]} on {'it' if len(sheets) == 1 else 'them'}" if keep is not None else ""
        title = f"Foundations, sheet {n} of {len(sheets)}{number}{together}"
        pages.append(Page(draw, title, heading, _TAPED if taped else "", ruler=n > 1 or sheet.key is None))
    return pages


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
    _draw_openings(pen, foundation, window, shift)
    _draw_alignment(pen, panel, shift)
    for label in panel.labels:
        draw_label(pen, label, moved(label.at))
    for name in panel.names:
        draw_name(pen, name, moved(name.at))
    _draw_caption(pen, panel, corner)


def _draw_openings(pen: Pen, foundation: Foundation, window: shapely.Polygon | None, shift: Point) -> None:
    """Draw the holes of a unit that touches itself, with the trim line inside each."""
    for outer, inner in foundation.openings:
        ring, trim = ([(x + shift[0], y + shift[1]) for x, y in path] for path in (outer, inner))
        with pen.style(weight=_OUTLINE):
            _ring(pen, ring, window)
        if trim:
            with pen.style(weight=_TRIM, dashes=_TRIM_DASHES):
                _ring(pen, trim, window)
        x, y = shapely.maximum_inscribed_circle(shapely.Polygon(ring), 0.02).coords[0]
        pen.text((x, y), "open", 6.5, anchor="middle")


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
    """Draw the lines and marks at which the tiles of a foundation are put together."""
    with pen.style(weight=_GLUE, dashes=_GLUE_DASHES, colour=_GLUE_COLOUR):
        pen.lines([[(x + shift[0], y + shift[1]) for x, y in line] for line in panel.glue])
    for mark in panel.marks:
        x, y = mark.at[0] + shift[0], mark.at[1] + shift[1]
        with pen.style(weight=_GLUE, fill="#ffffff"):
            pen.polygon([(x - _MARK, y), (x, y - _MARK), (x + _MARK, y), (x, y + _MARK)], fill=True)
        pen.text((x, y + 0.032), mark.name, 6.5, anchor="middle")


def draw_label(pen: Pen, label: Label, at: Point, *, colour: str = "#000000") -> None:
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
            pen.text(spot, part.text, part_size, bold=part.bold, angle=label.angle, colour=colour)
            along += text_width(part.text, part_size, bold=part.bold) + space(label.size)
        down += height


def draw_name(pen: Pen, name: Name, at: Point) -> None:
    """Draw a name, or the arrow that points up; `at` is its middle on the page, inches."""
    cos, sin = math.cos(math.radians(name.angle)), math.sin(math.radians(name.angle))
    if name.text:
        down = 0.36 * name.size / POINTS
        spot = at[0] + sin * down, at[1] + cos * down
        pen.text(spot, name.text, name.size, bold=name.bold, anchor="middle", angle=name.angle)
        return
    half = name.size / POINTS / 2

    def place(along: float, beside: float) -> Point:
        return at[0] - sin * along + cos * beside, at[1] - cos * along - sin * beside

    with pen.style(weight=1.0, fill="#000000"):
        pen.lines([[place(-half, 0), place(half * 0.4, 0)]])
        pen.polygon([place(half, 0), place(0.1 * half, 0.55 * half), place(0.1 * half, -0.55 * half)], fill=True)


def _draw_caption(pen: Pen, panel: Panel, corner: Point) -> None:
    x, y = corner[0], corner[1] + panel.height + 0.2 * CAPTION_LEADING
    for number, line in enumerate(panel.caption):
        y += CAPTION_LEADING
        if number == 0:
            head, gap, rest = line.partition(" · " if " · " in line else ": ")
            pen.text((x, y), head, CAPTION_SIZE, bold=True)
            wide = text_width(head, CAPTION_SIZE, bold=True) / POINTS
            if gap:
                pen.text((x + wide + 0.04, y), rest if gap == ": " else f"· {rest}", CAPTION_SIZE)
        else:
            pen.text((x, y), line, CAPTION_SIZE)

"""The joining diagram: a map of the units, then every join as a picture, seen from the fabric side."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from seamtree.errors import Point
from seamtree.pattern.directions import Task
from seamtree.pattern.flow import Column
from seamtree.pattern.lengths import POINTS, Lengths
from seamtree.pattern.painting import paint_picture
from seamtree.pattern.paper import Paper
from seamtree.pattern.pdf import Page, Pen, wrap
from seamtree.pattern.press_arrows import draw_press_arrow
from seamtree.picture import JOINING, SMALL, Picture, draw_parts, draw_plan
from seamtree.planning.model import Join, Plan

_ROW = 3
"""As many pictures stand side by side."""

_GAP = 0.25
"""Inches between pictures."""

_MAP = 4.3
"""Longest side of the map, inches."""

_MOST_LINES = 30
"""Longer directions for a join are cut short below its picture."""

_SIZE, _LEADING = 7.5, 9.6 / POINTS
"""Size of type below the pictures (points), and inches from line to line."""


Entry = tuple[Picture, list[str], Join | None]
"""A picture, what stands below it, and the join that it shows."""


def joining_pages(plan: Plan, tasks: Sequence[Task], *, paper: Paper, lengths: Lengths) -> list[Page]:
    """Return the joining diagram; no pages for a block of one unit.

    Parameters
    ----------
    plan
        The plan.
    tasks
        Its order of work.
    paper, lengths
        What it is printed on, and how lengths are written.
    """
    joins = [(task, task.join) for task in tasks if task.join is not None]
    if not joins:
        return []
    column = Column(paper)
    column.title("Joining diagram", 15)
    column.paragraph(
        "Seen from the fabric side, as the block is finished: the foundations are mirror images of it. The heavy "
        "line is the seam of the join; the arrow shows to which side to press its allowance; a diamond is a matched "
        f"point, where seams must meet.{_signs(plan, lengths)}"
    )
    overview = draw_plan(plan, look=replace(SMALL, leaders=True), size=_MAP * POINTS)
    _row(column, plan, [(overview, ["All units with their patches"], None)], paper)
    width = _width(paper)
    pictures = draw_parts(plan, [join for _, join in joins], look=JOINING, size=0.94 * width * POINTS)
    entries = [(picture, _told(task, width), join) for (task, join), picture in zip(joins, pictures, strict=True)]
    for first in range(0, len(entries), _ROW):
        _row(column, plan, entries[first : first + _ROW], paper)
    return column.pages("Joining diagram", plan.block.name)


def _signs(plan: Plan, lengths: Lengths) -> str:
    """Explain the signs of hard corners, if there are any."""
    if not plan.counts.hard_corners:
        return ""
    return (
        " Other signs are hard corners: a triangle for a set-in corner (stop and pivot), a half-filled square for a "
        "partial seam (sewn in two goes), a ring with a wave for a curve. Places in brackets are "
        f"{lengths.units} from the top left corner of the block, to the right and down."
    )


def _width(paper: Paper) -> float:
    """Return the width of a picture, inches."""
    return (paper.room[0] - (_ROW - 1) * _GAP) / _ROW


def _told(task: Task, width: float) -> list[str]:
    """Return what stands below the picture of a join, so wide (inches)."""
    lines = [line for text in task.sentences for line in wrap(text, _SIZE, width * POINTS)]
    if len(lines) > _MOST_LINES:
        lines = [*lines[:_MOST_LINES], "… all of it stands in the order of work."]
    return [task.head, *lines]


def _row(column: Column, plan: Plan, entries: Sequence[Entry], paper: Paper) -> None:
    """Add pictures side by side with what stands below them."""
    width = _width(paper)
    high = max(picture.height for picture, *_ in entries) / POINTS
    deep = max(len(lines) for _, lines, _ in entries) * _LEADING
    alone = len(entries) == 1

    def draw(pen: Pen, corner: Point) -> None:
        for number, (picture, lines, join) in enumerate(entries):
            left = corner[0] + number * (width + _GAP)
            wide = picture.width / POINTS
            indent = 0.0 if alone else max(0.0, (width - wide) / 2)
            spot = left + indent, corner[1] + high - picture.height / POINTS
            paint_picture(pen, picture, spot, chips=join is not None)
            if join is not None:
                draw_press_arrow(pen, plan, join, picture, spot)
            for row, line in enumerate(lines):
                pen.text((left, corner[1] + high + 0.14 + row * _LEADING), line, _SIZE, bold=row == 0)

    column.drawing(high + 0.14 + deep, draw)
    column.space(10)

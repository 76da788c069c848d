"""The order of work of a block, and every join as a picture, seen from the fabric side."""

from __future__ import annotations

from collections.abc import Sequence

from seamtree.errors import Point
from seamtree.pattern.directions import Task
from seamtree.pattern.flow import Column
from seamtree.pattern.lengths import POINTS, Lengths
from seamtree.pattern.painting import paint_picture
from seamtree.pattern.paper import Paper
from seamtree.pattern.pdf import BELOW_SIZE, Pen, height_below, wrap, write_below
from seamtree.pattern.press_arrows import draw_press_arrow
from seamtree.picture import JOINING, Picture, draw_parts
from seamtree.planning.model import Join, Plan

_ROWS = (4, 5)
"""As many pictures stand side by side: a few larger ones, or many."""

_FEW = 8
"""So many joins are few."""

_GAP = 0.2
"""Inches between pictures."""

Entry = tuple[Picture, list[str], Join]
"""A picture, what stands below it, and the join that it shows."""


def add_order(column: Column, tasks: Sequence[Task]) -> None:
    """Add the order of work: what comes when, what the units hold, and the joins with hard corners in full."""
    if len(tasks) > 1:
        turn = ", ".join(
            task.head.removeprefix("Unit ") if task.join is None else task.head.lower() for task in tasks
        )
        column.paragraph(f"{turn}.", head="Sew in this order:")
    for task in tasks:
        if task.join is None or task.join.seam.corners:
            column.paragraph(" ".join(task.sentences), head=f"{task.head}:", after=1.0)


def add_joins(column: Column, plan: Plan, tasks: Sequence[Task], *, paper: Paper, lengths: Lengths) -> None:
    """Add a picture of every join; nothing for a block of one unit.

    Parameters
    ----------
    column
        Where they go.
    plan, tasks
        The plan and its order of work.
    paper, lengths
        What it is printed on, and how lengths are written.
    """
    joins = [(task, task.join) for task in tasks if task.join is not None]
    if not joins:
        return
    column.heading("Joins", need=2.6)
    column.paragraph(
        "Seen from the fabric side; the foundations are mirror images. The heavy line is the seam; the arrow "
        "shows to "
        f"which side to press; a diamond is a matched point, where seams must meet.{_signs(plan, lengths)}"
    )
    row = _ROWS[len(joins) > _FEW]
    width = (paper.room[0] - (row - 1) * _GAP) / row
    pictures = column.keep(
        ("joins", id(plan), row),
        lambda: list(draw_parts(plan, [join for _, join in joins], look=JOINING, size=0.92 * width * POINTS)),
    )
    entries = [(picture, _told(task, width), join) for (task, join), picture in zip(joins, pictures, strict=True)]
    for first in range(0, len(entries), row):
        _row(column, plan, entries[first : first + row], width)


def _signs(plan: Plan, lengths: Lengths) -> str:
    """Explain the signs of hard corners, if there are any."""
    if not plan.counts.hard_corners:
        return ""
    return (
        " Other signs are hard corners: a triangle for a set-in corner (stop and pivot), a half-filled square for a "
        "partial seam (sewn in two goes), a ring with a wave for a curve. Places in brackets are "
        f"{lengths.units} from the top left corner of the block, to the right and down."
    )


def _told(task: Task, width: float) -> list[str]:
    """Return what stands below the picture of a join, so wide (inches)."""
    corners = task.join is not None and task.join.seam.corners
    told = (task.sentences[0], task.sentences[-1], "How: see above.") if corners else task.sentences
    return [task.head, *(line for text in told for line in wrap(text, BELOW_SIZE, width * POINTS))]


def _row(column: Column, plan: Plan, entries: Sequence[Entry], width: float) -> None:
    """Add pictures side by side with what stands below them, so wide (inches)."""
    high = max(picture.height for picture, *_ in entries) / POINTS
    deep = height_below(max(len(lines) for _, lines, _ in entries))

    def draw(pen: Pen, corner: Point) -> None:
        for number, (picture, lines, join) in enumerate(entries):
            left = corner[0] + number * (width + _GAP)
            indent = max(0.0, (width - picture.width / POINTS) / 2)
            spot = left + indent, corner[1] + high - picture.height / POINTS
            paint_picture(pen, picture, spot, chips=True)
            draw_press_arrow(pen, plan, join, picture, spot)
            write_below(pen, (left, corner[1] + high), lines)

    column.drawing(high + deep, draw)
    column.space(6)

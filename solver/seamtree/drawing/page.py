"""The page under a drawing: a rectangle that is no patch."""

from __future__ import annotations

from collections.abc import Sequence

from seamtree.drawing.outlines import Bounds, is_rectangle
from seamtree.drawing.painted import PaintedShape

NEARLY_WHITE = 240
"""Least red, green and blue (of 255) of a fill that passes for white paper."""


def is_page(shapes: Sequence[PaintedShape], view: Bounds, *, tolerance: float) -> bool:
    """Tell whether the first of the shapes is the page.

    It is when it is a white or nearly white rectangle without stroke that covers the viewBox, and no other shape
    reaches its edge.

    Parameters
    ----------
    shapes
        In paint order.
    view
        The rectangle of the viewBox, in the units of the shapes.
    tolerance
        In the same units.
    """
    if not shapes:
        return False
    first, others = shapes[0], shapes[1:]
    if (
        first.stroke is not None
        or not first.covers
        or not _is_nearly_white(first.fill)
        or not is_rectangle(first.outlines)
    ):
        return False
    left, top, right, bottom = first.bounds
    if not (
        left <= view[0] + tolerance
        and top <= view[1] + tolerance
        and right >= view[2] - tolerance
        and bottom >= view[3] - tolerance
    ):
        return False
    return all(
        other.bounds[0] > left + tolerance
        and other.bounds[1] > top + tolerance
        and other.bounds[2] < right - tolerance
        and other.bounds[3] < bottom - tolerance
        for other in others
    )


def _is_nearly_white(fill: str | None) -> bool:
    if fill is None or len(fill) != 7 or not fill.startswith("#"):
        return False
    try:
        return all(int(fill[index : index + 2], 16) >= NEARLY_WHITE for index in (1, 3, 5))
    except ValueError:  # the id of a gradient that looks like a colour
        return False

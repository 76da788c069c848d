"""The page under a drawing: a rectangle that is no patch."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from seamtree.drawing.drawn import STRAIGHT, Shape
from seamtree.drawing.outlines import Bounds, is_rectangle, united
from seamtree.drawing.painted import PaintedShape, Sheet
from seamtree.drawing.reading import Reading
from seamtree.errors import Point

NEARLY_WHITE = 240
"""Least red, green and blue (of 255) of a fill that passes for white paper."""


def find_page(sheet: Sheet, how: Reading) -> PaintedShape | None:
    """Return the shape that may be the page, None if there is none.

    It is the first that makes a seam if that is a white or nearly white rectangle without stroke that covers the page
    as the file declares it, and no other shape reaches its edge. With ``white='paper'`` others may reach it and go
    beyond, and it may be smaller where it holds all others; with ``white='fabric'`` there is none.

    Parameters
    ----------
    sheet
        What the file paints.
    how
        How the drawing is to be read.
    """
    seams = [shape for shape in sheet.shapes if shape.makes_seams]
    if not seams or how.white == "fabric":
        return None
    first, others = seams[0], [shape.bounds for shape in seams[1:]]
    if first.stroke is not None or not _is_nearly_white(first.fill) or not is_rectangle(first.outlines):
        return None
    if how.white == "paper" and others:
        slack = how.tolerance * sheet.resolution.px_per_inch
        return first if any(_holds(first.bounds, inner, slack) for inner in (united(others), sheet.page)) else None
    # Whether a rectangle is the page depends on the tolerance at a finished size that the page itself is no part of.
    scale = scale_of(seams[1:] or seams, sheet, how)
    if not scale or not _holds(first.bounds, sheet.page, how.tolerance / scale):
        return None
    inside = not others or _holds(first.bounds, united(others), -how.tolerance / scale)
    return first if inside else None


def scale_of(shapes: Sequence[PaintedShape], sheet: Sheet, how: Reading) -> float:
    """Return inches to the px; nought where shapes without a width should be made wide."""
    if how.width is None:
        return 1 / sheet.resolution.px_per_inch
    left, _, right, _ = united([shape.bounds for shape in shapes])
    return how.width / (right - left) if right > left else 0.0


def _holds(outer: Bounds, inner: Bounds, slack: float) -> bool:
    """Tell whether a rectangle holds another that may reach out by some slack; below zero, it stays as far inside."""
    reach = (outer[0] - inner[0], outer[1] - inner[1], inner[2] - outer[2], inner[3] - outer[3])
    return max(reach) <= slack if slack >= 0.0 else max(reach) < slack


def has_straight_outline(shapes: Sequence[Shape]) -> bool:
    """Tell whether the outline of what shapes enclose has no curve in it, as the outlines of blocks have none."""
    chords = {
        frozenset((_rounded(a), _rounded(b)))
        for shape in shapes
        for track in shape.tracks
        for (a, b), curve in zip(pairwise(track.path), track.curves, strict=True)
        if curve != STRAIGHT
    }
    if not chords:
        return True
    import shapely

    lines = shapely.union_all([shapely.LineString(track.path) for shape in shapes for track in shape.tracks])
    area = shapely.union_all(shapely.get_parts(shapely.polygonize([lines])))
    rings = [shapely.get_coordinates(shapely.get_exterior_ring(part)).tolist() for part in shapely.get_parts(area)]
    sides = (frozenset((_rounded(a), _rounded(b))) for ring in rings for a, b in pairwise(ring))
    return chords.isdisjoint(sides)


def _rounded(point: Sequence[float]) -> Point:
    return round(point[0], 6), round(point[1], 6)


def _is_nearly_white(fill: str | None) -> bool:
    if fill is None or len(fill) != 7 or not fill.startswith("#"):
        return False
    try:
        return all(int(fill[index : index + 2], 16) >= NEARLY_WHITE for index in (1, 3, 5))
    except ValueError:  # the id of a gradient that looks like a colour
        return False

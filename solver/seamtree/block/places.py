"""Places of a drawing, in inches from the top left corner of its bounding box, in words and as points."""

from __future__ import annotations

from seamtree.block.paint import Floats
from seamtree.errors import Point


def place(at: Point) -> str:
    """Return a place in words."""
    return f"({at[0] + 0.0:.2f}, {at[1] + 0.0:.2f}) in"


def as_point(at: Floats) -> Point:
    """Return coordinates as a point."""
    return float(at[0]), float(at[1])

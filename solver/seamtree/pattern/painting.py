"""Pictures of plans painted on pages."""

from __future__ import annotations

from seamtree.errors import Point
from seamtree.pattern.lengths import POINTS
from seamtree.pattern.pdf import Pen
from seamtree.picture.shapes import Disc, Lines, Picture, Polygon, Shape, Text


def paint_picture(pen: Pen, picture: Picture, corner: Point, *, scale: float = 1.0) -> None:
    """Paint a picture.

    Parameters
    ----------
    pen
        Of the page.
    picture
        What is painted.
    corner
        Where its top left corner lies on the page, inches.
    scale
        How much larger than its own size it becomes.
    """
    for shape in picture.shapes():
        _paint(pen, shape, corner, scale)


def _paint(pen: Pen, shape: Shape, corner: Point, scale: float) -> None:
    def placed(at: Point) -> Point:
        return corner[0] + at[0] * scale / POINTS, corner[1] + at[1] * scale / POINTS

    if isinstance(shape, Polygon):
        with pen.style(weight=shape.weight * scale, colour=shape.border or "#000000", fill=shape.fill):
            pen.polygon(
                [placed(at) for at in shape.points], stroke=shape.border is not None, fill=shape.fill is not None
            )
    elif isinstance(shape, Lines):
        with pen.style(weight=shape.weight * scale, colour=shape.colour):
            pen.lines([placed(at) for at in path] for path in shape.paths)
    elif isinstance(shape, Disc):
        with pen.style(weight=shape.weight * scale, colour=shape.border or "#000000", fill=shape.fill):
            pen.disc(
                placed(shape.centre),
                shape.radius * scale / POINTS,
                stroke=shape.border is not None,
                fill=shape.fill is not None,
            )
    elif isinstance(shape, Text):
        pen.text(
            placed(shape.at),
            shape.text,
            shape.size * scale,
            bold=shape.bold,
            anchor=shape.anchor,
            colour=shape.colour,
        )

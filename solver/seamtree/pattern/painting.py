"""Pictures of plans painted on pages."""

from __future__ import annotations

from seamtree.errors import Point
from seamtree.pattern.fonts import text_width
from seamtree.pattern.lengths import POINTS
from seamtree.pattern.pdf import Pen
from seamtree.picture.lettering import CAP_HEIGHT
from seamtree.picture.shapes import BEFORE_ANCHOR, Disc, Lines, Picture, Polygon, Shape, Text


def paint_picture(pen: Pen, picture: Picture, corner: Point, *, chips: bool = False) -> None:
    """Paint a picture at its own size.

    Parameters
    ----------
    pen
        Of the page.
    picture
        What is painted.
    corner
        Where its top left corner lies on the page, inches.
    chips
        Whether text stands on white.
    """
    for shape in picture.shapes():
        if chips and isinstance(shape, Text):
            _paint(pen, _chip(shape), corner)
        _paint(pen, shape, corner)


def paint_cloth(pen: Pen, picture: Picture, corner: Point) -> None:
    """Paint a picture as cloth looks when it is sewn: patches and markings, without heavy lines, numbers or signs.

    Parameters
    ----------
    pen, picture, corner
        As for `paint_picture`.
    """
    patches = [shape for layer in picture.layers if layer.name == "units" for shape in layer.shapes]
    for layer in picture.layers:
        if layer.name in _CLOTH:
            for shape in layer.shapes:
                _paint(pen, shape, corner)
    for shape in patches:
        if isinstance(shape, Polygon):
            _paint(pen, Polygon(shape.points, border=_SEAM_COLOUR, weight=0.4), corner)
    for layer in picture.layers:
        if layer.name == "markings":
            for shape in layer.shapes:
                _paint(pen, shape, corner)


_CLOTH = ("units", "hatching")
"""Layers that show fabric."""

_SEAM_COLOUR = "#404040"


def _chip(text: Text) -> Polygon:
    """Return a white ground for a text that is anchored in its middle or elsewhere."""
    wide, high = text_width(text.text, text.size, bold=text.bold), CAP_HEIGHT * text.size
    left = text.at[0] - BEFORE_ANCHOR[text.anchor] * wide
    pad = 0.12 * text.size
    x0, y0, x1, y1 = left - pad, text.at[1] - high - pad, left + wide + pad, text.at[1] + pad
    return Polygon(((x0, y0), (x1, y0), (x1, y1), (x0, y1)), fill="#ffffff")


def _paint(pen: Pen, shape: Shape, corner: Point) -> None:
    def placed(at: Point) -> Point:
        return corner[0] + at[0] / POINTS, corner[1] + at[1] / POINTS

    if isinstance(shape, Polygon):
        with pen.style(weight=shape.weight, colour=shape.border or "#000000", fill=shape.fill):
            pen.polygon(
                [placed(at) for at in shape.points], stroke=shape.border is not None, fill=shape.fill is not None
            )
    elif isinstance(shape, Lines):
        with pen.style(weight=shape.weight, colour=shape.colour):
            pen.lines([placed(at) for at in path] for path in shape.paths)
    elif isinstance(shape, Disc):
        with pen.style(weight=shape.weight, colour=shape.border or "#000000", fill=shape.fill):
            pen.disc(
                placed(shape.centre),
                shape.radius / POINTS,
                stroke=shape.border is not None,
                fill=shape.fill is not None,
            )
    elif isinstance(shape, Text):
        pen.text(
            placed(shape.at),
            shape.text,
            shape.size,
            bold=shape.bold,
            anchor=shape.anchor,
            colour=shape.colour,
        )

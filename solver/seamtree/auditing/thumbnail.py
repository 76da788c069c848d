"""Small pictures for a page of thousands: as SVG inside HTML, in a third of the bytes that a file takes.

Coordinates are whole quarters of a point, each relative to the one before, and the shapes of a layer that are painted
alike are one element. Words are left to the page; line ends and type are in its style sheet.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import groupby, pairwise
from xml.sax.saxutils import escape

from seamtree.errors import Point
from seamtree.picture.shapes import Disc, Layer, Lines, Picture, Polygon, Shape, Text

SCALE = 4
"""Units to a point: finer than any screen, at the size of these pictures."""

_PIXELS = 96 / 72
"""CSS pixels to a point."""


def write_thumbnail(picture: Picture) -> str:
    """Return a picture as one line: an ``svg`` element for HTML, without words of its own."""
    body = "".join(_element(paint, alike) for layer in picture.layers for paint, alike in _alike(layer))
    width, height = (f"{side * _PIXELS:.0f}" for side in (picture.width, picture.height))
    box = f"0 0 {_whole(picture.width)} {_whole(picture.height)}"
    return f'<svg width="{width}" height="{height}" viewBox="{box}">{body}</svg>'


def _alike(layer: Layer) -> Iterator[tuple[str, list[Shape]]]:
    """Yield the shapes of a layer by how they are painted.

    Patches lie side by side, so it does not matter which is painted first; all other shapes keep their order.
    """
    shapes = layer.shapes
    if all(isinstance(shape, Polygon) and shape.border is None for shape in shapes):
        shapes = tuple(sorted(shapes, key=_paint))
    for paint, alike in groupby(shapes, _paint):
        yield paint, list(alike)


def _paint(shape: Shape) -> str:
    """Return the attributes that say how a shape is painted; shapes that have the same can be one element."""
    if isinstance(shape, Lines):
        return f' fill="none" stroke="{_short(shape.colour)}" stroke-width="{_whole(shape.weight)}"'
    if isinstance(shape, Text):
        weight = ' font-weight="bold"' if shape.bold else ""
        anchor = "" if shape.anchor == "start" else f' text-anchor="{shape.anchor}"'
        return f' font-size="{_whole(shape.size)}" fill="{_short(shape.colour)}"{weight}{anchor}'
    border = "" if shape.border is None else f' stroke="{_short(shape.border)}" stroke-width="{_whole(shape.weight)}"'
    fill = "none" if shape.fill is None else _short(shape.fill)
    return f' fill="{fill}"{border}'


def _element(paint: str, shapes: Sequence[Shape]) -> str:
    """Return shapes that are painted alike."""
    if all(isinstance(shape, Text) for shape in shapes):
        return f"<g{paint}>{''.join(_text(shape) for shape in shapes if isinstance(shape, Text))}</g>"
    return f'<path d="{_path(_runs(shapes))}"{paint}/>'


def _runs(shapes: Iterable[Shape]) -> Iterator[tuple[str, Sequence[Point] | Disc]]:
    for shape in shapes:
        if isinstance(shape, Polygon):
            yield "z", shape.points
        elif isinstance(shape, Lines):
            for path in shape.paths:
                yield "", path
        elif isinstance(shape, Disc):
            yield "z", shape


def _path(runs: Iterable[tuple[str, Sequence[Point] | Disc]]) -> str:
    """Return the data of a path; every run begins anew, at a place of its own."""
    return "".join(_disc(run) if isinstance(run, Disc) else _run(run) + end for end, run in runs)


def _run(points: Sequence[Point]) -> str:
    whole = [(_whole(x), _whole(y)) for x, y in points]
    steps = "".join(_number(x - before[0]) + _number(y - before[1]) for before, (x, y) in pairwise(whole))
    return f"M{whole[0][0]}{_number(whole[0][1])}l{steps.lstrip()}"


def _disc(disc: Disc) -> str:
    """Return a disc as two half circles (SVG 1.1, 8.3.8)."""
    x, y, r = (_whole(value) for value in (*disc.centre, disc.radius))
    half = f"a{r} {r} 0 1 0"
    return f"M{x - r} {y}{half} {2 * r} 0{half} {-2 * r} 0z"


def _text(text: Text) -> str:
    return f'<text x="{_whole(text.at[0])}" y="{_whole(text.at[1])}">{escape(text.text)}</text>'


def _whole(value: float) -> int:
    return round(value * SCALE)


def _number(value: int) -> str:
    """Return a number with what must stand between it and the one before."""
    return str(value) if value < 0 else f" {value}"


def _short(colour: str) -> str:
    """Return a colour in three digits if it has them (CSS Color 4, 5.2)."""
    return f"#{colour[1::2]}" if colour[1::2] == colour[2::2] else colour

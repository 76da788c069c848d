"""Pictures as SVG: text stays text, everything else is geometry; the same picture gives the same bytes."""

from __future__ import annotations

import re
from collections.abc import Sequence
from xml.sax.saxutils import escape, quoteattr

from seamtree.errors import OptionError, Point
from seamtree.picture.lettering import FAMILIES
from seamtree.picture.shapes import Disc, Lines, Picture, Polygon, Shape, Text
from seamtree.svg_words import number, run

_PREFIX = re.compile(r"[A-Za-z][A-Za-z0-9_-]*")

_DECIMALS = 2
"""Hundredths of a point are finer than any printer."""


def write_svg(picture: Picture, *, prefix: str = "picture", declaration: bool = True) -> str:
    """Return a picture as the text of an SVG 1.1 file.

    Parameters
    ----------
    picture
        What to write.
    prefix
        What the ids in the file begin with. Pictures in one HTML page need prefixes that differ.
    declaration
        Whether it begins with an XML declaration, as a file does; inside an HTML page there is none.

    Raises
    ------
    OptionError
        If the prefix is no id: a letter, then letters, figures, ``-`` and ``_``.
    """
    if not _PREFIX.fullmatch(prefix):
        raise OptionError(f"{prefix!r} cannot begin an id: take a letter, then letters, figures, - and _")
    width, height = _number(picture.width), _number(picture.height)
    lines = ['<?xml version="1.0" encoding="UTF-8"?>'] if declaration else []
    lines += [
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}pt" height="{height}pt" '
        f'viewBox="0 0 {width} {height}" role="img" aria-labelledby="{prefix}-title {prefix}-desc" '
        f"font-family={quoteattr(', '.join(_family(name) for name in FAMILIES))}>",
        f'<title id="{prefix}-title">{escape(picture.title)}</title>',
        f'<desc id="{prefix}-desc">{escape(picture.description)}</desc>',
    ]
    for layer in picture.layers:
        lines.append(f'<g class="{layer.name}">')
        lines += map(_element, layer.shapes)
        lines.append("</g>")
    return "\n".join([*lines, "</svg>", ""])


def _element(shape: Shape) -> str:
    if isinstance(shape, Polygon):
        body = f'<path d="{_path(shape.points)}Z"{_paint(shape.fill, shape.border, shape.weight)}'
        return f"{body}><title>{escape(shape.name)}</title></path>" if shape.name else f"{body}/>"
    if isinstance(shape, Lines):
        path = "".join(map(_path, shape.paths))
        return (
            f'<path d="{path}" fill="none" stroke="{shape.colour}" stroke-width="{_number(shape.weight)}" '
            'stroke-linecap="round" stroke-linejoin="round"/>'
        )
    if isinstance(shape, Disc):
        x, y = map(_number, shape.centre)
        paint = _paint(shape.fill, shape.border, shape.weight)
        return f'<circle cx="{x}" cy="{y}" r="{_number(shape.radius)}"{paint}/>'
    return _one_text(shape)


def _one_text(text: Text) -> str:
    x, y = map(_number, text.at)
    weight = ' font-weight="bold"' if text.bold else ""
    anchor = "" if text.anchor == "start" else f' text-anchor="{text.anchor}"'
    return (
        f'<text x="{x}" y="{y}" font-size="{_number(text.size)}" fill="{text.colour}"{weight}{anchor}>'
        f"{escape(text.text)}</text>"
    )


def _paint(fill: str | None, border: str | None, weight: float) -> str:
    paint = f' fill="{fill or "none"}"'
    if border is not None:
        paint += f' stroke="{border}" stroke-width="{_number(weight)}" stroke-linejoin="round"'
    return paint


def _path(points: Sequence[Point]) -> str:
    return "M" + run(points, _DECIMALS, gap="")


def _family(name: str) -> str:
    return f"'{name}'" if " " in name else name


def _number(value: float) -> str:
    return number(value, _DECIMALS)

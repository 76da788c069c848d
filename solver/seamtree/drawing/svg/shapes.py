"""The basic shapes and paths of SVG as outlines in user units."""

from __future__ import annotations

import math
from dataclasses import dataclass

from seamtree.drawing.outlines import Outline, ellipse, rectangle
from seamtree.drawing.svg.path_data import parse_path
from seamtree.drawing.svg.style import Style, font_size
from seamtree.drawing.svg.values import parse_length, parse_numbers
from seamtree.drawing.svg.xml import Element
from seamtree.errors import Point

SHAPES = frozenset({"path", "rect", "circle", "ellipse", "line", "polyline", "polygon"})
"""Elements that draw."""


class BadValueError(ValueError):
    """An attribute has a value that cannot be used.

    Parameters
    ----------
    code
        Code of the finding.
    attribute
        Its name.
    value
        What it says.
    reason
        What is wrong with it, as the end of a sentence.
    """

    def __init__(self, code: str, attribute: str, value: str, reason: str) -> None:
        super().__init__(reason)
        self.code = code
        self.attribute = attribute
        self.value = value
        self.reason = reason


@dataclass(frozen=True, slots=True)
class Viewport:
    """What percentages refer to, in user units."""

    width: float
    height: float

    @property
    def diagonal(self) -> float:
        """What percentages refer to that belong to neither axis (SVG 2, section 8.9)."""
        return math.hypot(self.width, self.height) / math.sqrt(2)

    def across(self, name: str) -> float:
        """Return what a hundred per cent of an attribute is."""
        if name in {"x", "width", "cx", "rx", "x1", "x2", "dx"}:
            return self.width
        if name in {"y", "height", "cy", "ry", "y1", "y2", "dy"}:
            return self.height
        return self.diagonal


def read_length(name: str, value: str, style: Style, viewport: Viewport) -> float:
    """Return the length that an attribute says.

    Raises
    ------
    BadValueError
        ``bad-number`` when it is none.
    """
    try:
        return parse_length(value, percent_of=viewport.across(name), font_size=font_size(style))
    except ValueError as error:
        raise BadValueError("bad-number", name, value, str(error)) from error


def read_outlines(element: Element, style: Style, viewport: Viewport) -> tuple[Outline, ...]:
    """Return what a shape draws, in its own user units.

    Parameters
    ----------
    element
        One of `SHAPES`.
    style
        Its computed style.
    viewport
        What percentages refer to.

    Returns
    -------
    tuple of Outline
        Empty where SVG draws nothing, for example for a rectangle without a size.

    Raises
    ------
    BadValueError
        ``bad-number``, ``bad-points`` or ``bad-path``.
    """
    return _READERS[element.tag](element, style, viewport)


def _geometry(name: str, style: Style, viewport: Viewport) -> float:
    """Return a geometry property (an attribute or CSS), nought where it is not given."""
    value = style[name]
    return read_length(name, value, style, viewport) if value else 0.0


def _size(name: str, style: Style, viewport: Viewport) -> float:
    size = 0.0 if style[name].lower() == "auto" else _geometry(name, style, viewport)
    if size < 0.0:
        raise BadValueError("bad-number", name, style[name], "is negative")
    return size


def _radius(name: str, style: Style, viewport: Viewport) -> float | None:
    """Return a radius, None where it follows the other one."""
    value = style[name]
    if not value or value.lower() == "auto":
        return None
    return _size(name, style, viewport)


def _radii(style: Style, viewport: Viewport) -> tuple[float, float]:
    rx, ry = _radius("rx", style, viewport), _radius("ry", style, viewport)
    return (rx if rx is not None else ry or 0.0, ry if ry is not None else rx or 0.0)


def _rect(_element: Element, style: Style, viewport: Viewport) -> tuple[Outline, ...]:
    left, top = _geometry("x", style, viewport), _geometry("y", style, viewport)
    width, height = _size("width", style, viewport), _size("height", style, viewport)
    rx, ry = _radii(style, viewport)
    if not (width and height):
        return ()
    return (rectangle(left, top, width, height, rx=min(rx, width / 2), ry=min(ry, height / 2)),)


def _circle(_element: Element, style: Style, viewport: Viewport) -> tuple[Outline, ...]:
    centre = (_geometry("cx", style, viewport), _geometry("cy", style, viewport))
    radius = _size("r", style, viewport)
    return (ellipse(centre, radius, radius),) if radius else ()


def _ellipse(_element: Element, style: Style, viewport: Viewport) -> tuple[Outline, ...]:
    centre = (_geometry("cx", style, viewport), _geometry("cy", style, viewport))
    rx, ry = _radii(style, viewport)
    return (ellipse(centre, rx, ry),) if rx and ry else ()


def _line(element: Element, style: Style, viewport: Viewport) -> tuple[Outline, ...]:
    x1, y1, x2, y2 = (
        read_length(name, element.get(name) or "0", style, viewport) for name in ("x1", "y1", "x2", "y2")
    )
    return (Outline(((x1, y1), (x2, y2)), False),)


def _points(element: Element) -> tuple[Point, ...]:
    text = element.get("points") or ""
    try:
        numbers = parse_numbers(text)
    except ValueError as error:
        raise BadValueError("bad-number", "points", text, str(error)) from error
    if len(numbers) % 2:
        raise BadValueError("bad-points", "points", text, f"has {len(numbers)} numbers, so one point is half given")
    each = iter(numbers)
    return tuple(zip(each, each, strict=True))


def _polyline(element: Element, _style: Style, _viewport: Viewport) -> tuple[Outline, ...]:
    points = _points(element)
    return (Outline(points, element.tag == "polygon"),) if len(points) > 1 else ()


_PATH_FUNCTION = "path("


def _path(_element: Element, style: Style, _viewport: Viewport) -> tuple[Outline, ...]:
    data = style["d"]
    if data.startswith(_PATH_FUNCTION) and data.endswith(")"):
        data = data.removeprefix(_PATH_FUNCTION).removesuffix(")").strip().strip("\"'")
    try:
        return parse_path(data)
    except ValueError as error:
        raise BadValueError("bad-path", "d", data, str(error)) from error


_READERS = {
    "rect": _rect,
    "circle": _circle,
    "ellipse": _ellipse,
    "line": _line,
    "polyline": _polyline,
    "polygon": _polyline,
    "path": _path,
}

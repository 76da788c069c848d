"""Styles, paint and transforms of the elements of an SVG document, as they are told in many places of it."""

from __future__ import annotations

import math
from collections.abc import Mapping

from seamtree.drawing.affine import IDENTITY, Affine, compose, is_invertible, translation
from seamtree.drawing.svg.place import ROUNDING
from seamtree.drawing.svg.shapes import BadValueError, Viewport, read_length
from seamtree.drawing.svg.style import INITIAL, Paint, Painted, Style, computed, declared, font_size, painted
from seamtree.drawing.svg.style_sheets import StyleSheet
from seamtree.drawing.svg.values import parse_colour, parse_opacity, parse_transform
from seamtree.drawing.svg.xml import Element
from seamtree.errors import Point, SeamtreeError

SERVERS = frozenset({"linearGradient", "radialGradient", "meshgradient", "pattern", "hatch", "solidcolor"})


class Styles:
    """The styles of a document.

    Parameters
    ----------
    ids
        Its elements by their id.
    sheet
        Its style sheets.
    missing
        The gradients and patterns that paint refers to and that it does not hold.
    """

    def __init__(self, ids: Mapping[str, Element], sheet: StyleSheet) -> None:
        self.ids, self.sheet = ids, sheet
        self.missing: dict[str, None] = {}
        self._declared: dict[Element, dict[str, str]] = {}
        self._fabrics: dict[str, Paint | None] = {}

    def of(self, element: Element, parent: Style) -> Style:
        """Return the style of an element; `BadValueError` if it cannot be used."""
        declarations = self._declared.get(element)
        try:
            if declarations is None:
                declarations = self._declared[element] = declared(element, self.sheet)
            return computed(parent, declarations)
        except SeamtreeError:
            raise
        except ValueError as error:
            raise BadValueError("bad-number", "", "", f"cannot be used: {error}") from error

    def transform(self, style: Style, viewport: Viewport) -> Affine:
        """Return what a style does to places; `BadValueError` if that is nothing that can be undone."""
        text = style["transform"]
        if not text:
            return IDENTITY
        try:
            matrix = parse_transform(text, font_size=font_size(style))
            origin = _origin(style, viewport) if style["transform-origin"] else (0.0, 0.0)
        except (ArithmeticError, ValueError) as error:
            raise BadValueError("bad-transform", "transform", text, str(error)) from error
        if not is_invertible(matrix):
            finite = all(map(math.isfinite, matrix))
            reason = "flattens everything to a line or a point" if finite else "is not finite"
            raise BadValueError("bad-transform", "transform", text, reason)
        if origin != (0.0, 0.0):
            matrix = compose(compose(translation(*origin), matrix), translation(-origin[0], -origin[1]))
        return matrix

    def painted(self, style: Style) -> Painted:
        """Return what a style paints shapes with."""
        try:
            return painted(style, self._server)
        except (BadValueError, SeamtreeError):
            raise
        except ValueError as error:
            # A width in em is known only once the size of the font is.
            raise BadValueError("bad-number", "stroke-width", style["stroke-width"], str(error)) from error

    def _server(self, target: str) -> Paint | None:
        """Return the paint of a gradient or pattern: the id of the one whose stops or contents paint it."""
        if target not in self._fabrics:
            self._fabrics[target] = self._found_fabric(target)
        if self._fabrics[target] is None:
            self.missing.setdefault(target)
        return self._fabrics[target]

    def _found_fabric(self, target: str) -> Paint | None:
        seen: set[Element] = set()
        element = self.ids.get(target)
        while element is not None and element.tag in SERVERS and element not in seen:
            seen.add(element)
            if any(child.tag for child in element.children) or element.tag == "solidcolor":
                return Paint(element.get("id") or target, self._least_opacity(element))
            element = self.ids.get((element.href() or "").removeprefix("#"))
        return Paint("", 0.0) if seen else None

    def _least_opacity(self, element: Element) -> float:
        """Return the opacity of a gradient where it is least, but 0 only if it is so throughout."""
        stops = [_stop_opacity(self.of(stop, INITIAL)) for stop in element.children if stop.tag == "stop"]
        if not any(stops):
            return 0.0 if stops else 1.0
        return max(min(stops), ROUNDING)


def shows(style: Style) -> bool:
    """Tell whether an element and what is inside it can show at all."""
    return style["display"].lower() != "none" and parse_opacity(style["opacity"]) > 0.0


def _stop_opacity(style: Style) -> float:
    colour = parse_colour(style["stop-color"])
    return parse_opacity(style["stop-opacity"]) * (1.0 if colour is None else colour.alpha)


_ORIGIN_WORDS = {"left": "0%", "top": "0%", "center": "50%", "right": "100%", "bottom": "100%"}


def _origin(style: Style, viewport: Viewport) -> Point:
    """Return the point that a transform leaves in place (CSS Transforms 1: in the nearest viewport)."""
    words = style["transform-origin"].lower().split()[:2]
    if words[0] in {"top", "bottom"} or words[-1] in {"left", "right"}:
        words.reverse()
    words = [_ORIGIN_WORDS.get(word, word) for word in words]
    across, down = words[0], words[1] if len(words) > 1 else "50%"
    return (
        read_length("x", across, style, viewport),
        read_length("y", down, style, viewport),
    )


def url_target(value: str) -> str | None:
    """Return the id that ``url(#id)`` names."""
    stripped = value.strip()
    if not stripped.lower().startswith("url(") or ")" not in stripped:
        return None
    address = stripped[4 : stripped.index(")")].strip().strip("\"'").strip()
    return address[1:] if address.startswith("#") else None

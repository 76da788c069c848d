"""What the style of an SVG element comes to: cascade, inheritance, and what of it is painted."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from functools import lru_cache
from typing import Literal, NamedTuple

from seamtree.drawing.svg.style_sheets import Declaration, StyleSheet, parse_declarations
from seamtree.drawing.svg.values import (
    Colour,
    Reference,
    parse_colour,
    parse_length,
    parse_number,
    parse_opacity,
    parse_paint,
)
from seamtree.drawing.svg.xml import Element
from seamtree.drawing.wording import short

Style = Mapping[str, str]

INHERITED = {
    "color": "black",
    "dominant-baseline": "auto",
    "fill": "black",
    "fill-opacity": "1",
    "fill-rule": "nonzero",
    "clip-rule": "nonzero",
    "font-size": "16",
    "stroke": "none",
    "stroke-opacity": "1",
    "stroke-width": "1",
    "stroke-dasharray": "none",
    "stroke-linecap": "butt",
    "stroke-linejoin": "miter",
    "stroke-miterlimit": "4",
    "text-anchor": "start",
    "visibility": "visible",
}
"""Properties that children take from their parents, with their initial values."""

OWN = {
    "clip-path": "none",
    "display": "inline",
    "mask": "none",
    "mask-type": "luminance",
    "mix-blend-mode": "normal",
    "opacity": "1",
    "overflow": "",
    "stop-color": "black",
    "stop-opacity": "1",
    "transform": "",
    "transform-origin": "",
    "vector-effect": "none",
    "x": "",
    "y": "",
    "width": "",
    "height": "",
    "cx": "",
    "cy": "",
    "r": "",
    "rx": "",
    "ry": "",
    "d": "",
}
"""Properties that each element has for itself, with their initial values."""

INITIAL: Style = INHERITED | OWN

_SIZE_WORDS = {
    "xx-small": 9.6,
    "x-small": 12.0,
    "small": 14.2,
    "medium": 16.0,
    "large": 19.2,
    "x-large": 24.0,
    "xx-large": 32.0,
}
_SIZE_STEPS = {"smaller": 1 / 1.2, "larger": 1.2}
_DASH_SEPARATOR = re.compile(r"[\s,]+")


def declared(element: Element, sheet: StyleSheet) -> dict[str, str]:
    """Return the declarations that win the cascade on an element, weakest first: attributes, rules, ``style``.

    Parameters
    ----------
    element
        Any element.
    sheet
        The style sheets of the drawing.

    Raises
    ------
    ValueError
        With attribute name and reason, when a number is not finite.
    """
    won: dict[str, str] = {}
    for name, value in element.attributes.items():
        if name in INITIAL:
            _declare(won, name, value.strip())
    authored: list[Declaration] = sheet.declarations(element)
    inline = element.get("style")
    if inline:
        authored.extend(parse_declarations(inline))
    for weight in (False, True) if authored else ():
        for name, value, important in authored:
            if important == weight:
                _declare(won, name, value)
    return won


def _declare(won: dict[str, str], name: str, value: str) -> None:
    if name == "font":
        size = _font_size(value)
        if size:
            won["font-size"] = size
    elif name in INITIAL and _is_valid(name, value):
        won[name] = value


def _font_size(shorthand: str) -> str | None:
    """Return the size in the shorthand property ``font``: the word before the families that begins with a digit."""
    for word in shorthand.replace("/", " ").split():
        if word[0].isdigit() and not word.isdigit():
            return word
    return None


_GLOBAL_WORDS = frozenset({"inherit", "initial", "unset", "revert"})


def _is_valid(name: str, value: str) -> bool:
    """Tell whether CSS would take the value; it drops a declaration that it does not understand."""
    check = _CHECKS.get(name)
    if check is None or value.lower() in _GLOBAL_WORDS:
        return True
    if _NOT_FINITE.search(value):
        raise ValueError(f"{name}='{short(value)}' is not a finite number")
    try:
        return check(value)
    except ValueError as error:
        if "finite" in str(error):
            raise ValueError(f"{name}='{short(value)}' {error}") from error
        return False


_NOT_FINITE = re.compile(r"(?<![\w#-])[-+]?(?:nan|inf(?:inity)?)(?![\w-])", re.IGNORECASE)


def _is_colour(value: str) -> bool:
    return value.lower() == "currentcolor" or parse_colour(value) is not None


def _is_opacity(value: str) -> bool:
    parse_opacity(value)
    return True


def _is_length(value: str) -> bool:
    parse_length(value, percent_of=100.0, font_size=16.0)
    return True


def _is_width(value: str) -> bool:
    return parse_length(value, percent_of=100.0, font_size=16.0) >= 0.0


def _is_mitre_limit(value: str) -> bool:
    return parse_number(value) >= 1.0


def _is_dashes(value: str) -> bool:
    if value.lower() != "none":
        for part in _DASH_SEPARATOR.split(value.strip()):
            parse_length(part, percent_of=100.0, font_size=16.0)
    return True


def _is_font_size(value: str) -> bool:
    return value.lower() in _SIZE_WORDS or value.lower() in _SIZE_STEPS or _is_length(value)


_CHECKS: dict[str, Callable[[str], bool]] = {
    "color": _is_colour,
    "stop-color": _is_colour,
    "fill": lambda value: parse_paint(value) is not None,
    "stroke": lambda value: parse_paint(value) is not None,
    "fill-opacity": _is_opacity,
    "stroke-opacity": _is_opacity,
    "opacity": _is_opacity,
    "stop-opacity": _is_opacity,
    "stroke-width": _is_width,
    "stroke-dasharray": _is_dashes,
    "stroke-linecap": lambda value: value.lower() in {"butt", "round", "square"},
    "stroke-linejoin": lambda value: value.lower() in {"miter", "miter-clip", "round", "bevel", "arcs"},
    "stroke-miterlimit": _is_mitre_limit,
    "font-size": _is_font_size,
    "fill-rule": lambda value: value.lower() in {"nonzero", "evenodd"},
    "clip-rule": lambda value: value.lower() in {"nonzero", "evenodd"},
    "visibility": lambda value: value.lower() in {"visible", "hidden", "collapse"},
    "text-anchor": lambda value: value.lower() in {"start", "middle", "end"},
}


def computed(parent: Style, declarations: Mapping[str, str]) -> Style:
    """Return the style of an element from its parent's style and its own declarations.

    Raises
    ------
    ValueError
        With attribute name and reason, when the size of its font is not finite.
    """
    if not declarations:
        return parent if all(parent[name] == value for name, value in OWN.items()) else {**parent, **OWN}
    style = {**parent, **OWN}
    for name, value in declarations.items():
        word = value.lower()
        if word == "inherit" or (word in {"unset", "revert"} and name in INHERITED):
            style[name] = parent[name]
        elif word in _GLOBAL_WORDS:
            style[name] = INITIAL[name]
        elif name == "font-size":
            style[name] = _computed_size(word, float(parent[name]))
        elif not (name == "color" and word == "currentcolor"):
            style[name] = value
    return style


def _computed_size(word: str, parent: float) -> str:
    if word in _SIZE_WORDS:
        return repr(_SIZE_WORDS[word])
    if word in _SIZE_STEPS:
        return repr(parent * _SIZE_STEPS[word])
    try:
        return repr(max(parse_length(word, percent_of=parent, font_size=parent), 0.0))
    except ValueError as error:
        raise ValueError(f"font-size='{short(word)}' {error}") from error


def font_size(style: Style) -> float:
    """Return the font size in user units."""
    return float(style["font-size"])


class Paint(NamedTuple):
    """What a fill or stroke shows: its fabric, and how opaque it is (above 0, up to 1) by itself."""

    fabric: str
    opacity: float


class Painted(NamedTuple):
    """How an element is painted.

    Parameters
    ----------
    fill, stroke
        What fills it and what its line is painted with; None where nothing shows.
    dashed
        Whether there is a line and it is dashed.
    evenodd
        Whether its fill rule is even-odd.
    """

    fill: Paint | None
    stroke: Paint | None
    dashed: bool
    evenodd: bool


def painted(style: Style, server: Callable[[str], Paint | None]) -> Painted:
    """Return how an element of this style is painted, apart from the groups that it is in.

    Parameters
    ----------
    style
        Computed style.
    server
        Gives for the id of a gradient or pattern the name of its fabric and its opacity, which is 0 when it paints
        nothing; None when there is no such thing.

    Raises
    ------
    ValueError
        With the reason, when the width of its line is not finite.
    """
    fill = _paint("fill", style, server)
    stroke = _paint("stroke", style, server) if _has_width(style) else None
    return Painted(
        fill=fill,
        stroke=stroke,
        dashed=stroke is not None and is_dashed(style["stroke-dasharray"]),
        evenodd=style["fill-rule"].lower() == "evenodd",
    )


def _has_width(style: Style) -> bool:
    """Tell whether there is a line to paint."""
    if style["stroke"] == "none":
        return False
    return parse_length(style["stroke-width"], percent_of=100.0, font_size=font_size(style)) > 0.0


def _paint(which: Literal["fill", "stroke"], style: Style, server: Callable[[str], Paint | None]) -> Paint | None:
    opacity = parse_opacity(style[which + "-opacity"])
    if opacity <= 0.0:
        return None
    paint = parse_paint(style[which])
    if isinstance(paint, Reference):
        served = None if paint.target is None else server(paint.target)
        found = _plain(paint.fallback, style) if served is None else served
    else:
        found = _plain(paint, style)
    if found is None or found.opacity <= 0.0:
        return None
    return found._replace(opacity=found.opacity * opacity) if opacity < 1.0 else found


def _plain(paint: Colour | Literal["none", "currentcolor"] | None, style: Style) -> Paint | None:
    colour = parse_colour(style["color"]) if paint == "currentcolor" else paint
    return Paint(colour.code, colour.alpha) if isinstance(colour, Colour) else None


@lru_cache(maxsize=512)
def is_dashed(value: str) -> bool:
    """Tell whether a ``stroke-dasharray`` leaves gaps."""
    if value.lower() == "none":
        return False
    parts = _DASH_SEPARATOR.split(value.strip())
    lengths = [parse_length(part, percent_of=100.0, font_size=16.0) for part in parts]
    if any(length < 0.0 for length in lengths):
        return False
    # An odd list counts twice, so that every place is a dash once and a gap once.
    gaps = lengths if len(lengths) % 2 else lengths[1::2]
    return any(gap > 0.0 for gap in gaps)

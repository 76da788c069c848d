"""The small languages inside SVG attributes: numbers, lengths, colours and paints, transforms, viewBox.

Every function raises `ValueError` with a reason in plain words; the caller knows the element and the attribute.

Units are the absolute units of CSS Values and Units (96 px to the inch), kept as exact ratios.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

from seamtree.drawing import limits
from seamtree.drawing.affine import IDENTITY, Affine, compose, translation
from seamtree.drawing.wording import short
from seamtree.tolerances import PX_PER_INCH

# Possessive (++, *+, ?+): no backtracking, whatever the text.
NUMBER = r"[-+]?+(?:[0-9]++(?:\.[0-9]++)?+|\.[0-9]++)(?:[eE][-+]?+[0-9]++)?+"
SEPARATOR = r"(?:[ \t\n\r\f]+,?[ \t\n\r\f]*|,[ \t\n\r\f]*)"
GAP = r"[ \t\n\r\f]*+(?:,[ \t\n\r\f]*+)?+"
"""A separator or nothing."""

UNITS = {
    "": 1.0,
    "px": 1.0,
    "in": PX_PER_INCH,
    "cm": PX_PER_INCH / 2.54,
    "mm": PX_PER_INCH / 25.4,
    "q": PX_PER_INCH / 101.6,
    "pt": PX_PER_INCH / 72,
    "pc": PX_PER_INCH / 6,
}
"""Absolute units in px."""

_FONT_UNITS = {"em": 1.0, "rem": 1.0, "ex": 0.5, "ch": 0.5}
_ANGLES = {"": 1.0, "deg": 1.0, "grad": 0.9, "turn": 360.0, "rad": 180 / math.pi}

_NUMBER = re.compile(NUMBER)
_LENGTH = re.compile(rf"({NUMBER})([a-zA-Z]*|%)")
_NUMBERS = re.compile(rf"{NUMBER}(?:{GAP}{NUMBER})*+")
_HEX = re.compile(r"#(?:[0-9a-fA-F]{3,4}|[0-9a-fA-F]{6}|[0-9a-fA-F]{8})")
_URL = re.compile(r"""url\(\s*(?:"([^"]*)"|'([^']*)'|([^"')]*?))\s*\)\s*(.*)""", re.IGNORECASE | re.DOTALL)
_FUNCTION = re.compile(r"\s*,?\s*([a-zA-Z]+)\s*\(([^()]*)\)")
# Of transforms; compiled when there is one.
_ARGUMENT = rf"({NUMBER})([a-zA-Z%]*)"
_ARGUMENTS = rf"\s*{NUMBER}[a-zA-Z%]*(?:{GAP}{NUMBER}[a-zA-Z%]*)*\s*"

_NOT_FINITE = "is not a finite number"

# Kinds of the arguments (n: number, l: length, a: angle) by how many may be given.
_TRANSFORMS = {
    "matrix": {"nnnnnn"},
    "translate": {"l", "ll"},
    "translatex": {"l"},
    "translatey": {"l"},
    "scale": {"n", "nn"},
    "scalex": {"n"},
    "scaley": {"n"},
    "rotate": {"a", "all"},
    "skew": {"a", "aa"},
    "skewx": {"a"},
    "skewy": {"a"},
}


def parse_number(text: str) -> float:
    """Return the number that the text is."""
    stripped = text.strip()
    if not _NUMBER.fullmatch(stripped):
        raise ValueError("is not a number")
    return _finite(float(stripped))


def parse_numbers(text: str) -> tuple[float, ...]:
    """Return the numbers of a list separated by white space or commas; the list may be empty."""
    stripped = text.strip(" \t\n\r\f")
    if not stripped:
        return ()
    if not _NUMBERS.fullmatch(stripped):
        raise ValueError("is not a list of numbers")
    try:
        numbers = tuple(map(float, stripped.replace(",", " ").split()))
    except ValueError:  # some follow each other without a separator
        numbers = tuple(map(float, _NUMBER.findall(stripped)))
    if not all(map(math.isfinite, numbers)):
        raise ValueError(_NOT_FINITE)
    return numbers


@lru_cache(maxsize=512)
def parse_length(text: str, *, percent_of: float, font_size: float) -> float:
    """Return a length in user units.

    Parameters
    ----------
    text
        A CSS length: a number with an optional unit, or a percentage.
    percent_of
        What a hundred per cent is.
    font_size
        What one em is.
    """
    match = _LENGTH.fullmatch(text.strip())
    if not match:
        raise ValueError("is not a length")
    number, unit = _finite(float(match.group(1))), match.group(2).lower()
    if unit == "%":
        return _finite(number * percent_of / 100)
    if unit in UNITS:
        return _finite(number * UNITS[unit])
    if unit in _FONT_UNITS:
        return _finite(number * _FONT_UNITS[unit] * font_size)
    raise ValueError(f"has the unknown unit '{unit}'; use in, mm, cm, pt, pc or px")


@lru_cache(maxsize=512)
def parse_opacity(text: str) -> float:
    """Return an opacity from 0 to 1 (a number or a percentage)."""
    stripped = text.strip()
    value = parse_number(stripped[:-1]) / 100 if stripped.endswith("%") else parse_number(stripped)
    return min(max(value, 0.0), 1.0)


@dataclass(frozen=True, slots=True)
class Colour:
    """A colour as ``#rrggbb`` and its opacity from 0 to 1."""

    code: str
    alpha: float


@dataclass(frozen=True, slots=True)
class Reference:
    """A paint that is the gradient or pattern of this id (None when it lies in another file)."""

    target: str | None
    fallback: Colour | Literal["none", "currentcolor"] | None


Paint = Colour | Reference | Literal["none", "currentcolor"]


@lru_cache(maxsize=512)
def parse_paint(text: str) -> Paint | None:
    """Return what a ``fill`` or ``stroke`` says, None when it says nothing that SVG knows."""
    stripped = text.strip()
    if stripped[:4].lower() != "url(":
        return _plain_paint(stripped)
    match = _URL.fullmatch(stripped)
    if not match:
        return None
    address = next(group for group in match.groups()[:3] if group is not None).strip()
    return Reference(address[1:] if address.startswith("#") else None, _plain_paint(match.group(4)))


def _plain_paint(text: str) -> Colour | Literal["none", "currentcolor"] | None:
    keyword = text.lower()
    if keyword == "none":
        return "none"
    if keyword == "currentcolor":
        return "currentcolor"
    return parse_colour(text)


@lru_cache(maxsize=512)
def parse_colour(text: str) -> Colour | None:
    """Return a colour of CSS, None when the text is none (or is ``currentcolor``)."""
    # SVG 1.1 lets a colour profile follow the colour; the colour itself is the fallback.
    stripped = re.sub(r"\s+icc-color\(.*\)\Z", "", text.strip())
    if _HEX.fullmatch(stripped):
        digits = stripped[1:].lower()
        if len(digits) < 6:
            digits = "".join(digit * 2 for digit in digits)
        return Colour("#" + digits[:6], int(digits[6:] or "ff", 16) / 255)
    if stripped in _COMMON:
        return Colour(_COMMON[stripped], 1.0)
    if len(stripped) > _LONGEST_COLOUR or stripped.count("(") > 1:
        return None  # no colour that is known here; tinycss2 recurses into brackets
    from tinycss2.color4 import Color, parse_color

    parsed = parse_color(stripped)
    if not isinstance(parsed, Color):
        return None
    try:
        parts = parsed.to("srgb").coordinates
    except NotImplementedError:  # colour spaces that no screen is bound to, such as lab
        return None
    red, green, blue = (round(min(max(part or 0.0, 0.0), 1.0) * 255) for part in parts)
    return Colour(f"#{red:02x}{green:02x}{blue:02x}", parsed.alpha)


_LONGEST_COLOUR = 200
_COMMON = {"black": "#000000", "white": "#ffffff"}


@lru_cache(maxsize=512)
def parse_transform(text: str, *, font_size: float = 16.0) -> Affine:
    """Return the map of a ``transform`` attribute or CSS property."""
    stripped = text.strip()
    if not stripped or stripped.lower() == "none":
        return IDENTITY
    if len(stripped) > limits.MAX_VALUE_TEXT:
        raise ValueError(f"has more than {limits.MAX_VALUE_TEXT:,} characters")
    position = 0
    total = IDENTITY
    while position < len(stripped):
        match = _FUNCTION.match(stripped, position)
        if not match:
            raise ValueError(f"cannot be read from '{short(stripped[position:])}' on")
        total = compose(total, _map_of(match.group(1), match.group(2), font_size))
        position = match.end()
    return total


def _rotation(angle: float, x: float = 0.0, y: float = 0.0) -> Affine:
    """Return the turn by an angle round a point."""
    cos, sin = math.cos(math.radians(angle)), math.sin(math.radians(angle))
    return (cos, sin, -sin, cos, x - cos * x + sin * y, y - sin * x - cos * y)


def _skew(x: float, y: float = 0.0) -> Affine:
    return (1.0, math.tan(math.radians(y)), math.tan(math.radians(x)), 1.0, 0.0, 0.0)


def _scaling(x: float, y: float | None = None) -> Affine:
    return (x, 0.0, 0.0, x if y is None else y, 0.0, 0.0)


# CSS Transforms 1, section 8.
_MAPS: dict[str, Callable[..., Affine]] = {
    "matrix": lambda a, b, c, d, e, f: (a, b, c, d, e, f),
    "translate": lambda x, y=0.0: translation(x, y),
    "translatex": lambda x: translation(x, 0.0),
    "translatey": lambda y: translation(0.0, y),
    "scale": _scaling,
    "scalex": lambda x: _scaling(x, 1.0),
    "scaley": lambda y: _scaling(1.0, y),
    "rotate": _rotation,
    "skew": _skew,
    "skewx": _skew,
    "skewy": lambda y: _skew(0.0, y),
}


def _map_of(name: str, arguments: str, font_size: float) -> Affine:
    """Return the map of one function of a transform."""
    low = name.lower()
    if low not in _TRANSFORMS:
        raise ValueError(f"has the unknown function '{short(name)}'")
    if not re.fullmatch(_ARGUMENTS, arguments):
        raise ValueError(f"has something else than numbers in '{short(name + '(' + arguments)})'")
    parts = re.findall(_ARGUMENT, arguments)
    kinds = next((kinds for kinds in _TRANSFORMS[low] if len(kinds) == len(parts)), None)
    if kinds is None:
        raise ValueError(f"has {len(parts)} numbers in {name}()")
    numbers = [
        _argument(number, unit.lower(), kind, font_size) for kind, (number, unit) in zip(kinds, parts, strict=True)
    ]
    return _MAPS[low](*numbers)


def _argument(number: str, unit: str, kind: str, font_size: float) -> float:
    if kind == "l" and unit != "%":
        return parse_length(number + unit, percent_of=0.0, font_size=font_size)
    if kind == "a" and unit in _ANGLES:
        return _finite(float(number) * _ANGLES[unit])
    if kind == "n" and not unit:
        return _finite(float(number))
    raise ValueError(f"has the unit '{unit}' where it cannot stand")


def parse_view_box(text: str) -> tuple[float, float, float, float]:
    """Return left, top, width and height of a ``viewBox``."""
    numbers = parse_numbers(text)
    if len(numbers) != 4:
        raise ValueError(f"has {len(numbers)} numbers instead of four")
    left, top, width, height = numbers
    if width < 0 or height < 0:
        raise ValueError("has a negative size")
    return left, top, width, height


_ALIGN = re.compile(r"(?:defer\s+)?(?:(none)|x(Min|Mid|Max)Y(Min|Mid|Max))(?:\s+(meet|slice))?")
_SHARE = {"Min": 0.0, "Mid": 0.5, "Max": 1.0}


def fit_view_box(
    view_box: tuple[float, float, float, float],
    size: tuple[float, float],
    aspect: str | None,
) -> Affine:
    """Return the map from the viewBox to a viewport of this size.

    Parameters
    ----------
    view_box
        Left, top, width and height, both sizes above zero.
    size
        Width and height of the viewport.
    aspect
        The attribute ``preserveAspectRatio``.
    """
    left, top, width, height = view_box
    x_scale, y_scale = size[0] / width, size[1] / height
    match = _ALIGN.fullmatch((aspect or "xMidYMid meet").strip())
    if not match:
        raise ValueError("is not an alignment that SVG knows")
    none, x_align, y_align, how = match.groups()
    if none:
        return (x_scale, 0.0, 0.0, y_scale, -left * x_scale, -top * y_scale)
    scale = max(x_scale, y_scale) if how == "slice" else min(x_scale, y_scale)
    x = (size[0] - width * scale) * _SHARE[x_align] - left * scale
    y = (size[1] - height * scale) * _SHARE[y_align] - top * scale
    return (scale, 0.0, 0.0, scale, x, y)


def _finite(value: float) -> float:
    if not math.isfinite(value):
        raise ValueError(_NOT_FINITE)
    return value

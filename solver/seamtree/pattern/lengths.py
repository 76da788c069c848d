"""Lengths as people of the trade read and write them: inches in fractions, or centimetres."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from fractions import Fraction

from seamtree import words
from seamtree.errors import OptionError, Point

CM = 2.54
"""Centimetres in an inch (exact)."""

POINTS = 72.0
"""PostScript points in an inch (exact), as PDF counts."""

_SIXTEENTH = 16

_LENGTH = re.compile(
    r"(?:(?P<whole>[0-9]{1,6})[ -]+)?"
    r"(?:(?P<over>[0-9]{1,6})/(?P<under>[1-9][0-9]{0,5})|(?P<decimal>[0-9]{1,6}\.?[0-9]{0,9}|\.[0-9]{1,9})) *"
    r"(?P<unit>in|\"|cm|mm|)"
)

_TIMES = re.compile("[x×*]")

_NUMBER = re.compile(r"-?\d+(?:\.\d+)?")
_SIZES = re.compile(r"(\d+(?:\.\d+)?(?: × \d+(?:\.\d+)?)?) in\b(?! the\b)")
_PLACES = re.compile(r"(-?\d+\.\d\d, -?\d+\.\d\d|\(-?\d+(?:\.\d+)?, -?\d+(?:\.\d+)?\))( in\b)?")
"""How messages write lengths and places in inches."""

_UNITS = {"": 1.0, "in": 1.0, '"': 1.0, "cm": 1 / CM, "mm": 0.1 / CM}


def parse_length(text: str) -> float:
    """Return a length in inches.

    Parameters
    ----------
    text
        A number with a unit (``in``, ``cm`` or ``mm``; none is inches), for example ``0.25in``, ``1/4 in``, ``6mm``.

    Raises
    ------
    OptionError
        If it is no length.
    """
    found = _LENGTH.fullmatch(text.strip().lower())
    if found is None or (found["whole"] and not found["over"]):
        raise OptionError(f"{text!r} is no length; write it like 0.25in, 1/4in or 6mm")
    amount = float(found["decimal"]) if found["decimal"] else int(found["over"]) / int(found["under"])
    return (amount + int(found["whole"] or 0)) * _UNITS[found["unit"]]


def parse_size(text: str) -> tuple[float, float]:
    """Return width and height of a rectangle in inches.

    Parameters
    ----------
    text
        Two lengths with an x between them, for example ``5x5``, ``7 x 9 1/2in``, ``19cmx25cm``. A unit that only the
        second has is meant for both.

    Raises
    ------
    OptionError
        If it is no such size.
    """
    sides = [side.strip() for side in _TIMES.split(text.strip().lower())]
    if len(sides) != 2 or not all(sides):
        raise OptionError(f"{text!r} is no size; write width and height like 5x5, 7x9.5in or 19cmx25cm")
    unit = re.search(r'(in|"|cm|mm)$', sides[1])
    if unit and sides[0][-1] in "0123456789.":
        sides[0] += unit[0]
    width, height = map(parse_length, sides)
    if not (width and height):
        raise OptionError(f"{text!r} is no size: width and height have to be above 0")
    return width, height


@dataclass(frozen=True, slots=True)
class Lengths:
    """How lengths are written: in inches, or in centimetres if `metric`."""

    metric: bool = False

    def number(self, inches: float) -> str:
        """Return a length without its unit: to the next sixteenth of an inch, or millimetre."""
        if self.metric:
            return f"{inches * CM:.1f}".removesuffix(".0")
        return fraction(Fraction(round(inches * _SIXTEENTH), _SIXTEENTH))

    def size(self, inches: float) -> str:
        """Return a length with its unit: ``2 1/2 in``, ``6.4 cm``."""
        return f"{self.number(inches)} {self.unit}"

    def area(self, width: float, height: float) -> str:
        """Return the size of a rectangle: ``8 × 8 in``."""
        return f"{self.number(width)} × {self.number(height)} {self.unit}"

    def place(self, at: Point) -> str:
        """Return a place for the middle of a sentence: ``3.00, 8.60``."""
        return words.at((self.scale * at[0], self.scale * at[1]))

    @property
    def unit(self) -> str:
        """The unit's abbreviation."""
        return "cm" if self.metric else "in"

    @property
    def units(self) -> str:
        """What places are counted in, as a word."""
        return "centimetres" if self.metric else "inches"

    @property
    def scale(self) -> float:
        """How many of these are an inch."""
        return CM if self.metric else 1.0

    @property
    def step(self) -> float:
        """What rectangles are rounded up to, inches: a quarter of an inch, or half a centimetre."""
        return 0.5 / CM if self.metric else 0.25


def in_centimetres(text: str, at: Point | None = None) -> str:
    """Return a sentence with its lengths (``0.25 in``) and places (``at 3.00, 8.60``) in centimetres, not inches.

    Parameters
    ----------
    text
        The sentence.
    at
        The place that it tells, unrounded, so that it is rounded once.
    """
    known = {} if at is None else {form(at): form((CM * at[0], CM * at[1])) for form in (words.at, words.place)}

    def number(found: re.Match[str]) -> str:
        return _centimetres(found[0])

    def place(found: re.Match[str]) -> str:
        return (known.get(found[1]) or _NUMBER.sub(number, found[1])) + (" cm" if found[2] else "")

    sized = _SIZES.sub(lambda found: f"{_NUMBER.sub(number, found[1])} cm", text)
    return _PLACES.sub(place, sized)


def _centimetres(number: str) -> str:
    _, _, places = number.partition(".")
    return f"{float(number) * CM:.{max(1, len(places))}f}"


def fraction(value: Fraction) -> str:
    """Return a fraction as it stands on rulers: ``2 1/2``, ``1/4``, ``3``."""
    whole, rest = divmod(value, 1)
    if not rest:
        return str(whole)
    return f"{whole} {rest}" if whole else str(rest)


def rounded_up(value: float, step: float) -> float:
    """Return the least multiple of a step that is not below a value, but for dust of rounding."""
    return math.ceil(value / step - 1e-6) * step

"""Numbers, sizes, places and lists in plain words; text that has to fit somewhere."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence

from seamtree.errors import Point

_BETWEEN_WORDS = re.compile(r"\s+(?!\d+/\d)")
"""Where a line may end: not within a mixed number, as in 2 1/2."""


def inches(value: float) -> str:
    """Return a length as a decimal with at most two places: ``8``, ``4.25``."""
    return decimal(value, 2)


def decimal(value: float, places: int) -> str:
    """Return a number with at most so many decimal places, one or more."""
    text = f"{value:.{places}f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def dimensions(width: float, height: float) -> str:
    """Return the size of a rectangle in inches: ``8 × 4.25 in``."""
    return f"{inches(width)} × {inches(height)} in"


def count(number: int, noun: str, plural: str | None = None) -> str:
    """Return a number with its noun in the right form: ``no joins``, ``1 join``, ``2 joins``."""
    figure = f"{number:,}" if number else "no"
    return f"{figure} {noun if number == 1 else plural or noun + 's'}"


def duration(minutes: int) -> str:
    """Return minutes in words: ``45 min``, ``2 h``, ``1 h 25 min``."""
    hours, rest = divmod(minutes, 60)
    if not hours:
        return f"{rest} min"
    return f"{hours:,} h {rest} min" if rest else f"{hours:,} h"


def place(at: Point) -> str:
    """Return a place as ``(x, y)``, for lines that stand by themselves."""
    return f"({inches(at[0])}, {inches(at[1])})"


def at(place: Point) -> str:
    """Return a place as ``3.00, 8.60``, for the middle of a sentence."""
    return f"{round(place[0], 2) + 0.0:.2f}, {round(place[1], 2) + 0.0:.2f}"


def listed(words: Sequence[str], last: str = "and") -> str:
    """Return one word or more as a list: ``A1``, ``A1 and A2``, ``A1, A2 and B1``."""
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} {last} {words[-1]}"


def capital(text: str) -> str:
    """Return a text that begins with a capital letter."""
    return text[:1].upper() + text[1:]


def one_line(text: str) -> str:
    """Return text from a drawing on one line, without control characters and others that nothing prints."""
    return " ".join("".join(c if c.isprintable() else " " for c in text).split())


def wrapped(text: str, fits: Callable[[str], bool]) -> Iterator[str]:
    """Yield the lines of a text that is broken between words; a word that does not fit has a line of its own."""
    line = ""
    for word in _BETWEEN_WORDS.split(text.strip()):
        longer = f"{line} {word}" if line else word
        if line and not fits(longer):
            yield line
            line = word
        else:
            line = longer
    if line:
        yield line


def cut_short(text: str, fits: Callable[[str], bool]) -> str:
    """Return a text as it is if it fits, else as much of its beginning as fits with an ellipsis."""
    if fits(text):
        return text
    while text and not fits(f"{text}…"):
        text = text[:-1]
    return f"{text.rstrip()}…"

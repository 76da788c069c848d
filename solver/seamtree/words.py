"""Numbers, places and lists in plain words."""

from __future__ import annotations

from collections.abc import Sequence

from seamtree.errors import Point


def inches(value: float) -> str:
    """Return a length as a decimal with at most two places: ``8``, ``4.25``."""
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def count(number: int, noun: str, plural: str | None = None) -> str:
    """Return a number with its noun in the right form: ``no joins``, ``1 join``, ``2 joins``."""
    figure = f"{number:,}" if number else "no"
    return f"{figure} {noun if number == 1 else plural or noun + 's'}"


def place(at: Point) -> str:
    """Return a place as ``(x, y)``, for lines that stand by themselves."""
    return f"({inches(at[0])}, {inches(at[1])})"


def at(place: Point) -> str:
    """Return a place as ``3.00, 8.60``, for the middle of a sentence."""
    return f"{place[0] + 0.0:.2f}, {place[1] + 0.0:.2f}"


def listed(words: Sequence[str], last: str = "and") -> str:
    """Return one word or more as a list: ``A1``, ``A1 and A2``, ``A1, A2 and B1``."""
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} {last} {words[-1]}"


def one_line(text: str) -> str:
    """Return text from a drawing on one line, without control characters and others that nothing prints."""
    return " ".join("".join(c if c.isprintable() else " " for c in text).split())

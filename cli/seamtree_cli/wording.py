"""Numbers, places and names in plain words."""

from __future__ import annotations

from seamtree.errors import Point

LABEL_LENGTH = 40
"""Longer texts of a drawing are cut short in print."""


def inches(value: float) -> str:
    """Return a length as a decimal with at most two places: ``8``, ``4.25``."""
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def place(at: Point) -> str:
    """Return a place as ``(x, y)``."""
    return f"({inches(at[0])}, {inches(at[1])})"


def count(number: int, noun: str, plural: str | None = None) -> str:
    """Return a number with its noun in the right form: ``no joins``, ``1 join``, ``2 joins``."""
    figure = f"{number:,}" if number else "no"
    return f"{figure} {noun if number == 1 else plural or noun + 's'}"


def plain(text: str, *, limit: int | None = None) -> str:
    """Return text from a drawing as one line that a terminal takes for nothing but text.

    Control and other unprintable characters turn into spaces and runs of spaces into one; with `limit`, longer
    texts are cut short.
    """
    line = " ".join("".join(c if c.isprintable() else " " for c in text).split())
    return line if limit is None or len(line) <= limit else line[: limit - 1] + "…"

"""Numbers, places and names in plain words."""

from __future__ import annotations

from seamtree.errors import Point
from seamtree.words import count, inches

__all__ = ["LABEL_LENGTH", "count", "inches", "place", "plain"]

LABEL_LENGTH = 40
"""Longer texts of a drawing are cut short in print."""


def place(at: Point) -> str:
    """Return a place as ``(x, y)``."""
    return f"({inches(at[0])}, {inches(at[1])})"


def plain(text: str, *, limit: int | None = None) -> str:
    """Return text from a drawing as one line that a terminal takes for nothing but text.

    Control and other unprintable characters turn into spaces and runs of spaces into one; with `limit`, longer
    texts are cut short.
    """
    line = " ".join("".join(c if c.isprintable() else " " for c in text).split())
    return line if limit is None or len(line) <= limit else line[: limit - 1] + "…"

"""Numbers, sizes, places and names in plain words."""

from __future__ import annotations

from seamtree.words import capital, count, dimensions, inches, one_line, place

__all__ = ["LABEL_LENGTH", "capital", "count", "dimensions", "inches", "place", "plain"]

LABEL_LENGTH = 40
"""Longer texts of a drawing are cut short in print."""


def plain(text: str, *, limit: int | None = None) -> str:
    """Return text from a drawing as one line that a terminal takes for nothing but text.

    Control and other unprintable characters turn into spaces and runs of spaces into one; with `limit`, longer
    texts are cut short.
    """
    line = one_line(text)
    return line if limit is None or len(line) <= limit else line[: limit - 1] + "…"

"""Small helps for the wording of messages."""

from __future__ import annotations

_LONGEST = 40


def short(text: str) -> str:
    """Return text from a file as it fits into a message: on one line, and not longer than 40 characters."""
    line = " ".join(text[: 4 * _LONGEST].split())
    return line if len(line) <= _LONGEST else line[: _LONGEST - 3] + "..."

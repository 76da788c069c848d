"""Small helps for the wording of messages."""

from __future__ import annotations

import re

_LONGEST = 40

_ESCAPED = re.compile(r"_x([0-9A-Fa-f]{2,4})_")


def short(text: str) -> str:
    """Return text from a file as it fits into a message: on one line, and not longer than 40 characters."""
    line = " ".join(text[: 4 * _LONGEST].split())
    return line if len(line) <= _LONGEST else line[: _LONGEST - 3] + "..."


def unescaped(name: str) -> str:
    """Return a name as an editor shows it that writes ``_x20_`` into ids for characters that they cannot have."""
    return _ESCAPED.sub(lambda match: chr(int(match[1], 16)), name)

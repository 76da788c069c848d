"""The three standard streams: data goes to standard output, messages to standard error."""

from __future__ import annotations

import codecs
import contextlib
import errno
import io
import os
import sys
from collections.abc import Iterator
from typing import Any

from rich.console import Console

from seamtree.errors import SeamtreeError
from seamtree_cli.wording import plain

_LOOKALIKES = {
    "×": "x",
    "–": "-",
    "“": '"',
    "”": '"',
    "…": "...",
    "─": "-",
    "━": "-",
    "│": "|",
    "┃": "|",
    "▲": "^",
    "■": "#",
    "●": "o",
}


def forgive_unprintable() -> None:
    """Write lookalikes for characters that a stream's encoding lacks, so that no name can stop the output."""
    codecs.register_error("seamtree-lookalike", _look_alike)
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="seamtree-lookalike")


def _look_alike(error: UnicodeError) -> tuple[str, int]:
    if not isinstance(error, UnicodeEncodeError):
        raise error
    lost = error.object[error.start : error.end]
    return "".join(_LOOKALIKES.get(c, "+" if "─" <= c <= "╿" else "?") for c in lost), error.end


class Output(Console):
    """Standard output for people. A reader that has gone is told to whoever prints, not dealt with here.

    Parameters
    ----------
    stderr
        Whether it is standard error instead, where standard output is taken by data.
    """

    def __init__(self, *, stderr: bool = False) -> None:
        super().__init__(file=sys.stderr if stderr else sys.stdout, highlight=False)

    def on_broken_pipe(self) -> None:
        """Leave it to the caller; rich itself would end the process as if a drawing had a hard corner."""
        raise BrokenPipeError


def put_json(answer: Any) -> None:
    """Write one object on one line of standard output."""
    import json

    sys.stdout.write(json.dumps(answer, allow_nan=False) + "\n")
    sys.stdout.flush()


def fill_closed() -> None:
    """Put something in the place of streams that were closed before the start, or other files would get theirs.

    What is written to standard output then fails, as it does on a full disk.
    """
    for number in range(3):
        try:
            os.fstat(number)
        except OSError:
            os.open(os.devnull, os.O_RDWR)  # takes the least number that is free, which is this one
    if sys.stdout is None:
        sys.stdout = _Closed()


class _Closed(io.TextIOBase):
    """Standard output that was closed before the start."""

    def write(self, _text: str) -> int:
        raise OSError(errno.EBADF, "it is closed")


@contextlib.contextmanager
def writing() -> Iterator[None]:
    """Tell what keeps standard output from being written.

    Raises
    ------
    SeamtreeError
        If it is closed, or the disk that it goes to is full. That its reader has gone stays a `BrokenPipeError`.
    """
    try:
        yield
        sys.stdout.flush()
    except BrokenPipeError:
        raise
    except OSError as error:
        close_quietly()
        raise SeamtreeError(f"standard output cannot be written: {error.strerror or error}") from error


def say(subject: str, message: str) -> None:
    """Write one line on standard error: what it is about, then the message."""
    with contextlib.suppress(OSError):
        print(f"{plain(subject)}: {plain(message)}", file=sys.stderr, flush=True)  # noqa: T201


def close_quietly() -> None:
    """Send what is left of standard output nowhere, since its reader has gone."""
    with contextlib.suppress(OSError, ValueError, AttributeError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())

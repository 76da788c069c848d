"""Ctrl-C: noticed wherever it strikes, also where a library takes it for a fault of its own."""

from __future__ import annotations

import signal
from types import FrameType

_noticed: list[int] = []


def watch() -> None:
    """Notice Ctrl-C from now on, unless whoever started this process has it ignored."""
    if signal.getsignal(signal.SIGINT) is signal.default_int_handler:
        signal.signal(signal.SIGINT, _notice)


def seen() -> bool:
    """Tell whether Ctrl-C was pressed, even if what it interrupted went on or failed in another way."""
    return bool(_noticed)


def ignore() -> None:
    """Take no notice any more: the work is done and the exit status stands."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)


def _notice(number: int, _frame: FrameType | None) -> None:
    _noticed.append(number)
    raise KeyboardInterrupt

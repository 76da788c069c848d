"""A time by which a drawing has to be done with as a whole: reading, searching, naming and all."""

from __future__ import annotations

import contextlib
import signal
import threading
from collections.abc import Iterator
from types import FrameType

_LEAST = 600.0
"""Seconds that there are in any case."""

_SHARE = 60.0
"""Seconds that there are for each second of the time limit."""

_AGAIN = 1.0
"""Seconds until it rings again: what is raised while Python tidies up is lost."""


class OutOfTimeError(BaseException):
    """The time is up. As Ctrl-C, it is no `Exception`, so that nothing takes it for a fault of its own."""


@contextlib.contextmanager
def deadline(time_limit: float) -> Iterator[None]:
    """Raise `OutOfTimeError` in the body of a with statement once it takes too long.

    The search counts its effort and ends by itself; this is for all that is not counted. It needs timers that
    interrupt the main thread: where there are none, nothing is limited.

    Parameters
    ----------
    time_limit
        What was given for the search of a block, in seconds.
    """
    if not hasattr(signal, "setitimer") or threading.current_thread() is not threading.main_thread():
        yield
        return
    seconds = _LEAST + _SHARE * max(0.0, min(time_limit, 1e6))

    def ring(_number: int, _frame: FrameType | None) -> None:
        raise OutOfTimeError(
            f"took more than {seconds:,.0f} s as a whole and was given up, so nothing is said about it; split the "
            "drawing, or give a longer --time-limit"
        )

    before = signal.signal(signal.SIGALRM, ring)
    signal.setitimer(signal.ITIMER_REAL, seconds, _AGAIN)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_REAL, 0)
        signal.signal(signal.SIGALRM, before)

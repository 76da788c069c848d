"""Measuring: every figure in a process of its own, so that one that hangs does not hold up the others."""

from __future__ import annotations

import multiprocessing
import time
from collections.abc import Callable
from dataclasses import dataclass
from multiprocessing.connection import Connection
from typing import Any


@dataclass(frozen=True, slots=True)
class Measured:
    """What came of a measurement.

    Parameters
    ----------
    seconds
        The least time of the repeats; None where it was cut off.
    result
        What was returned; None where it was cut off.
    """

    seconds: float | None
    result: Any

    def __str__(self) -> str:
        if self.seconds is None:
            return "cut off"
        return f"{1e3 * self.seconds:.1f} ms" if self.seconds < 1 else f"{self.seconds:.2f} s"


CUT_OFF = Measured(None, None)


def measure(work: Callable[[], Any], *, limit: float, repeats: int = 3) -> Measured:
    """Run work in another process and take the least time.

    Parameters
    ----------
    work
        What to measure; everything it needs is loaded before.
    limit
        Seconds after which it is cut off.
    repeats
        How often it is run; slow work (over a second) is run once.
    """
    context = multiprocessing.get_context("fork")
    here, there = context.Pipe(duplex=False)
    process = context.Process(target=_run, args=(work, repeats, there))
    process.start()
    there.close()
    try:
        measured = Measured(*here.recv()) if here.poll(limit) else CUT_OFF
    except EOFError:
        measured = CUT_OFF
    process.kill()
    process.join()
    return measured


def _run(work: Callable[[], Any], repeats: int, pipe: Connection) -> None:
    best: float | None = None
    result = None
    for _ in range(repeats):
        start = time.perf_counter()
        result = work()
        seconds = time.perf_counter() - start
        best = seconds if best is None else min(best, seconds)
        if seconds > 1:
            break
    pipe.send((best, result))
    pipe.close()

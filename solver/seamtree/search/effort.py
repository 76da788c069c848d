"""What a search may spend: effort that is counted, so that answers are the same everywhere, and a clock above it."""

from __future__ import annotations

import math
import time

SOLVER_SHARE = 0.45
"""Deterministic seconds of the constraint solver that go by in about a second of an ordinary machine."""

_OVERTIME = 1.3
"""Times the effort of a block that the clock may show when engines are told to stop; what they stop with is put
together and checked after that."""


class Deadline:
    """A moment on the clock that ends every engine, with what it has found so far.

    Parameters
    ----------
    seconds
        Effort of the whole search in seconds of an ordinary machine.
    """

    def __init__(self, seconds: float) -> None:
        self._end = time.monotonic() + _OVERTIME * seconds

    def left(self) -> float:
        """Return the seconds that are left, 0 if none are."""
        return max(0.0, self._end - time.monotonic())

    @property
    def over(self) -> bool:
        """Whether the moment has passed."""
        return time.monotonic() >= self._end


NEVER = Deadline(math.inf)
"""A deadline that does not come."""

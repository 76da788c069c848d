"""Calls within calls to any depth: a block of a thousand seams may have as many cuts below each other.

A function that calls itself is written as a generator that *yields* each such call and is sent what it came to.
`follow` keeps those that wait in a list of its own, so that neither the limit of nested calls, which all of a process
shares, nor the stack of the machine is met.
"""

from __future__ import annotations

from collections.abc import Generator
from typing import Any, TypeVar

T = TypeVar("T")

Nested = Generator[Any, Any, T]
"""A call that yields the calls it needs and returns what it comes to."""


def follow(call: Nested[T]) -> T:
    """Return what a call comes to; errors pass through the calls that wait for it, as ever."""
    waiting: list[Nested[Any]] = [call]
    came_to: Any = None
    error: Exception | None = None
    while waiting:
        try:
            waiting.append(waiting[-1].send(came_to) if error is None else waiting[-1].throw(error))
            came_to = error = None
        except StopIteration as end:
            waiting.pop()
            came_to, error = end.value, None
        except Exception as raised:  # one that waits may know what to do about it
            waiting.pop()
            error = raised
    if error is not None:
        raise error
    return came_to

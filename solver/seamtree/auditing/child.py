"""The child process of a `LimitedExecutor`: makes the calls that it is sent, within its limits.

Run as ``python -m seamtree.auditing.child SECONDS MEGABYTES``. The first message is a function to call once; after it
each message is a call. It ends when its standard input does, so it never outlives the process that started it by more
than the call that it is in, and that one by a few seconds at most.
"""

from __future__ import annotations

import contextlib
import gc
import os
import pickle
import sys
from typing import IO, Any

from seamtree.auditing.executor import read_message, write_message

GRACE = 5.0
"""Seconds after which a child whose parent does not end it ends itself."""

_GARBAGE = 100_000
"""New objects between two looks for garbage."""


def main() -> None:
    """Make calls until there are no more."""
    seconds, megabytes = float(sys.argv[1]), int(sys.argv[2])
    calls, answers = _take_streams()
    first = read_message(calls)
    if first is None:
        return
    initializer = pickle.loads(first)  # noqa: S301, our own parent wrote it
    if initializer is not None:
        initializer()
    spare_garbage()
    _limit_memory(megabytes)
    write_message(answers, b"")
    while (message := read_message(calls)) is not None:
        _set_alarm(seconds + GRACE)
        answer = _answer(message)
        _set_alarm(0)
        with contextlib.suppress(OSError):  # the parent has gone; the next message will never come
            write_message(answers, answer)


def spare_garbage() -> None:
    """Look for garbage seldom, and never in what was loaded: work on drawings makes next to none."""
    gc.set_threshold(_GARBAGE)
    gc.freeze()


def _take_streams() -> tuple[IO[bytes], IO[bytes]]:
    """Keep the pipes to the parent to ourselves: what a call prints goes to standard error."""
    calls, answers = os.fdopen(os.dup(0), "rb"), os.fdopen(os.dup(1), "wb")
    nothing = os.open(os.devnull, os.O_RDONLY)
    os.dup2(nothing, 0)
    os.close(nothing)
    os.dup2(2, 1)
    return calls, answers


def _answer(message: bytes) -> bytes:
    """Make a call and return whether it came to its end, and what it returned or raised."""
    outcome: tuple[bool, Any]
    try:
        function, args, kwargs = pickle.loads(message)  # noqa: S301
        outcome = True, function(*args, **kwargs)
    except MemoryError:
        outcome = False, MemoryError()
    except Exception as error:
        outcome = False, error
    except BaseException as error:  # an exit is a fault of the call; it must end neither this process nor the parent
        outcome = False, RuntimeError(repr(error))
    try:
        answer = pickle.dumps(outcome)
        if not outcome[0]:
            pickle.loads(answer)  # noqa: S301, some exceptions can be sent but not received
    except MemoryError:
        answer = pickle.dumps((False, MemoryError()))
    except Exception as error:
        what = repr(outcome[1]) if not outcome[0] else f"the result cannot be sent: {error}"
        answer = pickle.dumps((False, RuntimeError(what)))
    return answer


def _limit_memory(megabytes: int) -> None:
    """Limit the address space to what is in use now and so much more (Linux)."""
    if sys.platform != "linux":
        return
    import resource
    from pathlib import Path

    used = int(Path("/proc/self/statm").read_text(encoding="ascii").split()[0]) * resource.getpagesize()
    limit = used + megabytes * 1_000_000
    _, hard = resource.getrlimit(resource.RLIMIT_AS)
    resource.setrlimit(resource.RLIMIT_AS, (limit if hard == resource.RLIM_INFINITY else min(limit, hard), hard))


def _set_alarm(seconds: float) -> None:
    """Have the system end this process after some seconds, whatever it is doing then; 0 takes that back."""
    if os.name == "posix":
        import signal

        signal.setitimer(signal.ITIMER_REAL, seconds)


if __name__ == "__main__":
    main()

"""One input: it is answered by a plan that stands the replay or by an error of ours, in good time."""

from __future__ import annotations

import contextlib
import json
import signal
from collections.abc import Iterator
from pathlib import Path

import seamtree
from seamtree.errors import ProofError, ReplayError, SeamtreeError
from seamtree.mend.find import mend
from seamtree.report import drawing_json

SECONDS = 30
"""By the clock: an input that takes longer hangs. The time limit of the search is well below."""

TIME_LIMIT = 0.3

MOST_PATCHES = 150
"""Larger blocks are read but not planned, for the sake of the number of inputs."""


class Hang(Exception):
    """An input that took longer than `SECONDS`."""


@contextlib.contextmanager
def clocked(seconds: int) -> Iterator[None]:
    """Raise `Hang` when the time is up."""

    def ring(*_: object) -> None:
        raise Hang(f"no answer within {seconds} s")

    before = signal.signal(signal.SIGALRM, ring)
    signal.alarm(seconds)
    try:
        yield
    finally:
        signal.alarm(0)
        signal.signal(signal.SIGALRM, before)


def try_file(path: Path, *, width: float | None = None, mending: bool = False) -> str:
    """Read a file and plan its blocks.

    Returns
    -------
    str
        ``planned``, ``read`` where a block is too large to be planned here, or ``refused``.

    Raises
    ------
    Exception
        Whatever must not be: no error of this package, a plan that cannot be sewn, a broken proof, a hang.
    """
    try:
        blocks = seamtree.read(path, width=width)
    except SeamtreeError as error:
        assert str(error).strip(), "an error without a message"
        assert not isinstance(error, ReplayError | ProofError)
        return "refused"
    if any(len(block.patches) > MOST_PATCHES for block in blocks):
        return "read"
    plans = [seamtree.plan(block, time_limit=TIME_LIMIT) for block in blocks]  # each is replayed before it is returned
    json.dumps(drawing_json(path.name, plans), allow_nan=False)
    if mending:
        for block in blocks:
            if len(block.patches) <= 20:
                mend(block, time_limit=TIME_LIMIT)
    return "planned"

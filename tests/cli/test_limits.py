"""A limit that is hit is told, and never looks like an answer."""

from __future__ import annotations

import contextlib
import itertools
import signal

import pytest

from seamtree_cli import deadline as deadlines
from seamtree_cli.deadline import OutOfTimeError, deadline
from seamtree_cli.exits import WRONG
from tests.cli.running import run
from tests.support.wkt import FOUR_PATCH

needs_timers = pytest.mark.skipif(not hasattr(signal, "setitimer"), reason="no timers on this system")


def dawdle(*_args, **_more):
    """Go on for ever, and take no exception for an end."""
    for _ in itertools.count():
        with contextlib.suppress(Exception):  # as libraries do
            sum(range(1000))


@pytest.fixture
def short_of_time(monkeypatch):
    monkeypatch.setattr(deadlines, "_LEAST", 0.05)
    monkeypatch.setattr(deadlines, "_SHARE", 0.0)


@needs_timers
def test_the_alarm_is_taken_back(short_of_time):
    before = signal.getsignal(signal.SIGALRM)
    with deadline(1.0):
        pass
    assert signal.getitimer(signal.ITIMER_REAL) == (0.0, 0.0)
    assert signal.getsignal(signal.SIGALRM) == before
    with pytest.raises(OutOfTimeError), deadline(1.0):
        dawdle()
    assert signal.getitimer(signal.ITIMER_REAL) == (0.0, 0.0)


@needs_timers
def test_an_alarm_that_is_lost_rings_again(short_of_time, monkeypatch):
    monkeypatch.setattr(deadlines, "_AGAIN", 0.01)
    lost = []

    def lose_one():
        try:
            dawdle()
        except OutOfTimeError:  # as in a callback of the garbage collector
            lost.append(1)
        dawdle()

    with pytest.raises(OutOfTimeError), deadline(1.0):
        lose_one()
    assert lost
    assert signal.getitimer(signal.ITIMER_REAL) == (0.0, 0.0)


@needs_timers
@pytest.mark.parametrize("what", ["seamtree.block.build.read", "seamtree.planning.build.plan"])
@pytest.mark.parametrize("command", ["check", "rate"])
def test_a_drawing_that_takes_too_long_gets_no_answer(drawing, monkeypatch, short_of_time, what, command):
    monkeypatch.setattr(what, dawdle)
    told = run(command, drawing(FOUR_PATCH))
    assert told.exit_code == WRONG
    assert told.stdout == ""
    assert "took more than 0 s as a whole and was given up, so nothing is said about it" in told.stderr
    assert len(told.stderr.splitlines()) == 1


@needs_timers
def test_mending_that_takes_too_long_writes_nothing(drawing, monkeypatch, short_of_time, tmp_path):
    monkeypatch.setattr("seamtree.mending.find.mend", dawdle)
    told = run("mend", drawing(FOUR_PATCH), "-o", str(tmp_path / "mended.svg"))
    assert told.exit_code == WRONG
    assert told.stdout == ""
    assert "was given up, so nothing is said about it" in told.stderr
    assert not (tmp_path / "mended.svg").exists()


@pytest.mark.parametrize(
    "error", [MemoryError(), RuntimeError("std::bad_alloc"), OSError(12, "Cannot allocate memory")]
)
@pytest.mark.parametrize("command", ["check", "mend"])
def test_a_drawing_that_takes_too_much_memory_gets_no_answer(drawing, monkeypatch, error, command):
    def fail(*_args, **_more):
        raise error

    monkeypatch.setattr("seamtree.planning.build.plan", fail)
    monkeypatch.setattr("seamtree.mending.find.mend", fail)
    told = run(command, drawing(FOUR_PATCH))
    assert told.exit_code == WRONG
    assert told.stdout == ""
    assert "needs more memory than there is" in told.stderr or "Cannot allocate memory" in told.stderr
    assert "fault of seamtree" not in told.stderr
    assert len(told.stderr.splitlines()) == 1

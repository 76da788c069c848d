"""Calls that hang, eat memory or bring down their interpreter fail alone; the others go on."""

from __future__ import annotations

import contextlib
import ctypes
import math
import operator
import os
import signal
import subprocess
import sys
import time
from concurrent.futures import Executor, wait

import pytest

from seamtree.auditing.executor import CrashedError, LimitedExecutor, TimeUpError


@pytest.fixture
def executor():
    """Two processes; calls may take two seconds and 300 MB."""
    with LimitedExecutor(2, seconds=2, megabytes=300) as executor:
        yield executor


def test_it_is_a_standard_executor(executor):
    assert isinstance(executor, Executor)
    assert list(executor.map(math.sqrt, [4.0, 9.0, 16.0])) == [2.0, 3.0, 4.0]
    assert executor.submit(int, "ff", base=16).result() == 255


def test_what_a_call_raises_comes_back(executor):
    with pytest.raises(ZeroDivisionError):
        executor.submit(operator.truediv, 1, 0).result()
    with pytest.raises(RuntimeError, match="SystemExit"):
        executor.submit(sys.exit, 3).result()
    with pytest.raises(RuntimeError, match="cannot be sent"):
        executor.submit(eval, "lambda: 0").result()


def test_what_a_call_prints_does_not_get_between(executor, capfd):
    assert executor.submit(print, "ahoy", flush=True).result() is None
    assert executor.submit(os.system, "echo again").result() == 0
    assert capfd.readouterr().err == "ahoy\nagain\n"


def test_calls_that_go_wrong_fail_alone(executor):
    """A call that hangs, one that hangs in C, one that eats memory, two that end their process."""
    wrong = {
        executor.submit(time.sleep, 3600): TimeUpError,
        executor.submit(pow, 7, 10**9): TimeUpError,
        executor.submit(bytearray, 2_000_000_000): MemoryError,
        executor.submit(ctypes.string_at, 0): CrashedError,
        executor.submit(os._exit, 3): CrashedError,
    }
    right = [executor.submit(math.factorial, n) for n in range(20)]
    assert [future.result(timeout=60) for future in right] == [math.factorial(n) for n in range(20)]
    for future, kind in wrong.items():
        assert type(future.exception(timeout=60)) is kind
    *_, segment, ended = wrong
    assert str(segment.exception()) == "signal SIGSEGV"
    assert str(ended.exception()) == "exit status 3"


@pytest.mark.skipif(os.name != "posix", reason="signals of POSIX")
def test_a_call_whose_process_is_killed_is_made_once_more(executor, tmp_path):
    """Once: a call that gets every process killed that it is given to fails."""
    mark = tmp_path / "mark"
    code = "import os; p = {!r}; (os.path.exists(p) or (open(p, 'w').close(), os.kill(os.getpid(), {})))"
    for number in (signal.SIGKILL, signal.SIGTERM):
        assert executor.submit(exec, code.format(str(mark), int(number))).result(timeout=60) is None
        assert mark.exists()
        mark.unlink()
    for number in (signal.SIGKILL, signal.SIGTERM):
        error = executor.submit(exec, f"import os; os.kill(os.getpid(), {int(number)})").exception(timeout=60)
        assert str(error) == f"signal {number.name}"
    tried = executor.submit(exec, code.format(str(mark), int(signal.SIGSEGV))).exception(timeout=60)
    assert str(tried) == "signal SIGSEGV"  # a crash is its own
    assert executor.submit(abs, -3).result(timeout=60) == 3


@pytest.mark.skipif(os.name != "posix", reason="signals of POSIX")
def test_processes_that_are_killed_while_they_wait_cost_nothing(executor):
    for _ in range(3):
        os.kill(executor.submit(os.getpid).result(), signal.SIGKILL)
        assert executor.submit(abs, -3).result(timeout=60) == 3


def test_memory_within_the_limit_is_given(executor):
    assert executor.submit(len, bytes(1)).result() == 1
    assert executor.submit(operator.mul, b"x", 50_000_000).exception() is None


def test_calls_that_wait_can_be_cancelled():
    with LimitedExecutor(1, seconds=60, megabytes=300) as executor:
        running = executor.submit(time.sleep, 0.5)
        while not running.running():
            time.sleep(0.01)
        waiting = [executor.submit(time.sleep, 60) for _ in range(3)]
        executor.shutdown(wait=False, cancel_futures=True)
        with pytest.raises(RuntimeError, match="after shutdown"):
            executor.submit(abs, 1)
    assert running.result() is None
    assert all(future.cancelled() for future in waiting)


def test_leaving_with_an_exception_ends_everything_at_once():
    start = time.monotonic()
    futures = []
    with contextlib.suppress(KeyboardInterrupt), LimitedExecutor(2, seconds=600, megabytes=300) as executor:
        futures += [executor.submit(time.sleep, 500) for _ in range(5)]
        time.sleep(0.5)
        raise KeyboardInterrupt
    wait(futures, timeout=10)
    assert time.monotonic() - start < 60
    assert all(future.cancelled() or isinstance(future.exception(), CrashedError) for future in futures)


def test_a_process_that_cannot_start_is_told():
    with LimitedExecutor(1, seconds=5, megabytes=300, initializer=os.abort) as executor:
        assert str(executor.submit(abs, -1).exception()) == "signal SIGABRT"


def test_senseless_limits_are_refused():
    for arguments in ({"max_workers": 0}, {"seconds": 0}, {"megabytes": 1}):
        with pytest.raises(ValueError, match="need"):
            LimitedExecutor(**{"max_workers": 1, "seconds": 1, "megabytes": 300, **arguments})


@pytest.mark.skipif(os.name != "posix", reason="signals of POSIX")
def test_no_process_outlives_a_parent_that_was_killed():
    """Neither one that waits for a call nor one that hangs in one, after its limit and a grace of some seconds."""
    code = (
        "import os, time\n"
        "from seamtree.auditing.executor import LimitedExecutor\n"
        "executor = LimitedExecutor(2, seconds=1, megabytes=300)\n"
        "print(executor.submit(os.getpid).result(), flush=True)\n"
        "executor.submit(pow, 7, 10**9)\n"
        "time.sleep(0.5)\n"
        "os.kill(os.getpid(), 9)\n"
    )
    parent = subprocess.Popen([sys.executable, "-c", code], stdout=subprocess.PIPE, text=True)
    out, _ = parent.communicate(timeout=60)  # ends when nobody holds the other end of the pipe
    assert parent.returncode == -signal.SIGKILL
    deadline = time.monotonic() + 60
    while time.monotonic() < deadline:
        try:
            os.kill(int(out), 0)
        except ProcessLookupError:
            return
        time.sleep(0.1)
    pytest.fail("a child still runs")

"""Calls in processes of their own, each cut off by its own limits of time and memory.

`LimitedExecutor` has the standard interface of `concurrent.futures`. What a standard process pool lacks is here: a
call that hangs is ended and the others go on; a call that eats memory gets a `MemoryError`; a call that brings down
its interpreter fails alone, and a fresh process takes the next one. A call whose process is killed from outside is
made once more.

The processes are plain children that speak over their standard input and output (`seamtree.auditing.child`), so they
can be started from anywhere, also from a worker of a cluster that may not have children of `multiprocessing`.
"""

from __future__ import annotations

import contextlib
import os
import pickle
import queue
import signal
import subprocess
import sys
import threading
from collections.abc import Callable
from concurrent.futures import Executor, Future
from dataclasses import dataclass
from types import TracebackType
from typing import IO, Any, TypeVar

T = TypeVar("T")

LENGTH = 8
"""Bytes that tell the length of a message between the processes."""

START_SECONDS = 120.0
"""How long a process may take until it is ready for its first call."""

LEAST_MEGABYTES = 64
"""Least memory that makes sense for a call."""


class TimeUpError(Exception):
    """A call was ended since it took longer than its limit."""


class CrashedError(Exception):
    """The process of a call ended in the middle of it; the message says how."""


class KilledError(CrashedError):
    """The process of a call was ended from outside, which says nothing about the call."""


_FROM_OUTSIDE = ("SIGKILL", "SIGTERM", "SIGHUP", "SIGINT", "SIGQUIT")
"""Signals by which people and the system end processes; those of a crash are others."""


@dataclass(slots=True)
class _Item:
    """A call that waits for a process."""

    future: Future[Any]
    message: bytes


class LimitedExecutor(Executor):
    """Makes calls in child processes, at most so many at a time.

    Parameters
    ----------
    max_workers
        How many processes; each is started when there is work for it.
    seconds
        Time limit of a call by the clock. A call that takes longer raises `TimeUpError` in its future.
    megabytes
        Memory that a call may take beyond what a fresh process has. A call that wants more gets a `MemoryError`, or
        takes its process down. It holds on Linux; elsewhere memory is not limited.
    initializer
        Called once in each process before its first call, for example to import what all calls need; neither limit
        counts it.
    idle_seconds
        A process that has nothing to do for so long is ended; another is started when there is. None keeps it.
    """

    def __init__(
        self,
        max_workers: int,
        *,
        seconds: float,
        megabytes: int,
        initializer: Callable[[], object] | None = None,
        idle_seconds: float | None = None,
    ) -> None:
        if max_workers < 1:
            raise ValueError(f"at least one process is needed, not {max_workers}")
        if seconds <= 0 or megabytes < LEAST_MEGABYTES:
            raise ValueError(
                f"a call needs time and at least {LEAST_MEGABYTES} MB, not {seconds:g} s, {megabytes} MB"
            )
        self._most = max_workers
        self._seconds = seconds
        # Safe path (-P): a file beside the drawings that is called like a module must not be taken for it.
        self._command = [sys.executable, "-P", "-m", "seamtree.auditing.child", str(seconds), str(megabytes)]
        self._initializer = pickle.dumps(initializer)
        self._idle_seconds = idle_seconds
        self._items: queue.SimpleQueue[_Item | None] = queue.SimpleQueue()
        self._threads: list[threading.Thread] = []
        self._children: set[_Child] = set()
        self._lock = threading.Lock()
        self._idle = threading.Semaphore(0)
        self._closed = False
        self._stopped = False

    def submit(self, fn: Callable[..., T], /, *args: Any, **kwargs: Any) -> Future[T]:
        """Ask for a call; function, arguments and result must be such that `pickle` can send them."""
        message = pickle.dumps((fn, args, kwargs))
        future: Future[T] = Future()
        with self._lock:
            if self._closed:
                raise RuntimeError("cannot submit a call after shutdown")
            self._items.put(_Item(future, message))
            if not self._idle.acquire(blocking=False) and len(self._threads) < self._most:
                thread = threading.Thread(target=self._serve, name="seamtree-calls", daemon=True)
                self._threads.append(thread)
                thread.start()
        return future

    def shutdown(self, wait: bool = True, *, cancel_futures: bool = False) -> None:
        """Take no more calls; end the processes when all calls are done."""
        with self._lock:
            if cancel_futures:
                self._cancel_waiting()
            if not self._closed:
                self._closed = True
                for _ in self._threads:
                    self._items.put(None)
        if wait:
            for thread in self._threads:
                thread.join()

    def terminate(self) -> None:
        """End all processes at once; calls that run fail with `CrashedError`, calls that wait are cancelled."""
        with self._lock:
            self._stopped = True
            self._cancel_waiting()
            for child in self._children:
                child.kill()
        self.shutdown()

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        """Wait for all calls; after an exception end them."""
        if kind is None:
            self.shutdown()
        else:
            self.terminate()

    def _cancel_waiting(self) -> None:
        with contextlib.suppress(queue.Empty):
            while True:
                item = self._items.get_nowait()
                if item is None:
                    self._items.put(None)  # the end of a thread, which stays last
                    break
                item.future.cancel()
                item.future.set_running_or_notify_cancel()

    def _serve(self) -> None:
        """Make calls one after the other in a child; the body of each thread."""
        child: _Child | None = None
        while True:
            try:
                item = self._items.get(timeout=None if child is None else self._idle_seconds)
            except queue.Empty:
                self._forget(child)
                child = None
                continue
            if item is None:
                break
            if item.future.set_running_or_notify_cancel():
                child = self._make(item, child)
            self._idle.release()
        self._forget(child)

    def _make(self, item: _Item, child: _Child | None) -> _Child | None:
        """Make a call in a child, once more if that is killed; return the child if it lives on."""
        for last in (False, True):
            try:
                child = child or self._start()
                child.call(item, self._seconds)
            except KilledError as error:
                if last:
                    item.future.set_exception(error)
            except Exception as error:
                item.future.set_exception(error)
            if child is not None and not child.alive:
                self._forget(child)
                child = None
            if item.future.done():
                break
        return child

    def _start(self) -> _Child:
        with self._lock:
            if self._stopped:
                raise CrashedError("it was stopped")
            child = _Child(self._command)
            self._children.add(child)
        try:
            child.prepare(self._initializer)
        except CrashedError:
            self._forget(child)
            raise
        return child

    def _forget(self, child: _Child | None) -> None:
        """End a child, if there is one."""
        if child is not None:
            with self._lock:
                self._children.discard(child)
            child.close()


class _Child:
    """A child process and how to talk to it."""

    def __init__(self, command: list[str]) -> None:
        # A group of its own, so that Ctrl-C on a terminal reaches the parent only, which ends its children.
        apart: dict[str, Any] = {"process_group": 0} if os.name == "posix" else {}
        self._process = subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, **apart)  # noqa: S603
        self.alive = True

    def prepare(self, initializer: bytes) -> None:
        """Wait until the child is ready for calls.

        Raises
        ------
        CrashedError
            If it does not get ready.
        """
        try:
            self._exchange(initializer, START_SECONDS)
        except TimeUpError:
            raise CrashedError("no process could be started in time") from None

    def call(self, item: _Item, seconds: float) -> None:
        """Make a call and give its future the result, or what it raised."""
        fine, value = pickle.loads(self._exchange(item.message, seconds))  # noqa: S301, our own child wrote it
        if fine:
            item.future.set_result(value)
            return
        if isinstance(value, MemoryError):
            self.kill()  # what it has left in pieces is not handed to the next call
        item.future.set_exception(value)

    def _exchange(self, message: bytes, seconds: float) -> bytes:
        """Send a message and return the answer, which must come within some seconds."""
        up = threading.Event()

        def end() -> None:
            up.set()
            self.kill()

        timer = threading.Timer(seconds, end)
        timer.daemon = True
        timer.start()
        try:
            write_message(_stream(self._process.stdin), message)
            answer = read_message(_stream(self._process.stdout))
        except OSError:
            answer = None
        finally:
            timer.cancel()
        if answer is None:
            self.alive = False
            status = self._process.wait()
            if up.is_set() or _is_alarm(status):
                raise TimeUpError
            how = _how_it_ended(status)
            raise KilledError(how) if how.removeprefix("signal ") in _FROM_OUTSIDE else CrashedError(how)
        return answer

    def kill(self) -> None:
        """End the process at once."""
        self.alive = False
        self._process.kill()

    def close(self) -> None:
        """Let the process end and collect it; a child that gets no more messages ends by itself."""
        for stream in (self._process.stdin, self._process.stdout):
            with contextlib.suppress(OSError):
                _stream(stream).close()
        try:
            self._process.wait(1.0)
        except subprocess.TimeoutExpired:
            self._process.kill()
            self._process.wait()


def _stream(stream: IO[bytes] | None) -> IO[bytes]:
    """Return a pipe of a child that was started with pipes."""
    if stream is None:
        raise TypeError("the child has no pipe")
    return stream


def _is_alarm(status: int) -> bool:
    return os.name == "posix" and status == -signal.SIGALRM


def _how_it_ended(status: int) -> str:
    """Say in words how a process ended."""
    if status >= 0:
        return f"exit status {status}"
    try:
        return f"signal {signal.Signals(-status).name}"
    except ValueError:
        return f"signal {-status}"


def write_message(stream: IO[bytes], message: bytes) -> None:
    """Write a message with its length before it.

    Raises
    ------
    OSError
        If nobody reads it any more.
    """
    stream.write(len(message).to_bytes(LENGTH, "big"))
    stream.write(message)
    stream.flush()


def read_message(stream: IO[bytes]) -> bytes | None:
    """Read a message; None if the other end has gone, also in the middle of one."""
    head = stream.read(LENGTH)
    if len(head) < LENGTH:
        return None
    length = int.from_bytes(head, "big")
    message = stream.read(length)
    return message if len(message) == length else None

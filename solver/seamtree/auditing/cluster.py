"""Audits beyond one machine: calls on the workers of a Dask scheduler, each within its limits there as well.

Needs the extra ``cluster``. A worker makes every call in a child process (`LimitedExecutor`), so a drawing that
hangs, eats memory or crashes never harms the worker. When a worker itself dies, the scheduler gives its drawings to
the others.
"""

from __future__ import annotations

import contextlib
import logging
import threading
from collections.abc import Callable, Iterator
from concurrent.futures import CancelledError, Executor, Future
from typing import Any, TypeAlias, TypeVar

from seamtree.auditing.executor import KilledError, LimitedExecutor
from seamtree.auditing.run import Limits
from seamtree.auditing.work import prepare
from seamtree.errors import OptionError, SeamtreeError

T = TypeVar("T")

Outcome: TypeAlias = tuple[T | None, Exception | None]
"""What a call returned, or what it raised."""

PATIENCE = 15.0
"""Seconds to wait for the scheduler, and for its first worker."""

WATCH_SECONDS = 0.5
"""How often to look whether the scheduler is still there."""

IDLE_SECONDS = 30.0
"""Child processes on a worker end when there is nothing to do for so long."""

MOST_THREADS = 256
"""More calls than this never run in one worker at a time."""


class ClusterError(SeamtreeError, OSError):
    """The cluster cannot be used; the message says what to do."""


class ClusterExecutor(Executor):
    """Makes calls on a cluster, each in a process of its own within its limits.

    Calls that the client of the cluster forgets, as it may when its scheduler goes away, fail with `CancelledError`
    and do not wait for ever.

    Parameters
    ----------
    inner
        The executor of the client.
    connected
        Tells whether the client is connected to its scheduler.
    limits
        What a call may take.
    """

    def __init__(self, inner: Executor, connected: Callable[[], bool], limits: Limits) -> None:
        self._inner = inner
        self._connected = connected
        self._limits = limits
        self._lock = threading.Lock()
        self._open: set[Future[Any]] = set()
        self._closed = threading.Event()
        self._watch = threading.Thread(target=self._fail_when_lost, name="seamtree-cluster", daemon=True)
        self._watch.start()

    def submit(self, fn: Callable[..., T], /, *args: Any, **kwargs: Any) -> Future[T]:
        """Ask for a call; function, arguments and result must be such that `pickle` can send them."""
        future: Future[T] = Future()
        future.set_running_or_notify_cancel()
        with self._lock:
            self._open.add(future)
        try:
            inner = self._inner.submit(outcome_within_limits, self._limits, fn, *args, **kwargs)
        except Exception as error:
            if not self._is_lost(error):
                raise
            self._settle(future, None)  # nobody is there any more
        else:
            inner.add_done_callback(lambda done: self._settle(future, done))
        return future

    def _settle(self, future: Future[Any], done: Future[Any] | None) -> None:
        """Hand on how a call ended, once; None: it is lost."""
        with self._lock:
            if future not in self._open:
                return
            self._open.remove(future)
        if done is None or done.cancelled():
            future.set_exception(CancelledError())
        elif (error := done.exception()) is None:
            _hand_on(future, *done.result())
        elif type(error).__name__ == "KilledWorker":  # the scheduler's word for a call that cost it several
            future.set_exception(KilledError("several workers died over it"))
        else:
            future.set_exception(CancelledError() if self._is_lost(error) else error)

    def _is_lost(self, error: BaseException) -> bool:
        """Tell whether an error of the cluster, never one of a call, says that the scheduler has gone.

        The client tells that it is disconnected only some time after its connections have broken.
        """
        return isinstance(error, OSError | CancelledError) or not self._connected()

    def _fail_when_lost(self) -> None:
        """Fail what is open when the scheduler has gone; the body of a thread."""
        while not self._closed.wait(WATCH_SECONDS):
            if not self._connected():
                with self._lock:
                    lost = [*self._open]
                for future in lost:
                    self._settle(future, None)

    def shutdown(self, wait: bool = True, *, cancel_futures: bool = False) -> None:
        """Take no more calls; calls that are not waited for, or are to be cancelled, are lost."""
        self._closed.set()
        self._watch.join()
        self._inner.shutdown(wait=wait and not cancel_futures)  # where it does not wait, it cancels


@contextlib.contextmanager
def cluster_executor(address: str, *, limits: Limits) -> Iterator[Executor]:
    """Give an executor of the workers of a Dask scheduler.

    Parameters
    ----------
    address
        Of the scheduler, for example ``tcp://127.0.0.1:8786``.
    limits
        What a drawing may take on a worker.

    Raises
    ------
    OptionError
        If the extra is not installed, or the address is none.
    ClusterError
        If the scheduler does not answer or has no workers.
    """
    try:
        from distributed import Client
    except ImportError as error:
        raise OptionError("a cluster needs the extra: pip install 'seamtree[cluster]'") from error
    _silence()
    try:
        client = Client(address, timeout=PATIENCE, set_as_default=False)
    except OSError as error:
        raise ClusterError(f"the scheduler at {address} does not answer; is it running?") from error
    except (TypeError, ValueError) as error:
        raise OptionError(f"{address!r} is no address of a scheduler: {error}") from error
    try:
        try:
            client.wait_for_workers(1, timeout=PATIENCE)
        except TimeoutError as error:
            raise ClusterError(f"the scheduler at {address} has no workers; start one with: dask worker") from error
        executor = ClusterExecutor(client.get_executor(), lambda: client.status == "running", limits)
        try:
            yield executor
        finally:
            executor.shutdown(wait=False)
    finally:
        client.close()


def _hand_on(future: Future[Any], value: Any, error: Exception | None) -> None:
    """Give a future what came of its call."""
    if error is None:
        future.set_result(value)
    else:
        future.set_exception(error)


def _silence() -> None:
    """Keep log messages of the cluster's client from coming between ours; what matters comes to us as exceptions."""
    for name in [*logging.root.manager.loggerDict]:
        if name.split(".")[0] in ("distributed", "tornado"):
            logging.getLogger(name).setLevel(logging.CRITICAL + 1)


_lock = threading.Lock()
_executors: dict[Limits, LimitedExecutor] = {}


def outcome_within_limits(limits: Limits, fn: Callable[..., T], /, *args: Any, **kwargs: Any) -> Outcome[T]:
    """Make a call in a child process of this process, a worker, and wait for it.

    Returns
    -------
    tuple
        What it returned, and None; or None, and what it raised. So what the cluster itself raises is told apart from
        what a call does: `TimeUpError`, `MemoryError` or `CrashedError` if it broke its limits or its process.
    """
    with _lock:
        if limits not in _executors:
            _executors[limits] = LimitedExecutor(
                MOST_THREADS,
                seconds=limits.seconds,
                megabytes=limits.megabytes,
                initializer=prepare,
                idle_seconds=IDLE_SECONDS,
            )
        executor = _executors[limits]
    try:
        return executor.submit(fn, *args, **kwargs).result(), None
    except Exception as error:
        return None, error

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
from concurrent.futures import Executor, Future
from typing import Any, TypeVar

from seamtree.audit.executor import LimitedExecutor
from seamtree.audit.run import Limits
from seamtree.audit.work import prepare
from seamtree.errors import OptionError, SeamtreeError

T = TypeVar("T")

PATIENCE = 15.0
"""Seconds to wait for the scheduler, and for its first worker."""

IDLE_SECONDS = 30.0
"""Child processes on a worker end when there is nothing to do for so long."""

MOST_THREADS = 256
"""More calls than this never run in one worker at a time."""


class ClusterError(SeamtreeError, OSError):
    """The cluster cannot be used; the message says what to do."""


class ClusterExecutor(Executor):
    """Makes calls on a cluster, each in a process of its own within its limits.

    Parameters
    ----------
    inner
        The executor of the cluster's own client.
    limits
        What a call may take.
    """

    def __init__(self, inner: Executor, limits: Limits) -> None:
        self._inner = inner
        self._limits = limits

    def submit(self, fn: Callable[..., T], /, *args: Any, **kwargs: Any) -> Future[T]:
        """Ask for a call; function, arguments and result must be such that `pickle` can send them."""
        return self._inner.submit(call_within_limits, self._limits, fn, *args, **kwargs)

    def shutdown(self, wait: bool = True, *, cancel_futures: bool = False) -> None:
        """Take no more calls."""
        self._inner.shutdown(wait, cancel_futures=cancel_futures)


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
    # Its messages would come between ours; what matters comes to us as exceptions.
    logging.getLogger("distributed").setLevel(logging.CRITICAL)
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
        yield ClusterExecutor(client.get_executor(), limits)
    finally:
        client.close()


_lock = threading.Lock()
_executors: dict[Limits, LimitedExecutor] = {}


def call_within_limits(limits: Limits, fn: Callable[..., T], /, *args: Any, **kwargs: Any) -> T:
    """Make a call in a child process of this process, a worker, and wait for it.

    Raises
    ------
    TimeUpError, MemoryError, CrashedError
        If it breaks its limits or its process.
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
    return executor.submit(fn, *args, **kwargs).result()

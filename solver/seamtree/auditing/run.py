"""Auditing many drawings with an executor and a store."""

from __future__ import annotations

import queue
import stat
import time
from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import CancelledError, Executor, Future
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TypeVar

from seamtree import arguments
from seamtree.auditing.executor import LEAST_MEGABYTES, CrashedError, LimitedExecutor, TimeUpError
from seamtree.auditing.record import STAND_IN, Record, Settings, State, known_suffix, shown_name
from seamtree.auditing.store import BEAT_SECONDS, Store, StoreError
from seamtree.auditing.work import Job, audit_drawing, code_version, prepare, unexpected
from seamtree.errors import DrawingError, Finding, OptionError

T = TypeVar("T")

_MOST_MEGABYTES = 10**9
"""A limit beyond this is no limit, and more than the system can be told."""

WINDOW = 1024
"""How many drawings are with the executor at a time, so that not all of a large catalogue are in memory."""

WINDOW_BYTES = 200_000_000
"""How many bytes of drawings are with the executor at a time, one large drawing apart."""


POLL_SECONDS = 0.2
"""How often to look for what other audits have finished."""


@dataclass(frozen=True, slots=True)
class Limits:
    """What one drawing may take before it is cut off.

    Parameters
    ----------
    seconds
        By the clock.
    megabytes
        Of memory, beyond what the program itself takes; on Linux only.
    """

    seconds: float = 120.0
    megabytes: int = 2000

    def __post_init__(self) -> None:
        arguments.real("seconds", self.seconds)
        arguments.whole("megabytes", self.megabytes, least=-_MOST_MEGABYTES, most=_MOST_MEGABYTES)
        if not 0 < self.seconds < float("inf"):
            raise OptionError(f"a drawing needs a number of seconds above 0, not {self.seconds:g}")
        if self.megabytes < LEAST_MEGABYTES:
            raise OptionError(f"a drawing needs at least {LEAST_MEGABYTES} MB of memory, not {self.megabytes}")


def local_executor(*, workers: int, limits: Limits) -> LimitedExecutor:
    """Return an executor of processes on this machine that hold the limits."""
    return LimitedExecutor(workers, seconds=limits.seconds, megabytes=limits.megabytes, initializer=prepare)


def audit(
    sources: Sequence[str],
    settings: Settings,
    *,
    executor: Executor,
    store: Store,
    limits: Limits,
    ahead: int = WINDOW,
) -> Iterator[Record]:
    """Audit drawings and yield their records as they come; what the store knows is not worked on again.

    What another audit works on is left to it, and its record taken from the store when it is there.

    Parameters
    ----------
    sources
        File names.
    settings
        How to work on them.
    executor
        Where `audit_drawing` is called; it must hold the limits itself.
    store
        Keeps every final record as soon as it is there.
    limits
        What the executor holds, for messages.
    ahead
        How many drawings are with the executor at a time. What is there is claimed: few leave more to other audits.

    Raises
    ------
    StoreError
        After all records, if the store could not be read or written on the way: then no more was kept from there on.
    """
    return _Audit(settings, executor, _Keeping(store), limits, min(ahead, WINDOW)).records(sources)


class _Keeping:
    """A store that is left alone once it fails, so that no work is lost with it."""

    def __init__(self, store: Store) -> None:
        self._store = store
        self.failed: StoreError | None = None

    def _asked(self, ask: Callable[[], T], otherwise: T) -> T:
        if self.failed is None:
            try:
                return ask()
            except StoreError as error:
                self.failed = error
        return otherwise

    def find(self, job: Job) -> Record | None:
        return self._asked(lambda: self._store.find(job.key, pictures=job.settings.pictures), None)

    def claim(self, job: Job) -> bool:
        return self._asked(lambda: self._store.claim(job.key), True)

    def release(self, job: Job) -> None:
        self._asked(lambda: self._store.release(job.key), None)

    def keep(self, job: Job, record: Record) -> None:
        self._asked(lambda: self._store.keep(job.key, record, pictures=job.settings.pictures), None)

    def beat(self) -> None:
        self._asked(self._store.beat, None)


@dataclass(slots=True)
class _Waiting:
    """A drawing that is worked on, under all its names, while its future or another audit is."""

    job: Job
    sources: list[str]


class _Audit:
    """The work on some drawings: what is with the executor, and what is with other audits."""

    def __init__(self, settings: Settings, executor: Executor, store: _Keeping, limits: Limits, ahead: int) -> None:
        self._settings = settings
        self._executor = executor
        self._store = store
        self._limits = limits
        self._ahead = ahead
        self._done: queue.SimpleQueue[Future[Record]] = queue.SimpleQueue()
        self._waiting: dict[str, _Waiting] = {}
        self._ours: dict[Future[Record], _Waiting] = {}
        self._elsewhere: dict[str, _Waiting] = {}
        self._looked = time.monotonic()
        self._held = 0  # bytes of the drawings that are with the executor

    def records(self, sources: Iterable[str]) -> Iterator[Record]:
        version = code_version()
        for source in sources:
            job = _load(source, self._settings, version)
            if isinstance(job, Record):
                yield job
            elif job.key in self._waiting:  # the same drawing under another name
                self._waiting[job.key].sources.append(source)
            else:
                self._waiting[job.key] = waiting = _Waiting(job, [source])
                yield from self._begin(waiting)
                yield from self._look_elsewhere()
        while self._ours or self._elsewhere:
            yield from self._finish_one(2 * POLL_SECONDS if self._elsewhere else BEAT_SECONDS)
            yield from self._look_elsewhere()
        if self._store.failed is not None:
            raise self._store.failed

    def _begin(self, waiting: _Waiting) -> Iterator[Record]:
        """Take the record of a drawing from the store, or claim the drawing and hand it to the executor."""
        found = self._store.find(waiting.job)
        if found is None and not self._store.claim(waiting.job):
            self._elsewhere[waiting.job.key] = waiting
            return
        if found is None and (found := self._store.find(waiting.job)) is not None:  # finished just now
            self._store.release(waiting.job)
        if found is not None:
            yield from self._answer(waiting, found)
            return
        while self._ours and (len(self._ours) >= self._ahead or self._held > WINDOW_BYTES):
            yield from self._finish_one(BEAT_SECONDS)
        future = self._executor.submit(audit_drawing, waiting.job)
        self._ours[future] = waiting
        self._held += len(waiting.job.data)
        future.add_done_callback(self._done.put)

    def _answer(self, waiting: _Waiting, record: Record) -> Iterator[Record]:
        del self._waiting[waiting.job.key]
        for source in waiting.sources:
            yield replace(record.named(source), digest=waiting.job.digest)

    def _finish_one(self, seconds: float) -> Iterator[Record]:
        """Yield the records of the next drawing that the executor has done, if there is one within some seconds."""
        self._store.beat()
        try:
            future = self._done.get(timeout=seconds)
        except queue.Empty:
            return
        waiting = self._ours.pop(future)
        self._held -= len(waiting.job.data)
        record = _outcome(future, self._limits)
        if record.final:
            self._store.keep(waiting.job, record)
        else:
            self._store.release(waiting.job)
        yield from self._answer(waiting, record)

    def _look_elsewhere(self) -> Iterator[Record]:
        """Take what other audits have finished; work on what they have given up. From time to time is enough."""
        if time.monotonic() - self._looked < POLL_SECONDS:
            return
        self._looked = time.monotonic()
        for key, waiting in [*self._elsewhere.items()]:
            del self._elsewhere[key]  # comes back if it is still worked on
            yield from self._begin(waiting)


def _load(source: str, settings: Settings, version: str) -> Job | Record:
    """Load a drawing; if it cannot be loaded, its record says why."""
    from seamtree.drawing.read import load

    try:
        if not stat.S_ISREG(Path(source).stat().st_mode):
            return Record(source, "faulty", (Finding("unreadable", "This is no file."),))
        data = load(source)
    except DrawingError as error:
        faults = tuple(replace(fault, message=shown_name(fault.message)) for fault in error.findings)
        return Record(source, "faulty", faults)
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        return Record(source, "faulty", (Finding("unreadable", f"The file cannot be read: {reason}."),))
    return Job(data, known_suffix(source), settings, version)


def _outcome(future: Future[Record], limits: Limits) -> Record:
    """Return what became of a call: its record, or one that says what ended it."""
    state: State = "cut off"
    try:
        return future.result()
    except TimeUpError:
        fault = Finding("time", f"cut off after {limits.seconds:g} s: it would take longer")
    except MemoryError:
        fault = Finding("memory", f"cut off: it needs more than {limits.megabytes:,} MB of memory")
    except CrashedError as error:
        state, fault = "crashed", Finding("crashed", f"the program crashed on this drawing ({error})")
    except CancelledError:
        state, fault = "not audited", Finding("lost", "not audited: whoever worked on it has gone")
    except Exception as error:
        state, fault = "crashed", unexpected(error)
    return Record(STAND_IN, state, (fault,))

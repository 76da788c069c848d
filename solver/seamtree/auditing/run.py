"""Auditing many drawings with an executor and a store."""

from __future__ import annotations

import os
import queue
import stat
from collections.abc import Iterable, Iterator, Sequence
from concurrent.futures import CancelledError, Executor, Future
from dataclasses import dataclass
from pathlib import Path

from seamtree import arguments
from seamtree.auditing.executor import LEAST_MEGABYTES, CrashedError, LimitedExecutor, TimeUpError
from seamtree.auditing.model import Record, Settings, State, known_suffix
from seamtree.auditing.store import Store
from seamtree.auditing.work import Job, audit_drawing, code_version, prepare, unexpected
from seamtree.errors import DrawingError, Finding, OptionError

SUFFIXES = (".svg", ".svgz", ".geojson", ".wkt")
"""File names in a folder that are drawings; other files are audited only if they are named."""

_MOST_MEGABYTES = 10**9
"""A limit beyond this is no limit, and more than the system can be told."""

WINDOW = 1024
"""How many drawings are with the executor at a time, so that not all of a large catalogue are in memory."""

WINDOW_BYTES = 200_000_000
"""How many bytes of drawings are with the executor at a time, one large drawing apart."""


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


def find_drawings(places: Iterable[str]) -> list[str]:
    """List the drawings in files and below folders, each once: in the order given, those of a folder by name.

    Hidden files and folders are left out, and links to folders are not followed.

    Raises
    ------
    OptionError
        If there is no drawing at all below a folder.
    """
    found: dict[str, None] = {}
    for place in places:
        if Path(place).is_dir():
            below = sorted(_below(Path(place)))
            if not below:
                raise OptionError(f"there are no drawings below {place} (files that end in {', '.join(SUFFIXES)})")
            found.update(dict.fromkeys(map(str, below)))
        else:
            found[place] = None
    return list(found)


def _below(folder: Path) -> Iterator[Path]:
    for home, folders, files in os.walk(folder):
        folders[:] = [name for name in folders if not name.startswith(".")]
        for name in files:
            if name.lower().endswith(SUFFIXES) and not name.startswith("."):
                yield Path(home) / name


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
) -> Iterator[Record]:
    """Audit drawings and yield their records as they come; what the store knows is not worked on again.

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

    Raises
    ------
    StoreError
        If the store cannot be read or written.
    """
    done: queue.SimpleQueue[Future[Record]] = queue.SimpleQueue()
    waiting: dict[str, list[str]] = {}
    jobs: dict[Future[Record], tuple[str, Job]] = {}
    held = 0  # bytes of the drawings that are worked on
    version = code_version()
    for source in sources:
        job = _load(source, settings, version)
        if isinstance(job, Record):
            yield job
            continue
        key = job.key
        if key in waiting:  # the same drawing under another name
            waiting[key].append(source)
            continue
        record = store.find(key, pictures=settings.pictures)
        if record is not None:
            yield record.named(source)
            continue
        while jobs and (len(jobs) >= WINDOW or held > WINDOW_BYTES):
            future = done.get()
            held -= len(jobs[future][1].data)
            yield from _finish(future, jobs, waiting, store, limits)
        waiting[key] = [source]
        future = executor.submit(audit_drawing, job)
        jobs[future] = key, job
        held += len(job.data)
        future.add_done_callback(done.put)
    while jobs:
        yield from _finish(done.get(), jobs, waiting, store, limits)


def _load(source: str, settings: Settings, version: str) -> Job | Record:
    """Load a drawing; if it cannot be loaded, its record says why."""
    from seamtree.drawing.read import load

    try:
        if not stat.S_ISREG(Path(source).stat().st_mode):
            return Record(source, "faulty", (Finding("unreadable", "This is no file."),))
        data = load(source)
    except DrawingError as error:
        return Record(source, "faulty", error.findings)
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        return Record(source, "faulty", (Finding("unreadable", f"The file cannot be read: {reason}."),))
    return Job(data, known_suffix(source), settings, version)


def _finish(
    future: Future[Record],
    jobs: dict[Future[Record], tuple[str, Job]],
    waiting: dict[str, list[str]],
    store: Store,
    limits: Limits,
) -> Iterator[Record]:
    """Keep the record of a drawing that is done, and yield it under each of its names."""
    key, job = jobs.pop(future)
    sources = waiting.pop(key)
    record = _outcome(future, limits)
    if isinstance(record, Record):
        if record.final:
            store.keep(key, record, pictures=job.settings.pictures)
        for source in sources:
            yield record.named(source)
    else:
        state, fault = record
        for source in sources:
            yield Record(source, state, (fault,))


def _outcome(future: Future[Record], limits: Limits) -> Record | tuple[State, Finding]:
    """Return what became of a call, a record or what ended it."""
    try:
        return future.result()
    except TimeUpError:
        return "cut off", Finding("time", f"cut off after {limits.seconds:g} s: it would take longer")
    except MemoryError:
        return "cut off", Finding("memory", f"cut off: it needs more than {limits.megabytes:,} MB of memory")
    except CrashedError as error:
        return "crashed", Finding("crashed", f"the program crashed on this drawing ({error})")
    except CancelledError:
        return "crashed", Finding("lost", "lost: whoever worked on it has gone")
    except Exception as error:
        return "crashed", unexpected(error)

"""Read drawings, and plan, rate or proofread them, several at a time if wanted; every fault becomes a message."""

from __future__ import annotations

import contextlib
import os
import signal
import threading
from collections.abc import Generator, Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from seamtree.errors import DrawingError, OptionError, SeamtreeError
from seamtree_cli.deadline import OutOfTimeError, deadline
from seamtree_cli.guard import internal_error
from seamtree_cli.remedies import KEYS, told, worded_block, worded_errors, worded_plan, worded_proof, worded_rating

if TYPE_CHECKING:
    from concurrent.futures import Future, ProcessPoolExecutor

    from seamtree.block.model import Block
    from seamtree.drawing.reading import White
    from seamtree.planning.model import Plan
    from seamtree.planning.wishes import Wishes
    from seamtree.proofreading.outcome import Proofreading
    from seamtree.rating import Rating, Scale
    from seamtree.rating.sizes import Sizes

STDIN = "-"

_SMALL = 6.5
"""Inches; a block of this size fits on any paper, so that nothing of paper has to be loaded for it."""


class Grading(NamedTuple):
    """How blocks are rated: on which scale, whether with changes that would make them easier, whether with plans."""

    scale: Scale
    changes: bool = True
    with_plans: bool = False


class Job(NamedTuple):
    """One drawing and how to work on it; the fields are those of `seamtree.read` and `seamtree.plan`.

    With `proofread`, the numbers printed on the drawing are proven or refuted instead; with `grading`, its blocks are
    rated as well, with `widths` at each of these instead of `width`; with `papers`, plans say what these cannot
    hold with an `allowance` (inches). `called` is what messages call the drawing where that is not its source.
    """

    source: str
    width: float | None
    tolerance: float
    skip_layers: tuple[str, ...]
    time_limit: float
    proofread: bool = False
    grading: Grading | None = None
    pdf_page: int | None = None
    widths: tuple[float, ...] = ()
    marks: tuple[str, ...] = ()
    lines: bool = False
    white: White | None = None
    called: str = ""
    wishes: Wishes | None = None
    papers: tuple[str, ...] = ()
    allowance: float | None = None

    def read(self) -> tuple[Block, ...]:
        """Read the blocks of the drawing, or of all drawings of a pattern file; what is noted names options.

        Raises
        ------
        DrawingError
            If it has faults.
        OptionError
            If a pattern file is to have another width than it says, or fewer layers.
        """
        # What a pattern file says of a drawing is mended there, with keys of the library's names.
        kept = KEYS if self.called else ()
        with worded_errors(kept=kept):
            return tuple(worded_block(block, kept=kept) for block in self._read())

    def _read(self) -> tuple[Block, ...]:
        if is_pattern(self.source):
            if self.width is not None or self.skip_layers or self.pdf_page is not None:
                raise OptionError(
                    f"{self.source}: a pattern file says widths and layers itself, and pages cannot be chosen for it"
                )
            from seamtree.pattern.pattern_file import read_blocks

            return read_blocks(
                Path(self.source), tolerance=self.tolerance, marks=self.marks, lines=self.lines, white=self.white
            )
        from seamtree.block.build import read

        return read(
            self.source,
            width=self.width,
            tolerance=self.tolerance,
            skip_layers=self.skip_layers,
            marks=self.marks,
            lines=self.lines,
            white=self.white,
            pdf_page=self.pdf_page,
        )


class Outcome(NamedTuple):
    """What became of a drawing: plans, ratings, sizes or proofs, or what is wrong with it or the options."""

    source: str
    plans: tuple[Plan, ...] = ()
    faults: tuple[str, ...] = ()
    misuse: str | None = None
    proofs: tuple[Proofreading, ...] = ()
    ratings: tuple[Rating, ...] = ()
    sizes: Sizes | None = None


def work_on(job: Job) -> Outcome:
    """Read a drawing and plan, rate or proofread its blocks."""
    try:
        with deadline(job.time_limit):
            return _worked_on(job)
    except OptionError as error:
        return Outcome(job.source, misuse=told(error))
    except DrawingError as error:
        faults = tuple(finding.beside(job.source) for finding in error.findings)
    except SeamtreeError as error:
        faults = tuple(getattr(error, "faults", (str(error),)))  # a pattern file has several
    except OSError as error:
        faults = (f"cannot be read: {error.strerror or error}",)
    except OutOfTimeError as error:
        faults = (str(error),)
    except Exception as error:
        faults = (internal_error(error),)
    return Outcome(job.called or job.source, faults=faults)


def _worked_on(job: Job) -> Outcome:
    if job.widths and job.grading is not None:
        return Outcome(job.source, sizes=_sizes(job, job.grading))
    blocks = job.read()
    if job.proofread:
        from seamtree.proofreading import proofread

        return Outcome(
            job.source, proofs=tuple(worded_proof(proofread(block, time_limit=job.time_limit)) for block in blocks)
        )
    plans = _plans(blocks, job)
    if job.grading is not None:
        kept = plans if job.grading.with_plans else ()
        return Outcome(job.source, kept, ratings=_ratings(plans, job.grading))
    return Outcome(job.source, plans)


def _plans(blocks: Sequence[Block], job: Job) -> tuple[Plan, ...]:
    from seamtree.planning.build import plan
    from seamtree.planning.wishes import NO_WISHES

    plans = tuple(plan(block, time_limit=job.time_limit, wishes=job.wishes or NO_WISHES) for block in blocks)
    if job.papers and any(max(p.block.width, p.block.height) > _SMALL for p in plans):
        from seamtree.pattern.paper import ALLOWANCE, find_paper
        from seamtree.planning.notes import note_papers

        allowance = ALLOWANCE if job.allowance is None else job.allowance
        sheets = [(paper.name, paper.holds(allowance)) for paper in map(find_paper, job.papers)]
        plans = tuple(note_papers(p, sheets, time_limit=job.time_limit) for p in plans)
    return tuple(map(worded_plan, plans))


def is_pattern(source: str) -> bool:
    """Tell whether a file is a pattern file, by its name."""
    return source.lower().endswith(".toml")


def _ratings(plans: Sequence[Plan], grading: Grading) -> tuple[Rating, ...]:
    from seamtree.rating import rate

    ratings = (rate(plan, scale=grading.scale, changes=grading.changes) for plan in plans)
    return tuple(map(worded_rating, ratings))


def _sizes(job: Job, grading: Grading) -> Sizes:
    """Rate a drawing at several widths.

    Raises
    ------
    OptionError
        If it can be read only once.
    """
    from seamtree.rating.sizes import rate_at_widths

    if job.source == STDIN or (Path(job.source).exists() and not Path(job.source).is_file()):
        raise OptionError(f"{job.source}: --widths reads a drawing anew for each width; save it to a file first")

    def rated_at(width: float) -> tuple[Rating, ...]:
        return _ratings(_plans(job._replace(width=width).read(), job), grading)

    return rate_at_widths(rated_at, job.widths)


def work_on_all(jobs: Sequence[Job], *, workers: int) -> Generator[Outcome, None, None]:
    """Yield the outcome for every job, in the order of the jobs, each as soon as it and those before it are done."""
    here = [job for job in jobs if job.source == STDIN]
    if workers == 1 or len(jobs) - len(here) < 2:
        yield from map(work_on, jobs)
        return
    with _pool(min(workers, len(jobs) - len(here))) as pool:
        with _interrupts_left_to_us():
            futures = [None if job.source == STDIN else pool.submit(work_on, job) for job in jobs]
        for job, future in zip(jobs, futures, strict=True):
            yield work_on(job) if future is None else _result(job, future)


def _result(job: Job, future: Future[Outcome]) -> Outcome:
    """Wait for a job in another process."""
    try:
        return future.result()
    except Exception as error:  # the process was killed, or its answer could not be sent
        return Outcome(job.source, faults=(internal_error(error),))


@contextlib.contextmanager
def _pool(processes: int) -> Iterator[ProcessPoolExecutor]:
    """Start processes that are gone when the context ends, however it ends."""
    import multiprocessing
    from concurrent.futures import ProcessPoolExecutor

    # Started afresh and not forked, for a fork of a process with threads may lock up.
    pool = ProcessPoolExecutor(processes, mp_context=multiprocessing.get_context("spawn"))
    try:
        yield pool
        pool.shutdown()
    except BaseException:
        pool.shutdown(wait=False, cancel_futures=True)
        for process in multiprocessing.active_children():
            process.terminate()
        raise


@contextlib.contextmanager
def _interrupts_left_to_us() -> Iterator[None]:
    """Let processes started meanwhile ignore Ctrl-C: this process ends them."""
    if os.name != "posix" or threading.current_thread() is not threading.main_thread():
        yield
        return
    before = signal.signal(signal.SIGINT, signal.SIG_IGN)
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, before)

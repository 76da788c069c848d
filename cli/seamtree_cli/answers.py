"""Answering drawings one after the other: progress, messages, results, and the exit status of them all."""

from __future__ import annotations

import contextlib
from collections.abc import Callable, Iterable, Sequence

from rich.console import RenderableType

from seamtree.errors import OptionError
from seamtree_cli.complaints import Complaints
from seamtree_cli.exits import HARD_CORNERS, STRAIGHT, WRONG
from seamtree_cli.progress import Progress
from seamtree_cli.streams import Output
from seamtree_cli.work import STDIN, Job, Outcome, work_on_all


class BlockByBlock:
    """Prints outcomes for people; an empty line stands between blocks.

    Parameters
    ----------
    told
        Returns for an outcome what is said of each of its blocks.
    """

    def __init__(self, told: Callable[[Outcome], Iterable[Iterable[RenderableType]]]) -> None:
        self._console = Output()
        self._told = told
        self._first = True

    def __call__(self, outcome: Outcome) -> None:
        """Print what is said of the blocks of a drawing."""
        for parts in self._told(outcome):
            if not self._first:
                self._console.print()
            self._first = False
            for part in parts:
                self._console.print(part)
        self._console.file.flush()


def answer_each(
    jobs: Sequence[Job], *, workers: int, show: Callable[[Outcome], None], judge: Callable[[Outcome], int]
) -> int:
    """Work on drawings and show what becomes of each; return the highest exit status.

    Parameters
    ----------
    jobs
        The drawings.
    workers
        How many are worked on at a time.
    show
        Shows the outcome of a drawing that could be worked on.
    judge
        Returns the exit status for the outcome of one drawing, `WRONG` for one that could not be worked on.

    Raises
    ------
    OptionError
        If standard input is to be read twice, or an option makes no sense.
    """
    if sum(job.source == STDIN for job in jobs) > 1:
        raise OptionError("standard input (-) can be read only once")
    complain = Complaints()
    status = STRAIGHT
    with Progress() as progress, contextlib.closing(work_on_all(jobs, workers=workers)) as outcomes:
        for number, job in enumerate(jobs, 1):
            progress.working_on(job.source, number, len(jobs))
            outcome = next(outcomes)
            progress.hide()
            complain(outcome)
            if judge(outcome) != WRONG:
                show(outcome)
            status = max(status, judge(outcome))
    return status


def judge_plans(outcome: Outcome) -> int:
    """Return the exit status for one drawing whose blocks were planned."""
    if not outcome.plans:
        return WRONG
    refused = any(note.code == "wish-refused" for plan in outcome.plans for note in plan.notes)
    hard = any(plan.verdict == "hard corners" for plan in outcome.plans)
    return HARD_CORNERS if hard or refused else STRAIGHT

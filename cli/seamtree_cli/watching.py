"""Commands that go on: drawings are answered again whenever they are saved, what has changed first."""

from __future__ import annotations

import contextlib
import time
from collections.abc import Callable, Sequence
from pathlib import Path

from rich.text import Text

from seamtree.errors import OptionError, SeamtreeError
from seamtree.planning.changes import describe_changes
from seamtree.planning.model import Plan
from seamtree_cli.answers import answer_each
from seamtree_cli.exits import WRONG
from seamtree_cli.streams import Output, say
from seamtree_cli.watched_files import watch_files
from seamtree_cli.wording import count, plain
from seamtree_cli.work import STDIN, Job, Outcome, is_pattern

Show = Callable[[Outcome], None]


def check_watchable(sources: Sequence[str]) -> None:
    """Refuse what cannot be watched.

    Raises
    ------
    OptionError
        If it is standard input, a folder, or not there.
    """
    for source in sources:
        if source == STDIN:
            raise OptionError("standard input (-) cannot be watched; save the drawing to a file")
        if Path(source).is_dir():
            raise OptionError(f"{source}: is a folder; --watch takes drawings")
        if not Path(source).exists():
            raise OptionError(f"{source}: there is no such file to watch")
        if not Path(source).is_file():
            raise OptionError(f"{source}: is no file that can be read twice, so it cannot be watched")


class Sources:
    """The files that answers depend on: drawings, and those that pattern files name."""

    def __init__(self, sources: Sequence[str]) -> None:
        self._sources = sources
        self._named: dict[str, tuple[Path, ...]] = {}

    def files_of(self, source: str) -> tuple[Path, ...]:
        """Return the files of one source; a pattern file that cannot be read keeps those that it had."""
        if is_pattern(source):
            from seamtree.pattern.pattern_file import parse_pattern

            with contextlib.suppress(SeamtreeError, OSError):
                entries = parse_pattern(Path(source)).blocks
                self._named[source] = tuple(dict.fromkeys(entry.drawing for entry in entries))
        return (Path(source), *self._named.get(source, ()))

    def files(self) -> list[Path]:
        """Return the files of all sources, each once."""
        return list(dict.fromkeys(path for source in self._sources for path in self.files_of(source)))


class Chronicle:
    """Knows the last plans of every drawing, and says what has changed since."""

    def __init__(self) -> None:
        self._last: dict[str, tuple[Plan, ...]] = {}
        self._faulty: set[str] = set()

    def note_fault(self, source: str) -> None:
        """Note that a drawing cannot be used as it is now."""
        self._faulty.add(source)

    def news(self, source: str, plans: tuple[Plan, ...]) -> tuple[str, ...] | None:
        """Note the plans of a drawing and return what has changed since the ones before; None for the first ones."""
        before = self._last.get(source)
        self._last[source] = plans
        if before is None:
            return None
        found = describe_changes(before, plans)
        if not found and source in self._faulty:
            found = ("the fault is gone, all is as it was before",)
        self._faulty.discard(source)
        return found


def put_news(source: str, news: Sequence[str], *, data: bool = False) -> None:
    """Print what has changed, with the time of day; on standard error where standard output is for data."""
    told = f"{time.strftime('%H:%M:%S')}, {'; '.join(news) or 'saved, nothing has changed'}"
    if data:
        say(source, told)
        return
    console = Output()
    console.print(Text.assemble("\n", (f"{plain(source)}: {plain(told)}", "bold")), soft_wrap=True)
    console.file.flush()


def watch_each(
    jobs: Sequence[Job],
    *,
    workers: int = 1,
    show: Callable[[Outcome], None],
    judge: Callable[[Outcome], int],
    data: bool = False,
) -> int:
    """Answer drawings as `answer_each` does, and again whenever they are saved, until Ctrl-C ends it.

    Parameters
    ----------
    jobs, workers, show, judge
        As for `answer_each`.
    data
        Whether standard output is for data, so that what has changed is said on standard error.

    Returns
    -------
    int
        The exit status if the command is wrong.

    Raises
    ------
    OptionError
        If a drawing cannot be watched, or an option makes no sense.
    """
    check_watchable([job.source for job in jobs])
    sources = Sources([job.source for job in jobs])
    chronicle = Chronicle()
    misused = set()

    def tell(outcome: Outcome) -> None:
        news = chronicle.news(outcome.source, outcome.plans)
        if news is not None:
            put_news(outcome.source, news, data=data)
        if news is None or news:
            show(outcome)

    def judged(outcome: Outcome) -> int:
        status = judge(outcome)
        if status == WRONG:
            chronicle.note_fault(outcome.source)
        if outcome.misuse is not None:
            misused.add(outcome.source)
        return status

    changes = watch_files(sources.files)
    status = answer_each(jobs, workers=workers, show=tell, judge=judged)
    if misused:
        return status
    say_watching(sources.files())
    for changed in changes:
        some = [job for job in jobs if changed.intersection(sources.files_of(job.source))]
        if answer_each(some, workers=workers, show=tell, judge=judged) == WRONG:
            say("seamtree", "waiting until it is saved again")
    return status


def say_watching(files: Sequence[Path]) -> None:
    """Say that the command goes on, and how it ends."""
    name = plain(str(files[0])) if len(files) == 1 else count(len(files), "file")
    say("seamtree", f"watching {name}; Ctrl-C ends")

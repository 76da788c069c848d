"""A bar on standard error that shows how far a long piece of work has come; only on a terminal."""

from __future__ import annotations

import sys
from types import TracebackType

from rich.console import Console
from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeRemainingColumn


class Bar:
    """Shows how many of so many things are done, and how many of them have failed; a context manager.

    Parameters
    ----------
    total
        How many there are.
    doing
        What is done to them.
    """

    def __init__(self, total: int, doing: str) -> None:
        console = Console(file=sys.stderr)
        self._progress = Progress(
            TextColumn(doing),
            BarColumn(),
            MofNCompleteColumn(),
            TimeRemainingColumn(),
            TextColumn("{task.fields[failed]}", style="yellow"),
            console=console,
            transient=True,
            disable=not console.is_terminal,
        )
        self._task = self._progress.add_task(doing, total=total, failed="")
        self._failed = 0

    def __enter__(self) -> Bar:
        if not self._progress.disable:
            self._progress.start()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if not self._progress.disable:  # some versions of rich end a line that was never begun
            self._progress.stop()

    def step(self, *, failed: bool) -> None:
        """Count one more that is done."""
        self._failed += failed
        words = f"{self._failed:,} failed" if self._failed else ""
        self._progress.update(self._task, advance=1, failed=words)

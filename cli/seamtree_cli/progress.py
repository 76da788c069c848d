"""A line on standard error that shows that something is going on, when it takes longer than a moment."""

from __future__ import annotations

import sys
import threading
import time
from types import TracebackType
from typing import TYPE_CHECKING

from rich.console import Console, ConsoleOptions, RenderResult
from rich.text import Text

from seamtree_cli.wording import plain

if TYPE_CHECKING:
    from rich.live import Live

MOMENT = 0.5
"""Seconds before anything is shown."""


class Progress:
    """Shows which drawing is being worked on and for how long; only on a terminal.

    Use it as a context manager and call `working_on` before each drawing. While something else is printed, the
    line must be away: call `hide` first.
    """

    def __init__(self, console: Console | None = None) -> None:
        self._console = console or Console(file=sys.stderr)
        self._live: Live | None = None
        self._timer: threading.Timer | None = None

    def __enter__(self) -> Progress:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.hide()

    def working_on(self, source: str, number: int, total: int) -> None:
        """Show a drawing, its number and how many there are, unless `hide` is called within a moment."""
        self.hide()
        if self._console.is_terminal:
            from rich.live import Live

            of = f" ({number} of {total})" if total > 1 else ""
            line = _Line(f"working on {plain(source, limit=60)}{of}")
            self._live = Live(line, console=self._console, transient=True, refresh_per_second=8)
            self._timer = threading.Timer(MOMENT, self._live.start)
            self._timer.daemon = True
            self._timer.start()

    def hide(self) -> None:
        """Take the line away."""
        if self._timer is not None and self._live is not None:
            self._timer.cancel()
            self._timer.join()
            self._live.stop()
        self._timer = self._live = None


class _Line:
    """The line itself: what is going on and for how many seconds."""

    def __init__(self, words: str) -> None:
        from rich.spinner import Spinner

        self._words = words
        self._spinner = Spinner("line")
        self._start = time.monotonic()

    def __rich_console__(self, console: Console, options: ConsoleOptions) -> RenderResult:
        passed = time.monotonic() - self._start
        self._spinner.update(text=Text(f"{self._words}, {passed:.0f} s"))
        yield self._spinner

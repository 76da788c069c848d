"""The line that shows that something is going on."""

from __future__ import annotations

import io

from rich.console import Console

from seamtree_cli import progress
from seamtree_cli.progress import Progress, _Line


def test_nothing_is_shown_where_nobody_looks():
    console = Console(file=io.StringIO())
    with Progress(console) as shown:
        shown.working_on("gull.svg", 1, 1)
    assert console.file.getvalue() == ""


def test_on_a_terminal_the_line_comes_after_a_moment_and_goes(monkeypatch):
    monkeypatch.setattr(progress, "MOMENT", 0.0)
    console = Console(file=io.StringIO(), force_terminal=True, width=80)
    with Progress(console) as shown:
        shown.working_on("gull.svg", 2, 3)
        shown._timer.join()
        shown._live.refresh()
        assert "working on gull.svg (2 of 3), 0 s" in console.file.getvalue()
        shown.hide()
    assert shown._timer is shown._live is None


def test_what_is_quick_shows_nothing(monkeypatch):
    monkeypatch.setattr(progress, "MOMENT", 60.0)
    console = Console(file=io.StringIO(), force_terminal=True, width=80)
    with Progress(console) as shown:
        shown.working_on("gull.svg", 1, 1)
    assert "working on" not in console.file.getvalue()


def test_seconds_are_counted(monkeypatch):
    line = _Line("working on gull.svg")
    line._start -= 75
    console = Console(file=io.StringIO(), width=80)
    console.print(line)
    assert "working on gull.svg, 75 s" in console.file.getvalue()

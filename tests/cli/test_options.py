"""Options that several commands share."""

from __future__ import annotations

import inspect

import pytest

from seamtree_cli import options
from seamtree_cli.work import Job
from tests.cli.running import run


def test_options_on_reading_stand_where_the_job_stands_and_come_as_one():
    seen = []

    @options.about_drawings
    def look(drawing: str, *, job: Job, brief: bool = False) -> int:
        seen.append((drawing, job, brief))
        return 3

    names = list(inspect.signature(look).parameters)
    assert names[:2] == ["drawing", "width"]
    assert names[-2:] == ["time_limit", "brief"]
    given = {"tolerance": 0.02, "lines": True, "white": None, "pdf_page": 2, "time_limit": 5.0}
    assert look("gull.svg", width=6.0, skip_layer=["frame"], marks=None, brief=True, **given) == 3
    job = Job("", 6.0, 0.02, ("frame",), 5.0, pdf_page=2, lines=True)
    assert seen == [("gull.svg", job, True)]


def test_without_a_time_limit_there_is_no_such_option():
    @options.about_a_drawing
    def look(*, job: Job) -> int:
        return 0

    assert "time_limit" not in inspect.signature(look).parameters


@pytest.mark.parametrize("command", ["check", "mend", "proofread", "rate", "pack", "picture", "follow", "recheck"])
def test_every_command_reads_drawings_in_the_same_ways(command):
    told = run(command, "--help", env={"COLUMNS": "100"}).stdout
    for option in ("--width", "--tolerance", "--skip-layer", "--marks", "--lines", "--white", "--pdf-page"):
        assert option in told
    assert ("--time-limit" in told) == (command != "recheck")

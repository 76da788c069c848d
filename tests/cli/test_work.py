"""Reading drawings and working on them: every fault becomes a message."""

from __future__ import annotations

import pytest

from seamtree_cli import work
from seamtree_cli.work import Job, Outcome, is_pattern, work_on, work_on_all

ROW = "POLYGON ((0 0, 3 0, 3 3, 0 3, 0 0))\nPOLYGON ((3 0, 6 0, 6 3, 3 3, 3 0))"


def job(source, **more):
    return Job(source, more.pop("width", None), 0.01, (), 1.0, **more)


def test_plans_are_what_becomes_of_a_drawing(drawing):
    outcome = work_on(job(drawing(ROW), width=3.0))
    assert [plan.verdict for plan in outcome.plans] == ["single unit"]
    assert outcome.plans[0].block.width == 3
    assert not outcome.faults
    assert outcome.misuse is None


def test_what_is_wrong_with_a_drawing_is_told_beside_its_name(drawing, tmp_path):
    gone = str(tmp_path / "gone.wkt")
    assert work_on(job(gone)) == Outcome(gone, faults=("The file cannot be read: No such file or directory.",))
    path = drawing("POLYGON ((0 0, 1 1))")
    (fault,) = work_on(job(path)).faults
    assert path not in fault


def test_misuse_is_told_apart_from_faults(drawing):
    path = drawing(ROW)
    outcome = work_on(job(path, width=-1.0))
    assert "width must be above zero" in outcome.misuse
    assert outcome.faults == ()


def test_an_error_that_nobody_expected_is_told_as_a_fault_of_the_program(drawing, monkeypatch):
    def slipped(*_):
        raise ZeroDivisionError("knot slipped")

    monkeypatch.setattr(work, "_worked_on", slipped)
    (fault,) = work_on(job(drawing(ROW))).faults
    assert "internal error (ZeroDivisionError: knot slipped)" in fault


@pytest.mark.parametrize(("name", "pattern"), [("quilt.toml", True), ("QUILT.TOML", True), ("toml.svg", False)])
def test_pattern_files_are_known_by_their_name(name, pattern):
    assert is_pattern(name) == pattern


def test_outcomes_come_in_the_order_of_the_jobs(drawing):
    paths = [drawing(ROW, f"{name}.wkt") for name in ("gull", "buoy")]
    assert [outcome.source for outcome in work_on_all([job(path) for path in paths], workers=1)] == paths

"""What is said of a plan for which something was asked, or might be."""

from __future__ import annotations

import pytest
from shapely import box

from seamtree.block.build import block_from_polygons
from seamtree.block.model import Block
from seamtree.pattern.pack import Options, make_pack
from seamtree.pattern.paper import PAPERS
from seamtree.planning.build import plan
from seamtree.planning.explain import explain
from seamtree.planning.notes import note_papers
from seamtree.planning.wishes import Wishes

A4 = PAPERS["a4"]
SHEET = A4.name, A4.holds()
SHEETS = [(paper.name, paper.holds()) for paper in PAPERS.values()]


def strips(count: int, long: float) -> Block:
    return block_from_polygons([box(x, 0, x + 1, long) for x in range(count)])


def test_what_no_sheet_holds_is_named_with_the_units_that_need_no_tape() -> None:
    answer = note_papers(plan(strips(12, 9)), [SHEET], time_limit=1)
    (note,) = answer.notes
    assert note.message == (
        "A sheet of A4 holds 7.02 × 10.19 in of finished size. Unit A is larger, so its foundation is taped "
        "together; with `fit='a4'` the block takes 2 units and nothing is taped."
    )
    assert plan(strips(12, 9), wishes=Wishes(A4.holds(), A4.name)).counts.units == 2


def test_papers_of_which_the_same_is_to_be_said_share_a_note() -> None:
    (note,) = note_papers(plan(strips(15, 9)), SHEETS, time_limit=1).notes
    assert note.message == (
        "A sheet of A4 holds 7.02 × 10.19 in of finished size, one of US Letter 7.25 × 9.5 in. Unit A is larger, so "
        "its foundation is taped together; with `fit='a4'` the block takes 3 units, with `fit='letter'` 3 "
        "units, and nothing is taped."
    )
    assert [remedy.value for remedy in note.remedies] == ["a4", "letter"]


def test_a_paper_that_holds_all_is_not_spoken_of() -> None:
    (note,) = note_papers(plan(strips(7, 9.8)), SHEETS, time_limit=1).notes
    assert note.message.startswith("A sheet of US Letter holds 7.25 × 9.5 in of finished size. Unit A is larger")
    assert note.message.endswith("; with `fit='letter'` the block takes 4 units and nothing is taped.")


def test_patches_that_no_sheet_holds_are_taped_all_the_same() -> None:
    (note,) = note_papers(plan(strips(3, 14)), SHEETS, time_limit=1).notes
    assert note.message.endswith(" 3 units, and nothing is taped but patches that are too large by themselves.")


def test_large_blocks_are_told_what_to_ask_for() -> None:
    block = block_from_polygons([box(x, y, x + 1, y + 1) for x in range(21) for y in range(20)])
    (note,) = note_papers(plan(block), SHEETS, time_limit=1).notes
    assert note.message.endswith("; `fit='a4'` and `fit='letter'` ask for units that need no tape.")


def test_what_fits_is_not_spoken_of() -> None:
    assert note_papers(plan(strips(7, 9)), [SHEET], time_limit=1).notes == ()
    asked = plan(strips(12, 9), wishes=Wishes((12, 20)))
    assert note_papers(asked, [SHEET], time_limit=1) is asked


def test_patches_that_are_too_large_are_named() -> None:
    answer = plan(strips(3, 9), wishes=Wishes((4, 4)))
    assert answer.counts.units == 3
    assert [note.code for note in answer.notes] == ["wish-costs", "patch-too-large"]
    assert answer.notes[1].message.startswith("Patches A1, B1 and C1 are larger than 4 × 4 in by themselves")
    one = block_from_polygons([box(0, 0, 9, 1), box(0, 1, 4, 2), box(4, 1, 9, 2)])
    assert "by itself, and stays a unit" in plan(one, wishes=Wishes((5.5, 5.5))).notes[-1].message


def test_an_explanation_tells_what_a_wish_costs() -> None:
    told = [sentence for _, sentence in explain(plan(strips(12, 9), wishes=Wishes((9, 4)))).sentences()]
    assert told[:2] == [
        "What was asked of the plan, and what it costs:",
        "- With units no larger than 9 × 4 in the block takes 3 units; with units of any size 1 would do.",
    ]
    cells = block_from_polygons([box(x, y, x + 1, y + 1) for x in range(2) for y in range(2)])
    told = [sentence for _, sentence in explain(plan(cells, wishes=Wishes((2, 2)))).sentences()]
    assert told[1] == "- Nothing: plans without that take as many units."


@pytest.mark.parametrize("name", ["a4", "letter"])
def test_what_fits_a_sheet_is_not_taped(name: str) -> None:
    paper = PAPERS[name]
    answer = plan(strips(20, 9), wishes=Wishes(paper.holds(), paper.name))
    made = make_pack([answer], Options(paper=paper, pages=("foundations",))).to_json()
    assert not any(unit["taped"] for unit in made["units"])

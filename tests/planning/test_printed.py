"""Printed units and numbers are kept where they can be sewn."""

from __future__ import annotations

import pytest
from shapely import box

from seamtree.block.build import block_from_polygons
from seamtree.planning.build import plan
from seamtree.planning.model import Plan
from seamtree.planning.wishes import RENUMBERED, Wishes
from seamtree.proofreading.prove import proofread

CELLS = [box(0, 0, 3, 3), box(3, 0, 6, 3), box(0, 3, 3, 6), box(3, 3, 6, 6)]
STRIPS = [box(x, 0, x + 2, 6) for x in (0, 2, 4)]


def planned(cells, labels: str, wishes: Wishes | None = None, fabrics: str = "") -> Plan:
    block = block_from_polygons(cells, labels=labels.split(), fabrics=fabrics.split() or None)
    return plan(block) if wishes is None else plan(block, wishes=wishes)


def as_printed(answer: Plan) -> bool:
    return all(answer.block.patches[p].label == name for p, name in answer.patch_ids().items())


@pytest.mark.parametrize("labels", ["B1 B2 A2 A1", "A1 B1 A2 B2", "C2 C1 K1 K2"])
def test_numbers_that_can_be_sewn_are_kept(labels: str) -> None:
    answer = planned(CELLS, labels)
    assert answer.kept == "numbers"
    assert as_printed(answer)
    assert answer.proven
    assert answer.notes == ()


def test_what_keeping_costs_is_told_and_can_be_given_up() -> None:
    answer = planned(STRIPS, "A1 B1 B2")
    assert as_printed(answer)
    assert answer.counts.units == answer.bound.units == 2
    assert answer.free_units == 1
    (note,) = answer.notes
    assert note.message == "The printed numbers are kept, which take 2 units; with `renumber=True` 1 would do."
    assert planned(STRIPS, "A1 B1 B2", RENUMBERED).counts.units == 1
    assert answer.to_json()["wishes"]["kept"] == "numbers"


def test_numbers_alone_are_kept_as_one_unit() -> None:
    answer = planned(STRIPS, "3 2 1")
    (unit,) = answer.units()
    assert [answer.block.patches[p].label for p in unit.patches] == ["1", "2", "3"]
    assert answer.kept == "numbers"


def test_letters_ask_for_units_and_numbers_are_found() -> None:
    answer = planned(CELLS, "B B A A", fabrics="red blue blue red")
    assert answer.kept == "units"
    assert all(answer.block.patches[p].label == name[0] for p, name in answer.patch_ids().items())


def test_letters_of_fabrics_are_no_units() -> None:
    answer = planned(CELLS, "R B B R", fabrics="red blue blue red")
    assert answer.kept == ""
    assert answer.notes == ()


@pytest.mark.parametrize(
    ("labels", "fault"),
    [
        ("B A A B", "Unit A is in several pieces that share no edge."),
        ("A A A A", "Unit A cannot be sewn patch by patch with straight seams, in any order."),
    ],
)
def test_units_that_cannot_be_sewn_are_refused_with_the_fault(labels: str, fault: str) -> None:
    answer = planned(CELLS, labels)
    assert answer.kept == ""
    assert answer.counts.units == 2
    assert answer.notes[0].code == "wish-refused"
    assert answer.notes[0].message == f"The printed units cannot be had: {fault} The plan is made without them."


def test_units_that_straight_seams_do_not_join_are_refused() -> None:
    spun = [box(0, 0, 2, 1), box(2, 0, 3, 2), box(1, 2, 3, 3), box(0, 1, 1, 3), box(1, 1, 2, 2)]
    answer = planned(spun, "A B C D A")
    assert [note.code for note in answer.notes] == ["wish-refused"]
    assert answer.verdict == "hard corners"


def test_numbers_that_cannot_be_sewn_give_way_with_a_note() -> None:
    answer = planned(CELLS, "B1 A1 A2 B2")
    (note,) = answer.notes
    assert note.code == "numbers-not-kept"
    assert "touches A1 only with a corner" in note.message


def test_numbers_and_a_limit_that_contradict_each_other_are_both_given_up() -> None:
    answer = planned(STRIPS, "1 2 3", Wishes((6, 2)))
    assert answer.kept == ""
    assert answer.counts.units == 1
    (note,) = answer.notes
    assert note.code == "wish-refused"
    assert "contradict each other" in note.message
    assert planned(STRIPS, "1 2 3", Wishes((6, 4))).counts.units == 1
    assert planned(STRIPS, "A1 B1 B2", Wishes((6, 4))).kept == "numbers"
    assert planned(STRIPS, "1 2 3", Wishes((6, 4), renumber=True)).counts.units == 2


def test_proofreading_still_compares_with_the_best() -> None:
    answer = planned(STRIPS, "A1 B1 B2")
    for best in (None, answer):
        found = proofread(answer.block, best=best)
        assert found.fewest_units == found.least_units == 1
        assert [note.code for note in found.notes] == ["fewer-units"]


def test_units_that_are_numbered_alike_share_their_foundation() -> None:
    assert planned(CELLS, "A1 A2 B2 B1").repeats == (("A", "B"),)
    three = [box(x, y, x + 1, y + 1) for y in range(2) for x in range(3)]
    alike, other = planned(three, "A1 A2 A3 B3 B2 B1"), planned(three, "A1 A2 A3 B2 B1 B3")
    assert alike.repeats == (("A", "B"),)
    assert other.repeats == ()


def test_printed_units_on_the_fewest_foundations_are_kept() -> None:
    answer = planned(CELLS, "A A B B", Wishes(repeats=True), fabrics="red blue blue red")
    assert answer.kept == "units"
    assert answer.counts.foundations == 1
    assert answer.notes == ()


def test_printed_units_that_take_more_foundations_contradict_the_fewest() -> None:
    answer = planned(STRIPS, "A1 B1 B2", Wishes(repeats=True))
    (note,) = answer.notes
    assert note.code == "wish-refused"
    assert note.message == (
        "The printed numbers and the fewest different foundations contradict each other: they take 2 units on 2 "
        "foundations, and 1 unit on 1 foundation would do. The plan is made without either; `renumber=True` gives "
        "the printed ones up."
    )
    assert (answer.counts.units, answer.kept) == (1, "")

"""Names, steps, seams and counts of plans, and what they warn of."""

from itertools import islice

import pytest

import seamtree
from seamtree.block.build import block_from_polygons
from seamtree.errors import OptionError
from seamtree.planning.build import unit_names
from seamtree.planning.model import Join, Node, Unit, id_order
from seamtree.planning.report import block_json, drawing_json
from tests.search.straight.test_parts import squares

SPUN = (
    ((0, 0), (2, 0), (2, 1), (0, 1)),
    ((2, 0), (3, 0), (3, 2), (2, 2)),
    ((1, 2), (3, 2), (3, 3), (1, 3)),
    ((0, 1), (1, 1), (1, 3), (0, 3)),
    ((1, 1), (2, 1), (2, 2), (1, 2)),
)


def in_sewing_order(node: Node) -> list[Node]:
    if isinstance(node, Unit):
        return [node]
    return [*in_sewing_order(node.parts[0]), *in_sewing_order(node.parts[1]), node]


def test_names_go_on_after_z() -> None:
    names = list(islice(unit_names(), 26 * 27 + 1))
    assert names[:3] == ["A", "B", "C"]
    assert names[25:28] == ["Z", "AA", "AB"]
    assert names[26 * 27 - 1 :] == ["ZZ", "AAA"]
    assert len(set(names)) == len(names)


def test_a_nine_patch_is_three_units_in_two_joins() -> None:
    plan = seamtree.plan(squares(3, 3))
    assert (plan.verdict, plan.proven) == ("joined units", True)
    counts = plan.counts
    assert (counts.patches, counts.units, counts.joins, counts.single_patches) == (9, 3, 2, 0)
    assert counts.matched_points == 4
    assert counts.hard_corners == counts.excess_pivots == 0
    assert [join.seam.length for join in plan.joins()] == [3.0, 3.0]
    assert all(join.seam.kind == "straight" and len(join.seam.matched) == 2 for join in plan.joins())


def test_units_and_joins_are_numbered_as_they_are_sewn() -> None:
    plan = seamtree.plan(squares(5, 6))
    order = in_sewing_order(plan.tree)
    assert [node.name for node in order if isinstance(node, Unit)] == ["A", "B", "C", "D", "E"]
    assert [node.step for node in order if isinstance(node, Join)] == [1, 2, 3, 4]
    ids = plan.patch_ids()
    assert sorted(ids) == list(range(30))
    assert len(set(ids.values())) == 30
    assert {name[0] for name in ids.values()} == set("ABCDE")


def test_single_patches_are_counted() -> None:
    plan = seamtree.plan(block_from_polygons(SPUN))
    assert (plan.counts.units, plan.counts.single_patches, plan.counts.partial) == (2, 1, 1)


def test_a_ring_of_waiting_seams_is_named() -> None:
    plan = seamtree.plan(block_from_polygons(SPUN))
    locked, warning = plan.warnings
    assert (locked.code, len(locked.patches)) == ("locked-part", 5)
    assert "5 patches round 1.50, 1.50 lock each other" in locked.message
    assert warning.code == "partial-seam"
    assert warning.at in {(2, 1), (1, 1), (2, 2), (1, 2)}
    middle = next(name for p, name in plan.patch_ids().items() if sorted(plan.block.polygon(p))[0] == (1, 1))
    assert warning.message.count("→") == 3
    assert warning.message.count(middle) >= 3
    assert set(warning.patches) <= set(plan.patch_ids().values())


def test_a_bend_and_a_meeting_of_three_are_told_apart() -> None:
    window = block_from_polygons(
        [((0, 0), (2, 0), (2, 2), (0, 2)), ((0, 2), (2, 2), (3, 3), (0, 3)), ((2, 0), (3, 0), (3, 3), (2, 2))]
    )
    _, meeting = seamtree.plan(window).warnings
    assert (meeting.code, meeting.at) == ("set-in-seam", (2, 2))
    assert "three seams" in meeting.message
    inset = block_from_polygons([((0, 0), (2, 0), (2, 2), (0, 2)), ((2, 0), (3, 0), (3, 3), (0, 3), (0, 2), (2, 2))])
    _, bend = seamtree.plan(inset).warnings
    assert "turns a corner" in bend.message


def test_a_plan_as_plain_data_has_the_promised_keys() -> None:
    plan = seamtree.plan(block_from_polygons(SPUN, fabrics=["#112233"] * 5, labels=["a", None, None, None, "e"]))
    data = drawing_json("spun.svg", [plan])
    assert (data["schema"], data["source"], len(data["blocks"])) == ("seamtree/1", "spun.svg", 1)
    block = data["blocks"][0]
    assert block == block_json(plan) == plan.to_json()
    assert set(block) >= {
        "name",
        "width",
        "height",
        "verdict",
        "proven",
        "bound",
        "counts",
        "patches",
        "tree",
        "warnings",
    }
    assert list(block["bound"]) == [
        "hard_corners",
        "units",
        "set_in",
        "excess_pivots",
        "matched_points",
        "foundations",
        "join_length",
    ]
    figures = "patches units joins single_patches set_in partial curved excess_pivots matched_points"
    figures += " nesting_points foundations"
    assert set(block["counts"]) == set(figures.split())
    assert [patch["id"] for patch in block["patches"]] == sorted(patch["id"] for patch in block["patches"])
    assert {patch["label"] for patch in block["patches"]} == {"a", "e", None}
    tree = block["tree"]
    assert (tree["kind"], tree["step"], tree["seam"]["kind"]) == ("join", 1, "partial")
    assert all(part["kind"] == "unit" for part in tree["parts"])


@pytest.mark.parametrize("limit", [0, -1, float("nan"), float("inf")])
def test_a_senseless_time_limit_is_refused(limit: float) -> None:
    with pytest.raises(OptionError, match="time_limit must be a number of seconds above 0"):
        seamtree.plan(squares(2, 2), time_limit=limit)


def test_ids_are_sorted_by_unit_and_then_by_number() -> None:
    assert sorted(["B1", "A10", "AA1", "A2"], key=id_order) == ["A2", "A10", "B1", "AA1"]

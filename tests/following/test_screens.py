from __future__ import annotations

import math
from functools import cache

import pytest

import seamtree
from seamtree.following.screens import TOOLS, build_screens
from seamtree.pattern import BlockWork, Options, build_cloths, build_work
from seamtree.pattern.directions import CAUTIONS, write_addition, write_tasks
from seamtree.pattern.lengths import Lengths
from seamtree.pattern.steps import build_steps
from seamtree.planning.model import Join, Unit
from seamtree.words import capital
from tests.support.samples import plan_of


@cache
def screens_of(name, *, metric=False, **more):
    plan = plan_of(name)
    work = build_work([BlockWork(plan, plan.block.name, **more)], title="x")
    return build_screens(
        work.blocks[0], build_cloths([(plan, 1)]), work.fabrics, options=Options(lengths=Lengths(metric))
    )


@pytest.mark.parametrize("name", ["dinghy.svg", "gull.svg", "tide-pool.svg"])
def test_every_piece_and_every_join_comes_in_the_order_of_the_plan(name):
    plan = plan_of(name)
    expected = ["block"]
    for node in plan.walk():
        if isinstance(node, Join):
            expected.append("join")
        else:
            expected += ["add"] * len(node.patches) + ["unit"] * (len(node.patches) > 1)
    screens = screens_of(name)
    assert [screen.shows["kind"] for screen in screens.screens] == [*expected, "block"]
    units = screens.shapes["units"]
    added = [
        units[s.shows["unit"]]["patches"][s.shows["number"] - 1] for s in screens.screens if s.shows["kind"] == "add"
    ]
    assert added == [p for unit in plan.units() for p in unit.patches]
    ids = plan.patch_ids()
    assert [patch["name"] for patch in screens.shapes["patches"]] == [ids[p] for p in range(len(ids))]


def test_words_are_those_of_the_pack():
    plan = plan_of("gull.svg")
    screens = [s for s in screens_of("gull.svg").screens if s.shows["kind"] in ("add", "join")]
    said = [sentence for screen in screens for sentence in screen.sentences]
    for step in build_steps(plan):
        for addition in getattr(step, "additions", ())[: 0 if getattr(step, "is_template", False) else None]:
            for sentence in write_addition(addition, allowance=0.25, lengths=Lengths()):
                assert sentence in said
    for task in write_tasks(plan, lengths=Lengths()):
        if task.join is not None:
            for sentence in task.sentences:
                assert capital(sentence) in said


def test_the_line_and_the_piece_are_those_of_the_step():
    plan = plan_of("dinghy.svg")
    (step,) = build_steps(plan)
    shown = [s for s in screens_of("dinghy.svg").screens if s.shows["kind"] == "add"]
    for addition, screen in zip(step.additions, shown, strict=True):
        line = None if addition.line is None else [round(v, 3) for at in addition.line for v in at]
        assert screen.shows.get("line") == line
        assert len(screen.shows["laid"]) == 2 * len(addition.laid)
        assert screen.take.fabric.startswith(addition.fabric.code)
        assert screen.take.size[0].isdigit()


def test_joins_tell_pins_nesting_pressing_hard_corners_and_the_paper():
    joins = [s for s in screens_of("tide-pool.svg").screens if s.shows["kind"] == "join"]
    curved = next(s for s in joins if s.shows["corners"])
    said = " ".join(curved.sentences)
    assert "Hard corner at 4.28, 3.79, where B3 and C3 meet: the seam follows a drawn curve." in said
    assert "The seam is curved through (4.28, 3.79)" in said
    assert "Sew on the outer solid line" not in said
    for screen in joins:
        sentences = list(screen.sentences)
        pressed = [n for n, sentence in enumerate(sentences) if sentence.startswith("Press toward")]
        assert sentences[pressed[0] - 1] == "Tear the paper out of the allowance."
        assert "push a pin straight through both ends of the seam" in sentences[1]
    matched = [s for s in screens_of("gull.svg").screens if s.shows["kind"] == "join" and s.shows["matched"]]
    assert sum(len(s.shows["matched"]) for s in matched) == plan_of("gull.svg").counts.matched_points
    assert all("matched point" in s.sentences[1] for s in matched)
    nests = sum(point[2] for s in matched for point in s.shows["matched"])
    assert nests == plan_of("gull.svg").counts.nesting_points


def test_cautions_come_where_cutter_needle_and_iron_come_up():
    assert [caution.split(":")[0].lower() for caution in CAUTIONS] == ["rotary cutter", "needle", "iron"]
    for screen in screens_of("gull.svg").screens:
        said = " ".join(screen.sentences).lower()
        if "trim" in said or "cut through" in said:
            assert "cutter" in screen.tools
        if "press" in said:
            assert "iron" in screen.tools
        if screen.shows["kind"] == "join":
            assert "needle" in screen.tools
    assert screens_of("gull.svg").screens[0].tools == TOOLS


def test_metric_copies_and_twins():
    first = screens_of("dinghy.svg", metric=True, copies=12, mirrored=4).screens[0]
    said = " ".join(first.sentences)
    assert "15.2 × 15.2 cm" in said
    assert "Make 12." in said
    assert "4 of them mirrored" in said


def test_trim_lines_lie_one_allowance_outside_their_unit():
    plan, shapes = plan_of("dinghy.svg"), screens_of("dinghy.svg").shapes
    trim = shapes["units"][0]["trim"]
    assert min(trim[::2]) == pytest.approx(-0.25, abs=1e-3)
    assert max(trim[::2]) == pytest.approx(plan.block.width + 0.25, abs=1e-3)


def test_middles_lie_within_their_patches():
    for patch in screens_of("tide-pool.svg").shapes["patches"]:
        x, y, radius = patch["middle"]
        ring = list(zip(patch["ring"][::2], patch["ring"][1::2], strict=True))
        assert radius > 0
        assert min(math.dist((x, y), at) for at in ring) >= 0.95 * radius


def test_a_single_patch_is_a_template():
    block = seamtree.block_from_polygons([[(0, 0), (4, 0), (4, 2), (0, 2)]])
    plan = seamtree.plan(block)
    assert isinstance(plan.tree, Unit)
    work = build_work([BlockWork(plan, "flag")], title="flag")
    screens = build_screens(work.blocks[0], build_cloths([(plan, 1)]), work.fabrics, options=Options()).screens
    assert [screen.shows["kind"] for screen in screens] == ["block", "add", "block"]
    assert "template" in screens[1].sentences[0]
    assert screens[1].take.size == "4 1/2 × 2 1/2 in exactly"

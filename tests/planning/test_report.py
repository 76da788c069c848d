"""A plan as plain data."""

from __future__ import annotations

import json

from seamtree.block.build import block_from_polygons
from seamtree.planning.build import plan
from seamtree.planning.report import block_json, drawing_json
from tests.support.layouts import squares


def test_the_tree_is_nested_and_names_every_patch_once():
    best = plan(block_from_polygons(squares(2, 2), labels=["a", None, None, None], fabrics=["#102030"] * 4))
    told = block_json(best)
    (first, second) = told["tree"]["parts"]
    assert (told["tree"]["kind"], first["kind"], second["kind"]) == ("join", "unit", "unit")
    assert sorted(first["patches"] + second["patches"]) == [patch["id"] for patch in told["patches"]]
    assert told["tree"]["seam"]["length"] == 4
    assert [patch["label"] for patch in told["patches"]].count("a") == 1
    assert {patch["fabric"] for patch in told["patches"]} == {"#102030"}


def test_a_drawing_is_its_name_and_its_blocks_and_goes_through_json():
    best = plan(block_from_polygons(squares(1, 2)))
    told = drawing_json("raft.svg", [best, best])
    assert (told["schema"], told["source"], len(told["blocks"])) == ("seamtree/1", "raft.svg", 2)
    assert json.loads(json.dumps(told)) == told


def test_deep_trees_are_told_without_nested_calls():
    import sys

    best = plan(block_from_polygons(squares(12, 12)))
    before = sys.getrecursionlimit()
    depth = len(best.patch_ids()) // 12
    assert depth == 12
    assert block_json(best)["counts"]["joins"] == 11
    assert sys.getrecursionlimit() == before

"""Steps as data: what is sewn, the line, the piece, the joins; told in words."""

import pytest
import shapely

import seamtree
from seamtree.block.build import block_from_polygons
from seamtree.pattern.cutting import build_cloths
from seamtree.pattern.directions import write_addition, write_join
from seamtree.pattern.lengths import Lengths
from seamtree.pattern.steps import JoinStep, UnitStep, build_steps
from tests.support.samples import plan_of

INCHES = Lengths()


@pytest.mark.parametrize("name", ["gull.svg", "sea-star.svg", "jellyfish.svg"])
def test_every_patch_is_added_once_and_every_join_sewn_in_turn(name):
    plan = plan_of(name)
    steps = build_steps(plan)
    assert [step.unit if isinstance(step, UnitStep) else step.join for step in steps] == list(plan.walk())
    added = [addition for step in steps if isinstance(step, UnitStep) for addition in step.additions]
    assert {addition.patch: addition.name for addition in added} == plan.patch_ids()
    ready: set[str] = set()
    for step in steps:
        if isinstance(step, UnitStep):
            ready.add(step.unit.name)
        else:
            assert set(step.parts[0]) | set(step.parts[1]) <= ready


def test_a_piece_is_sewn_on_the_line_between_its_patch_and_what_is_sewn():
    plan = plan_of("gull.svg")
    for step in build_steps(plan):
        for addition in step.additions if isinstance(step, UnitStep) else ():
            assert (addition.line is None) == (addition.number == 1) == (not addition.onto)
            if addition.line is None:
                continue
            sewn = shapely.union_all([shapely.Polygon(plan.block.polygon(p)) for p in addition.before])
            common = shapely.intersection(sewn.boundary, shapely.Polygon(plan.block.polygon(addition.patch)).boundary)
            assert shapely.LineString(addition.line).hausdorff_distance(common) <= plan.block.tolerance


def test_pieces_are_those_of_the_cutting_list():
    plan = plan_of("sea-star.svg")
    cloths = build_cloths([(plan, 3)], margin=0.75)
    pieces = {cloth.patch: cloth.piece for cloth in cloths}
    steps = build_steps(plan, cloths)
    assert all(
        addition.piece == pieces[addition.patch]
        for step in steps
        if isinstance(step, UnitStep)
        for addition in step.additions
    )


def test_a_join_knows_its_matched_points_and_whose_paper_comes_off():
    plan = plan_of("gull.svg")
    joins = [step for step in build_steps(plan) if isinstance(step, JoinStep)]
    for step in joins:
        assert [point.nests for point in step.matched] == [j in step.join.nests for j in step.join.seam.matched]
        for point in step.matched:
            assert len(point.patches) == 4
            assert point.at in step.path[1:-1]
    assert [step.paper_off for step in joins if step.paper_off] == [("F", "H")]
    assert write_join(plan, joins[-1], lengths=INCHES)[-1] == "The paper of units F, H may come off now."


def test_hard_corners_are_told():
    plan = plan_of("sea-star.svg")
    corners = [corner for step in build_steps(plan) if isinstance(step, JoinStep) for corner in step.corners]
    assert len(corners) == plan.counts.hard_corners > 0


def test_an_addition_in_words():
    rows = [[(0, 0), (4, 0), (4, 2), (0, 2)], [(0, 2), (4, 2), (4, 3), (0, 3)]]
    plan = seamtree.plan(block_from_polygons(rows, fabrics=["#1f3a5f", "#ffffff"]))
    (step,) = build_steps(plan)
    first, second = step.additions
    assert write_addition(first, allowance=0.25, lengths=INCHES)[0].startswith(
        "Lay piece A1 (Wh white, 5 × 2 in) on the blank side of the paper"
    )
    told = write_addition(second, allowance=0.25, lengths=Lengths(metric=True))
    assert told[0] == "Fold the paper back on the line between A2 and A1 and trim what is sewn to 0.6 cm beyond it."
    assert "Lay piece A2 (Na navy, 12.7 × 7.6 cm) along that edge, right sides together" in told[1]

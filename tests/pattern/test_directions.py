"""Directions follow the plan."""

import seamtree
from seamtree.block.build import block_from_polygons
from seamtree.pattern.directions import CAUTIONS, warnings_for_print, write_directions, write_tasks
from seamtree.pattern.lengths import Lengths
from tests.planning.test_build import SPUN
from tests.search.straight.test_parts import squares
from tests.support.samples import plan_of


def titles(plan):
    return [section.title for section in write_directions([plan], allowance=0.25, lengths=Lengths())]


def text(plan, **options):
    sections = write_directions([plan], allowance=0.375, lengths=Lengths(**options))
    return " ".join(paragraph for section in sections for paragraph in section.paragraphs)


def test_a_single_unit_is_not_joined():
    plan = seamtree.plan(squares(1, 3))
    assert titles(plan) == ["Before you start", "Prepare", "Sew a unit", "Take the paper off"]
    (task,) = write_tasks(plan, lengths=Lengths())
    assert (task.head, task.sentences) == ("Unit A", ("3 patches: A1–A3 ____.",))


def test_the_allowance_is_that_of_the_pack():
    plan = seamtree.plan(squares(2, 2))
    assert "fold the paper back on its line and trim what is sewn to 3/8 in beyond it" in text(plan)
    assert "starting and stopping 1/4 in beyond" in text(plan)
    assert "trim what is sewn to 1 cm beyond it" in text(plan, metric=True)
    assert all(caution in text(plan) for caution in CAUTIONS)


def test_ticks_are_told_of_where_there_are_matched_points():
    assert "ticks" in text(seamtree.plan(squares(2, 2)))
    assert "ticks" not in text(seamtree.plan(block_from_polygons(SPUN)))


def test_units_and_joins_come_in_sewing_order():
    plan = seamtree.plan(squares(3, 3))
    tasks = write_tasks(plan, lengths=Lengths())
    done = set()
    for task in tasks:
        kind, _, name = task.head.partition(" ")
        if kind == "Join":
            assert task.join is not None
            for part in task.join.parts:
                assert id(part) in done
            done.add(id(task.join))
        else:
            done.add(id(next(unit for unit in plan.units() if unit.name == name)))
    assert done == {id(node) for node in (*plan.units(), *plan.joins())}
    assert tasks[-1].sentences[0].endswith("straight seam, 3 in, 2 matched points.")


def test_hard_corners_say_what_to_do():
    plan = seamtree.plan(block_from_polygons(SPUN))
    told = " ".join(sentence for task in write_tasks(plan, lengths=Lengths()) for sentence in task.sentences)
    assert "partial seam" in told
    assert "Then close the seam from" in told
    assert "Joins with hard corners are sewn otherwise" in text(plan)
    (warning,) = warnings_for_print(plan, lengths=Lengths())
    assert "partial seam" in warning


def test_places_can_be_told_in_centimetres():
    plan = plan_of("tide-pool.svg")
    inch, cm = (
        next(task.sentences[1] for task in write_tasks(plan, lengths=Lengths(m)) if task.head == "Join 2")
        for m in (False, True)
    )
    assert inch == "Sew from (0, 2) to (6, 8)."
    assert cm == "Sew from (0, 5.08) to (15.24, 20.32)."
    ((inch,), (cm,)) = (warnings_for_print(plan, lengths=Lengths(m)) for m in (False, True))
    assert inch in {warning.message for warning in plan.warnings}
    assert "has a curved seam at 4.28, 3.79 (B3, C3)" in inch
    assert "has a curved seam at 10.87, 9.64 (B3, C3)" in cm


def test_the_paper_of_a_unit_inside_comes_off_when_its_last_edge_is_sewn():
    plan = seamtree.plan(block_from_polygons(SPUN))
    assert "unit D after join 6" in text(plan_of("buoy.svg"))
    assert "touch no edge" not in text(plan) or "after join" in text(plan)


def test_templates_are_named():
    assert "Unit I is a single patch: a template, nothing is sewn on it" in text(plan_of("heron.svg"))
    flower = text(plan_of("catalogue/float-flower.svg"))
    assert "Units B–D are single patches: templates, nothing is sewn on them" in flower

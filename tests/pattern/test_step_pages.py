"""The steps in pictures: every piece once, its line, its colour, its size; units that are alike once."""

import io
import re

import pdfplumber

import seamtree
from seamtree.block.build import block_from_polygons
from seamtree.pattern.lengths import Lengths
from seamtree.pattern.pack import Options, make_pack
from seamtree.pattern.steps import UnitStep, build_steps
from seamtree.pattern.work import BlockWork, build_work
from tests.search.straight.test_parts import squares
from tests.support.samples import plan_of


def stepped(plans, **options):
    """Return the pages with the steps as they are read back: texts, and lines of the colour of seams to sew."""
    made = make_pack(plans, Options(pages=("steps",), **options))
    with pdfplumber.open(io.BytesIO(made.pdf)) as pdf:
        texts = [" ".join(page.extract_text(use_text_flow=True).split()) for page in pdf.pages]
        sewn = [
            line
            for page in pdf.pages
            for line in page.lines
            if tuple(round(255 * c) for c in line["stroking_color"]) == (0xB0, 0x00, 0x20)
        ]
        for page in pdf.pages:
            for thing in (*page.curves, *page.lines, *page.chars):
                assert thing["x0"] >= 26
                assert thing["x1"] <= page.width - 26
    return texts, sewn


def test_every_addition_has_its_picture():
    plan = plan_of("gull.svg")
    texts, sewn = stepped([plan])
    told = " ".join(texts)
    assert "fold the paper back on its line and trim to 1/4 in" in told
    assert "Rotary cutter: cut on a mat" in told
    additions = [a for step in build_steps(plan) if isinstance(step, UnitStep) for a in step.additions]
    assert len(sewn) == sum(addition.line is not None for addition in additions)
    for addition in additions:
        assert f"{addition.name} {addition.fabric.words}" in told
    assert all(f"Unit {unit.name}" in told for unit in plan.units())


def test_units_that_are_alike_are_shown_once_and_named():
    plan = seamtree.plan(squares(3, 3))
    texts, sewn = stepped([plan], lengths=Lengths(metric=True))
    assert "Unit A; units B–C alike" in texts[0]
    assert "B1" not in texts[0]
    assert len(sewn) == 2
    assert "trim to 0.6 cm" in texts[0]
    assert not re.search(r"\d in\b", texts[0])


def test_templates_and_long_units_and_several_blocks():
    corner = seamtree.plan(
        block_from_polygons([[(0, 0), (2, 0), (2, 1), (1, 1), (1, 2), (0, 2)], [(1, 1), (2, 1), (2, 2), (1, 2)]])
    )
    long = seamtree.plan(block_from_polygons([[(k, 0), (k + 1, 0), (k + 1, 2), (k, 2)] for k in range(7)]))
    work = build_work([BlockWork(corner, "corner"), BlockWork(long, "rope", 2, mirrored=1)], title="two")
    texts, sewn = stepped(work)
    assert len(texts) == 2
    assert "corner: step by step" in texts[0]
    assert texts[0].count("template: nothing to sew on it") == 2
    assert "A mirrored block is sewn in the same order" in texts[1]
    assert "Unit A, more" in texts[1]
    assert len(sewn) == 6


def test_contents_name_the_steps():
    plan = seamtree.plan(squares(2, 2))
    made = make_pack([plan], Options(pages=("contents", "steps", "lines")), title="four")
    with pdfplumber.open(io.BytesIO(made.pdf)) as pdf:
        assert "Steps of block 2" in pdf.pages[0].extract_text()
        assert "step by step" in pdf.pages[1].extract_text()
        assert "Line drawing" in pdf.pages[2].extract_text()

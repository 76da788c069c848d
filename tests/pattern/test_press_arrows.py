"""Arrows point to the side that the words name."""

import io
import math
from dataclasses import replace

import pdfplumber
import pytest

import seamtree
from seamtree.pattern.directions import write_tasks
from seamtree.pattern.flow import Column
from seamtree.pattern.joining_pages import add_joins
from seamtree.pattern.lengths import Lengths
from seamtree.pattern.paper import PAPERS
from seamtree.pattern.pdf import write_pages
from seamtree.pattern.press_arrows import find_foot
from tests.search.straight.test_parts import squares

A4 = PAPERS["a4"]
RED = (0xB0 / 255, 0.0, 0x20 / 255)


def is_red(shape):
    colour = shape["non_stroking_color"]
    return shape["fill"] and len(colour) == 3 and math.dist(colour, RED) < 0.01


def page_of(plan):
    column = Column(A4)
    add_joins(column, plan, write_tasks(plan, lengths=Lengths()), paper=A4, lengths=Lengths())
    pages = column.pages("block")
    with pdfplumber.open(io.BytesIO(write_pages(pages, A4, title="block"))) as pdf:
        (page,) = pdf.pages
        heads = [list(shape["pts"]) for shape in page.curves if is_red(shape)]
        words = page.extract_words()
    return heads, words


@pytest.mark.parametrize("press", [0, 1])
def test_the_arrow_points_into_the_part_that_is_pressed_toward(press):
    plan = seamtree.plan(squares(2, 2))
    plan = replace(plan, tree=replace(plan.tree, press=press))
    unit = plan.tree.parts[press].name
    heads, words = page_of(plan)
    (head,) = heads
    tip, *wings = head[:3]
    # The letters in the picture stand above those in the words below it.
    letters = {}
    for word in sorted(words, key=lambda word: word["top"]):
        if word["text"] in {"A", "B"}:
            letters.setdefault(word["text"], ((word["x0"] + word["x1"]) / 2, (word["top"] + word["bottom"]) / 2))
    middle = sum(x for x, _ in wings) / 2, sum(y for _, y in wings) / 2
    other = "AB".replace(unit, "")
    assert math.dist(tip, letters[unit]) < math.dist(middle, letters[unit])
    # A letter stands on the first patch of its unit, so only what lies along the arrow tells the sides apart.
    along = tip[0] - middle[0], tip[1] - middle[1]
    ahead = {
        name: sum((p - m) * d for p, m, d in zip(at, middle, along, strict=True)) for name, at in letters.items()
    }
    assert ahead[unit] > 0 > ahead[other]
    text = [word["text"] for word in words]
    assert text[text.index("toward") + 2].rstrip(".:") == unit


def test_every_join_has_an_arrow():
    plan = seamtree.plan(squares(3, 3))
    heads, _ = page_of(plan)
    assert len(heads) == plan.counts.joins == 2


def test_an_arrow_keeps_off_names():
    a, b, across = (0.0, 0.0), (2.0, 0.0), (0.0, -1.0)
    assert find_foot(a, b, across, []) == (0.72, 0.0)
    assert find_foot(a, b, across, [((1.28, -0.1), 0.05)]) == (0.72, 0.0)
    assert find_foot(a, b, across, [((0.72, -0.1), 0.05)]) == (1.28, 0.0)
    # Where names stand all along, it stands where it covers least of them.
    names = [((x, -0.1), 0.05) for x in (0.44, 0.70, 1.0, 1.28, 1.56)]
    assert find_foot(a, b, across, names) == (0.72, 0.0)


def test_arrows_of_a_sample_cover_names_only_where_a_seam_is_short():
    (block,) = seamtree.read("samples/gull.svg")
    plan = seamtree.plan(block)
    heads, words = page_of(plan)
    names = {unit.name for unit in plan.units()}
    middles = [((w["x0"] + w["x1"]) / 2, (w["top"] + w["bottom"]) / 2) for w in words if w["text"] in names]
    assert len(heads) == plan.counts.joins
    assert len(middles) > 30
    near = [min(math.dist(at, middle) for at in head for middle in middles) for head in heads]
    assert sum(distance < 5.0 for distance in near) == 1  # join 7, which is half an inch long in its picture

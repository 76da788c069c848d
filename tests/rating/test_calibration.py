"""Traditional blocks come out in the order in which they are usually taught.

The order is common practice in the trade, written down from memory (`tests/support/traditional.py`): squares and logs
first, then split squares, stars with points to match, one awkward seam or very many patches, curves and several
set-in corners, and last what asks for everything at once.
"""

from __future__ import annotations

from functools import cache
from itertools import chain, pairwise, product

import pytest

from seamtree.planning.build import plan
from seamtree.rating import Lesson, default_scale, plan_course, rate
from tests.support.traditional import TAUGHT

NAMED = {block.name: block for group in TAUGHT for block in group}

WIDTHS = (6.0, 8.0, 12.0)

LEVELS = {1: (1,), 2: (2, 3), 3: (4,), 4: (5,), 5: (6,)}
"""The groups of each level (common practice)."""

HARDER_WHEN_SMALL = {("storm at sea", 6.0): 4}
"""Where pieces get so small, under half an inch wide, that a block is taught a level later (common practice)."""


@cache
def rated(name: str, width: float):
    # With more time the compass is sewn in two joins fewer, which changes nothing here.
    return rate(plan(NAMED[name].at_width(width), time_limit=1.0), changes=False)


def test_there_are_blocks_of_every_kind():
    assert len(NAMED) >= 26
    kinds = {"set_in", "partial", "curved", "matched_points"}
    features = [rated(name, 8.0).features for name in NAMED]
    assert all(any(found.value(kind) for found in features) for kind in kinds)


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("level", LEVELS)
def test_level(level, width):
    names = [block.name for group in LEVELS[level] for block in TAUGHT[group - 1]]
    expected = {name: HARDER_WHEN_SMALL.get((name, width), level) for name in names}
    assert {name: rated(name, width).level for name in names} == expected


def test_what_is_a_level_higher_when_small_has_small_pieces():
    assert all(rated(name, width).features.narrowest_patch < 0.5 for name, width in HARDER_WHEN_SMALL)


@pytest.mark.parametrize("width", WIDTHS)
def test_whatever_is_taught_earlier_has_fewer_points(width):
    for earlier, later in pairwise(TAUGHT):
        for one, other in product(earlier, later):
            assert rated(one.name, width).score < rated(other.name, width).score, (one.name, other.name)


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize(
    "names",
    [
        ("four patch", "nine patch", "sawtooth star", "Ohio star", "storm at sea", "mariner's compass"),
        ("flying geese", "square in a square", "pinwheel", "Ohio star"),
        ("log cabin", "pineapple"),
        ("rectangles spun round a square", "attic window", "seven-hexagon flower", "eight-pointed diamond star"),
        ("quarter circle", "grandmother's fan", "arc of spikes", "mariner's compass"),
        ("quarter circle", "four quarter circles"),
        ("eight-pointed diamond star", "simplified feathered star", "mariner's compass"),
    ],
    ids=lambda names: f"{names[0]} to {names[-1]}",
)
def test_order(names, width):
    scores = [rated(name, width).score for name in names]
    assert scores == sorted(set(scores)), dict(zip(names, scores, strict=True))


def test_a_course_of_them_climbs():
    lessons = [Lesson(name, (rated(name, 8.0),)) for name in NAMED]
    planned = plan_course(lessons, prerequisites=default_scale().prerequisites())
    assert planned.proven
    levels = [step.lesson.level for step in planned.steps]
    assert all(level >= max(levels[: k + 1]) - 1 for k, level in enumerate(levels))
    assert (levels[0], levels[-1]) == (1, 5)
    names = [step.lesson.source for step in planned.steps]
    assert names[0] == "four patch"
    assert names.index("eight-pointed diamond star") < names.index("mariner's compass")  # practice before a step up
    assert set(chain.from_iterable(step.new_skills for step in planned.steps)) == {
        skill for lesson in lessons for skill in lesson.skills
    }
    assert max(len(step.new_skills) for step in planned.steps) <= 2

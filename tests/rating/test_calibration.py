"""Traditional layouts come out in the order in which they are usually taught.

The levels and orders are common practice in the trade, written down from memory: squares and logs first, then stars
of split squares and the partial seam, then one curve, one mitre or eight points that meet; many set-in corners last.
"""

from __future__ import annotations

from functools import cache

import pytest

from seamtree.planning.build import plan
from seamtree.rating import rate
from tests.support import layouts

TAUGHT = {
    1: ("four patch", "nine patch", "log cabin", "courthouse steps", "square in a square", "flying geese"),
    2: ("star of split squares", "pineapple", "spun rectangles"),
    3: ("kaleidoscope", "attic window", "tumbling block", "quarter circle"),
    4: ("seven-hexagon flower",),
    5: ("eight-pointed diamond star",),
}

LAYOUTS = {
    "four patch": layouts.squares(2, 2),
    "nine patch": layouts.squares(3, 3),
    "log cabin": layouts.log_cabin(3),
    "courthouse steps": layouts.courthouse_steps(3),
    "square in a square": layouts.square_in_square(2),
    "flying geese": layouts.flying_geese(3),
    "star of split squares": layouts.split_square_star(),
    "pineapple": layouts.pineapple(3),
    "spun rectangles": layouts.spun_rectangles(),
    "kaleidoscope": layouts.kaleidoscope(),
    "attic window": layouts.attic_window(),
    "tumbling block": layouts.tumbling_block(),
    "quarter circle": layouts.quarter_circle(),
    "seven-hexagon flower": layouts.hexagon_flower(),
    "eight-pointed diamond star": layouts.diamond_star(),
}


@cache
def rated(name: str, width: float):
    return rate(plan(layouts.at_width(LAYOUTS[name], width)), changes=False)


@pytest.mark.parametrize(("level", "name"), [(level, name) for level, names in TAUGHT.items() for name in names])
def test_level_at_eight_inches(level, name):
    answer = rated(name, 8.0)
    assert answer.level == level
    assert answer.word == ("beginner", "confident beginner", "intermediate", "experienced", "advanced")[level - 1]


@pytest.mark.parametrize("width", [6.0, 8.0, 12.0])
@pytest.mark.parametrize(
    "names",
    [
        ("four patch", "nine patch", "star of split squares", "kaleidoscope", "eight-pointed diamond star"),
        ("log cabin", "pineapple", "kaleidoscope"),
        ("courthouse steps", "star of split squares"),
        ("square in a square", "star of split squares"),
        ("flying geese", "star of split squares"),
        ("nine patch", "spun rectangles", "quarter circle", "seven-hexagon flower", "eight-pointed diamond star"),
        ("spun rectangles", "attic window", "seven-hexagon flower"),
        ("spun rectangles", "tumbling block", "seven-hexagon flower"),
    ],
    ids=lambda names: f"{names[0]} to {names[-1]}",
)
def test_order(names, width):
    scores = [rated(name, width).score for name in names]
    assert scores == sorted(set(scores)), dict(zip(names, scores, strict=True))

from __future__ import annotations

from dataclasses import replace

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from seamtree.block.build import block_from_polygons
from seamtree.errors import DrawingError, Finding
from seamtree.planning.build import plan
from seamtree.rating import rate
from seamtree.rating.sizes import STEP, rate_at_widths
from tests.support import layouts

PLAIN = rate(plan(block_from_polygons([shapely.box(0, 0, 4, 4)])), changes=False)


def levels(*starts: float, faulty_below: float = 0.0):
    """Return what rates a drawing whose level is 1 from the first width on, 2 from the second, and so on, else 5."""

    def rated_at(width: float):
        if width < faulty_below:
            raise DrawingError(Finding("gap", f"Too small at {width:g}."), source="x")
        level = next((n for n, start in enumerate(starts, 1) if width >= start), 5)
        return (replace(PLAIN, level=level, width=width),)

    return rated_at


def test_a_level_begins_between_two_widths():
    sizes = rate_at_widths(levels(20, 10, 7), [12, 4, 8, 6])
    assert [row.width for row in sizes.rows] == [4, 6, 8, 12]
    assert [row.level for row in sizes.rows] == [5, 5, 3, 2]
    assert sizes.begins == ((4, 7), (3, 7), (2, 10))
    assert sizes.told == "level 4 from 7 in, level 3 from 7 in, level 2 from 10 in"


@given(
    st.lists(st.integers(1, 80), min_size=4, max_size=4),
    st.lists(st.integers(1, 80), min_size=1, max_size=5),
)
def test_where_a_level_begins_is_found_to_half_an_inch(starts, widths):
    starts = sorted((start / 4 for start in starts), reverse=True)
    rated_at = levels(*starts)
    sizes = rate_at_widths(rated_at, [width / 4 for width in widths])
    for level, width in sizes.begins:
        assert rated_at(width)[0].level <= level
        assert rated_at(width - STEP)[0].level > level
    reached = {row.level for row in sizes.rows}
    assert min(reached) in {level for level, _ in sizes.begins} or len(reached) == 1


def test_widths_at_which_it_cannot_be_rated():
    sizes = rate_at_widths(levels(9, faulty_below=5), [4, 6, 10])
    assert [row.fault for row in sizes.rows] == ["Too small at 4.", "", ""]
    assert sizes.rows[0].hardest is None
    assert dict(sizes.begins) == {5: 5, 4: 9, 3: 9, 2: 9, 1: 9}
    with pytest.raises(DrawingError, match="Too small at 4"):
        rate_at_widths(levels(9, faulty_below=5), [3, 4])


def test_one_level_at_all_widths():
    assert rate_at_widths(levels(1), [4, 8]).told == "level 1 at every one of these widths"
    assert rate_at_widths(levels(1), [4]).told == "level 1"


def test_a_level_that_is_lost_again_does_not_begin():
    def rated_at(width: float):
        return (replace(PLAIN, level={4: 3, 6: 2, 8: 3, 10: 2}.get(width, 3)),)

    assert rate_at_widths(rated_at, [4, 6, 8, 10]).begins == ((2, 10),)
    assert rate_at_widths(rated_at, [4, 6, 8]).told == "no level is the same from some width on"


def test_a_star_is_rated_anew_at_every_width():
    star = layouts.split_square_star()

    def rated_at(width: float):
        return (rate(plan(layouts.at_width(star, width)), changes=False),)

    sizes = rate_at_widths(rated_at, [3, 12])
    assert sizes.rows[0].level > sizes.rows[1].level
    for level, width in sizes.begins:
        assert rated_at(width)[0].level <= level < rated_at(width - STEP)[0].level
    answer = sizes.to_json("star.svg")
    assert [row["width"] for row in answer["widths"]] == [3, 12]
    assert answer["widths"][0]["score"] == sizes.rows[0].hardest.score
    assert [entry["level"] for entry in answer["begins"]] == [level for level, _ in sizes.begins]

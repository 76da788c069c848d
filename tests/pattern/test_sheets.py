"""Foundations turned, shared out among tiles, and packed."""

import math
from collections import Counter
from itertools import combinations, pairwise

import pytest
import shapely
from shapely import affinity

import seamtree
from seamtree.block.build import block_from_polygons
from seamtree.pattern.foundation import build_foundations
from seamtree.pattern.panels import caption_height, turn
from seamtree.pattern.paper import PAPERS, find_paper
from seamtree.pattern.pdf import text_width
from seamtree.pattern.sheets import lay_out
from seamtree.pattern.tiles import OVERLAP
from tests.search.straight.test_parts import squares

A4 = PAPERS["a4"]


def strip(width, height, degrees=0.0):
    """Return the foundation of two patches side by side, turned in the drawing."""
    halves = [shapely.box(0, 0, width / 2, height), shapely.box(width / 2, 0, width, height)]
    turned = [affinity.rotate(half, degrees, origin=(0, 0)) for half in halves]
    return build_foundations(seamtree.plan(block_from_polygons(turned)))


def boxes_of(sheet):
    found = []
    for placement in sheet.placements:
        x, y = placement.at
        panel = placement.panel
        found.append(shapely.box(x, y, x + panel.width, y + panel.height + caption_height(panel)))
    return found


@pytest.mark.parametrize("degrees", [90, 180, 270, 33.3, -120])
def test_turning_keeps_the_place_in_the_block(degrees):
    (foundation,) = strip(3, 1)
    turned = turn(foundation, degrees)
    back = math.radians(-turned.turned)
    for patch, other in zip(foundation.patches, turned.patches, strict=True):
        for (x, y), (u, v) in zip(patch.polygon, other.polygon, strict=True):
            before = foundation.corner[0] - x, foundation.corner[1] + y
            level = math.cos(back) * u - math.sin(back) * v, math.sin(back) * u + math.cos(back) * v
            assert math.dist(before, (turned.corner[0] - level[0], turned.corner[1] + level[1])) < 1e-9
    assert shapely.Polygon(turned.trim).bounds == pytest.approx((0, 0, turned.width, turned.height), abs=1e-9)


def test_small_foundations_share_a_sheet():
    sheets = lay_out(build_foundations(seamtree.plan(squares(3, 3))), A4, text_width)
    (sheet,) = sheets
    assert [placement.panel.foundation.unit for placement in sheet.placements] == ["A", "B", "C"]
    first, second, third = boxes_of(sheet)
    assert not first.intersects(second)
    assert not second.intersects(third)
    assert all(shapely.box(0, 0, *A4.room).contains(box) for box in (first, second, third))
    assert all(placement.panel.foundation.turned == 0 for placement in sheet.placements)
    assert sheet.placements[0].panel.caption == ()
    assert [name.text for name in sheet.placements[0].panel.names] == ["Unit A", "", "up", "3 patches", "like B, C"]


def test_a_long_foundation_is_turned():
    (sheet,) = lay_out(strip(10, 1), A4, text_width)
    (placement,) = sheet.placements
    assert (placement.panel.whole, placement.panel.foundation.turned) == (True, 90)


def test_a_longer_one_lies_on_the_diagonal():
    # A4 has 7.52 × 10.69 in of room; a strip of 12 × 3/4 in with its allowances fits at some 25 degrees.
    (sheet,) = lay_out(strip(11, 0.5), A4, text_width)
    (placement,) = sheet.placements
    assert placement.panel.whole
    assert placement.panel.foundation.turned % 90 > 5


def test_a_letter_sheet_holds_seven_and_a_half_by_ten():
    (sheet,) = lay_out(strip(7, 9.5), PAPERS["letter"], text_width)
    assert sheet.placements[0].panel.whole
    (sheet,) = lay_out(strip(9.5, 7), PAPERS["letter"], text_width)
    assert sheet.placements[0].panel.whole


def test_a_unit_of_seven_inches_fits_on_either_paper():
    for paper in PAPERS.values():
        (sheet,) = lay_out(strip(7, 7), paper, text_width)
        assert sheet.placements[0].panel.whole


def test_a_slanting_foundation_is_turned_level_before_it_comes_in_tiles():
    (sheet,) = lay_out(strip(8.5, 6, 40), A4, text_width)
    (placement,) = sheet.placements
    assert placement.panel.whole
    assert placement.panel.foundation.turned % 90 != 0


def test_tiles_cover_the_foundation_and_overlap():
    foundations = strip(20, 12)
    panels = [placement.panel for sheet in lay_out(foundations, A4, text_width) for placement in sheet.placements]
    assert [panel.tile for panel in panels] == list(range(1, len(panels) + 1))
    windows = [shapely.box(*panel.window) for panel in panels]
    whole = shapely.Polygon(panels[0].foundation.trim)
    assert shapely.union_all(windows).covers(whole.buffer(-1e-9))
    for a, b in pairwise(panels):
        if a.window[1] == b.window[1]:
            assert a.window[2] - b.window[0] == pytest.approx(OVERLAP)
    assert sorted(label.patch for panel in panels for label in panel.labels) == ["A1", "A2"]
    for panel in panels:
        assert panel.width <= A4.room[0]
        assert panel.height + caption_height(panel) <= A4.room[1]
        assert all(shapely.box(*panel.window).contains(shapely.Point(mark.at)) for mark in panel.marks)
    glued = Counter(line for panel in panels for line in panel.glue)
    assert min(glued.values()) >= 2
    assert all(
        shapely.box(*p.window).buffer(1e-9).covers(shapely.LineString(line)) for p in panels for line in p.glue
    )
    places = {}
    for panel in panels:
        for mark in panel.marks:
            assert places.setdefault(mark.name, mark.at) == mark.at


@pytest.mark.parametrize("far", [0.5, 3.0, 4.5, 5.0, 5.5, 6.0])
def test_marks_of_tiles_lie_on_what_is_cut_out(far):
    wedge = [[(0, 0), (20, 0), (0, 12)], [(0, 12), (20, 0), (20, far), (0.5, 12.2)]]
    foundations = build_foundations(seamtree.plan(block_from_polygons(wedge)))
    panels = [placement.panel for sheet in lay_out(foundations, A4, text_width) for placement in sheet.placements]
    marks = {mark.name: mark.at for panel in panels for mark in panel.marks}
    paper = shapely.Polygon(panels[0].foundation.trim)
    assert len(marks) > 4
    for panel in panels:
        window = shapely.box(*panel.window).buffer(1e-9)
        assert all(window.covers(shapely.LineString(line)) for line in panel.glue)
    assert all(shapely.Point(at).distance(paper) < 0.4 for at in marks.values())
    assert sum(paper.contains(shapely.Point(at)) for at in marks.values()) > len(marks) / 2
    for one, other in combinations(marks.values(), 2):
        assert math.dist(one, other) > 0.22


@pytest.mark.parametrize(
    ("size", "where"),
    [((12, 7), "from left to right"), ((6.5, 13), "from top to bottom"), ((10, 14), "row 1 of 2, column 1 of 2")],
)
def test_tiles_say_where_they_belong(size, where):
    first = lay_out(strip(*size), A4, text_width)[0].placements[0].panel
    assert " ".join(first.caption).endswith(f" · {where}")


def test_papers():
    assert find_paper(" A4 ").width * 25.4 == pytest.approx(210)
    assert find_paper("letter").height == 11


def test_a_tile_with_nothing_on_it_is_not_printed():
    wedge = [[(0, 0), (20, 0), (0, 12)], [(0, 12), (20, 0), (20, 0.5), (0.5, 12.2)]]
    foundations = build_foundations(seamtree.plan(block_from_polygons(wedge)))
    panels = [placement.panel for sheet in lay_out(foundations, A4, text_width) for placement in sheet.placements]
    trim = shapely.Polygon(panels[0].foundation.trim)
    box = shapely.union_all([shapely.box(*panel.window) for panel in panels])
    assert box.covers(trim.buffer(-1e-9))
    assert box.area < trim.envelope.area - 10
    assert {panel.tiles for panel in panels} == {len(panels)}
    marks = [mark.name for panel in panels for mark in panel.marks]
    assert all(marks.count(name) >= 2 for name in marks)

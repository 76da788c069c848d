"""Drawings in which patches float, or touch themselves, as they are drawn."""

from __future__ import annotations

import pytest

from seamtree.block.build import block_from_polygons, build_sketches
from seamtree.block.sketch import sketch_of
from seamtree.drawing.svg.read import read_svg
from seamtree.drawing.wkt import read_wkt
from seamtree.errors import DrawingError
from tests.support.emblems import SQUARE, sketch
from tests.support.layouts import spun_rectangles
from tests.support.wkt import GAP


def test_a_motif_floats_in_its_background():
    made = sketch(SQUARE)
    assert [fault.code for fault in made.faults] == ["patch-in-patch"]
    assert sorted(area.shape.area for area in made.areas) == pytest.approx([16, 48])
    assert {area.fabric for area in made.areas} == {"#87ceeb", "#c8102e"}
    assert sum(made.outline) == 4
    assert len(made.edges) == 8
    assert made.bounds == (0, 0, 8, 8)


def test_a_patch_that_touches_itself():
    made = sketch([(2, 2), (4, 4), (2, 4)], [(4, 4), (6, 4), (6, 6)])
    assert [fault.code for fault in made.faults] == ["patch-in-patch"]
    ring = sketch([(4, 0), (6, 4), (2, 4)])
    assert [fault.code for fault in ring.faults] == ["touches-itself"]
    assert sum(ring.outline) == 5


def test_several_blocks_and_where_they_lie():
    text = (
        '<svg xmlns="http://www.w3.org/2000/svg" width="20in" height="9in" viewBox="0 0 20 9">'
        '<path fill="#87ceeb" d="M1 1H9V9H1Z"/><path fill="#c8102e" d="M3 3H6V6H3Z"/>'
        '<path fill="#87ceeb" d="M11 0H19V8H11Z"/><path fill="#87ceeb" d="M11 0H15V8H11Z"/></svg>'
    )
    first, second = build_sketches(read_svg(text.encode(), source="two.svg"))
    assert (first.name, second.name) == ("two 1", "two 2")
    assert [len(first.faults), len(second.faults)] == [1, 0]
    assert first.corner == pytest.approx((1, 1))
    assert second.corner == pytest.approx((11, 0))


def test_other_faults_are_refused():
    with pytest.raises(DrawingError, match="gap"):
        build_sketches(read_wkt(GAP.encode(), source="gap.wkt"))


def test_a_block_as_a_sketch():
    block = block_from_polygons(spun_rectangles())
    made = sketch_of(block)
    assert len(made.areas) == 5
    assert made.faults == ()
    assert sum(made.outline) == len(block.edges) - len(block.interior_edges)

"""Blocks drawn without a plan."""

from __future__ import annotations

import re

import pytest
import shapely

import seamtree
from seamtree.picture.bare import draw_block
from seamtree.picture.shapes import Polygon
from tests.support import layouts


def patches_of(picture):
    return [shape for shape in picture.shapes() if isinstance(shape, Polygon)]


def test_every_patch_has_its_fabric_its_shape_and_its_number():
    block = seamtree.block_from_polygons(
        layouts.square_in_square(), fabrics=[f"#0000{n:02x}" for n in range(len(layouts.square_in_square()))]
    )
    picture = draw_block(block)
    shapes = patches_of(picture)
    assert [shape.fill for shape in shapes] == [patch.fabric for patch in block.patches]
    assert [shape.name for shape in shapes] == [f"patch {p}" for p in range(len(block.patches))]
    scale = 360 / max(block.width, block.height)
    for p, shape in enumerate(shapes):
        area = shapely.Polygon(block.polygon(p)).area * scale * scale
        assert shapely.Polygon(shape.points).area == pytest.approx(area)


@pytest.mark.parametrize(
    "block", [layouts.quarter_circle(), seamtree.block_from_polygons([[(9, 9), (12, 9), (9, 11)]])]
)
def test_nothing_sticks_out(block):
    picture = draw_block(block)
    for shape in picture.shapes():
        points = shape.points if isinstance(shape, Polygon) else [at for path in shape.paths for at in path]
        for x, y in points:
            assert 1 <= x <= picture.width - 1
            assert 1 <= y <= picture.height - 1


def test_a_fabric_that_is_no_colour_is_pale_and_a_name_that_does_not_print_is_told_otherwise():
    block = seamtree.block_from_polygons(
        [[(0, 0), (3, 0), (0, 3)]], fabrics=["sail cloth"], name="\x07" + "pier " * 90
    )
    picture = draw_block(block)
    (patch,) = patches_of(picture)
    assert re.fullmatch("#[0-9a-f]{6}", patch.fill)
    assert len(picture.title) <= 81
    assert picture.title.isprintable()

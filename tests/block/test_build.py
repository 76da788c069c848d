"""From drawings to blocks: names, places, fabrics, labels, markings and what is told about them."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

import seamtree
from seamtree.block.build import block_from_polygons
from seamtree.block.check import check_structure
from seamtree.drawing.drawn import STRAIGHT, Label, Track
from seamtree.errors import DrawingError, Finding
from tests.block.drawn import area, blocks, box, codes, frame, line, one_block


def test_a_single_patch() -> None:
    block = one_block(box(1, 1, 4, 3, fill="#abcdef"))
    assert (block.width, block.height) == (3, 2)
    assert block.junctions == ((0, 0), (3, 0), (0, 2), (3, 2))
    assert len(block.edges) == 4
    assert block.lines == ()
    assert block.patches[0].fabric == "#abcdef"


def test_the_name_is_that_of_the_file() -> None:
    assert one_block(box(0, 0, 1, 1), source="harbour/dinghy.svg").name == "dinghy"
    assert one_block(box(0, 0, 1, 1), source="-").name == "drawing"
    assert one_block(box(0, 0, 1, 1), source="north.star.geojson").name == "north.star"


def test_several_blocks_are_sorted_by_left_then_top_and_numbered() -> None:
    built = blocks(box(5, 0, 6, 1), box(0, 5, 1, 7), box(0, 0, 3, 1))
    assert [block.name for block in built] == ["dinghy 1", "dinghy 2", "dinghy 3"]
    assert [(block.width, block.height) for block in built] == [(3, 1), (1, 2), (1, 1)]
    assert all(block.junctions[0] == (0, 0) for block in built)


def test_parts_that_touch_in_a_point_are_separate_blocks() -> None:
    built = blocks(box(0, 0, 2, 2), box(2, 2, 4, 4))
    assert [len(block.patches) for block in built] == [1, 1]


def test_bare_lines() -> None:
    block = one_block(frame(0, 0, 4, 4), line((2, 0), (2, 4)), line((0, 2), (4, 2)))
    assert len(block.patches) == 4
    assert {patch.fabric for patch in block.patches} == {None}
    assert len(block.lines) == 2


def test_mixed_ways_of_drawing() -> None:
    block = one_block(box(0, 0, 4, 4, fill="#111111"), box(2, 0, 4, 2, fill="#222222"), line((0, 2), (2, 2)),
                      line((2, 2), (2, 4)))  # fmt: skip
    assert [patch.fabric for patch in block.patches] == ["#111111", "#222222", "#111111", "#111111"]


def test_numbers_depend_on_the_drawing_and_not_on_its_order() -> None:
    shapes = [box(0, 0, 2, 2, fill="#1"), box(2, 0, 4, 2, fill="#2"), box(0, 2, 4, 4, fill="#3")]
    assert one_block(*shapes) == one_block(*shapes[::-1])


def test_labels_belong_to_the_patch_that_they_sit_in() -> None:
    labels = (Label("A1", (1, 1)), Label("A2", (3, 1)), Label("left", (0.5, 1.5)))
    block = one_block(box(0, 0, 2, 2), box(2, 0, 4, 2), labels=labels)
    assert [patch.label for patch in block.patches] == ["A1 left", "A2"]
    assert block.notes == ()


def test_a_text_outside_is_told() -> None:
    block = one_block(box(1, 1, 3, 3), labels=(Label("Dinghy, 6 in", (2, 4)),))
    (note,) = block.notes
    assert note.code == "label-outside"
    assert note.at == (1, 3)
    assert "'Dinghy, 6 in'" in note.message
    assert block.patches[0].label is None


def test_markings_move_with_their_block() -> None:
    stitching = Track(((2, 2), (3, 2)), False, (STRAIGHT,))
    block = one_block(box(1, 1, 4, 4), markings=(stitching,))
    assert block.markings == (Track(((1, 1), (2, 1)), False, (STRAIGHT,)),)


def test_markings_belong_to_the_block_that_they_lie_on() -> None:
    stitching = (Track(((0.2, 1), (0.8, 1)), False, (STRAIGHT,)), Track(((6, 1), (7, 1)), False, (STRAIGHT,)))
    left, right = blocks(box(0, 0, 2, 2), box(5, 0, 8, 2), markings=stitching)
    assert left.markings == (stitching[0],)
    assert right.markings == (Track(((1, 1), (2, 1)), False, (STRAIGHT,)),)


def test_notes_of_the_reader_travel_along_in_the_frame_of_the_block() -> None:
    notes = (Finding("page-left-out", "The page is left out."), Finding("clip-ignored", "A clip.", (3.0, 4.0)))
    block = one_block(box(1, 2, 4, 6), notes=notes)
    assert block.notes == (notes[0], Finding("clip-ignored", "A clip.", (2.0, 2.0)))


def test_pinched_patches_and_outlines_with_inward_corners() -> None:
    hourglass = area((0, 0), (4, 0), (2, 2), (4, 4), (0, 4), (2, 2))
    ground = box(0, 0, 4, 4)
    built = blocks(ground, hourglass)
    assert sum(len(block.patches) for block in built) == 4
    gull = one_block(area((0, 0), (3, 2), (6, 0), (3, 4)))
    assert len(gull.edges) == 4


def test_the_size_is_that_of_the_bounding_box() -> None:
    block = one_block(area((0, 3), (4, 0), (9, 5), (2, 8)))
    assert (block.width, block.height) == (9, 8)


# -- polygons -------------------------------------------------------------------------------------------------


def test_blocks_from_polygons() -> None:
    block = block_from_polygons(
        [[(0, 0), (2, 0), (2, 2), (0, 2)], shapely.box(2, 0, 4, 2), shapely.box(0, 2, 4, 3).__geo_interface__],
        fabrics=["sky", None, "sand"],
        labels=["A1", None, "A3"],
        name="pier",
    )
    check_structure(block)
    assert [(patch.fabric, patch.label) for patch in block.patches] == [("sky", "A1"), (None, None), ("sand", "A3")]
    assert block.name == "pier"
    assert block.tolerance == 0.02


def test_blocks_from_arrays() -> None:
    assert (
        len(block_from_polygons([np.array([[0, 0], [2, 0], [2, 2]]), np.array([[0, 0], [2, 2], [0, 2]])]).patches)
        == 2
    )


def test_the_name_may_look_like_a_file() -> None:
    assert block_from_polygons([shapely.box(0, 0, 1, 1)], name="pier 1.5").name == "pier 1.5"


@pytest.mark.parametrize(
    ("polygons", "code"),
    [
        ([shapely.box(0, 0, 2, 2), shapely.box(1, 0, 3, 2)], "overlap"),
        ([shapely.box(0, 0, 2, 2), shapely.box(0, 0, 2, 2)], "doubled"),
        ([shapely.box(0, 0, 2, 2), shapely.box(5, 0, 7, 2)], "several-blocks"),
        ([[(0, 0), (2, 2), (2, 0), (0, 2)]], "self-crossing"),
        ([[(0, 0), (2, 2), (1, 1)]], "self-crossing"),
        ([shapely.Polygon()], "zero-size"),
        ([shapely.LineString([(0, 0), (1, 1)]).__geo_interface__], "zero-size"),
        ([shapely.box(0, 0, 6, 6).difference(shapely.box(2, 2, 4, 4))], "patch-in-patch"),
        ([], "empty"),
    ],
)
def test_polygons_that_make_no_block(polygons: list, code: str) -> None:
    with pytest.raises(DrawingError) as caught:
        block_from_polygons(polygons, tolerance=0.02, name="pier")
    assert code in codes(caught.value.findings)


def test_fabrics_must_be_as_many_as_polygons() -> None:
    with pytest.raises(ValueError, match="fabrics must be 1, one for each polygon, not 2"):
        block_from_polygons([shapely.box(0, 0, 1, 1)], fabrics=["a", "b"])


# -- the whole way --------------------------------------------------------------------------------------------


def test_read_is_the_way_from_a_file_to_its_blocks(tmp_path) -> None:
    path = tmp_path / "pier.wkt"
    path.write_text("POLYGON ((0 0, 2 0, 2 2, 0 2, 0 0))\nPOLYGON ((2 0, 4 0, 4 2, 2 2, 2 0))\n")
    (block,) = seamtree.read(path)
    assert block.name == "pier"
    assert (block.width, block.height) == (4, 2)
    (wide,) = seamtree.read(str(path), width=8.0, tolerance=0.01)
    assert (wide.width, wide.height, wide.tolerance) == (8, 4, 0.01)

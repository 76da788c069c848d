"""Small shapes inside one patch, and text turned into outlines, are markings and no seams."""

from __future__ import annotations

import pytest

from seamtree.block.build import build_blocks
from seamtree.block.check import check_structure
from seamtree.drawing.geojson import read_geojson
from seamtree.errors import DrawingError
from tests.block.drawn import blocks, box, codes, faults, line, one_block
from tests.drawing.svg.helps import read

FIELD = (box(0, 0, 4, 6, fill="#1f3a5f"), box(4, 0, 8, 6, fill="#d9b77e"))


def notes(block):
    return [note.message for note in block.notes if note.code == "small-shapes"]


@pytest.mark.parametrize("fill", ["#c8402f", None])
def test_a_button_inside_a_patch_is_a_marking(fill) -> None:
    block = one_block(*FIELD, box(1, 1, 1.9, 1.9, fill=fill, stroked=True))
    check_structure(block)
    assert (len(block.patches), len(block.markings)) == (2, 1)
    assert [patch.fabric for patch in block.patches] == ["#1f3a5f", "#d9b77e"]
    (message,) = notes(block)
    assert message.startswith("1 small closed line inside a patch, at (1.45, 1.45) in and 0.9 in large, is a marking")


def test_what_is_as_large_as_an_inch_stays_a_motif_on_a_background() -> None:
    assert codes(faults(*FIELD, box(1, 1, 2, 1.5))) == ["patch-in-patch"]
    assert codes(faults(*FIELD, box(1, 1, 1.5, 2))) == ["patch-in-patch"]


def test_what_lies_on_a_seam_or_meets_one_is_no_marking() -> None:
    assert len(one_block(*FIELD, box(3.6, 2, 4.4, 2.8, fill="#c8402f")).markings) == 0
    assert len(one_block(*FIELD, box(3.2, 2, 4, 2.8, fill="#c8402f")).markings) == 0
    assert len(one_block(*FIELD, box(0, 2, 0.8, 2.8, fill="#c8402f")).patches) == 3


def test_an_eye_with_its_pupil_and_a_button_with_holes_are_taken_off_whole() -> None:
    eye = (box(1, 1, 1.8, 1.8, fill="#ffffff"), box(1.2, 1.2, 1.6, 1.6, fill="#000000"))
    holes = tuple(box(5 + x, 2 + y, 5.1 + x, 2.1 + y) for x in (0.2, 0.5) for y in (0.2, 0.5))
    block = one_block(*FIELD, *eye, box(5, 2, 5.8, 2.8), *holes, line((5.3, 2.4), (5.5, 2.4)))
    assert len(block.patches) == 2
    assert len(block.markings) == 8
    assert "8 small closed lines inside patches, one of them at (1.40, 1.40) in" in notes(block)[0]


def test_a_small_shape_inside_a_motif_is_taken_off_and_the_motif_stays() -> None:
    findings = faults(*FIELD, box(1, 1, 3, 3, fill="#ffffff"), box(1.5, 1.5, 2, 2))
    assert codes(findings) == ["patch-in-patch"]


def test_a_hole_that_was_cut_out_for_a_button_is_filled_again() -> None:
    drawing = read(
        '<path fill="teal" fill-rule="evenodd" d="M0 0H8V8H0zM3 3H3.5V3.5H3z"/>'
        '<rect x="3" y="3" width=".5" height=".5" fill="gold"/>'
    )
    (block,) = build_blocks(drawing)
    assert [patch.fabric for patch in block.patches] == ["#008080"]
    assert len(block.markings) == 2


def test_text_turned_into_outlines_is_a_marking() -> None:
    word = [box(1 + 0.3 * k, 1, 1.2 + 0.3 * k, 1.4, fill="#000000", name=f"path {k}") for k in range(8)]
    block = one_block(*FIELD, *word)
    assert (len(block.patches), len(block.markings)) == (2, 8)
    thin = [box(1 + 0.1 * k, 1, 1.01 + 0.1 * k, 1.15, fill="#000000") for k in range(9)]
    block = one_block(*FIELD, *thin)
    assert (len(block.patches), len(block.markings)) == (2, 9)


def test_every_block_has_its_own_markings() -> None:
    pair = (*FIELD, box(10, 0, 14, 6), box(1, 1, 1.5, 1.5, fill="#ffffff"), box(11, 1, 11.5, 1.5, fill="#ffffff"))
    assert [len(block.markings) for block in blocks(*pair)] == [1, 1]


def test_in_a_map_a_polygon_on_another_is_a_fault_and_a_small_ring_of_lines_is_a_marking() -> None:
    def square(left, size):
        return [[left, left], [left + size, left], [left + size, left + size], [left, left + size], [left, left]]

    def collection(kind):
        outer, inner = square(0, 6), square(2, 0.5)
        line_or_area = [inner] if kind == "Polygon" else inner
        return (
            '{"type": "GeometryCollection", "geometries": ['
            f'{{"type": "Polygon", "coordinates": {[outer]}}}, {{"type": "{kind}", "coordinates": {line_or_area}}}]}}'
        ).encode()

    (block,) = build_blocks(read_geojson(collection("LineString"), source="t.json"))
    assert (len(block.patches), len(block.markings)) == (1, 1)
    with pytest.raises(DrawingError):
        build_blocks(read_geojson(collection("Polygon"), source="t.json"))

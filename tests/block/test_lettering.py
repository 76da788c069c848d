"""Words turned into outlines are markings wherever they lie; small patches are none."""

from __future__ import annotations

import os

import pytest
from benchmarks.emblems import drawing as emblem

from seamtree.block.build import build_blocks, build_sketches
from seamtree.block.lettering import find_lettering
from seamtree.drawing.svg.read import read_svg
from seamtree.tolerances import TOLERANCE
from tests.block.drawn import area, box, drawing, frame, line, one_block
from tests.drawing.svg.helps import read
from tests.support.letters import any_word, outlines

EMBLEMS = 271
STEP = 1 if os.environ.get("SEAMTREE_HYPOTHESIS") == "deep" else 17
FIELDS = '<rect width="5" height="10" fill="navy"/><rect x="5" width="5" height="10" fill="tan"/>'


def found(*shapes):
    return find_lettering(drawing(*shapes), tolerance=TOLERANCE)


@pytest.mark.parametrize("seed", range(0, EMBLEMS, STEP))
def test_no_emblem_is_refused_or_read_otherwise_for_its_letters(seed):
    plain = emblem(seed)
    lettered = plain.replace(b"</svg>", any_word(seed).encode() + b"</svg>")
    (bare,), (made,) = (build_sketches(read_svg(data, source="emblem.svg")) for data in (plain, lettered))
    assert [fault.code for fault in made.faults] == [fault.code for fault in bare.faults]
    assert [part.fabric for part in made.areas] == [part.fabric for part in bare.areas]
    assert made.points == bare.points
    assert len(made.markings) > len(bare.markings)
    assert any(note.code == "small-shapes" and "a marking" in note.message for note in made.notes)


@pytest.mark.parametrize("apart", [False, True])
def test_a_word_across_a_seam(apart):
    (block,) = build_blocks(read(FIELDS + outlines("Dinghy", at=(4, 5), size=0.8, apart=apart)))
    assert [patch.fabric for patch in block.patches] == ["#000080", "#d2b48c"]
    (note,) = block.notes
    assert note.message.startswith("Text turned into outlines, 7 closed lines, one of them at (")
    assert {track.fill for track in block.markings} == {"#111111"}


def test_a_title_beside_the_block_is_no_part_of_it():
    (block,) = build_blocks(read(FIELDS + outlines("Tide pool", at=(1, 11), size=0.5)))
    assert (block.width, block.height, len(block.patches)) == (10, 10, 2)


def test_places_are_told_from_the_corner_of_the_block():
    (block,) = build_blocks(read(outlines("Tide pool", at=(-3, -1), size=0.5) + FIELDS))
    note = block.notes[-1]
    assert "at (-2." in note.message
    assert note.at == pytest.approx((-2.85, -1.18), abs=0.05)


def test_a_word_alone_is_no_marking_of_anything():
    assert find_lettering(read(outlines("BUOY", at=(1, 1), size=0.9)), tolerance=TOLERANCE) == set()


def test_words_as_large_as_patches_are_motifs():
    assert find_lettering(read(FIELDS + outlines("BUOY", at=(1, 5), size=2)), tolerance=TOLERANCE) == set()


WALL = box(0, 0, 8, 8)


def hooked(x, y, a):
    """An L: one inward corner."""
    return area((x, y), (x + a, y), (x + a, y + a / 3), (x + a / 3, y + a / 3), (x + a / 3, y + a), (x, y + a))


@pytest.mark.parametrize(
    "shapes",
    [
        # Windows, alike and convex; hooks, alike; three sizes of convex ones.
        [box(1 + k, 3.6, 1.5 + k, 4.4) for k in range(5)],
        [hooked(1 + k, 3.6, 0.8) for k in range(5)],
        [box(1 + k, 3.6, 1.5 + k, 3.8 + 0.1 * k) for k in range(5)],
        # Different hooks, but in different paints, far apart, or edge to edge.
        [area(*hooked(1 + k, 3, 0.4 + 0.1 * k).tracks[0].points, fill=f"#00000{k}") for k in range(5)],
        [hooked(2.5 * k, 3, 0.4 + 0.1 * k) for k in range(3)],
        [shape for k in range(4) for shape in (hooked(1 + k, 3, 0.6 + 0.1 * k), box(1.3 + k, 3.3, 2 + k, 4))],
        # Lines that are not closed.
        [line((1 + k, 1), (1.5 + k, 1), (1.2 + k, 1 + 0.1 * k)) for k in range(5)],
    ],
)
def test_small_patches_and_lines_are_no_letters(shapes):
    assert found(WALL, line((0, 4), (8, 4)), *shapes) == set()


def test_different_hollow_shapes_in_a_row_are_letters():
    shapes = [hooked(1 + k, 3.6, 0.5 + 0.1 * k) for k in range(4)]
    assert found(WALL, line((0, 4), (8, 4)), *shapes) == {(k, 0) for k in range(2, 6)}


def test_outlines_that_cross_each_other_come_to_an_end():
    rings = [hooked(1 + 0.1 * k, 1 + 0.1 * (k % 3), 0.9 - 0.1 * (k % 4)) for k in range(6)]
    found(WALL, *rings)


def test_polygons_of_a_map_are_no_letters():
    shapes = [hooked(1 + k, 3.6, 0.5 + 0.1 * k) for k in range(4)]
    assert find_lettering(drawing(WALL, *shapes, kind="polygons"), tolerance=TOLERANCE) == set()


def test_a_small_block_stays_as_it_is():
    block = one_block(frame(0, 0, 2, 2), *(line((x / 4, 0), (x / 4, 2)) for x in range(1, 8)))
    assert len(block.patches) == 8

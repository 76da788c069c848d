"""Notes of one kind are told once, with a count."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from seamtree.block.build import build_blocks
from seamtree.block.notes import gathered
from seamtree.errors import Finding
from tests.block.drawn import area, blocks, box
from tests.drawing.svg.helps import read


def note(number: int, code: str = "unfilled-patch", *, placed: bool = True) -> Finding:
    return Finding(code, f"Note {number}.", (float(number), 0.5) if placed else None, (str(number),))


@pytest.mark.parametrize(
    ("count", "said"),
    [
        (1, "Note 0."),
        (2, "Note 0. Another one like this: at 1.00, 0.50."),
        (3, "Note 0. 2 more like this: at 1.00, 0.50 and 2.00, 0.50."),
        (5, "Note 0. 4 more like this: at 1.00, 0.50, 2.00, 0.50, 3.00, 0.50 and 1 other place."),
        (40, "Note 0. 39 more like this: at 1.00, 0.50, 2.00, 0.50, 3.00, 0.50 and 36 other places."),
    ],
)
def test_notes_of_one_kind(count, said):
    (one,) = gathered(note(k) for k in range(count))
    assert (one.message, one.at) == (said, (0.0, 0.5))
    assert one.patches == tuple(str(k) for k in range(count))


def test_notes_without_a_place_and_notes_told_twice():
    (one,) = gathered([note(0, placed=False), note(1, placed=False), note(2, placed=False)])
    assert one.message == "Note 0. 2 more like this."
    assert gathered([note(0), note(0)]) == (note(0),)


@given(st.lists(st.tuples(st.integers(0, 5), st.sampled_from("abc"))))
def test_every_kind_is_told_once_in_the_order_of_the_first(told):
    notes = [note(number, code) for number, code in told]
    made = gathered(notes)
    assert [one.code for one in made] == list(dict.fromkeys(code for _, code in told))
    assert {p for one in made for p in one.patches} == {n.patches[0] for n in notes}
    assert gathered(made) == made


def test_clips_of_many_shapes_are_one_note():
    clip = '<clipPath id="c"><rect width="10" height="4"/></clipPath>'
    strips = "".join(
        f'<rect x="{x}" width="2" height="8" fill="#1f3a5f" stroke="#fff" clip-path="url(#c)"/>'
        for x in (0, 2, 4, 6, 8)
    )
    (block,) = build_blocks(read(clip + strips))
    (one,) = (n for n in block.notes if n.code == "clip-ignored")
    assert "rect 2 at (1.00, 4.00) in is not applied" in one.message
    assert one.message.endswith("4 more like this: at 3.00, 4.00, 5.00, 4.00, 7.00, 4.00 and 1 other place.")


@pytest.mark.parametrize(
    ("across", "down", "told"),
    [
        (36, 36, None),
        (36.1, 5, "is 36.1 × 5 in; blocks are hardly larger than 36 in."),
        (12, 60, "is 12 × 60 in; blocks are hardly larger"),
        (2, 0.5, None),
        (1.9, 1.5, "is 1.9 × 1.5 in; blocks are hardly smaller than 2 in."),
    ],
)
def test_blocks_of_unusual_size_are_told(across, down, told):
    (block,) = build_blocks(
        read(f'<rect width="{across}" height="{down}" fill="teal"/>', 'width="96in" viewBox="0 0 96 96"')
    )
    notes = [note for note in block.notes if note.code == "unusual-size"]
    assert len(notes) == (told is not None)
    assert not told or told in notes[0].message


def bites(*shapes):
    return [note for block in blocks(*shapes) for note in block.notes if note.code == "bitten-outline"]


@pytest.mark.parametrize(("x", "y"), [(0, 0), (4, 0), (6, 2), (2, 6), (6, 6)])
def test_a_patch_forgotten_at_the_outline(x, y):
    cells = [(a, b) for a in range(0, 8, 2) for b in range(0, 8, 2)]
    patches = [box(a, b, a + 2, b + 2) for a, b in cells if (a, b) != (x, y)]
    (note,) = bites(*patches)
    assert f"but for a bite of 2 × 2 in at ({x + 1}.00, {y + 1}.00) in" in note.message
    assert note.at == (x + 1.0, y + 1.0)
    assert not bites(*patches, box(x, y, x + 2, y + 2))


def test_a_corner_triangle_forgotten():
    (note,) = bites(box(0, 0, 4, 8), area((4, 0), (6, 0), (8, 2), (8, 8), (4, 8)))
    assert "a bite of 2 × 2 in" in note.message.replace("1.99", "2")


@pytest.mark.parametrize(
    "outline",
    [
        [(0, 0), (4, 0), (8, 8), (0, 8)],  # a slanted side
        [(0, 0), (8, 8), (0, 8)],
        [(2, 0), (6, 0), (8, 2), (8, 6), (6, 8), (2, 8), (0, 6), (0, 2)],  # four corners
        [(0, 0), (6, 0), (6, 2), (8, 2), (8, 6), (6, 6), (6, 8), (0, 8)],  # two
        [(0, 0), (3, 0), (3, 5), (8, 5), (8, 8), (0, 8)],  # an angle
        [(0, 0), (7.985, 0), (8, 0.02), (8, 8), (0, 8)],  # within the tolerance
    ],
)
def test_outlines_that_are_meant(outline):
    assert not bites(area(*outline))


def test_two_blocks_are_looked_at_each():
    both = [area((10, 0), (14, 0), (14, 3), (13, 3), (13, 4), (10, 4)), box(0, 0, 4, 4)]
    assert [note.at for note in bites(*both)] == [(3.5, 3.5)]

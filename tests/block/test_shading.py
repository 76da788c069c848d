"""What see-through paint covers, and see-through paint that may have been meant as a patch."""

import pytest

from seamtree.block.build import build_blocks
from seamtree.errors import DrawingError
from tests.drawing.svg.helps import read

FOUR = "".join(
    f'<rect x="{x}" y="{y}" width="4" height="4" fill="{fill}"/>'
    for x, y, fill in ((0, 0, "teal"), (4, 0, "navy"), (0, 4, "tan"), (4, 4, "red"))
)


def blocks(body):
    return build_blocks(read(body))


def shading(body):
    (block,) = blocks(body)
    assert len(block.patches) == 4
    return [(note.message, note.patches) for note in block.notes if note.code == "shading-left-out"]


def test_shading_over_the_whole_block_swallows_nothing():
    ((message, patches),) = shading(FOUR + '<rect id="dusk" width="8" height="8" opacity=".3"/>')
    assert message.startswith("The fill of dusk is 30% opaque: shading and no patch, so it is left out. It covers 4 ")
    assert patches == ("0", "1", "2", "3")


def test_what_is_covered_is_told_by_patch():
    ((message, patches),) = shading(FOUR + '<circle id="glow" cx="2" cy="2" r="1" fill="#fff" opacity=".3"/>')
    assert "covers 1 patch, at (" in message
    assert patches == ("0",)


def test_what_touches_a_patch_does_not_cover_it():
    ((_, patches),) = shading(FOUR + '<rect width="4.01" height="4" opacity=".3"/>')
    assert patches == ("0",)


def test_several_shadings_are_one_note():
    dots = "".join(f'<circle cx="{x}" cy="2" r=".5" opacity=".3"/>' for x in (1, 2, 3, 5, 6, 7))
    ((message, patches),) = shading(FOUR + dots)
    assert "5 more like this" in message
    assert patches == ("0", "1")


def test_paint_that_is_hidden_is_not_worth_a_word():
    assert shading('<rect width="8" height="8" opacity=".3"/>' + FOUR) == []


def test_a_shadow_below_the_block_covers_nothing_and_is_told():
    ((message, patches),) = shading('<rect x=".2" y=".2" width="8" height="8" opacity=".3"/>' + FOUR)
    assert "It covers no patches" in message
    assert patches == ()


def test_a_glow_that_is_larger_than_the_block():
    ((_, patches),) = shading(FOUR + '<circle cx="4" cy="4" r="9" fill="gold" opacity=".3"/>')
    assert len(patches) == 4


def test_a_see_through_patch_beside_the_others_is_never_left_out_in_silence():
    with pytest.raises(DrawingError) as caught:
        blocks(FOUR + '<rect id="sea" x="8" width="4" height="8" fill="blue" fill-opacity=".7"/>')
    (finding,) = caught.value.findings
    assert finding.code == "see-through-patch"
    assert "The fill of sea at (10.00, 4.00) in is 70% opaque" in finding.message
    assert finding.at == pytest.approx((10, 4))


def test_two_blocks_have_the_notes_on_what_covers_them():
    first, second = blocks(FOUR + f'<g transform="translate(20)">{FOUR}</g><rect width="4" height="4" opacity=".5"/>')
    assert [[n.patches for n in b.notes if n.code == "shading-left-out"] for b in (first, second)] == [[("0",)], []]

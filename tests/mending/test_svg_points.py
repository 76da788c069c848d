"""Points moved in an SVG file, and nothing else."""

from __future__ import annotations

import pytest

from seamtree.drawing.svg.read import read_svg
from seamtree.mending.slips import mend_slips
from seamtree.mending.svg_points import move_points

HEAD = '<svg xmlns="http://www.w3.org/2000/svg" width="200mm" height="200mm" viewBox="0 0 200 200">'
OPEN = '<g id="seams" transform="translate(3,4)" fill="none" stroke="#000">'
FRAME = '<rect id="frame" x="0" y="0" width="180" height="180"/>'
MAST = '<line id="mast" x1="80" y1="0" x2="80" y2="180"/>'


def mended(*shapes: str, width: float | None = None) -> tuple[str, str]:
    text = "\n".join([HEAD, "<!-- the quay -->", OPEN, FRAME, MAST, *shapes, "</g>", "</svg>"])
    before = read_svg(text.encode(), source="quay.svg", width=width)
    after = mend_slips(before, within=0.15)
    assert not after.left
    moved = move_points(text, before, after.drawing, width=width)
    assert moved is not None
    again = read_svg(moved.encode(), source="quay.svg", width=width)
    assert mend_slips(again, within=0.15).slips == ()
    return text, moved


@pytest.mark.parametrize(
    ("drawn", "meant"),
    [
        ('<path class="a" d="m 82,100 h 98"/>', '<path class="a" d="M80 100 L180 100"/>'),
        ('<path d="M 82 100 C 100 60 140 60 180 100"/>', None),
        ('<line x1="82" y1="100" x2="180" y2="100"/>', '<line x1="80" y1="100" x2="180" y2="100"/>'),
        ('<polyline points="0,150 40,152.5 80,150"/>', '<polyline points="0,150 40,150 80,150"/>'),
        (
            '<g transform="rotate(90 40 60)"><path d="M40 20V98"/></g>',
            '<g transform="rotate(90 40 60)"><path d="M40 20 L40 100"/></g>',
        ),
        (
            '<line transform="scale(2)" x1="41" y1="50" x2="90" y2="50"/>',
            '<line transform="scale(2)" x1="40" y1="50" x2="90" y2="50"/>',
        ),
    ],
)
@pytest.mark.parametrize("width", [None, 7.0])
def test_only_what_moved_changes(drawn, meant, width):
    text, moved = mended(drawn, width=width)
    changed = [pair for pair in zip(text.splitlines(), moved.splitlines(), strict=True) if pair[0] != pair[1]]
    assert [pair[0] for pair in changed] == [drawn]
    if meant is not None:
        assert changed[0][1] == meant


def test_a_rectangle_moved_as_a_whole_stays_one():
    text = HEAD + "".join(
        f'<rect id="{name}" x="{x}" y="0" width="{w}" height="100" fill="{fill}"/>'
        for name, x, w, fill in (("sea", 0, 52, "#1f3a5f"), ("sky", 54, 50, "#87ceeb"))
    )
    text += "</svg>"
    before = read_svg(text.encode(), source="quay.svg")
    after = mend_slips(before, within=0.15)
    assert not after.left
    moved = move_points(text, before, after.drawing, width=None)
    assert moved is not None
    assert moved.count("<rect") == 2


def test_what_cannot_be_changed_in_place_is_refused():
    shapes = '<defs><path id="a" d="M82 100H180"/></defs><use href="#a"/>'
    text = f"{HEAD}{OPEN}{FRAME}{MAST}{shapes}</g></svg>"
    before = read_svg(text.encode(), source="quay.svg")
    after = mend_slips(before, within=0.15)
    assert not after.left
    assert move_points(text, before, after.drawing, width=None) is None

"""Text as labels: what it says, and where its middle is."""

import pytest

from seamtree.drawing.svg.lettering import ADVANCE, RISE
from tests.drawing.svg.helps import codes, read

PATCH = '<rect width="10" height="10"/>'
W = ADVANCE  # of one letter at font size 1
MIDDLE = RISE / 2


def labels(text, **options):
    drawing = read(PATCH + text, **options)
    return [(label.text, tuple(round(value, 4) for value in label.at)) for label in drawing.labels]


def near(x, y):
    return (round(x, 4), round(y, 4))


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ('<text x="2" y="3" font-size="1">A1</text>', ("A1", near(2 + W, 3 - MIDDLE))),
        ('<text x="2" y="3" font-size="1" text-anchor="middle">A1</text>', ("A1", near(2, 3 - MIDDLE))),
        ('<text x="2" y="3" font-size="1" text-anchor="end">A1</text>', ("A1", near(2 - W, 3 - MIDDLE))),
        ('<text x="2" y="3" style="font:bold 2px/1.2 sans-serif">A1</text>', ("A1", near(2 + 2 * W, 3 - 2 * MIDDLE))),
        ('<g font-size="2"><text x="2" y="3" font-size="50%">A</text></g>', ("A", near(2 + W / 2, 3 - MIDDLE))),
        ('<g font-size="2"><text x="2" y="3" font-size=".5em">A</text></g>', ("A", near(2 + W / 2, 3 - MIDDLE))),
        ('<text x="20%" y="30%" font-size="1">A</text>', ("A", near(2 + W / 2, 3 - MIDDLE))),
        ('<text x="2" y="3" dx="1" dy="2" font-size="1">A</text>', ("A", near(3 + W / 2, 5 - MIDDLE))),
        ('<text transform="translate(2,3)" font-size="1">A</text>', ("A", near(2 + W / 2, 3 - MIDDLE))),
        ('<text transform="rotate(90)" x="3" y="-2" font-size="1">A</text>', ("A", near(2 + MIDDLE, 3 + W / 2))),
        ('<text x="2" y="3" font-size="1" dominant-baseline="central">A</text>', ("A", near(2 + W / 2, 3))),
        ('<text font-size="1"><tspan x="2" y="3">A1</tspan></text>', ("A1", near(2 + W, 3 - MIDDLE))),
        ('<text x="2" y="3" font-size="1">A<tspan>1</tspan></text>', ("A1", near(2 + W, 3 - MIDDLE))),
        (
            '<text x="2" y="3" font-size="1">A<tspan dy=".2" font-size="1">1</tspan></text>',
            ("A1", near(2 + W, 3.1 - MIDDLE)),
        ),
        (
            '<text x="2" y="3" font-size="1">\n  low\n  tide\n</text>',
            ("low tide", near(2 + 4 * W, 3 - MIDDLE)),
        ),
        ('<text x="2 2.6 3.2" y="3" font-size="1">A12</text>', ("A12", near((2 + 3.2 + W) / 2, 3 - MIDDLE))),
        ('<text x="2" y="3" font-size="1"><a href="#x">A</a></text>', ("A", near(2 + W / 2, 3 - MIDDLE))),
        ('<text x="2" y="3" font-size="1">B&amp;C &#233;</text>', ("B&C é", near(2 + 2.5 * W, 3 - MIDDLE))),
    ],
)
def test_middle_of_a_text(text, expected):
    assert labels(text) == [expected]


def test_lines_of_one_text_are_one_label():
    lines = '<tspan x="5" y="4">low</tspan><tspan x="5" dy="1.2">tide</tspan>'
    ((words, at),) = labels(f'<text font-size="1" text-anchor="middle">{lines}</text>')
    assert words == "low tide"
    assert at == pytest.approx((5, (4 - RISE + 5.2) / 2), abs=1e-3)


def test_texts_that_stand_apart_are_labels_of_their_own():
    spans = '<tspan x="1" y="2">A1</tspan><tspan x="6" y="2">A2</tspan><tspan x="1" y="8">A3</tspan>'
    assert [words for words, _ in labels(f'<text font-size=".5">{spans}</text>')] == ["A1", "A2", "A3"]


@pytest.mark.parametrize(
    "text",
    [
        '<text x="1" y="1" display="none">A</text>',
        '<text x="1" y="1" visibility="hidden">A</text>',
        '<text x="1" y="1" opacity="0">A</text>',
        '<text x="1" y="1" fill="none">A</text>',
        '<text x="1" y="1" fill-opacity="0">A</text>',
        '<text x="1" y="1"><tspan display="none">A</tspan></text>',
        '<text x="1" y="1"><tspan fill="none">A</tspan></text>',
        '<text x="1" y="1">   </text>',
        '<text x="1" y="1"/>',
        '<text x="1" y="1"><title>A</title></text>',
        '<defs><text x="1" y="1">A</text></defs>',
        '<g opacity="0"><text x="1" y="1">A</text></g>',
    ],
)
def test_what_cannot_be_read_is_no_label(text):
    assert labels(text) == []


def test_letters_that_cannot_be_read_are_left_out_of_a_label():
    assert [w for w, _ in labels('<text x="1" y="1">A<tspan visibility="hidden">secret</tspan></text>')] == ["A"]


def test_a_visible_part_of_a_hidden_text():
    assert [w for w, _ in labels('<text visibility="hidden">x<tspan visibility="visible">A</tspan></text>')] == ["A"]


def test_text_counts_at_finished_size():
    assert labels('<text x="5" y="3" font-size="1" text-anchor="middle">A</text>', width=20.0)[0][1][0] == 10.0


def test_text_on_a_path_is_noted():
    drawing = read(PATCH + '<path id="p" d="M0 0H5" fill="none"/><text><textPath href="#p">gull</textPath></text>')
    assert drawing.labels == ()
    assert codes(drawing) == ["element-left-out"]


def test_labels_in_a_left_out_layer():
    assert labels('<g id="notes"><text x="1" y="1">A</text></g>', skip_layers=["notes"]) == []
    text = '<text x="1" y="1">A<tspan class="notes">b</tspan></text>'
    assert [w for w, _ in labels(text, skip_layers=["notes"])] == ["A"]

"""WKT drawings, as the OGC defines them (Simple Feature Access, part 1)."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from seamtree.drawing import limits
from seamtree.drawing.drawn import Drawing
from seamtree.drawing.wkt import read_wkt
from seamtree.errors import DrawingError

SQUARE = "POLYGON ((0 0, 2 0, 2 2, 0 2, 0 0))"


def read(text: str | bytes, width: float | None = None) -> Drawing:
    return read_wkt(text if isinstance(text, bytes) else text.encode(), source="t.wkt", width=width)


def refusal(text: str | bytes) -> tuple[list[str], str]:
    with pytest.raises(DrawingError) as caught:
        read(text)
    assert caught.value.source == "t.wkt"
    return [finding.code for finding in caught.value.findings], str(caught.value)


def test_a_polygon() -> None:
    drawing = read(SQUARE)
    assert drawing.kind == "polygons"
    (shape,) = drawing.shapes
    assert (shape.name, shape.fill, shape.stroked) == ("polygon 1", "", False)
    assert shape.tracks[0].points == ((0, 2), (2, 2), (2, 0), (0, 0))


@pytest.mark.parametrize(
    "text",
    [
        "polygon((0 0,2 0,2 2,0 2,0 0))",
        "POLYGON Z ((0 0 1, 2 0 1, 2 2 1, 0 2 1, 0 0 1))",
        "POLYGON ZM ((0 0 1 9, 2 0 1 9, 2 2 1 9, 0 2 1 9, 0 0 1 9))",
        "POLYGON ((0.0e0 0, 2E0 0, +2 2, 0 2., -0 0))",
        "POLYGON\n(\n  (0 0, 2 0,\n   2 2, 0 2, 0 0)\n)\n",
        "SRID=4326;POLYGON ((0 0, 2 0, 2 2, 0 2, 0 0))",
        "POLYGON ((0 0, 2 0, 2 2, 0 2, 0 0));",
        "\ufeffPOLYGON ((0 0, 2 0, 2 2, 0 2, 0 0))",
        "MULTIPOLYGON (((0 0, 2 0, 2 2, 0 2, 0 0)))",
        "GEOMETRYCOLLECTION (POLYGON EMPTY, POLYGON ((0 0, 2 0, 2 2, 0 2, 0 0)))",
        "POLYGON EMPTY\r\nPOLYGON ((0 0, 2 0, 2 2, 0 2, 0 0))\r\nLINESTRING EMPTY\r\n",
    ],
)
def test_ways_to_write_the_same(text: str) -> None:
    assert read(text) == read(SQUARE)


def test_several_geometries() -> None:
    drawing = read(
        "GEOMETRYCOLLECTION (POINT (0 0), LINESTRING (0 0, 1 1, 2 0),\n MULTIPOINT ((1 1), (2 2)))\n"
        f"{SQUARE}; MULTILINESTRING ((0 0, 2 2), (2 0, 0 2))\n\n"
        "POLYGON ((2 0, 4 0, 4 2, 2 2, 2 0))"
    )
    assert [shape.name for shape in drawing.shapes] == ["line 1", "polygon 1", "line 2", "line 3", "polygon 2"]
    assert [shape.stroked for shape in drawing.shapes] == [True, False, True, True, False]
    (note,) = drawing.notes
    assert note.code == "points-left-out"
    assert note.message.startswith("3 points")


def test_the_width_is_that_of_everything() -> None:
    assert read("LINESTRING (1 1, 5 3)", width=8).shapes[0].tracks[0].points == ((0, 4), (8, 0))


@pytest.mark.parametrize(
    ("text", "code", "words"),
    [
        ("POLYGON ((0 0, 2 0, 2 2, 0 2, 0 0)", "bad-wkt", "line 1"),
        (f"{SQUARE}\n\nPOLYGON ((0 0, 2 0, x 2, 0 0))", "bad-wkt", "line 3"),
        ("POLYGON (0 0, 2 0)", "bad-wkt", "line 1"),
        ("POLYGON ((0 0, 2 0, 2 2))", "bad-wkt", "closed"),
        ("POLYGON ((nan nan, 2 0, 2 2, nan nan))", "bad-wkt", "closed"),
        ("TRIANGLE ((0 0, 0 1, 1 1, 0 0))", "bad-wkt", "TRIANGLE"),
        ("CIRCULARSTRING (0 0, 1 1, 2 0)", "bad-wkt", "CIRCULARSTRING"),
        ("LINESTRING (0 0)", "bad-wkt", "line 1"),
        ("ahoy", "bad-wkt", "ahoy"),
        ("LINESTRING (0 0, 1 1)\x00", "bad-wkt", "line 1"),
        (b"\xff\xfe\x00", "bad-wkt", "UTF-8"),
        ("LINESTRING (0 0, 1e999 1)", "bad-number", "line 1"),
        ("LINESTRING (0 0, nan 1)", "bad-number", "line 1"),
        ("POLYGON EMPTY", "empty", "no polygons"),
        ("POINT (1 1)", "empty", "no polygons"),
        ("", "empty", "no polygons"),
        ("POLYGON ((0 0, 2 0, 1 0, 0 0))\nLINESTRING (0 0, 4 4)", "zero-size", "Polygon 1"),
        ("POLYGON ((0 0, 4 2, 4 0, 0 2, 0 0))", "self-crossing", "(2.00, 1.00) in"),
        ("POLYGON ((0 0, 6 0, 6 6, 0 6, 0 0), (2 2, 4 2, 4 4, 2 2))", "hole", "(2.00, 4.00) in"),
        ("LINESTRING (0 0, 200000 1)", "too-large", "100,000 in"),
        ("GEOMETRYCOLLECTION (" * 300 + "POINT (0 0)" + ")" * 300, "too-large", "256"),
    ],
)
def test_what_cannot_be_read(text: str | bytes, code: str, words: str) -> None:
    codes, message = refusal(text)
    assert codes == [code]
    assert words in message


def test_millions_of_brackets_do_not_overrun_the_stack() -> None:
    assert refusal("GEOMETRYCOLLECTION(" * 200_000)[0] == ["too-large"]
    assert refusal("(" * 1_000_000)[0] == ["too-large"]


def test_deep_nesting_within_the_limit() -> None:
    depth = limits.MAX_DEPTH - 2
    assert len(read("GEOMETRYCOLLECTION (" * depth + SQUARE + ")" * depth).shapes) == 1


words = st.sampled_from(
    [
        "POLYGON",
        "LINESTRING",
        "(",
        ")",
        "((",
        "))",
        ",",
        "0 0",
        "1 0",
        "1 1",
        "EMPTY",
        "Z",
        ";",
        "\n",
        "nan",
        "inf",
        "é",
    ]
)


@given(st.lists(words, max_size=25).map(" ".join) | st.text(max_size=30))
def test_any_text_is_a_drawing_or_an_error_in_words(text: str) -> None:
    try:
        drawing = read(text.encode("utf-8", "replace"))
    except DrawingError as error:
        told = str(error)
        assert told
    else:
        assert drawing.shapes

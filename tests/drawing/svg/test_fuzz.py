"""No bytes make the reader fail with anything but an error of ours."""

import contextlib

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from seamtree.drawing.svg.read import read_svg
from seamtree.errors import SeamtreeError
from tests.drawing.svg.helps import FILES

SEEDS = [file.read_bytes() for file in sorted(FILES.glob("*.svg"))]
SNIPPETS = [
    b"nan",
    b"1e999",
    b"1e300",
    b"-1e-300",
    b"-",
    b'"',
    b"<",
    b">",
    b"&",
    b"#",
    b"%",
    b"0",
    b"inherit",
    b"url(#",
    b"{",
    b"}",
    b"\x00",
    b"\xff",
    b"none",
    b"A1 1 0 0 0 ",
    b"M",
    b"z",
    b"<g>",
    b"</g>",
    b"<use href='#layer1'/>",
    b" transform='scale(0)'",
    b" viewBox='0 0 1 1'",
    b" width='0'",
    b" display='none'",
    b"<!--",
    b"<![CDATA[",
    b"&x;",
]


@st.composite
def spoilt(draw):
    data = bytearray(draw(st.sampled_from(SEEDS)))
    for _ in range(draw(st.integers(1, 4))):
        place = draw(st.integers(0, len(data) - 1))
        kind = draw(st.sampled_from(["byte", "insert", "delete", "copy"]))
        if kind == "byte":
            data[place] = draw(st.integers(0, 255))
        elif kind == "insert":
            data[place:place] = draw(st.sampled_from(SNIPPETS))
        elif kind == "delete":
            del data[place : place + draw(st.integers(1, 60))]
        else:
            start = draw(st.integers(0, len(data) - 1))
            data[place:place] = data[start : start + draw(st.integers(1, 200))]
    return bytes(data)


def is_sound(data, width):
    with contextlib.suppress(SeamtreeError):
        drawing = read_svg(data, source="t.svg", width=width)
        assert drawing.shapes
        for shape in drawing.shapes:
            assert shape.tracks
            assert shape.stroked or shape.fill is not None
            assert all(abs(x) < 1e9 and abs(y) < 1e9 for track in shape.tracks for x, y in track.points)


@settings(max_examples=60, deadline=None)
@given(spoilt(), st.sampled_from([None, 8.0]))
def test_spoilt_files(data, width):
    is_sound(data, width)


@settings(max_examples=40, deadline=None)
@given(st.binary(max_size=200))
def test_any_bytes(data):
    is_sound(data, None)


numbers = st.sampled_from(
    ["0", "1", "-3.5", "1e3", "1e300", "nan", "1e999", "", "5in", "2q", "50%", ".5", "1,2", "x"]
)
attributes = st.dictionaries(
    st.sampled_from(
        [
            *("x", "y", "width", "height", "rx", "ry", "cx", "cy", "r", "x1", "y2", "points", "d", "transform"),
            *("style", "class", "fill", "stroke", "viewBox", "opacity", "href", "font-size", "clip-path"),
            *("stroke-dasharray", "preserveAspectRatio", "transform-origin"),
        ]
    ),
    st.one_of(
        numbers,
        st.lists(numbers, max_size=4).map(" ".join),
        st.sampled_from(
            ["M0 0L9 9 0 9z", "M0 0A1 2 3 0 1 5 5", "rotate(30)", "scale(0)", "fill:red;x:1", "#i", "url(#i)", "none"]
        ),
    ),
    max_size=5,
)
tags = st.sampled_from(
    ["g", "rect", "circle", "ellipse", "line", "polygon", "path", "text", "tspan", "use", "svg", "symbol", "clipPath"]
)


def element(children):
    def build(parts):
        tag, named, inner = parts
        written = "".join(f' {name}="{value}"' for name, value in named.items())
        return f'<{tag} id="i"{written}>{"".join(inner)}</{tag}>'

    return st.tuples(tags, attributes, st.lists(children, max_size=3)).map(build)


@settings(max_examples=60, deadline=None)
@given(st.lists(st.recursive(st.just("<path d='M0 0H5V5z'/>tide"), element, max_leaves=6), max_size=4))
def test_wild_trees(parts):
    is_sound(f'<svg xmlns="http://www.w3.org/2000/svg">{"".join(parts)}</svg>'.encode(), 8.0)


@pytest.mark.parametrize("share", [0.0, 0.1, 0.5, 0.9, 0.98])
def test_files_that_end_early(share):
    for seed in SEEDS:
        with pytest.raises(SeamtreeError):
            read_svg(seed[: int(share * len(seed))], source="t.svg")

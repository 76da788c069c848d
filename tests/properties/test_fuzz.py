"""Wrong drawings get a plan that the replay takes or a clear word; `python -m tests.fuzz` makes many more of them."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from seamtree.errors import DrawingError
from tests.fuzz.__main__ import input_of
from tests.fuzz.files import Input, make_input
from tests.fuzz.judge import judge, parse
from tests.support.effort import times


@settings(max_examples=times(100, 2000))
@given(st.randoms(use_true_random=False))
def test_damaged_layouts(rng) -> None:
    judge(make_input(rng))


@settings(max_examples=times(100, 2000))
@given(st.binary(max_size=60), st.sampled_from(["svg", "geojson", "wkt"]))
def test_any_bytes_whatever(data, form) -> None:
    with pytest.raises(DrawingError):
        parse(Input(data, form, 0.02, None))


# Seed 56 is a find: an outline flattened to tens of thousands of points took minutes to be found not convex.
@pytest.mark.parametrize("seed", range(120))
def test_seeds(seed: int) -> None:
    judge(input_of(seed))


FINDS = {
    # A curve that crosses itself where it was moved onto a corner turns sharply there: no stretch of one curve.
    "sharp turn of a curve": Input(
        b'<svg xmlns="http://www.w3.org/2000/svg"><path fill="none" stroke="#000" d="M470.911802375031812 '
        b"0L768 0L768 "
        b'470.912L470.912 470.912Z"/><polygon fill="none" stroke="#000" points="0.0,297.088 297.088,297.088 '
        b"297.088,768 "
        b'0,768"/><path fill="none" stroke="#000" d="M297.088 470.912L768 470.911802375031812L768.000000 768L297.088 '
        b'768"/><polygon fill="none" stroke="#000" points="297.088198,297.1 470.912,297.088 470.912,470.912 '
        b'297.1,470.9"/>'
        b'<polygon fill="none" stroke="#000" points="-0.132043,-0.1 470.909314691502345,0.00156943 470.912,297.088 '
        b'0.000564294423413,297.088"/><path fill="none" stroke="#000" d="M384 0 Q0 768 0 384 T768 768"/></svg>',
        "svg",
        0.02,
        0.5,
    ),
    # The geometry library warned of an overflow.
    "the smallest numbers": Input(
        b'<svg xmlns="http://www.w3.org/2000/svg"><polygon fill="#aa3344" points="0,576 0,384 33.8976,0 768,0 '
        b'768,384"'
        b"/>"
        b'<polygon fill="#ddcc99" points="7.8626,0 1e-320,0 0,384 0,147.7"/><path fill="#335577" d="M0.000 672L0 '
        b'576L768.002 384L768 768.0L384 768.0Z"/><path fill="#335577" d="M0 147.699758L0 0L7.9 0Z"/></svg>',
        "svg",
        1.0,
        100000.0,
    ),
    "the smallest numbers and a label": Input(
        b'{"type": "Feature", "properties": {"label": "A1"}, "geometry": {"type": "Polygon", "coordinates": '
        b"[[[8, 4], [8, 8], [1e-320, 8], [0, 0], [4.5, 0], [8, 4]]]}}",
        "geojson",
        0.02,
        None,
    ),
}


@pytest.mark.parametrize("name", FINDS)
def test_finds(name: str) -> None:
    assert judge(FINDS[name]) == "planned"

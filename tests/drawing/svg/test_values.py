import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from seamtree.drawing.svg.values import (
    Colour,
    Reference,
    fit_view_box,
    parse_colour,
    parse_length,
    parse_numbers,
    parse_opacity,
    parse_paint,
    parse_transform,
    parse_view_box,
)


@pytest.mark.parametrize(
    ("text", "inches"),
    [
        # CSS Values and Units 3, section 6.2: the absolute units.
        ("96px", 1.0),
        ("96", 1.0),
        ("1in", 1.0),
        ("2.54cm", 1.0),
        ("25.4mm", 1.0),
        ("101.6Q", 1.0),
        ("72pt", 1.0),
        ("6pc", 1.0),
        ("1IN", 1.0),
        (" 48px ", 0.5),
        ("-1in", -1.0),
        ("1e1in", 10.0),
        (".5in", 0.5),
        ("+2in", 2.0),
        ("50%", 4.0),
        ("2em", 0.25),
        ("2ex", 0.125),
        # ISO 216 and US Letter.
        ("210mm", 210 / 25.4),
        ("297mm", 297 / 25.4),
        ("8.5in", 8.5),
    ],
)
def test_lengths(text, inches):
    assert parse_length(text, percent_of=8 * 96.0, font_size=12.0) == pytest.approx(96 * inches, rel=1e-15)


@pytest.mark.parametrize(
    "text",
    ["", "wide", "10 in", "10inch", "1vw", "NaN", "inf", "1e999", "-1e999in", "0x10", "1_0", "١", "1..2", "--1"],
)
def test_what_is_no_length(text):
    with pytest.raises(ValueError, match=r"is not|unknown unit"):
        parse_length(text, percent_of=100.0, font_size=16.0)


@pytest.mark.parametrize(
    ("text", "numbers"),
    [
        ("", ()),
        ("1 2", (1, 2)),
        ("1,2", (1, 2)),
        (" 1 , 2\n3\t-4 ", (1, 2, 3, -4)),
        ("1-2", (1, -2)),
        (".5.5", (0.5, 0.5)),
        ("1e2-3e-1", (100, -0.3)),
    ],
)
def test_lists_of_numbers(text, numbers):
    assert parse_numbers(text) == numbers


@pytest.mark.parametrize("text", ["1,,2", ",1", "1,", "1 a", "nan", "1e999", "1;2"])
def test_what_is_no_list_of_numbers(text):
    with pytest.raises(ValueError, match="is not"):
        parse_numbers(text)


def test_long_lists_that_fail_at_the_end_fail_fast():
    with pytest.raises(ValueError, match="is not"):
        parse_numbers("1234567890" * 20_000 + "x")


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("#1f3a5f", "#1f3a5f"),
        ("#1F3A5F", "#1f3a5f"),
        ("#f80", "#ff8800"),
        ("#f80f", "#ff8800"),
        ("#ff8800ff", "#ff8800"),
        # CSS Color 4: named colours, and the examples of its chapters on rgb() and hsl().
        ("tomato", "#ff6347"),
        ("RebeccaPurple", "#663399"),
        ("white", "#ffffff"),
        ("rgb(31,58,95)", "#1f3a5f"),
        ("rgb(31 58 95)", "#1f3a5f"),
        ("rgb(100%, 0%, 0%)", "#ff0000"),
        ("rgba(0, 255, 0, 0.5)", "#00ff00"),
        ("rgb(300,-5,0)", "#ff0000"),
        ("hsl(120, 100%, 25%)", "#008000"),
        ("hsl(120deg 75% 75%)", "#90ef8f"),
        ("hsla(120, 100%, 50%, .3)", "#00ff00"),
        ("hwb(40 30% 40%)", "#99804d"),
        ("#c1272d icc-color(press, 0, 1, 1, 0)", "#c1272d"),
    ],
)
def test_colours(text, code):
    colour = parse_colour(text)
    assert colour is not None
    parts = [abs(int(a, 16) - int(b, 16)) for a, b in zip(_split(colour.code), _split(code), strict=True)]
    assert max(parts) <= (1 if text.startswith("h") else 0)  # the specification rounds its examples
    assert colour.alpha > 0


def _split(code):
    return code[1:3], code[3:5], code[5:7]


@pytest.mark.parametrize(
    ("text", "alpha"),
    [("transparent", 0), ("#fff0", 0), ("#ffffff80", 128 / 255), ("rgba(9,9,9,0)", 0), ("rgb(9 9 9 / 25%)", 0.25)],
)
def test_opacity_of_colours(text, alpha):
    assert parse_colour(text).alpha == pytest.approx(alpha)


@pytest.mark.parametrize("text", ["", "sea", "#12", "#12345", "#ggg", "rgb(1,2)", "rgb(" * 5000, "lab(50% 40 59)"])
def test_what_is_no_colour(text):
    assert parse_colour(text) is None


def test_paints():
    assert parse_paint("none") == "none"
    assert parse_paint("currentColor") == "currentcolor"
    assert parse_paint("url(#waves)") == Reference("waves", None)
    assert parse_paint("url( '#waves' ) red") == Reference("waves", Colour("#ff0000", 1.0))
    assert parse_paint('url("#waves") none') == Reference("waves", "none")
    assert parse_paint("url(other.svg#waves) #fff") == Reference(None, Colour("#ffffff", 1.0))
    assert parse_paint("url(#waves") is None
    assert parse_paint("url(#a) url(#b)") == Reference("a", None)
    assert parse_paint("sea") is None


@pytest.mark.parametrize(("text", "opacity"), [("0.5", 0.5), ("50%", 0.5), ("2", 1.0), ("-1", 0.0), (" .25 ", 0.25)])
def test_opacities(text, opacity):
    assert parse_opacity(text) == opacity


def at(text, point):
    a, b, c, d, e, f = parse_transform(text)
    return (a * point[0] + c * point[1] + e, b * point[0] + d * point[1] + f)


@pytest.mark.parametrize(
    ("text", "point", "image"),
    [
        # SVG 1.1, section 7.6, worked out by hand.
        ("", (3, 4), (3, 4)),
        ("none", (3, 4), (3, 4)),
        ("translate(5)", (3, 4), (8, 4)),
        ("translate(5,6)", (3, 4), (8, 10)),
        ("translate(-.5.5)", (3, 4), (2.5, 4.5)),
        ("translate(5px, 1in)", (3, 4), (8, 100)),
        ("translateX(5px) translateY(1px)", (3, 4), (8, 5)),
        ("scale(2)", (3, 4), (6, 8)),
        ("scale(2 -1)", (3, 4), (6, -4)),
        ("scaleX(2)scaleY(3)", (3, 4), (6, 12)),
        ("rotate(90)", (3, 4), (-4, 3)),
        ("rotate(90 1 1)", (3, 4), (-2, 3)),
        ("rotate(.25turn)", (3, 4), (-4, 3)),
        ("rotate(100grad)", (3, 4), (-4, 3)),
        ("rotate(90deg)", (3, 4), (-4, 3)),
        ("skewX(45)", (3, 4), (7, 4)),
        ("skewY(45)", (3, 4), (3, 7)),
        ("matrix(1,2,3,4,5,6)", (3, 4), (20, 28)),
        ("matrix(1e0 0 0 1e-1 0 0)", (3, 4), (3, 0.4)),
        ("translate(10,0) scale(2)", (3, 4), (16, 8)),
        ("scale(2) translate(10,0)", (3, 4), (26, 8)),
        ("translate(10,0),rotate(90)\n translate( 0 , 1 )", (3, 4), (5, 3)),
    ],
)
def test_transforms(text, point, image):
    assert at(text, point) == pytest.approx(image, abs=1e-12)


@pytest.mark.parametrize(
    "text",
    [
        "spin(3)",
        "rotate()",
        "rotate(1 2)",
        "matrix(1 0 0 1)",
        "scale(nan)",
        "scale(1e999)",
        "scale(2",
        "scale 2)",
        "scale(2) garbage",
        "garbage scale(2)",
        "translate(5foo)",
        "translate(5%)",
        "scale(2px)",
        "rotate(3px)",
        "rotate(1,,2,3)",
        "rotate((3))",
        "rotate3d(1,1,1,45deg)",
    ],
)
def test_what_is_no_transform(text):
    with pytest.raises(ValueError, match=r"has|cannot|is not"):
        parse_transform(text)


@settings(max_examples=40, deadline=None)
@given(
    st.lists(st.tuples(st.sampled_from(("rotate", "skewX", "scale", "translate")), st.floats(-80, 80)), max_size=5)
)
def test_transforms_are_products_from_left_to_right(steps):
    point = (3.0, -2.0)
    for name, number in reversed(steps):
        point = at(f"{name}({number!r})", point)
    text = " ".join(f"{name}({number!r})" for name, number in steps)
    assert at(text, (3.0, -2.0)) == pytest.approx(point, rel=1e-9, abs=1e-6)


def test_view_boxes():
    assert parse_view_box("0 0 10 20") == (0, 0, 10, 20)
    assert parse_view_box("-5,-5, 10,20") == (-5, -5, 10, 20)
    for text in ("0 0 10", "0 0 -1 5", "a b c d", "0 0 nan 1", "0 0 1e999 1", "0 0 10px 10px"):
        with pytest.raises(ValueError, match=r"has|is not"):
            parse_view_box(text)


@pytest.mark.parametrize(
    ("aspect", "corners"),
    [
        # A box of 30 by 40 in viewports, as in the picture of SVG 1.1, section 7.8; worked out by hand.
        (None, ((15, 0), (75, 80))),
        ("xMidYMid meet", ((15, 0), (75, 80))),
        ("xMinYMin", ((0, 0), (60, 80))),
        ("xMaxYMax meet", ((30, 0), (90, 80))),
        ("xMidYMin slice", ((0, 0), (90, 120))),
        ("xMidYMid slice", ((0, -20), (90, 100))),
        ("xMidYMax slice", ((0, -40), (90, 80))),
        ("none", ((0, 0), (90, 80))),
        ("defer none", ((0, 0), (90, 80))),
    ],
)
def test_fitting_a_view_box(aspect, corners):
    matrix = fit_view_box((5, 6, 30, 40), (90, 80), aspect)
    a, b, c, d, e, f = matrix
    assert (b, c) == (0, 0)
    assert [(a * x + e, d * y + f) for x, y in ((5, 6), (35, 46))] == [pytest.approx(corner) for corner in corners]


def test_an_unknown_alignment_is_told():
    with pytest.raises(ValueError, match="alignment"):
        fit_view_box((0, 0, 1, 1), (1, 1), "xmidymid")


def test_angles_in_radians():
    assert at(f"rotate({math.pi / 2!r}rad)", (1, 0)) == pytest.approx((0, 1))

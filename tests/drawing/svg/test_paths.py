"""Path data: every command, compact writing, and what is refused."""

import cmath
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from seamtree.drawing.outlines import Cubic, Outline, arc_point
from seamtree.drawing.svg.path_data import parse_path


def corners(data):
    return [list(outline.points) for outline in parse_path(data)]


@pytest.mark.parametrize(
    ("data", "expected"),
    [
        ("M1 2L3 4", [[(1, 2), (3, 4)]]),
        ("M1 2 3 4 5 6", [[(1, 2), (3, 4), (5, 6)]]),
        ("m1 2 3 4 5 6", [[(1, 2), (4, 6), (9, 12)]]),
        ("M1,2l3,4,5,6", [[(1, 2), (4, 6), (9, 12)]]),
        ("M1 2H5V7h-1v-2", [[(1, 2), (5, 2), (5, 7), (4, 7), (4, 5)]]),
        ("M1 2H3 4 5", [[(1, 2), (3, 2), (4, 2), (5, 2)]]),
        ("M0 0v1 2 3", [[(0, 0), (0, 1), (0, 3), (0, 6)]]),
        ("M0 0l.5.5-.5.5", [[(0, 0), (0.5, 0.5), (0, 1)]]),
        ("M0-1.5e1L1E0+2", [[(0, -15), (1, 2)]]),
        ("  M 0 , 0\n\tL\f1\r1 ", [[(0, 0), (1, 1)]]),
        ("M1 1h1v1zm2 2h1v1z", [[(1, 1), (2, 1), (2, 2)], [(3, 3), (4, 3), (4, 4)]]),
        ("M1 1h1v1zl5 5", [[(1, 1), (2, 1), (2, 2)], [(1, 1), (6, 6)]]),
        ("M1 1M2 2L3 3", [[(2, 2), (3, 3)]]),
        ("M1 1", []),
        ("M1 1z", []),
        ("", []),
        ("none", []),
    ],
)
def test_straight_commands(data, expected):
    assert corners(data) == expected


@pytest.mark.parametrize("data", ["M1 1h1v1zm2 2h1v1z", "M1 1h1v1zl5 5", "M1 2H3 4 5", "M1 1M2 2L3 3"])
def test_straight_commands_come_to_the_same_next_to_a_curve(data):
    assert corners(data + "M0 0C0 0 0 0 9 9")[:-1] == corners(data)


steps = st.lists(
    st.tuples(st.sampled_from("MLHVmlhvzZ"), st.integers(-50, 50), st.integers(-50, 50)), min_size=1, max_size=12
)


@settings(max_examples=60, deadline=None)
@given(steps)
def test_both_ways_through_straight_data_agree(drawn):
    parts = ["M0 0"]
    for letter, x, y in drawn:
        parts.append(letter + {"Z": "", "H": f"{x}", "V": f"{y}"}.get(letter.upper(), f"{x} {y}"))
    data = "".join(parts)
    assert corners(data + "M0 0C0 0 0 0 9 9")[:-1] == corners(data)


def test_closed_or_open():
    assert [outline.closed for outline in parse_path("M0 0h1v1zM0 0h1v1M0 0h1Z")] == [True, False, True]


def test_cubic_curves():
    (outline,) = parse_path("M1 1C2 2 3 3 4 4c1 1 2 2 3 3")
    assert outline.curves == (Cubic((2, 2), (3, 3), (4, 4)), Cubic((5, 5), (6, 6), (7, 7)))


def test_smooth_cubic_curves_reflect_the_control_point():
    (outline,) = parse_path("M0 0C0 5 5 5 5 0S10-5 10 0s5 5 5 0")
    assert [curve.first for curve in outline.curves] == [(0, 5), (5, -5), (10, 5)]


def test_smooth_curves_after_something_else_start_at_the_current_point():
    # SVG 1.1, section 8.3.6: without a curve of the same degree before, the control point is the current point.
    (outline,) = parse_path("M0 0Q5 5 10 0S20 5 30 0")
    assert outline.curves[1] == Cubic((10, 0), (20, 5), (30, 0))
    (outline,) = parse_path("M0 0L10 0S20 5 30 0")
    assert outline.curves[1] == Cubic((10, 0), (20, 5), (30, 0))
    (outline,) = parse_path("M0 0C0 5 10 5 10 0T20 0T30 0")
    _, second, third = outline.curves
    assert [controls_of(second, (10, 0)), controls_of(third, (20, 0))] == [(10, 0), (30, 0)]


def controls_of(cubic, start):
    """The control point of the quadratic curve that a cubic one is."""
    return tuple(round((3 * cubic.first[axis] - start[axis]) / 2, 9) for axis in (0, 1))


def test_quadratic_curves():
    (outline,) = parse_path("M0 0Q5 5 10 0T20 0t10 0q1 1 2 0")
    middles = [controls_of(curve, start) for curve, start in zip(outline.curves, outline.points, strict=False)]
    assert middles == [(5, 5), (15, -5), (25, 5), (31, 1)]
    first = outline.curves[0]
    for t in (0.25, 0.5, 0.75):
        s = 1 - t
        cubic = 3 * s * s * t * first.first[1] + 3 * s * t * t * first.second[1]
        assert cubic == pytest.approx(2 * s * t * 5)


def specification_arc(ends, radii, angle, flags):
    """SVG 1.1, appendix F.6.5, with complex numbers: centre, radii, first angle and turn."""
    p1, p2 = (complex(*end) for end in ends)
    rx, ry = radii
    large, sweep = flags
    turn = cmath.exp(1j * math.radians(angle))
    half = (p1 - p2) / 2 / turn
    grown = (half.real / rx) ** 2 + (half.imag / ry) ** 2
    if grown > 1:
        rx, ry = rx * math.sqrt(grown), ry * math.sqrt(grown)
    top = (rx * ry) ** 2 - (rx * half.imag) ** 2 - (ry * half.real) ** 2
    root = math.sqrt(max(0.0, top) / ((rx * half.imag) ** 2 + (ry * half.real) ** 2))
    inner = (root if large != sweep else -root) * complex(rx * half.imag / ry, -ry * half.real / rx)
    centre = inner * turn + (p1 + p2) / 2
    first = cmath.phase(complex((half - inner).real / rx, (half - inner).imag / ry))
    last = cmath.phase(complex((-half - inner).real / rx, (-half - inner).imag / ry))
    delta = (last - first) % (2 * math.pi)
    if not sweep:
        delta -= 2 * math.pi
    return centre, rx, ry, turn, first, delta


@settings(max_examples=60, deadline=None)
@given(
    st.tuples(st.integers(-9, 9), st.integers(-9, 9)).filter(any),
    st.tuples(st.floats(0.5, 12), st.floats(0.5, 12)),
    st.floats(-180, 180),
    st.tuples(st.booleans(), st.booleans()),
)
def test_arcs_follow_the_specification(way, radii, angle, flags):
    data = f"M2 3a{radii[0]!r} {radii[1]!r} {angle!r} {flags[0]:d}{flags[1]:d}{way[0]} {way[1]}"
    (outline,) = parse_path(data)
    (arc,) = outline.curves
    end = (2 + way[0], 3 + way[1])
    centre, rx, ry, turn, first, delta = specification_arc([(2, 3), end], radii, angle, flags)
    assert arc.end == end
    for share in (0.0, 0.2, 0.5, 0.9, 1.0):
        here = first + share * delta
        wanted = complex(rx * math.cos(here), ry * math.sin(here)) * turn + centre
        found = arc_point(arc, arc.start + share * arc.sweep)
        # Where the radii only just reach, the centre is badly determined.
        assert found == pytest.approx((wanted.real, wanted.imag), abs=1e-4)


def test_flags_of_arcs_need_no_separators():
    assert parse_path("M0 0a5,3 30 1110,0a5 3 30 0,0-10,0") == parse_path("M0 0 a 5 3 30 1 1 10 0 a 5 3 30 0 0 -10 0")


def test_negative_radii_count_as_positive_ones():
    assert parse_path("M0 0A-5 3 0 0 1 5 0") == parse_path("M0 0A5 3 0 0 1 5 0")


def test_an_arc_without_radius_is_a_line():
    # SVG 1.1, section F.6.2.
    assert parse_path("M0 0A0 5 0 0 1 9 9A5 0 0 0 1 0 9") == (Outline(((0, 0), (9, 9), (0, 9)), False),)


def test_an_arc_that_ends_where_it_starts_is_left_out():
    (outline,) = parse_path("M0 0A5 5 0 0 1 0 0L9 9")
    assert outline == Outline(((0, 0), (0, 0), (9, 9)), False)


@pytest.mark.parametrize(
    ("data", "place"),
    [
        ("L1 1", "does not begin"),
        ("1 1", "character 1"),
        ("z", "does not begin"),
        ("M", "0 numbers after character 1"),
        ("M1", "1 numbers after character 1"),
        ("M0 0L1", "1 numbers after character 5"),
        ("M0 0L1 1 2", "3 numbers"),
        ("M0 0C1 1 2 2 3", "5 numbers"),
        ("M0 0H", "0 numbers"),
        ("M0 0L1,,1", r"character 7 \(',,1'\)"),
        ("M0,0,L1 1", "character 5"),
        ("M0 0L1 1 garbage", r"character 10 \('garbage'\)"),
        ("M0 0L1 1X2 2", "character 9"),
        ("M0 0z5", "character 6"),
        ("M0 0L1 nan", "character 8"),
        ("M0 0L1 NaN", "character 8"),
        ("M0 0L1 inf", "character 8"),
        ("M0 0L1 1e999", "not finite"),
        ("M0 0C1 1 2 2 1e999 3", "not finite"),
        ("M0 0A1e999 1 0 0 1 3 3", "not finite"),
        ("M0 0L1. 1", "character 7"),
        ("M0 0L1 1.", "character 9"),
        ("M0 0A5 5 0 2 1 3 3", "character 6"),
        ("M0 0A5 5 0 1 1 3", "character 6"),
        ("M0 0A5 5 0 0 1 3 3 4", "character 20"),
        ("M0 0A1e-320 5 0 0 1 5 0", "too large or too small"),
        ("M0 0L١ 1", "character 6"),
        ("M0 0L1 1 L 2 z", "1 numbers"),
    ],
)
def test_faulty_data_is_told_with_its_place(data, place):
    with pytest.raises(ValueError, match=place):
        parse_path(data)


@pytest.mark.parametrize("tail", ["x", "nan", ",,"])
@pytest.mark.parametrize("command", ["L", "C", "A"])
def test_long_data_that_fails_at_the_end_fails_fast(command, tail):
    with pytest.raises(ValueError, match="character"):
        parse_path("M0 0" + command + "1111111111" * 20_000 + tail)

"""Thick strokes are strips of fabric with their own outlines (SVG 2, section 13.5)."""

import io
import math

import pytest
import resvg_py
import shapely
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image

from seamtree.block.build import build_blocks
from seamtree.block.check import check_structure
from seamtree.remedies import LINES
from tests.drawing.svg.helps import codes, read, svg

FIELD = '<rect id="field" width="10" height="10" fill="#b22222"/>'
WIDE = 'fill="none" stroke="#ffffff" stroke-width="1"'


def strip(shape, before=FIELD, **options):
    """The area of the only stroke over a field."""
    drawing = read(before + shape, **options)
    (found,) = (each for each in drawing.shapes if each.name != "field")
    assert (found.fill, found.stroked) == ("#ffffff", False)
    assert codes(drawing) == ["stroke-is-fabric"]
    return area(found)


def area(shape):
    """What a shape fills by the even-odd rule."""
    filled = shapely.Polygon()
    for track in shape.tracks:
        assert track.closed
        filled = filled.symmetric_difference(shapely.Polygon(track.points))
    return filled


def test_a_banner_of_white_strokes_on_a_red_field_has_thirteen_stripes():
    strokes = "".join(f'<path d="M0 {37 * k + 18.5}H480" stroke="#fff" stroke-width="37"/>' for k in range(1, 13, 2))
    banner = f'<rect width="480" height="481" fill="#b22222"/>{strokes}'
    drawing = read(banner, 'width="480" height="481" viewBox="0 0 480 481"')
    (block,) = build_blocks(drawing)
    check_structure(block)
    assert len(block.patches) == 13
    assert [p.fabric for p in block.patches] == ["#b22222", "#ffffff"] * 6 + ["#b22222"]
    (note,) = (n for n in block.notes if n.code == "stroke-is-fabric")
    assert note.message.startswith("6 strokes, one of them path 1 at (2.50, 0.58) in, count as strips of fabric")
    assert note.remedies == (LINES,)


@pytest.mark.parametrize(
    ("stroke", "bounds", "size"),
    [
        ('<path d="M2 5H8" {}/>', (2, 4.5, 8, 5.5), 6),
        ('<line x1="2" y1="5" x2="8" y2="5" {}/>', (2, 4.5, 8, 5.5), 6),
        ('<path d="M2 5H8" stroke-linecap="square" {}/>', (1.5, 4.5, 8.5, 5.5), 7),
        ('<path d="M2 5H8" stroke-linecap="round" {}/>', (1.5, 4.5, 8.5, 5.5), 6 + math.pi / 4),
        ('<polyline points="2,2 8,2 8,8" {}/>', (2, 1.5, 8.5, 8), 12),
        ('<polyline points="2,2 8,2 8,8" stroke-linejoin="bevel" {}/>', (2, 1.5, 8.5, 8), 12 - 1 / 8),
        ('<polyline points="2,2 8,2 8,8" stroke-linejoin="round" {}/>', (2, 1.5, 8.5, 8), 11.75 + math.pi / 16),
        ('<polyline points="2,2 8,2 8,8" stroke-miterlimit="1.41" {}/>', (2, 1.5, 8.5, 8), 12 - 1 / 8),
        ('<polyline points="2,2 8,2 8,8" stroke-miterlimit="1.42" {}/>', (2, 1.5, 8.5, 8), 12),
        ('<rect x="2" y="2" width="6" height="6" {}/>', (1.5, 1.5, 8.5, 8.5), 24),
        ('<circle cx="5" cy="5" r="3" {}/>', (1.5, 1.5, 8.5, 8.5), 6 * math.pi),
        ('<path d="M2 5A3 3 0 0 1 8 5" {}/>', (1.5, 1.5, 8.5, 5), 3 * math.pi),
        ('<path d="M4 10H16" transform="scale(.5)" stroke-width="2" {}/>', (2, 4.5, 8, 5.5), 6),
        ('<path d="M1 5H4" transform="scale(2 1)" {}/>', (2, 4.5, 8, 5.5), 6),
        ('<path d="M2.5 2V8" transform="scale(2 1)" {}/>', (4, 2, 6, 8), 12),
        ('<path d="M2.5 2V8" transform="scale(2 1)" vector-effect="non-scaling-stroke" stroke-width="96" {}/>',
         (4.5, 2, 5.5, 8), 6),
    ],
)  # fmt: skip
def test_caps_joins_and_transforms(stroke, bounds, size):
    own = WIDE.replace('stroke-width="1"', "") if "stroke-width" in stroke else WIDE
    found = strip(stroke.format(own))
    assert found.is_valid
    assert found.bounds == pytest.approx(bounds, abs=2e-3)
    assert found.area == pytest.approx(size, rel=2e-3)


def test_the_outline_of_a_curved_strip_is_two_curves():
    drawing = read(FIELD + f'<path d="M2 5A3 3 0 0 1 8 5" {WIDE}/>')
    (track,) = drawing.shapes[1].tracks
    numbers = [curve for curve in track.curves if curve]
    assert len(set(numbers)) == 2
    assert track.curves.count(0) == 2  # its ends
    (block,) = build_blocks(read(f'<rect width="10" height="5" fill="tan"/><path d="M2 5A3 3 0 0 1 8 5" {WIDE}/>'))
    check_structure(block)
    assert len(block.patches) == 3
    assert len(block.drawn_curves()) == 2


def test_round_caps_are_curves_of_their_own():
    (track,) = read(FIELD + f'<path d="M2 5H8" stroke-linecap="round" {WIDE}/>').shapes[1].tracks
    assert len({curve for curve in track.curves if curve}) == 2


@pytest.mark.parametrize(
    ("shape", "stroked"),
    [
        ('<path d="M2 5H8" fill="none" stroke="#fff" stroke-width=".125"/>', True),
        ('<path d="M2 5H8" fill="none" stroke="#fff" stroke-width=".126"/>', False),
        ('<rect x="2" y="2" width="6" height="6" fill="#fff" stroke="#fff" stroke-width="1"/>', True),
        ('<path d="M2 2H8V8" stroke="#fff" stroke-width="1" fill="#fff"/>', True),
        ('<path d="M2 5H8" stroke="#fff" stroke-width="1" fill="#fff"/>', False),
        (
            '<rect x="2" y="2" width="6" height="6" fill="#fff" fill-opacity="0" stroke="#fff" stroke-width="1"/>',
            False,
        ),
    ],
)
def test_what_is_a_strip(shape, stroked):
    assert read(FIELD + shape).shapes[-1].stroked == stroked


def test_strokes_are_lines_where_nothing_is_filled_or_if_they_are_said_to_be():
    lines = f'<path d="M0 0H8V8H0z" {WIDE}/><path d="M4 0V8" {WIDE}/>'
    page = '<rect width="10" height="10" fill="#fff"/>'
    assert [shape.stroked for shape in read(lines).shapes] == [True, True]
    assert [shape.stroked for shape in read(page + f'<g transform="translate(1 1)">{lines}</g>').shapes] == [
        True,
        True,
    ]
    drawing = read(FIELD + lines, lines=True)
    assert [shape.stroked for shape in drawing.shapes] == [False, True, True]
    assert codes(drawing) == []


def test_dashed_strokes_stay_markings_and_see_through_strips_are_shading():
    drawing = read(FIELD + f'<path d="M2 5H8" stroke-dasharray="1" {WIDE}/>')
    assert (len(drawing.shapes), len(drawing.markings)) == (1, 1)
    drawing = read(FIELD + f'<path id="mist" d="M2 5H8" stroke-opacity=".4" {WIDE}/>')
    assert [shape.name for shape in drawing.shapes] == ["field"]
    (shading,) = drawing.shadings
    assert (shading.shape.name, shading.veil, area(shading.shape).area) == ("mist", "40% opaque", pytest.approx(6))


def test_strips_count_for_the_width():
    buoy = '<rect x="2" y="2" width="2" height="2" fill="red"/>'
    drawing = read(f'{buoy}<path d="M3 3H9" stroke-linecap="square" {WIDE}/>', width=15.0)
    xs = [x for shape in drawing.shapes for track in shape.tracks for x, _ in track.points]
    assert max(xs) - min(xs) == pytest.approx(15.0)


STROKES = [
    '<path d="M2 7L4 2L6 7" {}/>',
    '<path d="M2 7L4 2L6 7" stroke-miterlimit="20" {}/>',
    '<path d="M2 7L4 2L6 7L9 6" stroke-linejoin="round" stroke-linecap="round" {}/>',
    '<path d="M2 7L4 2L6 7L9 6" stroke-linejoin="bevel" stroke-linecap="square" {}/>',
    '<path d="M2 6C2 1 8 1 8 6" {}/>',
    '<path d="M2 6C2 1 8 9 8 3L9 3" stroke-linecap="round" {}/>',
    '<path d="M3 5A.4 .4 0 1 1 3.3 5.2L8 8" {}/>',
    '<path d="M2 2L8 8M8 2L2 8" {}/>',
    '<path d="M2 2L8 2L8 8L5 1z" {}/>',
    '<ellipse cx="5" cy="5" rx="3" ry="1" {}/>',
    '<path d="M1 3L3 1L4 4" transform="scale(2 1)" stroke-linejoin="round" stroke-linecap="round" {}/>',
    '<path d="M1 3L3 1L4 4" transform="matrix(1 .5 -.3 1 3 1)" stroke-linecap="square" {}/>',
    '<path d="M2 2H8H3" {}/>',
    '<rect x="3" y="3" width="4" height="3" rx="1" {}/>',
]


@pytest.mark.parametrize("stroke", STROKES)
def test_strips_cover_what_a_renderer_paints(stroke):
    """resvg (Python package resvg-py) paints the same strokes; 32 px to the inch, edges are blended."""
    found = strip(stroke.format(WIDE))
    root = 'width="320" height="320" viewBox="0 0 10 10"'
    body = svg(f'<rect width="10" height="10"/>{stroke.format(WIDE)}', root).decode()
    png = bytes(resvg_py.svg_to_bytes(svg_string=body))
    picture = Image.open(io.BytesIO(png)).convert("L")
    white = sum(value * count for value, count in enumerate(picture.histogram())) / 255 / 32**2
    assert found.area == pytest.approx(white, rel=0.006)
    inside = found.buffer(-0.05)
    outside = found.buffer(0.05)
    for x in range(4, 320, 9):
        for y in range(4, 320, 9):
            at = shapely.Point((x + 0.5) / 32, (y + 0.5) / 32)
            if inside.contains(at):
                assert picture.getpixel((x, y)) > 250, (x, y)
            elif not outside.contains(at):
                assert picture.getpixel((x, y)) < 5, (x, y)


places = st.tuples(st.integers(0, 20), st.integers(0, 20)).map(lambda at: (at[0] / 2, at[1] / 2))


@given(st.lists(places, min_size=2, max_size=8, unique=True), st.booleans())
def test_a_round_brush_covers_what_is_near_its_line(points, closed):
    element = "polygon" if closed and len(points) > 2 else "polyline"
    listed = " ".join(f"{x},{y}" for x, y in points)
    found = strip(f'<{element} points="{listed}" stroke-linejoin="round" stroke-linecap="round" {WIDE}/>')
    path = shapely.LinearRing(points) if element == "polygon" else shapely.LineString(points)
    assert found.symmetric_difference(shapely.buffer(path, 0.5, quad_segs=64)).area < 0.01 * found.area


@given(
    st.lists(st.floats(0, 10), min_size=8, max_size=8),
    st.floats(0.2, 5),
    st.sampled_from(["butt", "round", "square"]),
)
def test_no_curve_is_too_tight(numbers, width, cap):
    a, b, c, d, e, f, g, h = (round(number, 2) for number in numbers)
    path = f'<path d="M{a} {b}C{c} {d} {e} {f} {g} {h}" stroke-linecap="{cap}" {WIDE.replace("1", str(width))}/>'
    drawing = read(FIELD + path)
    for shape in drawing.shapes[1:]:
        assert shape.fill == "#ffffff"
        assert all(track.closed and len(track.points) > 2 for track in shape.tracks)

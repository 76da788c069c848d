"""Where things are: sizes, viewBox, transforms, nested drawings, references, basic shapes."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from seamtree.drawing.drawn import STRAIGHT
from tests.drawing.svg.helps import box, codes, read

UNIT = '<rect width="96" height="48"/>'


def boxes(body, root='width="10in" height="10in" viewBox="0 0 10 10"', **options):
    return [box(shape) for shape in read(body, root, **options).shapes]


@pytest.mark.parametrize(
    ("root", "expected"),
    [
        # One user unit is one px, 96 to the inch, where nothing else is said.
        ("", (0, 0, 1, 0.5)),
        ('width="300" height="200"', (0, 0, 1, 0.5)),
        ('viewBox="0 0 96 48"', (0, 0, 1, 0.5)),
        ('width="100%" height="100%" viewBox="0 0 96 48"', (0, 0, 1, 0.5)),
        ('width="auto" viewBox="0 0 96 48"', (0, 0, 1, 0.5)),
        ('style="width:100%;height:auto" width="5in" viewBox="0 0 96 48"', (0, 0, 1, 0.5)),
        ('width="8in" height="4in" viewBox="0 0 96 48"', (0, 0, 8, 4)),
        ('width="203.2mm" height="101.6mm" viewBox="0 0 96 48"', (0, 0, 8, 4)),
        ('width="20.32cm" height="10.16cm" viewBox="0 0 96 48"', (0, 0, 8, 4)),
        ('width="576pt" height="288pt" viewBox="0 0 96 48"', (0, 0, 8, 4)),
        ('width="48pc" height="24pc" viewBox="0 0 96 48"', (0, 0, 8, 4)),
        ('width="768px" height="384px" viewBox="0 0 96 48"', (0, 0, 8, 4)),
        ('width="768" height="384" viewBox="0 0 96 48"', (0, 0, 8, 4)),
        # One size: the other follows from the viewBox.
        ('width="8in" viewBox="0 0 96 48"', (0, 0, 8, 4)),
        ('height="4in" viewBox="0 0 96 48"', (0, 0, 8, 4)),
        ('width="100%" height="4in" viewBox="0 0 96 48"', (0, 0, 8, 4)),
        # The viewBox need not start at nought nor have the shape of the page.
        ('width="8in" height="4in" viewBox="-96 -48 192 96"', (4, 2, 8, 4)),
        ('width="8in" height="8in" viewBox="0 0 96 48"', (0, 2, 8, 6)),
        ('width="8in" height="8in" viewBox="0 0 96 48" preserveAspectRatio="xMinYMin"', (0, 0, 8, 4)),
        ('width="8in" height="8in" viewBox="0 0 96 48" preserveAspectRatio="xMidYMax"', (0, 4, 8, 8)),
        ('width="8in" height="8in" viewBox="0 0 96 48" preserveAspectRatio="none"', (0, 0, 8, 8)),
        ('width="8in" height="8in" viewBox="0 0 96 48" preserveAspectRatio="xMinYMid slice"', (0, 0, 16, 8)),
    ],
)
def test_size_of_the_drawing(root, expected):
    assert boxes(UNIT, root) == [expected]


def test_the_width_option_scales_the_bounding_box_of_what_is_painted():
    drawing = read('<rect x="3" y="4" width="2" height="1"/><path d="M6 5L7 7" stroke="#000"/>', width=12.0)
    assert [box(shape) for shape in drawing.shapes] == [(9, 12, 15, 15), (18, 15, 21, 21)]


def test_the_width_option_looks_at_curves_and_not_at_their_control_points():
    (left, _, right, _) = boxes('<path d="M1 1C9 1 9 3 1 3z"/>', width=6.0)[0]
    assert right - left == pytest.approx(6.0, abs=1e-3)


def test_the_width_option_does_not_count_page_labels_markings_and_what_is_left_out():
    drawing = read(
        '<rect width="10" height="10" fill="#fff"/><rect x="2" y="2" width="4" height="4"/>'
        '<text x="9" y="9">gull</text><path d="M0 5H10" fill="none" stroke="#000" stroke-dasharray="1"/>'
        '<g id="notes"><path d="M0 0H10" stroke="#000"/></g><path d="M0 0H99" visibility="hidden" stroke="#000"/>',
        width=8.0,
        skip_layers=["notes"],
    )
    assert [box(shape) for shape in drawing.shapes] == [(4, 4, 12, 12)]
    assert drawing.labels[0].at[0] > 18
    assert drawing.markings[0].points == ((0.0, 10.0), (20.0, 10.0))


def test_curves_are_flattened_at_finished_size():
    small, large = (
        len(read('<circle cx="5" cy="5" r="4"/>', width=w).shapes[0].tracks[0].points) for w in (2.0, 32.0)
    )
    assert large == pytest.approx(4 * small, rel=0.15)


# Transforms -----------------------------------------------------------------------------------------------------


def test_nested_transforms():
    turned = '<rect width="1" height="1" transform="rotate(90)"/>'
    assert boxes(f'<g transform="translate(1,2)"><g transform="scale(2)">{turned}</g></g>') == [(-1, 2, 1, 4)]


def test_a_turned_rectangle_is_turned_about_the_point_it_names():
    # Its sides are no longer level; reading position and size alone would lose that.
    (shape,) = read('<rect x="3" y="4" width="4" height="2" transform="rotate(30,5,5)"/>').shapes
    centre, half = (5, 5), (2, 1)
    turned = [
        (
            centre[0] + sx * half[0] * math.cos(math.pi / 6) - sy * half[1] * math.sin(math.pi / 6),
            centre[1] + sx * half[0] * math.sin(math.pi / 6) + sy * half[1] * math.cos(math.pi / 6),
        )
        for sx, sy in ((-1, -1), (1, -1), (1, 1), (-1, 1))
    ]
    assert np.allclose(shape.tracks[0].points, turned)


def test_a_turned_rounded_rectangle():
    (shape,) = read('<rect x="3" y="4" width="4" height="2" rx="1" transform="rotate(90,5,5)"/>').shapes
    assert box(shape) == (4, 3, 6, 7)


matrices = st.tuples(*[st.floats(-2, 2).map(lambda v: round(v, 3))] * 6).filter(
    lambda m: abs(m[0] * m[3] - m[1] * m[2]) > 0.1
)


@settings(max_examples=40, deadline=None)
@given(st.lists(matrices, min_size=1, max_size=5))
def test_nested_matrices_multiply(steps):
    body = '<path d="M0 0L1 0L1 1Q2 2 0 1z"/>'
    product = np.eye(3)
    for a, b, c, d, e, f in reversed(steps):
        body = f'<g transform="matrix({a},{b} {c},{d} {e},{f})">{body}</g>'
        product = np.array([[a, c, e], [b, d, f], [0, 0, 1]]) @ product
    points = np.array(read(body, tolerance=1e-4).shapes[0].tracks[0].points)
    corners = np.array([[0, 0, 1], [1, 0, 1], [1, 1, 1]]) @ product.T
    assert np.allclose(points[:3], corners[:, :2], atol=1e-6)


def test_transforms_on_the_root():
    assert boxes('<rect width="1" height="1"/>', 'viewBox="0 0 96 96" width="1in" transform="scale(96)"') == [
        (0, 0, 1, 1)
    ]


def test_transform_origin():
    rect = '<rect x="4" y="4" width="2" height="1" style="transform:rotate(180deg);transform-origin:{0}"/>'
    assert boxes(rect.format("0 0")) == [(-6, -5, -4, -4)]
    assert boxes(rect.format("4px 4px")) == [(2, 3, 4, 4)]
    assert boxes(rect.format("center")) == [(4, 5, 6, 6)]
    assert boxes(rect.format("bottom right")) == [(14, 15, 16, 16)]
    assert boxes(rect.format("50% 0%")) == [(4, -5, 6, -4)]


# Basic shapes ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("shape", "expected"),
    [
        ('<rect x="1" y="2" width="3" height="4"/>', (1, 2, 4, 6)),
        ('<rect width="50%" height="25%"/>', (0, 0, 5, 2.5)),
        ('<rect x="10%" y="10%" width="1" height="1"/>', (1, 1, 2, 2)),
        ('<rect x="-1" y="-2" width="3" height="4" rx="1"/>', (-1, -2, 2, 2)),
        ('<circle cx="5" cy="4" r="2"/>', (3, 2, 7, 6)),
        ('<circle cx="50%" cy="50%" r="10%"/>', (4, 4, 6, 6)),
        ('<ellipse cx="5" cy="4" rx="2" ry="1"/>', (3, 3, 7, 5)),
        ('<ellipse cx="5" cy="4" rx="2"/>', (3, 2, 7, 6)),
        ('<ellipse cx="5" cy="4" ry="2" rx="auto"/>', (3, 2, 7, 6)),
        ('<polygon points="1,1 4,1 4,3"/>', (1, 1, 4, 3)),
        ('<polyline points="1 1,4 1 4-3"/>', (1, -3, 4, 1)),
        ('<line x1="1" y1="2" x2="3" y2="5" stroke="#000"/>', (1, 2, 3, 5)),
        ('<line x2="50%" y2="1" stroke="#000"/>', (0, 0, 5, 1)),
        ('<path d="M1 1H4V3z"/>', (1, 1, 4, 3)),
        ('<rect style="font-size:2px" width="2em" height="1em"/>', (0, 0, 4, 2)),
    ],
)
def test_basic_shapes(shape, expected):
    assert boxes(shape) == [expected]


@pytest.mark.parametrize(
    "shape",
    [
        '<rect width="0" height="4"/>',
        '<rect height="4"/>',
        '<rect width="auto" height="4"/>',
        '<circle r="0"/>',
        "<circle/>",
        '<ellipse rx="0" ry="3"/>',
        '<polygon points=""/>',
        "<polygon/>",
        '<polyline points="1 1"/>',
        '<path d=""/>',
        "<path/>",
        '<path d="none"/>',
        '<path d="M1 1"/>',
        '<path d="M1 1z" stroke="#000"/>',
        '<line x1="1" y1="1" x2="1" y2="1" stroke="#000"/>',
    ],
)
def test_what_has_no_extent_is_not_drawn(shape):
    assert len(read(shape + UNIT).shapes) == 1


def radii(attributes):
    """The radii of the corner at the top right."""
    (shape,) = read(f'<rect width="8" height="4" {attributes}/>').shapes
    (track,) = shape.tracks
    top = max(x for x, y in track.points if y == 0)
    right = min(y for x, y in track.points if x == 8)
    return (round(8 - top, 6), round(right, 6)), set(track.curves) - {STRAIGHT}


@pytest.mark.parametrize(
    ("attributes", "expected"),
    [
        ('rx="1"', (1, 1)),
        ('ry="1"', (1, 1)),
        ('rx="2" ry="1"', (2, 1)),
        ('rx="auto" ry="1"', (1, 1)),
        ('rx="9" ry="1"', (4, 1)),
        ('rx="3"', (3, 2)),
        ('rx="25%" ry="10%"', (2.5, 1)),
    ],
)
def test_rounded_rectangles(attributes, expected):
    # SVG 2, section 10.2: a missing radius follows the other, both at most half a side.
    assert radii(attributes) == (expected, {1, 2, 3, 4})


@pytest.mark.parametrize("attributes", ["", 'rx="0"', 'rx="0" ry="2"', 'rx="2" ry="0"'])
def test_rectangles_with_sharp_corners(attributes):
    assert len(read(f'<rect width="8" height="4" {attributes}/>').shapes[0].tracks[0].points) == 4


def test_tracks_of_a_path_keep_their_order_and_numbers():
    (shape,) = read('<path d="M0 0H4C4 2 2 4 0 4zM5 5a1 1 0 0 1 2 0 1 1 0 0 1-2 0z"/>').shapes
    first, second = shape.tracks
    assert list(dict.fromkeys(first.curves)) == [0, 1]
    assert list(dict.fromkeys(second.curves)) == [2, 3]
    assert first.closed
    assert second.closed
    assert len(second.points) == len(second.curves)


# Nested drawings, references ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("nested", "expected"),
    [
        ('<svg><rect width="2" height="1"/></svg>', (0, 0, 2, 1)),
        ('<svg x="3" y="4"><rect width="2" height="1"/></svg>', (3, 4, 5, 5)),
        ('<svg x="3" y="4" width="4" height="4"><rect width="50%" height="25%"/></svg>', (3, 4, 5, 5)),
        ('<svg width="4" height="2" viewBox="0 0 2 1"><rect width="1" height="1"/></svg>', (0, 0, 2, 2)),
        ('<svg width="4" height="4" viewBox="0 0 2 1"><rect width="2" height="1"/></svg>', (0, 1, 4, 3)),
        ('<svg width="50%" height="4" viewBox="0 0 2 1"><rect width="50%" height="1"/></svg>', (0, 0.75, 2.5, 3.25)),
        ('<svg viewBox="0 0 20 20"><rect width="2" height="1"/></svg>', (0, 0, 1, 0.5)),
        (
            '<g transform="scale(2)"><svg x="1" width="1" height="1"><rect width="1" height="1"/></svg></g>',
            (2, 0, 4, 2),
        ),
    ],
)
def test_nested_drawings(nested, expected):
    assert boxes(nested) == [expected]


def test_nested_drawings_without_size_do_not_show():
    assert len(boxes(f'<svg width="0">{UNIT}</svg><svg viewBox="0 0 0 5">{UNIT}</svg>' + UNIT)) == 1


SYMBOL = '<symbol id="s" {0}><rect width="2" height="1"/></symbol>'


@pytest.mark.parametrize(
    ("symbol", "use", "expected"),
    [
        # The viewBox of a symbol is fitted to the size that its use states.
        ('viewBox="0 0 2 1"', 'width="4" height="2"', (0, 0, 4, 2)),
        ('viewBox="0 0 2 1"', 'x="1" y="3" width="4" height="2"', (1, 3, 5, 5)),
        ('viewBox="0 0 2 1"', 'width="4" height="4"', (0, 1, 4, 3)),
        ('viewBox="0 0 2 1" preserveAspectRatio="xMinYMin"', 'width="4" height="4"', (0, 0, 4, 2)),
        ('viewBox="0 0 2 1" preserveAspectRatio="none"', 'width="4" height="4"', (0, 0, 4, 4)),
        ('viewBox="0 0 2 1"', 'width="50%" height="25%"', (0, 0, 5, 2.5)),
        ('viewBox="0 0 2 1"', "", (0, 2.5, 10, 7.5)),
        ('viewBox="0 0 2 1" width="4" height="2"', "", (0, 0, 4, 2)),
        ('viewBox="0 0 2 1" width="4" height="2"', 'width="8" height="4"', (0, 0, 8, 4)),
        ('viewBox="-1 -1 4 3" preserveAspectRatio="xMinYMin"', 'width="4" height="3"', (1, 1, 3, 2)),
        ("", 'x="1" y="1"', (1, 1, 3, 2)),
        ("", 'x="1" y="1" transform="scale(2)"', (2, 2, 6, 4)),
        ('viewBox="0 0 2 1"', 'width="4" height="2" transform="rotate(90)"', (-2, 0, 0, 4)),
    ],
)
@pytest.mark.parametrize("href", ["href", "xlink:href"])
def test_symbols_are_sized_by_their_use(symbol, use, expected, href):
    assert boxes(SYMBOL.format(symbol) + f'<use {href}="#s" {use}/>') == [expected]


def test_a_use_of_a_nested_drawing_sizes_it():
    nested = '<defs><svg id="s" viewBox="0 0 2 1" width="2" height="1"><rect width="2" height="1"/></svg></defs>'
    assert boxes(nested + '<use href="#s"/><use href="#s" x="1" width="4" height="2"/>') == [
        (0, 0, 2, 1),
        (1, 0, 5, 2),
    ]


def test_use_of_shapes_and_groups():
    body = (
        '<defs><rect id="a" x="1" width="2" height="1" transform="translate(0,1)"/>'
        '<g id="b"><use href="#a" y="2"/></g></defs>'
        '<use href="#a" x="3" y="1"/><use href="#b" transform="scale(2)"/>'
    )
    assert boxes(body) == [(4, 2, 6, 3), (2, 6, 6, 8)]
    assert [shape.name for shape in read(body).shapes] == ["a in use 2", "a in use 1"]


def test_use_hands_down_its_style():
    body = '<defs><path id="a" d="M0 0h1v1z"/></defs><use href="#a" fill="red"/><g fill="blue"><use href="#a"/></g>'
    assert [shape.fill for shape in read(body).shapes] == ["#ff0000", "#0000ff"]


def test_plain_href_is_stronger_than_xlink():
    body = '<defs><path id="a" d="M0 0h1v1z"/><path id="b" d="M0 0h2v2z"/></defs>'
    assert boxes(body + '<use href="#a" xlink:href="#b"/>') == [(0, 0, 1, 1)]


def test_a_use_may_come_before_what_it_shows():
    assert len(boxes('<use href="#a" x="5"/><path id="a" d="M0 0h1v1z"/>')) == 2


def test_use_of_what_is_not_displayed_shows_nothing():
    assert len(boxes('<path id="a" display="none" d="M0 0h1v1z"/><use href="#a"/><use/><use href=""/>' + UNIT)) == 1


def test_the_first_of_two_equal_ids_counts():
    body = '<defs><path id="a" d="M0 0h1v1z"/><path id="a" d="M0 0h2v2z"/></defs><use href="#a"/>'
    assert boxes(body) == [(0, 0, 1, 1)]


def test_switch_shows_its_first_child_that_it_may():
    foreign = '<foreignObject requiredExtensions="x"/><foreignObject/>'
    drawing = read(f'<switch>{foreign}<g><path d="M0 0h1v1z"/></g><path d="M0 0h2v2z"/></switch>')
    assert [box(shape) for shape in drawing.shapes] == [(0, 0, 1, 1)]
    assert codes(drawing) == []


def test_links_are_groups():
    assert boxes('<a href="#x" transform="scale(2)"><path d="M0 0h1v1z"/></a>') == [(0, 0, 2, 2)]

import itertools
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from seamtree.drawing.drawn import STRAIGHT
from seamtree.drawing.flatten import Flattener, encloses
from seamtree.drawing.outlines import (
    Arc,
    Cubic,
    Outline,
    arc_point,
    bounds_of,
    ellipse,
    is_rectangle,
    moved,
    rectangle,
)
from seamtree.tolerances import FLATTEN_SHARE

TOLERANCE = 0.02
coordinates = st.floats(-20, 20, allow_nan=False)
points = st.tuples(coordinates, coordinates)


def flatten(*outlines, filled=False, tolerance=TOLERANCE):
    return Flattener(tolerance=tolerance, source="t.svg").tracks(outlines, filled=filled)


def curved(start, curve):
    return Outline((start, curve.end), False, (curve,))


def casteljau(controls, count):
    """Places along the curve by repeated interpolation, de Casteljau's construction; shape (count + 1, 2)."""
    t = np.linspace(0, 1, count + 1)[:, None]
    controls = [np.array(control) for control in controls]
    while len(controls) > 1:
        controls = [(1 - t) * a + t * b for a, b in itertools.pairwise(controls)]
    return controls[0]


def along(arc, start, sweep, count):
    """Places along an arc by the plain formula; shape (count + 1, 2)."""
    angle = (start + sweep * np.arange(count + 1) / count)[:, None]
    return np.array(arc.centre) + np.cos(angle) * np.array(arc.u) + np.sin(angle) * np.array(arc.v)


def farthest(samples, chain):
    """How far from a chain of chords the farthest of some places is."""
    a, b = np.array(chain[:-1]), np.array(chain[1:])
    step = b - a
    square = np.maximum((step**2).sum(axis=1), 1e-300)
    share = np.clip(((samples[:, None] - a) * step).sum(axis=2) / square, 0, 1)
    return np.hypot(*(samples[:, None] - a - share[..., None] * step).transpose(2, 0, 1)).min(axis=1).max()


@settings(max_examples=50, deadline=None)
@given(points, points, points, points)
def test_chords_of_a_bezier_stay_within_their_share(start, first, second, end):
    tracks = flatten(curved(start, Cubic(first, second, end)))
    if not tracks:
        assert math.dist(start, end) < 1e-6
        return
    (track,) = tracks
    if set(track.curves) == {STRAIGHT}:
        reach = TOLERANCE
    else:
        reach = FLATTEN_SHARE * TOLERANCE
        assert set(track.curves) == {1}
    samples = casteljau([start, first, second, end], 200)
    assert farthest(samples, track.points) <= reach * (1 + 1e-9) + 1e-9
    assert track.points[0] == start
    assert track.points[-1] == end


@settings(max_examples=50, deadline=None)
@given(points, points, points, st.floats(-7, 7), st.floats(-6.2, 6.2).filter(lambda sweep: abs(sweep) > 0.01))
def test_chords_of_an_arc_stay_within_their_share(centre, u, v, start, sweep):
    arc = Arc(centre, u, v, start, sweep, (0.0, 0.0))
    arc = arc._replace(end=arc_point(arc, start + sweep))
    tracks = flatten(curved(arc_point(arc, start), arc))
    if not tracks:
        assert max(map(math.hypot, *zip(u, v, strict=True))) < 1e-6 or math.dist(u, v) < 40
        return
    (track,) = tracks
    reach = TOLERANCE if set(track.curves) == {STRAIGHT} else FLATTEN_SHARE * TOLERANCE
    samples = along(arc, start, sweep, 200)
    assert farthest(samples, track.points) <= reach * (1 + 1e-9) + 1e-9


@settings(max_examples=50, deadline=None)
@given(points, points, points, points)
def test_bounds_of_a_bezier_are_exact(start, first, second, end):
    box = bounds_of([curved(start, Cubic(first, second, end))])
    samples = casteljau([start, first, second, end], 2000)
    for axis in (0, 1):
        low, high = samples[:, axis].min(), samples[:, axis].max()
        assert box[axis] <= low + 1e-9
        assert low - box[axis] < 1e-3
        assert box[axis + 2] >= high - 1e-9
        assert box[axis + 2] - high < 1e-3


@settings(max_examples=50, deadline=None)
@given(points, points, points, st.floats(-7, 7), st.floats(-6.28, 6.28))
def test_bounds_of_an_arc_are_exact(centre, u, v, start, sweep):
    arc = Arc(centre, u, v, start, sweep, (0.0, 0.0))
    arc = arc._replace(end=arc_point(arc, start + sweep))
    box = bounds_of([curved(arc_point(arc, start), arc)])
    samples = along(arc, start, sweep, 4000)
    for axis in (0, 1):
        assert box[axis] == pytest.approx(samples[:, axis].min(), abs=1e-3)
        assert box[axis + 2] == pytest.approx(samples[:, axis].max(), abs=1e-3)


def test_a_circle_is_closed_and_one_curve():
    (track,) = flatten(ellipse((3.0, 4.0), 2.0, 2.0))
    assert track.closed
    assert set(track.curves) == {1}
    assert len(track.curves) == len(track.points) > 20
    assert track.points[0] == (5.0, 4.0)
    assert all(math.dist(point, (3.0, 4.0)) == pytest.approx(2.0) for point in track.points)


def test_the_bounding_box_of_a_circle_is_exact():
    for radius in (0.1, 1.0, 1.7, 5.0):
        (track,) = flatten(ellipse((0.0, 0.0), radius, radius))
        xs, ys = zip(*track.points, strict=True)
        assert (min(xs), min(ys), max(xs), max(ys)) == pytest.approx((-radius, -radius, radius, radius), rel=1e-12)


def test_a_tiny_circle_still_has_corners_enough_to_be_round():
    (track,) = flatten(ellipse((0.0, 0.0), 0.03, 0.03))
    assert len(track.points) >= 8


def test_consecutive_curves_have_numbers_of_their_own():
    first = Cubic((0.0, 1.0), (1.0, 2.0), (2.0, 2.0))
    second = Cubic((3.0, 2.0), (4.0, 1.0), (4.0, 0.0))
    ends = ((0.0, 0.0), first.end, (2.0, 5.0), second.end, second.end)
    outline = Outline(ends, True, (first, None, second, second))
    tracks = flatten(outline, ellipse((9.0, 9.0), 1, 1))
    runs = [[number for number, _ in itertools.groupby(track.curves)] for track in tracks]
    assert runs == [[1, STRAIGHT, 2, 3, STRAIGHT], [4]]


def test_a_curve_that_is_straight_within_the_tolerance_is_one_line():
    flat = Cubic((1.0, 0.02), (2.0, 0.02), (3.0, 0.0))
    (track,) = flatten(curved((0.0, 0.0), flat))
    assert track.points == ((0.0, 0.0), (3.0, 0.0))
    assert track.curves == (STRAIGHT,)
    (track,) = flatten(curved((0.0, 0.0), flat), tolerance=0.005)
    assert len(track.points) > 2
    assert set(track.curves) == {1}


def test_a_curve_that_is_only_just_straight_keeps_its_middle():
    # It strays 0.03 in from its chord and so 0.015 in from the line that fits best.
    (track,) = flatten(curved((0.0, 0.0), Cubic((1.0, 0.04), (3.0, 0.04), (4.0, 0.0))))
    assert [(round(x, 2), round(y, 3)) for x, y in track.points] == [(0.0, 0.0), (2.0, 0.03), (4.0, 0.0)]
    assert track.curves == (STRAIGHT, STRAIGHT)


def test_a_curve_that_turns_back_on_one_line_stays_a_curve():
    (track,) = flatten(curved((0.0, 0.0), Cubic((4.0, 0.0), (4.0, 0.0), (1.0, 0.0))))
    assert set(track.curves) == {1}
    assert max(x for x, _ in track.points) > 2.0


def test_rounded_corners_are_a_curve_each():
    (track,) = flatten(rectangle(0.0, 0.0, 4.0, 2.0, rx=0.5, ry=0.5))
    assert [number for number, _ in itertools.groupby(track.curves)] == [
        STRAIGHT,
        1,
        STRAIGHT,
        2,
        STRAIGHT,
        3,
        STRAIGHT,
        4,
    ]
    assert track.closed


def test_a_rectangle_that_is_all_corners_has_no_lines_between_them():
    (track,) = flatten(rectangle(0.0, 0.0, 2.0, 2.0, rx=1.0, ry=1.0))
    assert [number for number, _ in itertools.groupby(track.curves)] == [1, 2, 3, 4]


def test_segments_without_length_are_dropped():
    corners = ((0.0, 0.0), (0.0, 0.0), (1.0, 0.0), (1.0, 1e-12), (1.0, 1.0), (0.0, 0.0))
    (track,) = flatten(Outline(corners, True))
    assert track.points == ((0.0, 0.0), (1.0, 0.0), (1.0, 1.0))
    assert track.curves == (STRAIGHT,) * 3


def test_subpaths_of_one_point_are_dropped():
    assert flatten(Outline(((1.0, 1.0), (1.0, 1.0)), True)) == ()


def test_open_outlines_are_closed_only_when_filled():
    corner = Outline(((0.0, 0.0), (1.0, 0.0), (1.0, 1.0)), False)
    assert not flatten(corner)[0].closed
    (track,) = flatten(corner, filled=True)
    assert track.closed
    assert track.curves == (STRAIGHT,) * 3


def test_a_filled_line_encloses_nothing_and_stays_open():
    line = Outline(((0.0, 0.0), (1.0, 1.0), (2.0, 2.0)), False)
    assert not flatten(line, filled=True)[0].closed
    assert encloses([(0, 0), (1, 0), (0, 1)])
    assert not encloses([(0, 0), (1, 1), (2, 2), (0, 0)])


@settings(max_examples=50, deadline=None)
@given(st.tuples(*[st.floats(-3, 3)] * 6), points, points, points)
def test_moving_an_outline_moves_its_points(matrix, start, first, second):
    a, b, c, d, e, f = matrix
    arc = Arc(first, second, start, 0.5, 2.0, (1.0, 2.0))
    curves = (None, Cubic(first, second, start), arc)
    outline = Outline((start, first, start, arc.end), False, curves)
    there = moved(outline, matrix)

    def image(point):
        return pytest.approx((a * point[0] + c * point[1] + e, b * point[0] + d * point[1] + f), abs=1e-9)

    assert there.points == tuple(map(image, outline.points))
    line, cubic, moved_arc = there.curves
    assert line is None
    assert (cubic.first, cubic.second, cubic.end) == (image(first), image(second), image(start))
    assert moved_arc.end == image(arc.end)
    for turn in (0.5, 1.5, 2.5):
        assert arc_point(moved_arc, turn) == image(arc_point(arc, turn))


@pytest.mark.parametrize(
    ("corners", "closed", "answer"),
    [
        ([(0, 0), (4, 0), (4, 3), (0, 3)], True, True),
        ([(4, 3), (4, 0), (0, 0), (0, 3)], True, True),
        ([(0, 0), (4, 0), (4, 3), (0, 3), (0, 0)], False, True),
        ([(0, 0), (4, 3), (4, 0), (0, 3)], True, False),
        ([(0, 0), (4, 0), (4, 3)], True, False),
        ([(0, 0), (4, 0.1), (4, 3), (0, 3)], True, False),
        ([(2, 0), (4, 2), (2, 4), (0, 2)], True, False),
        ([(0, 0), (2, 0), (4, 0), (4, 3), (0, 3)], True, False),
    ],
)
def test_is_rectangle(corners, closed, answer):
    assert is_rectangle([Outline(tuple(corners), closed)]) is answer


def test_rounded_rectangles_are_none():
    assert is_rectangle([rectangle(0, 0, 2, 2)])
    assert not is_rectangle([rectangle(0, 0, 2, 2, rx=0.5, ry=0.5)])
    assert not is_rectangle([rectangle(0, 0, 2, 2), rectangle(3, 3, 2, 2)])

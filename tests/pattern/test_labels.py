"""Numbers and words that fit into their patches."""

import math

import shapely
from hypothesis import given
from hypothesis import strategies as st
from shapely import affinity

from seamtree.pattern.labels import LEADING, NUMBER_SIZES, SIZES, line_width, place_label
from seamtree.pattern.pdf import text_width


def box_of(label):
    """Return the area that a label covers, inches."""
    wide = max(line_width(line, label.size, text_width) for line in label.lines) / 72
    high = sum(LEADING * label.line_size(line[0]) for line in label.lines) / 72
    x, y = label.at
    level = shapely.box(x - wide / 2, y - high / 2, x + wide / 2, y + high / 2)
    # y runs down, so what is anticlockwise as seen is clockwise for shapely.
    return affinity.rotate(level, -label.angle, origin=label.at)


def said(label):
    return [" ".join(part.text for part in line) for line in label.lines]


def test_there_is_room_for_everything():
    label = place_label([(0, 0), (3, 0), (3, 2), (0, 2)], "A1", "burnt orange", text_width)
    assert said(label) == ["A1", "burnt orange"]
    assert (label.at, label.angle, label.size, label.complete) == ((1.5, 1.0), 0.0, SIZES[0], True)


def test_words_are_broken_in_a_narrow_patch():
    label = place_label([(0, 0), (0.7, 0), (0.7, 2), (0, 2)], "A1", "burnt orange", text_width)
    assert said(label) == ["A1", "burnt", "orange"]
    assert label.angle == 0


def test_text_runs_along_a_strip():
    strip = affinity.rotate(shapely.box(0, 0, 3, 0.22), -40).exterior.coords[:-1]
    label = place_label(strip, "A12", "sea green", text_width)
    assert said(label) == ["A12 sea green"]
    assert math.isclose(label.angle, 40, abs_tol=1e-6)


def test_a_small_patch_has_its_number_alone():
    label = place_label([(0, 0), (0.35, 0), (0, 0.35)], "A3", "lighter navy", text_width)
    assert said(label) == ["A3"]
    assert not label.complete


def test_a_tiny_patch_has_its_number_all_the_same():
    label = place_label([(0, 0), (0.03, 0), (0, 0.03)], "A3", "navy", text_width)
    assert (said(label), label.size) == (["A3"], NUMBER_SIZES[-1])


def test_a_very_long_word_is_cut_short():
    label = place_label([(0, 0), (9, 0), (9, 9), (0, 9)], "A1", "x" * 500, text_width)
    assert len(said(label)[1]) == 40


@given(
    st.lists(st.tuples(st.floats(0, 4), st.floats(0, 4)), min_size=3, max_size=7),
    st.sampled_from(["teal", "burnt orange", "lighter brick red 2"]),
)
def test_text_stays_inside_its_patch(points, word):
    patch = shapely.MultiPoint(points).convex_hull
    if patch.geom_type != "Polygon" or patch.area < 0.05:
        return
    label = place_label(patch, "AB12", word, text_width)
    if label.size > NUMBER_SIZES[-1]:
        assert patch.buffer(1e-6).covers(box_of(label))
    assert -90 <= label.angle <= 90 + 1e-6
    assert word == " ".join(said(label)).removeprefix("AB12 ") or not label.complete

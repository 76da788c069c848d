"""Shapes that are nested do not touch, and lie on the sheet."""

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import affinity

from seamtree.pattern.nesting import nest

ROOM = (7.0, 9.0)
GAP = 0.12


def turned(shape):
    """Return a shape turned by quarters, each with its top left corner at the origin."""
    variants = [affinity.rotate(shape, -90 * k, origin=(0, 0)) for k in range(4)]
    return [affinity.translate(v, -v.bounds[0], -v.bounds[1]) for v in variants]


def check(shapes, places):
    sheets = {}
    for variants, place in zip(shapes, places, strict=True):
        sheets.setdefault(place.sheet, []).append(affinity.translate(variants[place.variant], *place.at))
    for laid in sheets.values():
        for n, shape in enumerate(laid):
            assert shapely.box(-1e-9, -1e-9, ROOM[0] + 1e-9, ROOM[1] + 1e-9).covers(shape)
            assert all(shape.distance(other) >= GAP - 1e-9 for other in laid[:n])
    assert sorted(sheets) == list(range(len(sheets)))


def test_two_triangles_share_a_sheet_that_holds_one_box():
    triangle = shapely.Polygon([(0, 0), (6, 0), (0, 6)])
    shapes = [turned(triangle) for _ in range(4)]
    places = nest(shapes, ROOM, gap=GAP)
    check(shapes, places)
    assert [place.sheet for place in places] == [0, 0, 1, 1]


def test_a_shape_as_large_as_the_sheet_fits():
    places = nest([[shapely.box(0, 0, *ROOM)]], ROOM, gap=GAP)
    assert places[0].at == (0, 0)


def test_a_variant_that_is_too_large_is_passed_over():
    wide = shapely.box(0, 0, 8, 1)
    (place,) = nest([[shapely.box(0, 0, 6, 2), wide]], ROOM, gap=GAP)
    assert place.variant == 0


def test_nothing_takes_no_sheets():
    assert nest([], ROOM, gap=GAP) == []


@settings(max_examples=15)
@given(
    st.lists(st.lists(st.tuples(st.floats(0, 5), st.floats(0, 5)), min_size=3, max_size=6), min_size=1, max_size=6)
)
def test_shapes_lie_clear_of_each_other(clouds):
    hulls = [shapely.MultiPoint(cloud).convex_hull for cloud in clouds]
    shapes = [turned(hull) for hull in hulls if hull.geom_type == "Polygon" and hull.area > 0.01]
    check(shapes, nest(shapes, ROOM, gap=GAP))


def test_the_order_of_equal_shapes_is_kept():
    places = nest([turned(shapely.box(0, 0, 3, 3))] * 3, ROOM, gap=GAP)
    assert [place.at[1] for place in places] == pytest.approx([0, 0, places[2].at[1]])

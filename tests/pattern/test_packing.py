"""Shapes that are packed do not touch, and lie on the sheet."""

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import affinity

from seamtree.pattern.packing import free_place, pack, rasterise

ROOM = (7.0, 9.0)
GAP = 0.12


def turned(shape):
    """Return a shape turned by quarters, each with its top left corner at the origin."""
    variants = [affinity.rotate(shape, -90 * k, origin=(0, 0)) for k in range(4)]
    return [affinity.translate(v, -v.bounds[0], -v.bounds[1]) for v in variants]


def packed(shapes):
    return pack([[rasterise(shape, gap=GAP) for shape in variants] for variants in shapes], ROOM, gap=GAP)


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
    places = packed(shapes)
    check(shapes, places)
    assert [place.sheet for place in places] == [0, 0, 1, 1]


def test_a_shape_as_large_as_the_sheet_fits():
    places = packed([[shapely.box(0, 0, *ROOM)]])
    assert places[0].at == (0, 0)


def test_a_variant_that_is_too_large_is_passed_over():
    wide = shapely.box(0, 0, 8, 1)
    (place,) = packed([[shapely.box(0, 0, 6, 2), wide]])
    assert place.variant == 0


def test_nothing_takes_no_sheets():
    assert packed([]) == []


@settings(max_examples=15)
@given(
    st.lists(st.lists(st.tuples(st.floats(0, 5), st.floats(0, 5)), min_size=3, max_size=6), min_size=1, max_size=6)
)
def test_shapes_lie_clear_of_each_other(clouds):
    hulls = [shapely.MultiPoint(cloud).convex_hull for cloud in clouds]
    shapes = [turned(hull) for hull in hulls if hull.geom_type == "Polygon" and hull.area > 0.01]
    check(shapes, packed(shapes))


def test_the_order_of_equal_shapes_is_kept():
    places = packed([turned(shapely.box(0, 0, 3, 3))] * 3)
    assert [place.at[1] for place in places] == pytest.approx([0, 0, places[2].at[1]])


@pytest.mark.parametrize("corners", [[(0, 0), (3, 0), (0, 2)], [(0, 0), (2.03, 0.4), (1.7, 3.01), (0.3, 2)]])
def test_half_a_turn_of_the_cells_is_half_a_turn_of_the_shape(corners):
    shape = shapely.Polygon(corners)
    other = affinity.rotate(shape, 180, origin=[side / 2 for side in shape.bounds[2:]])
    rasters = [rasterise(shape, gap=GAP), rasterise(shape, gap=GAP).half_turned()]
    for variant, lying in enumerate((shape, other)):
        places = pack([[rasters[variant]], [rasters[variant]], [rasters[0]]], ROOM, gap=GAP)
        laid = [affinity.translate(s, *p.at) for s, p in zip((lying, lying, shape), places, strict=True)]
        assert all(one.distance(two) >= GAP - 1e-9 for n, one in enumerate(laid) for two in laid[:n])
        assert all(shapely.box(0, 0, *ROOM).buffer(1e-9).covers(one) for one in laid)


def test_a_box_lies_free_at_the_foot_on_the_right():
    wide, low = rasterise(shapely.box(0, 0, 7, 6), gap=GAP), rasterise(shapely.box(0, 0, 2, 2.8), gap=GAP)
    first, second = pack([[wide], [low]], ROOM, gap=GAP)
    taken = [(wide, first.at), (low, second.at)]
    assert free_place(taken, [(5.5, 2.0), (3.0, 2.0)], ROOM, gap=GAP) == (1, pytest.approx((4.0, 7.0), abs=0.08))
    assert free_place(taken, [(5.5, 2.0)], ROOM, gap=GAP) is None

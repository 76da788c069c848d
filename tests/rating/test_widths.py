import math

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from shapely import affinity

from seamtree.drawing.limits import LEAST_INCHES
from seamtree.rating.widths import width_of

# The radius of the largest circle in a triangle is its area over half its perimeter (Euclid, Elements IV.4).


def corners(polygon):
    return list(polygon.exterior.coords)[:-1]


@pytest.mark.parametrize(
    ("polygon", "width"),
    [
        (shapely.box(0, 0, 8, 0.5), 0.5),
        (shapely.box(0, 0, 3, 3), 3.0),
        (shapely.Polygon([(0, 0), (3, 0), (3, 4)]), 2.0),
        (shapely.Polygon([(0, 0), (4, 0), (4, 1), (1, 1), (1, 4), (0, 4)]), 4 - 2 * math.sqrt(2)),  # an L
        (shapely.Polygon([(math.cos(k * math.pi / 3), math.sin(k * math.pi / 3)) for k in range(6)]), math.sqrt(3)),
    ],
)
def test_known_widths(polygon, width):
    assert width_of(corners(polygon)) == pytest.approx(width, abs=1e-4)


def test_many_sides():
    assert width_of(corners(shapely.Point(0, 0).buffer(2, 40))) == pytest.approx(4, abs=1e-2)


# As the map has them: what is next to nothing is 0 there.
coordinates = st.floats(0, 10).map(lambda x: 0.0 if x < LEAST_INCHES else x)
convex = st.lists(st.tuples(coordinates, coordinates), min_size=3, max_size=9).map(
    lambda points: shapely.MultiPoint(points).convex_hull
)


@given(convex.filter(lambda p: p.geom_type == "Polygon" and p.area > 0.1), st.floats(-180, 180))
def test_the_width_is_that_of_the_circle_that_shapely_finds(polygon, angle):
    width = width_of(corners(polygon))
    circle = shapely.maximum_inscribed_circle(polygon, tolerance=1e-4)
    assert width == pytest.approx(2 * circle.length, abs=1e-3)
    assert width_of(corners(affinity.rotate(polygon, angle))[::-1]) == pytest.approx(width, abs=1e-6)


def test_a_corner_that_rounding_turned_inward_is_none():
    assert width_of([(0, 0), (4, 0), (4, 1), (2, 0.9999), (0, 1)]) == pytest.approx(1.0, abs=1e-3)

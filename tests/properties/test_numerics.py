"""The same drawing written in other numbers gets the same verdict: size, place, angle, decimals, format, jitter.

The tolerance is a length of cloth, 0.02 in at finished size, so a fine drawing may truly read otherwise at 1 in
than at 80 in. Two things are done about that: the layouts are roomy (`is_roomy`: even at 8 in nothing is as small
as several tolerances), and for other sizes the tolerance grows with the drawing;
`test_the_usual_tolerance_at_every_size` keeps it as it is. `seamtree.tolerances.GAP_WIDTH` is a length as well (a
notch of the outline less than 0.25 in wide is taken for a gap), so layouts have a convex outline.
"""

from __future__ import annotations

import math
import random
from functools import cache
from itertools import combinations, product

import pytest
import shapely
from benchmarks.jitter import shake
from hypothesis import example, given, settings
from hypothesis import strategies as st

from seamtree.errors import DrawingError
from seamtree.planning.build import plan
from tests.support import layouts
from tests.support.effort import times
from tests.support.files import Format, Placing, read, write
from tests.support.random_layouts import random_layout

FAR = 1e6
"""Inches from the origin: 16 miles."""

TOLERANCE = 0.02

Verdict = tuple[str, int, int, int, int]


def is_roomy(polygons) -> bool:
    """Tell whether, 8 in wide, every patch is wider than ten tolerances and every two corners are as far apart."""
    room = 10 * TOLERANCE
    shapes = [shapely.Polygon(ring) for ring in Placing().place(polygons)]
    if any(shape.buffer(-room / 2).is_empty for shape in shapes):
        return False
    corners = {(round(x, 6), round(y, 6)) for shape in shapes for x, y in shape.exterior.coords}
    return all(math.dist(a, b) > room for a, b in combinations(corners, 2))


def is_convex(polygons) -> bool:
    outline = shapely.union_all(polygons)
    return outline.convex_hull.area - outline.area < 1e-6 * outline.area


@cache
def roomy_layouts() -> tuple[list[shapely.Polygon], ...]:
    """Return traditional layouts and random ones."""
    made = [*layouts.known(), *map(random_layout, range(150))]
    return tuple(polygons for polygons in made if is_roomy(polygons) and is_convex(polygons))


@cache
def usual(number: int) -> Verdict:
    """Return the verdict on a layout 8 in wide at the origin."""
    return verdict(number, Placing(), "wkt")


def verdict(number: int, placing: Placing, form: Format, *, tolerance: float = TOLERANCE) -> Verdict:
    outlines = placing.place(roomy_layouts()[number])
    (block,) = read(write(outlines, form, decimals=placing.decimals), form, tolerance=tolerance)
    answer = plan(block, time_limit=2)
    assert answer.proven
    counts = answer.counts
    return answer.verdict, counts.patches, counts.units, counts.hard_corners, counts.set_in


some_layouts = st.integers(0, len(roomy_layouts()) - 1)
formats = st.sampled_from(["svg", "geojson", "wkt"])
far = st.one_of(st.just(0.0), st.floats(-FAR, FAR), st.sampled_from([FAR, -FAR]))
placings = st.builds(
    Placing,
    width=st.sampled_from([1.0, 8.0, 80.0]),
    angle=st.one_of(st.just(0.0), st.floats(-180, 180)),
    offset=st.tuples(far, far),
    decimals=st.sampled_from([3, 15]),
)


def test_there_are_layouts_of_every_verdict() -> None:
    verdicts = [usual(number)[0] for number in range(len(roomy_layouts()))]
    assert len(verdicts) >= 50
    assert min(verdicts.count(v) for v in ("single unit", "joined units", "hard corners")) >= 4


@settings(max_examples=times(25, 500))
@given(some_layouts, placings, formats)
@example(0, Placing(1.0, 37.3, (FAR, -FAR), 3), "svg")
@example(7, Placing(80.0, 22.5, (-FAR, FAR), 3), "geojson")
def test_size_place_angle_and_decimals(number: int, placing: Placing, form: Format) -> None:
    assert verdict(number, placing, form, tolerance=TOLERANCE * placing.width / 8) == usual(number)


@settings(max_examples=40)
@given(some_layouts, st.sampled_from([8.0, 80.0]), formats)
def test_the_usual_tolerance_at_every_size(number: int, width: float, form: Format) -> None:
    assert verdict(number, Placing(width), form) == usual(number)


def test_a_fine_drawing_may_be_too_fine_at_an_inch() -> None:
    # Not a fault but what the tolerance means: at an inch across, these strips are as narrow as the tolerance.
    strips = [shapely.box(k, 0, k + 1, 60) for k in range(60)]
    (block,) = read(write(Placing(8.0).place(strips), "wkt"), "wkt")
    assert len(block.patches) == 60
    with pytest.raises(DrawingError, match=r"60 filled shapes are narrower than 0\.04 in, too narrow to sew"):
        read(write(Placing(1.0).place(strips), "wkt"), "wkt")


def test_a_drawing_without_a_size_in_inches_may_be_too_small() -> None:
    # Eight units are eight pixels in SVG, a twelfth of an inch.
    lines = '<path fill="none" stroke="black" d="M0 0H8V8H0z M2 0V8 M4 0V8 M6 0V8 M0 4H8"/>'
    data = f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 8 8">{lines}</svg>'.encode()
    with pytest.raises(DrawingError, match=r"0.083 by 0.083 in at finished size: too small to sew.*`width`"):
        read(data, "svg")
    (block,) = read(data, "svg", width=8.0)
    assert len(block.patches) == 8


@settings(max_examples=times(25, 500))
@given(some_layouts, st.integers(0, 10**6), st.floats(-180, 180), formats)
def test_patches_drawn_by_an_unsteady_hand(number: int, seed: int, angle: float, form: Format) -> None:
    """Each patch on its own is up to a quarter of the tolerance off: ends miss by up to half of it."""
    outlines = Placing(angle=angle).place(roomy_layouts()[number])
    shaken = shake(outlines, TOLERANCE / 4, random.Random(seed))
    (block,) = read(write(shaken, form), form)
    answer = plan(block, time_limit=2)
    counts = answer.counts
    assert (answer.verdict, counts.patches, counts.units, counts.hard_corners, counts.set_in) == usual(number)


def test_every_size_place_and_angle_of_one_drawing_of_each_verdict() -> None:
    for number in (0, 2, 6):
        for width, angle, place, decimals in product((1.0, 80.0), (0.0, 45.0, 61.7), (0.0, FAR), (3, 15)):
            placing = Placing(width, angle, (place, -place), decimals)
            assert verdict(number, placing, "wkt", tolerance=TOLERANCE * width / 8) == usual(number)

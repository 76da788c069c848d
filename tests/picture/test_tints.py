"""Tints, hatching and signs against what people with all kinds of colour vision, and printers, can tell apart.

Contrast and luminance follow WCAG 2.2 (W3C, 'Terms': contrast ratio, relative luminance). The matrices for dichromats
are those of severity 1.0 in G. M. Machado, M. M. Oliveira, L. A. F. Fernandes, 'A physiologically-based model for
simulation of color vision deficiency', IEEE Transactions on Visualization and Computer Graphics 15 (2009), quoted
from memory; they act on linear RGB. Lightness and colour differences are those of CIE 1976 L*a*b* for the white of
sRGB (IEC 61966-2-1).
"""

from __future__ import annotations

from itertools import combinations

import hypothesis.strategies as st
import networkx as nx
import numpy as np
import pytest
import shapely
from hypothesis import given

from seamtree.block.build import block_from_polygons
from seamtree.colour import contrast, ink_on, relative_luminance
from seamtree.picture.hatching import hatch
from seamtree.picture.tints import (
    FOUR,
    SIX,
    colour_graph,
    unit_neighbours,
    unit_tints,
)
from seamtree.planning.build import plan as plan_block
from tests.cli.hand_made import buoy, dinghy, net

VISION = {
    "usual": np.eye(3),
    "protanopia": np.array(
        [[0.152286, 1.052583, -0.204868], [0.114503, 0.786281, 0.099216], [-0.003882, -0.048116, 1.051998]]
    ),
    "deuteranopia": np.array(
        [[0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413], [-0.011820, 0.042940, 0.968881]]
    ),
}

TO_XYZ = np.array([[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]])
WHITE = TO_XYZ @ np.ones(3)


def linear(colour):
    channels = np.array([int(colour[k : k + 2], 16) / 255 for k in (1, 3, 5)])
    return np.where(channels <= 0.04045, channels / 12.92, ((channels + 0.055) / 1.055) ** 2.4)


def lab(colour, vision="usual"):
    """L*, a*, b* of a colour as somebody sees it."""
    x, y, z = np.cbrt(TO_XYZ @ np.clip(VISION[vision] @ linear(colour), 0, 1) / WHITE)
    return np.array((116 * y - 16, 500 * (x - y), 200 * (y - z)))


def test_matrices_leave_greys_alone():
    for matrix in VISION.values():
        assert matrix.sum(axis=1) == pytest.approx(np.ones(3), abs=2e-6)


def test_simulation_confuses_what_dichromats_confuse():
    """The check can fail: a red and a green that are told apart by hue alone become alike."""
    red, green = "#c05a50", "#6f8a4c"
    usual = np.linalg.norm(lab(red) - lab(green))
    seen = np.linalg.norm(lab(red, "deuteranopia") - lab(green, "deuteranopia"))
    assert usual > 50
    assert seen < 0.4 * usual


@pytest.mark.parametrize("vision", VISION)
@pytest.mark.parametrize(("palette", "lightness"), [(FOUR, 8.5), (SIX, 5.0)])
def test_tints_differ_in_lightness_for_everybody(palette, lightness, vision):
    for one, other in combinations(palette, 2):
        assert abs(lab(one.fill, vision)[0] - lab(other.fill, vision)[0]) >= lightness


@pytest.mark.parametrize("palette", [FOUR, SIX])
def test_tints_differ_in_grey_print(palette):
    greys = sorted(round(255 * (0.299 * r + 0.587 * g + 0.114 * b)) for r, g, b in map(_rgb, palette))
    assert min(np.diff(greys)) >= 14


def _rgb(tint):
    return tuple(int(tint.fill[k : k + 2], 16) / 255 for k in (1, 3, 5))


@pytest.mark.parametrize("palette", [FOUR, SIX])
def test_hatchings_differ_and_are_dark_enough_for_black_and_white(palette):
    assert len({tint.hatching for tint in palette}) == len(palette)
    for tint in palette:
        if tint.hatching != "none":
            # A printer that knows only black and white takes what is darker than the middle grey of sRGB for black.
            assert relative_luminance(tint.ink) < linear("#808080")[0] < relative_luminance(tint.fill)
            assert contrast(tint.ink, tint.fill) > 2


@pytest.mark.parametrize("tint", {*FOUR, *SIX})
def test_numbers_are_legible_on_every_tint(tint):
    """WCAG 2.2, success criterion 1.4.6: 7 to 1 for text of any size."""
    assert contrast("#000000", tint.fill) >= 7
    assert ink_on(tint.fill) == "#000000"


def check_colouring(neighbours, colours):
    assert all(colours[n] != colours[other] for n, beside in enumerate(neighbours) for other in beside)


@given(st.integers(1, 30), st.floats(0, 1), st.integers(0, 10**6))
def test_neighbours_never_have_one_colour(nodes, density, seed):
    graph = nx.gnp_random_graph(nodes, density, seed=seed)
    neighbours = [frozenset(graph[n]) for n in range(nodes)]
    colours = colour_graph(neighbours)
    check_colouring(neighbours, colours)
    core = max(nx.core_number(graph).values())
    assert max(colours) <= core  # smallest-last takes at most one colour more than the degeneracy (Matula and Beck)


@given(st.lists(st.tuples(st.integers(0, 60), st.integers(0, 60)), min_size=4, max_size=40, unique=True))
def test_planar_graphs_take_six_colours_or_fewer(points):
    """Triangulations have as many edges as planar graphs can have."""
    triangles = shapely.get_parts(shapely.delaunay_triangles(shapely.MultiPoint(points)))
    number = {point: n for n, point in enumerate(points)}
    neighbours = [set() for _ in points]
    for triangle in triangles:
        corners = [number[x, y] for x, y in triangle.exterior.coords[:-1]]
        for one, other in combinations(corners, 2):
            neighbours[one].add(other)
            neighbours[other].add(one)
    colours = colour_graph([frozenset(beside) for beside in neighbours])
    check_colouring(neighbours, colours)
    assert max(colours) < len(SIX)


def test_nodes_that_all_touch_take_a_colour_each():
    wheel = [frozenset(range(5)) - {n} for n in range(5)]
    assert sorted(colour_graph(wheel)) == [0, 1, 2, 3, 4]


@pytest.mark.parametrize("plan", [buoy(), dinghy(), net(6, 6), net(5, 9, "halves")])
def test_units_side_by_side_look_different(plan):
    tints = unit_tints(plan)
    neighbours = unit_neighbours(plan)
    assert len(tints) == len(list(plan.units()))
    for n, beside in enumerate(neighbours):
        assert all(tints[n].fill != tints[m].fill and tints[n].hatching != tints[m].hatching for m in beside)


def test_neighbours_of_units_are_found():
    assert unit_neighbours(net(4, 3)) == (frozenset({1}), frozenset({0, 2}), frozenset({1}))
    single = plan_block(block_from_polygons([[(0, 0), (1, 0), (1, 1)]], name="buoy"))
    assert unit_neighbours(single) == (frozenset(),)


@pytest.mark.parametrize("tint", SIX[1:])
def test_hatching_keeps_inside_its_area_and_off_what_is_written(tint):
    area = shapely.Polygon([(0, 0), (80, 10), (60, 70), (10, 60)])
    number = shapely.box(30, 30, 50, 40)
    lines = hatch(area, tint, spacing=5, weight=0.5, leave=number)
    paths = [shapely.LineString(path) for shape in lines for path in shape.paths]
    assert len(paths) >= 10
    assert all(area.buffer(1e-6).contains(path) for path in paths)
    assert not any(number.buffer(-1e-6).intersects(path) for path in paths)
    assert {shape.colour for shape in lines} == {tint.ink}


def test_hatching_of_two_areas_is_in_step():
    """A unit of two patches is hatched as one, however it is cut up."""
    tint = FOUR[1]
    whole = hatch(shapely.box(0, 0, 60, 30), tint, spacing=5, weight=0.5, leave=None)
    left, right = (hatch(shapely.box(x, 0, x + 30, 30), tint, spacing=5, weight=0.5, leave=None) for x in (0, 30))
    drawn = [
        shapely.union_all([shapely.LineString(p) for s in lines for p in s.paths]) for lines in (whole, left + right)
    ]
    assert drawn[0].hausdorff_distance(drawn[1]) < 0.5


def test_no_hatching():
    assert hatch(shapely.box(0, 0, 9, 9), FOUR[0], spacing=5, weight=0.5, leave=None) == []
    assert hatch(shapely.box(0, 0, 9, 9), FOUR[1], spacing=5, weight=0.5, leave=shapely.box(-1, -1, 10, 10)) == []
    assert hatch(shapely.box(0, 0, 0.5, 0.5), FOUR[2], spacing=5, weight=0.5, leave=None) == []

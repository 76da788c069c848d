"""The search against all sewing orders of small layouts of triangles and quadrilaterals."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import example, given, settings
from hypothesis import strategies as st
from scipy.spatial import Delaunay

from seamtree.block.build import block_from_polygons
from seamtree.block.model import Block
from seamtree.planning.build import plan
from tests.support import layouts
from tests.support.brute_force import brute_force
from tests.support.effort import times
from tests.support.random_layouts import random_layout

MOST_PATCHES = 9


def compare(block: Block) -> None:
    answer = plan(block, time_limit=10)
    counts = answer.counts
    found = (counts.hard_corners, counts.set_in, counts.excess_pivots, counts.units)
    least = brute_force(block)
    if answer.proven:
        assert found == least
    else:
        assert found >= least
        assert (answer.bound.hard_corners, answer.bound.units) <= (least[0], least[3])


def triangles_and_quadrilaterals(seed: int) -> list[shapely.Polygon]:
    """Triangulate random points in a square, then merge some neighbours to quadrilaterals, convex or not."""
    rng = np.random.default_rng(seed)
    frame = [(0, 0), (6, 0), (6, 6), (0, 6)]
    points = np.concatenate([frame, rng.uniform(0.5, 5.5, (rng.integers(1, 5), 2))])
    polygons = [shapely.Polygon(points[corners]) for corners in Delaunay(points).simplices]
    for _ in range(rng.integers(0, 6)):
        a, b = rng.choice(len(polygons), 2, replace=False)
        union = polygons[a].union(polygons[b])
        if union.geom_type == "Polygon" and len(union.exterior.coords) == 5:
            polygons = [p for k, p in enumerate(polygons) if k not in (a, b)] + [union]
        if len(polygons) < 2:
            break
    return polygons


@given(st.integers(0, 10**6))
@example(0)
@example(143014)  # a triangle with its tip on the outline, all round which one part is sewn
@settings(max_examples=times(30, 500))
def test_triangles_and_quadrilaterals(seed: int) -> None:
    polygons = triangles_and_quadrilaterals(seed)
    if len(polygons) <= MOST_PATCHES:
        compare(block_from_polygons(polygons, tolerance=1e-5))


@given(st.integers(0, 10**6))
@settings(max_examples=times(30, 500))
def test_squares_split_merged_and_hollowed_out(seed: int) -> None:
    polygons = random_layout(seed)
    if len(polygons) <= MOST_PATCHES:
        compare(block_from_polygons(polygons, tolerance=1e-5))


@pytest.mark.parametrize(
    "layout",
    [
        layouts.log_cabin(1),
        layouts.squares(3, 3),
        layouts.kaleidoscope(),
        layouts.attic_window(),
        layouts.tumbling_block(),
        layouts.hexagon_flower(),
        layouts.spun_rectangles(),
        layouts.quarter_circle(),
    ],
)
def test_traditional_layouts(layout) -> None:
    compare(layout if isinstance(layout, Block) else block_from_polygons(layout))

from __future__ import annotations

import math
from dataclasses import replace

import pytest
import shapely
from hypothesis import assume, given
from hypothesis import strategies as st

from seamtree.block.build import block_from_polygons
from seamtree.block.model import OUTSIDE, Block, Edge, Patch
from seamtree.planning.build import plan
from seamtree.rating.features import Features, measure
from tests.support import layouts
from tests.support.random_layouts import random_layout


def measured(polygons, **words):
    block = polygons if isinstance(polygons, Block) else block_from_polygons(polygons, **words)
    return measure(plan(block))


def test_a_four_patch():
    features = measured(layouts.squares(2, 2)).features
    assert features == Features(
        patches=4,
        units=2,
        matched_points=1,
        set_in=0,
        partial=0,
        curved=0,
        excess_pivots=0,
        meeting_seams=4,
        matched_seams=4,
        sharpest_angle=90.0,
        narrowest_patch=2.0,
        shortest_seam=2.0,  # the middle parts them: only one of the two seams is sewn last
        seam_length=0.5,  # half of 4 in of seams round 4 square inches
        fabrics=0,
    )


def test_a_block_of_one_patch_has_no_seams():
    features = measured([shapely.box(0, 0, 3, 2)]).features
    assert (features.shortest_seam, features.seam_length, features.meeting_seams) == (math.inf, 0.0, 0)
    assert (features.narrowest_patch, features.sharpest_angle) == (2.0, 90.0)
    assert features.scaled(0.5).shortest_seam == math.inf


def test_a_block_of_one_round_patch_has_no_corner():
    ring = [(2 + 2 * math.cos(t * math.pi / 40), 2 + 2 * math.sin(t * math.pi / 40)) for t in range(80)]
    edges = [Edge(k, (k + 1) % 80, OUTSIDE, 0, 1) for k in range(80)]
    disc = Block("disc", 4.0, 4.0, 0.02, tuple(ring), tuple(edges), (Patch(tuple(range(80)), tuple(range(80))),), ())
    features = measured(disc).features
    assert features.sharpest_angle == math.inf
    assert features.narrowest_patch == pytest.approx(4, abs=0.01)


def test_places_are_named():
    block = block_from_polygons([shapely.box(0, 0, 6, 0.4), shapely.box(0, 0.4, 6, 3), shapely.box(0, 3, 6, 5)])
    spot = measure(plan(block)).worst("narrowest_patch")
    assert spot is not None
    assert (spot.value, spot.at) == (0.4, (3.0, 0.2))
    assert len(spot.patches) == 1


def test_seams_that_end_on_a_seam_from_both_sides_do_not_part_it():
    # Two stems a tenth of an inch apart on either side of a seam across: nothing is a tenth of an inch long.
    polygons = [
        shapely.box(0, 0, 2, 2),
        shapely.box(2, 0, 4, 2),
        shapely.box(0, 2, 2.1, 5),
        shapely.box(2.1, 2, 4, 5),
    ]
    features = measured(polygons).features
    assert (features.shortest_seam, features.matched_points, features.meeting_seams) == (2.0, 0, 3)


def test_a_quarter_circle():
    features = measured(layouts.quarter_circle(40)).features
    assert features.curved == 1
    assert features.sharpest_angle == pytest.approx(90.0, abs=0.01)
    assert features.shortest_seam == pytest.approx(2 * math.pi, rel=1e-3)


@pytest.mark.parametrize("chords", [6, 12, 48])
def test_the_angle_of_a_curve_does_not_depend_on_its_chords(chords):
    # A quarter circle ends square on the sides of its corner, however finely it is flattened.
    assert measured(layouts.quarter_circle(chords)).features.sharpest_angle == pytest.approx(90.0, abs=0.01)


@pytest.mark.parametrize(
    ("layout", "meeting", "matched", "angle"),
    [
        (layouts.kaleidoscope, 8, 1, 45.0),
        (layouts.diamond_star, 8, 1, 45.0),
        (layouts.tumbling_block, 3, 0, 60.0),
        (layouts.attic_window, 3, 0, 45.0),
        (layouts.spun_rectangles, 3, 0, 90.0),
    ],
)
def test_known_layouts(layout, meeting, matched, angle):
    features = measured(layout()).features
    assert (features.meeting_seams, features.matched_points) == (meeting, matched)
    assert features.matched_seams == (meeting if matched else 0)
    assert features.sharpest_angle == pytest.approx(angle, abs=1e-3)


def test_fabrics_are_counted_where_the_drawing_names_them():
    polygons = [shapely.box(0, y, 4, y + 1) for y in range(3)]
    assert measured(polygons, fabrics=["#112233", "#112233", "#ffffff"]).features.fabrics == 2
    assert measured(polygons).features.fabrics == 0


@given(st.integers(0, 10**6).map(random_layout))
def test_matched_points_are_those_of_every_straight_plan(polygons):
    answer = plan(block_from_polygons(polygons, tolerance=1e-5), time_limit=2)
    assume(answer.proven and not answer.counts.hard_corners)
    assert measure(answer).features.matched_points == answer.counts.matched_points


@given(st.integers(0, 10**6).map(random_layout))
def test_seams_are_shared_by_the_patches_on_both_sides(polygons):
    answer = plan(block_from_polygons(polygons, tolerance=1e-5), time_limit=0.5)
    spots = measure(answer).spots["seam_length"]
    assert [spot.value for spot in spots] == sorted((spot.value for spot in spots), reverse=True)
    area = {answer.patch_ids()[p]: shapely.Polygon(answer.block.polygon(p)).area for p in range(len(spots))}
    seams = sum(answer.block.edge_length(k) for k in answer.block.interior_edges)
    assert sum(spot.value * area[spot.patches[0]] for spot in spots) == pytest.approx(
        seams, abs=0.05
    )  # rounded values on 400 sq in


def test_a_plain_border_leaves_seams_as_close_as_they_are():
    nine = layouts.squares(3, 3)  # the middle one has all of its 8 in, halved, on 4 square inches
    assert measured(nine).features.seam_length == 1.0
    assert measured([*nine, shapely.box(0, 6, 6, 30)]).features.seam_length == 1.0


def test_impossible_features_are_refused():
    features = measured(layouts.squares(2, 2)).features
    with pytest.raises(ValueError, match="units"):
        replace(features, units=-1)
    with pytest.raises(ValueError, match="sharpest_angle"):
        replace(features, sharpest_angle=math.nan)

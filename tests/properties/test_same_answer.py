"""What must not change the answer: where a drawing lies, how large it is, and what its patches are called."""

from __future__ import annotations

import functools
import random
from dataclasses import asdict, replace
from itertools import pairwise

import shapely
from hypothesis import assume, example, given
from hypothesis import strategies as st
from shapely import affinity

from seamtree.block.build import block_from_polygons
from seamtree.planning.build import plan
from seamtree.planning.model import Plan
from seamtree.planning.replay import replay
from seamtree.planning.report import block_json
from tests.support import layouts
from tests.support.random_layouts import random_layout

TOLERANCE = 1e-4
"""Inches; small, since some random layouts have small faces, but well above what turning rounds off."""

COSTLY = layouts.diamond_star()
"""Takes a hundred times as long as all others, so it is looked at once in every test."""

KNOWN = [layout for layout in layouts.known() if layout != COSTLY]

some_layouts = st.one_of(st.integers(0, 10**6).map(random_layout), st.sampled_from(KNOWN))


@functools.cache
def answer_of_costly() -> Plan:
    return answer(COSTLY)


def usual(polygons) -> Plan:
    return answer_of_costly() if polygons is COSTLY else answer(polygons)


def answer(polygons, *, tolerance: float = TOLERANCE, **words) -> Plan:
    result = plan(block_from_polygons(polygons, tolerance=tolerance, **words), time_limit=2)
    assume(result.proven)
    return result


def same(one: Plan, other: Plan) -> None:
    assert one.verdict == other.verdict
    assert replace(one.bound, join_length=0) == replace(other.bound, join_length=0)
    assert (one.bound.join_length > 0) == (other.bound.join_length > 0)
    counts, others = asdict(one.counts), asdict(other.counts)
    # Which units are single patches, and how many points nest, is no merit of a plan: equally good ones may differ.
    loose = {"single_patches", "nesting_points"}
    for name, words in (("matched_points", "matched points"), ("foundations", "different foundations")):
        if {words} & {*one.unproven, *other.unproven}:
            loose.add(name)
    for name in loose:
        del counts[name], others[name]
    assert counts == others


@given(some_layouts, st.floats(-180, 180), st.floats(-50, 50), st.floats(-50, 50))
@example(COSTLY, 33.0, 2.0, -7.0)
def test_turning_and_moving(polygons, angle: float, x: float, y: float) -> None:
    turned = [affinity.translate(affinity.rotate(p, angle, origin=(0, 0)), x, y) for p in polygons]
    same(usual(polygons), answer(turned))


@given(some_layouts, st.sampled_from([(-1, 1), (1, -1)]))
@example(COSTLY, (-1, 1))
def test_mirroring(polygons, axes: tuple[int, int]) -> None:
    mirrored = [affinity.scale(p, *axes, origin=(0, 0)) for p in polygons]
    same(usual(polygons), answer(mirrored))


@given(some_layouts, st.floats(0.1, 30))
@example(COSTLY, 0.7)
def test_scaling_with_the_tolerance(polygons, factor: float) -> None:
    scaled = [affinity.scale(p, factor, factor, origin=(0, 0)) for p in polygons]
    same(usual(polygons), answer(scaled, tolerance=TOLERANCE * factor))


@given(some_layouts, st.randoms(use_true_random=False))
@example(COSTLY, random.Random(0))
def test_listing_patches_in_another_order_and_way_round(polygons, rng) -> None:
    listed = list(polygons)
    rng.shuffle(listed)
    listed = [shapely.Polygon(list(p.exterior.coords)[:: rng.choice([1, -1])]) for p in listed]
    first, second = usual(polygons), answer(listed)
    same(first, second)
    assert block_json(first) == block_json(second)


@given(some_layouts, st.data())
def test_renaming_patches_and_fabrics(polygons, data) -> None:
    # Not single letters or numbers: these are units and numbers of an older pattern, which a plan keeps.
    name = st.text("abc", min_size=1, max_size=2).map("piece of {}".format)
    labels = data.draw(st.lists(name, min_size=len(polygons), max_size=len(polygons)))
    same(answer(polygons), answer(polygons, labels=labels, name="gull"))
    fabrics = data.draw(st.permutations(["#112233", "#445566", "#778899"]))
    given_to = [k % 3 for k in range(len(polygons))]
    one = answer(polygons, fabrics=[f"#{k}{k}{k}{k}{k}{k}" for k in given_to])
    same(one, answer(polygons, fabrics=[fabrics[k] for k in given_to]))


@given(some_layouts)
@example(COSTLY)
def test_every_plan_can_be_sewn(polygons) -> None:
    block = block_from_polygons(polygons, tolerance=TOLERANCE)
    answer = plan(block, time_limit=0.2)
    replay([block.polygon(p) for p in range(len(block.patches))], block_json(answer), tolerance=block.tolerance)
    assert answer.bound.hard_corners <= answer.counts.hard_corners
    assert answer.bound.units <= answer.counts.units
    assert answer.counts.units == answer.counts.joins + 1


@given(some_layouts)
@example(COSTLY)
def test_the_same_drawing_gives_the_same_plan(polygons) -> None:
    assert block_json(usual(polygons)) == block_json(answer(polygons))


@given(some_layouts, st.randoms(use_true_random=False))
@example(COSTLY, random.Random(0))
def test_corners_in_the_middle_of_sides(polygons, rng) -> None:
    def split(polygon: shapely.Polygon) -> shapely.Polygon:
        corners = list(polygon.exterior.coords)
        longer = [corners[0]]
        for (ax, ay), (bx, by) in pairwise(corners):
            share = rng.uniform(0.2, 0.8)
            longer += (
                [(ax + share * (bx - ax), ay + share * (by - ay)), (bx, by)] if rng.random() < 0.5 else [(bx, by)]
            )
        return shapely.Polygon(longer)

    same(usual(polygons), answer([split(p) for p in polygons]))


@given(st.sampled_from(KNOWN), st.randoms(use_true_random=False))
def test_hands_that_shake_less_than_the_tolerance(polygons, rng) -> None:
    def shaken(polygon: shapely.Polygon) -> shapely.Polygon:
        corners = list(polygon.exterior.coords)[:-1]
        return shapely.Polygon([(x + rng.uniform(-0.003, 0.003), y + rng.uniform(-0.003, 0.003)) for x, y in corners])

    same(answer(polygons, tolerance=0.02), answer([shaken(p) for p in polygons], tolerance=0.02))

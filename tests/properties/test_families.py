"""The layouts that are measured: the same each time, whole cloth, and as hard as their names say."""

from __future__ import annotations

import pytest
import shapely
from benchmarks import families

from seamtree.block.build import block_from_polygons
from seamtree.planning.build import plan

STRAIGHT = [
    (families.straight_cuts, (25, 0), 25),
    (families.straight_cuts, (150, 3), 150),
    (families.lines_across, (6, 1), None),
    (families.lines_across, (18, 2), None),
    (families.square_grid, (7, 4), 28),
    (families.split_squares, (5, 3, 1), 30),
]
HARD = [
    (families.voronoi, (9, 4), 9),
    (families.honeycomb, (3, 4), 12),
    (families.spun_rings, (1,), 5),
    (families.spun_rings, (3,), 18),
    (families.spun_rings, (4,), 23),
    (families.picture_with_locked_parts, (2,), None),
]


@pytest.mark.parametrize(("make", "arguments", "patches"), STRAIGHT + HARD)
def test_the_same_cloth_each_time(make, arguments, patches) -> None:
    polygons = make(*arguments)
    assert make(*arguments) == polygons
    assert patches in (None, len(polygons))
    area = sum(polygon.area for polygon in polygons)
    assert shapely.union_all(polygons, grid_size=1e-9).area == pytest.approx(area, abs=1e-6)
    assert len(block_from_polygons(polygons).patches) == len(polygons)


@pytest.mark.parametrize(("make", "arguments", "patches"), STRAIGHT)
def test_straight_seams_sew_them(make, arguments, patches) -> None:
    answer = plan(block_from_polygons(make(*arguments)))
    assert answer.verdict == "joined units"
    assert answer.proven


@pytest.mark.parametrize("lines", [5, 12])
def test_lines_cross_at_random(lines: int) -> None:
    # Every crossing adds a patch: lines + crossings + 1 where no three lines meet (Steiner 1826, from memory).
    one, other = families.lines_across(lines, 1), families.lines_across(lines, 2)
    assert one != other
    assert lines < len(one) <= lines * (lines + 1) // 2 + 1


@pytest.mark.parametrize("count", [1, 2, 3])
def test_every_ring_takes_one_partial_seam(count: int) -> None:
    counts = plan(block_from_polygons(families.spun_rings(count)), time_limit=2).counts
    assert (counts.partial, counts.set_in) == (count, 0)


@pytest.mark.parametrize("seed", range(3))
def test_a_picture_has_six_locked_parts(seed: int) -> None:
    block = block_from_polygons(families.picture_with_locked_parts(seed))
    assert 50 <= len(block.patches) <= 66
    answer = plan(block, time_limit=0.3)
    assert (answer.counts.partial, answer.counts.set_in, answer.bound.hard_corners) == (6, 0, 6)

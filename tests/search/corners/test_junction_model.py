"""The junction model against all sewing orders of small parts, item by item."""

import math
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
import shapely
from benchmarks.families import honeycomb, lines_with_locked_part, locked_cells, nested_locks, spun_rings, voronoi
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import affinity

from seamtree.block.assemble import Face, assemble_block
from seamtree.block.build import block_from_polygons
from seamtree.block.model import Block
from seamtree.planning.build import plan
from seamtree.search.corners import exhaustive
from seamtree.search.corners import solve_part as solving
from seamtree.search.corners.junction_model import bends_alone
from seamtree.search.corners.local_rule import Part, build_part
from seamtree.search.corners.orders import score
from seamtree.search.corners.solve_part import solve_part
from seamtree.search.corners.witnesses import corner_places
from seamtree.search.effort import Deadline
from seamtree.search.find import find_order
from seamtree.search.tree import Order
from tests.search.straight.test_parts import squares
from tests.support.brute_force import brute_force
from tests.support.effort import times
from tests.support.layouts import hexagon_flower, spun_rectangles


def check(block: Block) -> tuple[int, ...]:
    """Solve a whole block as one part, compare with the exhaustive search, and return its merit."""
    whole = range(len(block.patches))
    result = solve_part(block, whole, effort=10)
    assert result.merit == score(build_part(block, whole), result.order)
    assert result.bound[:4] <= result.merit[:4]
    assert result.proven
    assert result.merit[:4] == brute_force(block)
    return result.merit[:4]


def shaken_grid(seed: int, columns: int, rows: int) -> list[shapely.Polygon]:
    """Squares whose inner corners are moved, so that nothing is in line any more but the outline."""
    rng = np.random.default_rng(seed)
    at = {(i, j): np.array([2.0 * i, 2.0 * j]) for i in range(columns + 1) for j in range(rows + 1)}
    for i, j in at:
        if 0 < i < columns and 0 < j < rows:
            at[i, j] += rng.choice([0.0, 0.4, -0.4], 2)
    return [
        shapely.Polygon([at[i, j], at[i + 1, j], at[i + 1, j + 1], at[i, j + 1]])
        for i in range(columns)
        for j in range(rows)
    ]


@settings(max_examples=times(15, 100), deadline=None)
@given(st.integers(0, 10**6), st.integers(4, times(7, 9)))
def test_voronoi_cells(seed: int, cells: int) -> None:
    check(block_from_polygons(voronoi(cells, seed), tolerance=1e-5))


@settings(max_examples=times(15, 100), deadline=None)
@given(st.integers(0, 10**6), st.sampled_from([(2, 2), (2, 3), (2, 4), (3, 3)]))
def test_shaken_grids(seed: int, shape: tuple[int, int]) -> None:
    check(block_from_polygons(shaken_grid(seed, *shape), tolerance=1e-3))


@pytest.mark.parametrize(
    ("block", "expected"),
    [
        (squares(3, 3), (0, 0, 0, 3)),
        (block_from_polygons(spun_rectangles()), (1, 0, 0, 2)),
        (block_from_polygons(hexagon_flower()), (6, 6, 0, 4)),
        (block_from_polygons(spun_rings(1)), (1, 0, 0, 2)),
    ],
)
def test_known_layouts(block: Block, expected: tuple[int, ...]) -> None:
    assert check(block) == expected


def pool(stems_inside: set[int], stems_outside: set[int], chords: int = 8) -> Block:
    """A quarter circle in a square, with straight seams that end on the curve from either side."""
    turn = math.pi / 2 / chords
    arc = [(4 * math.cos(k * turn), 4 * math.sin(k * turn)) for k in range(chords + 1)]
    far = [(7 * math.cos(k * turn), 7 * math.sin(k * turn)) for k in range(chords + 1)]
    vertices = [*arc, *far, (0.0, 0.0)]
    centre = len(vertices) - 1
    faces = []
    for stops, inner in ((stems_inside, True), (stems_outside, False)):
        ends = [0, *sorted(stops), chords]
        for a, b in pairwise(ends):
            run = list(range(a, b + 1))
            faces.append(Face((centre, *run) if inner else (*reversed(run), *(k + chords + 1 for k in run))))
    curves = {(k, k + 1): 1 for k in range(chords)} | {(k + chords + 1, k + chords + 2): 2 for k in range(chords)}
    return assemble_block(vertices, faces, tolerance=0.02, name="pool", curves=curves)


@pytest.mark.parametrize("inside", [set(), {4}, {3, 5}, {2, 4, 6}])
@pytest.mark.parametrize("outside", [set(), {4}, {2, 6}])
def test_a_curve_counts_once_and_may_carry_stems(inside: set[int], outside: set[int]) -> None:
    hard, set_in, *_ = check(pool(inside, outside))
    assert (hard, set_in) == (1, 0)


def test_many_small_turns_do_not_make_a_straight_seam() -> None:
    """A polyline that turns by four degrees a time: every pair of edges is in line, the whole is not."""
    bend = [(0.0, 2.0)]
    for k in range(8):
        angle = math.radians(4 * (k - 3.5))
        x, y = bend[-1]
        bend.append((x + 0.5 * math.cos(angle), y + 0.5 * math.sin(angle)))
    width = bend[-1][0]
    vertices = [*bend, (0.0, 0.0), (width, 0.0), (width, 4.0), (0.0, 4.0)]
    lower, upper = [9, 10, *range(8, -1, -1)], [*range(9), 11, 12]
    block = assemble_block(vertices, [Face(tuple(lower)), Face(tuple(upper))], tolerance=0.02, name="bend")
    assert [line.straight for line in block.lines] == [False]
    hard, set_in, _, units = check(block)
    assert hard == set_in > 0
    assert units == 2


@pytest.mark.parametrize(("columns", "rows", "units"), [(3, 3, 5), (4, 4, 10), (7, 7, 37)])
def test_honeycombs_are_proven(columns: int, rows: int, units: int) -> None:
    """Every inner junction of a honeycomb is a Y, and two of them are turned in every join but the odd one."""
    block = block_from_polygons(honeycomb(columns, rows))
    result = solve_part(block, range(len(block.patches)), effort=10)
    inner = len(build_part(block, range(len(block.patches))).around)
    assert result.proven
    assert result.merit[:4] == (inner, inner, 0, units)
    assert units == 1 + math.ceil(inner / 2)


def test_effort_that_runs_out_leaves_a_valid_order_and_an_honest_bound() -> None:
    block = block_from_polygons(voronoi(9, 5), tolerance=1e-5)
    result = solve_part(block, range(len(block.patches)), effort=0.001)
    best = brute_force(block)
    assert result.merit == score(build_part(block, range(len(block.patches))), result.order)
    assert result.bound[:1] <= best[:1] <= result.merit[:1]
    assert result.merit[:4] >= best


def test_a_part_of_very_many_edges_gets_a_valid_order_and_an_honest_bound(monkeypatch: pytest.MonkeyPatch) -> None:
    block = block_from_polygons(honeycomb(3, 3))
    whole = range(len(block.patches))
    monkeypatch.setattr(exhaustive, "MOST_STEPS", 0)
    monkeypatch.setattr(solving, "MOST_EDGES", 3)
    monkeypatch.setattr(solving, "EDGES_PER_SECOND", 1)
    result = solve_part(block, whole, effort=3)
    assert result.merit == score(build_part(block, whole), result.order)
    assert not result.proven
    assert result.bound[:4] == (0, 0, 0, 1)
    answer = plan(block)
    assert answer.verdict == "hard corners"
    assert not answer.proven
    assert "not-proven" in [warning.code for warning in answer.warnings]


def test_locked_parts_together_take_an_effort_that_ends(monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[float] = []

    def dear(block: Block, patches, *, effort: float, deadline: Deadline, known: Order | None = None):
        asked.append(effort)
        return replace(solve_part(block, patches, effort=effort, deadline=deadline, known=known), spent=1.5)

    monkeypatch.setattr(exhaustive, "MOST_STEPS", 0)
    monkeypatch.setattr("seamtree.search.corners.solve_part.solve_part", dear)
    row = [affinity.translate(patch, 6 * k, 0) for k in range(6) for patch in spun_rectangles()]
    answer = plan(block_from_polygons(row), time_limit=1.0)
    assert answer.counts.hard_corners == 6
    assert asked[0] > 0.01
    assert set(asked[1:]) == {0.01}


def cells(seed: int) -> Block:
    """Two by two cells, some of them locked, whose seams run on into one another."""
    return block_from_polygons(locked_cells(2, 2, share=0.5, seed=seed))


@pytest.mark.parametrize("seed", range(12))
def test_locked_parts_among_crossing_seams(seed: int) -> None:
    block = cells(seed)
    answer, whole = find_order(block, time_limit=10), solve_part(block, range(len(block.patches)), effort=10)
    assert answer.proven
    assert whole.proven
    assert score(whole_part(block), answer.order)[:4] == whole.merit[:4]
    if len(block.patches) <= 11:
        assert whole.merit[:4] == brute_force(block)


@pytest.mark.parametrize("seed", range(4))
def test_locked_parts_inside_locked_parts(seed: int) -> None:
    block = block_from_polygons(nested_locks(2, patches=9, seed=seed))
    assert check(block)[0] >= 2


def circle_in_quarters(chords: int, radius: float, turn: float) -> list[shapely.Polygon]:
    """A square in quarters, and a round patch of chords in its middle that they divide as well."""
    angles = [turn + math.tau * k / chords for k in range(chords)]
    circle = shapely.Polygon([(2 + radius * math.cos(a), 2 + radius * math.sin(a)) for a in angles])
    cross = [shapely.LineString([(2, 0), (2, 4)]), shapely.LineString([(0, 2), (4, 2)])]
    drawn = shapely.union_all([shapely.box(0, 0, 4, 4).exterior, circle.exterior, *cross])
    return list(shapely.polygonize([drawn]).geoms)


@pytest.mark.parametrize(
    ("chords", "radius", "turn", "tolerance"),
    [(12, 0.8, 0.2, 0.05), (12, 1.0, 0.1, 0.1), (14, 0.7, 0.1, 0.05), (16, 0.9, 0.05, 0.05), (16, 0.9, 0.05, 0.1)],
)
def test_where_chords_bend_does_not_matter(chords: int, radius: float, turn: float, tolerance: float) -> None:
    block = block_from_polygons(circle_in_quarters(chords, radius, turn), tolerance=tolerance)
    assert len(block.patches) == 8
    check(block)


def test_chords_bend_as_near_as_can_be_to_where_their_seam_goes_on() -> None:
    part = whole_part(block_from_polygons(locked_cells(3, 2, share=1.0, seed=4, curved=True)))
    bent = bends_alone(part)
    assert any(bent.values())
    for window in part.windows:
        if all(pair in bent for pair in window.pairs):
            assert any(bent[pair] for pair in window.pairs)


def test_one_seam_with_three_corners_between_two_patches_has_an_excess_pivot() -> None:
    zigzag = [(0.0, 2.0), (1.0, 3.0), (2.0, 1.0), (3.0, 3.0), (4.0, 2.0)]
    above = shapely.Polygon([(0, 0), (4, 0), *reversed(zigzag)])
    below = shapely.Polygon([*zigzag, (4, 4), (0, 4)])
    assert check(block_from_polygons([above, below])) == (3, 3, 1, 2)


@pytest.mark.parametrize("seed", range(6))
def test_places_of_corners_share_nothing_and_are_reached_in_nests(seed: int) -> None:
    block = block_from_polygons(nested_locks(4, patches=30, seed=seed))
    part = whole_part(block)
    places = corner_places(part)
    assert sum(map(len, places)) == len(frozenset[int]().union(*places))
    assert all(place <= part.around.keys() for place in places)
    result = solve_part(block, part.patches, effort=4.5)
    assert result.proven
    assert result.merit.hard_corners == len(places)


@pytest.mark.parametrize(("lines", "most"), [(12, 15), (30, 60)])
def test_a_locked_part_among_lines_is_cut_off_first(lines: int, most: int) -> None:
    block = block_from_polygons(lines_with_locked_part(lines, seed=3))
    found = find_order(block, time_limit=1.0)
    merit = score(whole_part(block), found.order)
    assert merit.hard_corners == found.hard_corners == 1
    assert merit.units <= most


def whole_part(block: Block) -> Part:
    return build_part(block, range(len(block.patches)))


def test_the_clock_ends_a_search_with_a_valid_order() -> None:
    block = block_from_polygons(locked_cells(3, 4, share=0.6, seed=2))
    result = solve_part(block, range(len(block.patches)), effort=10, deadline=Deadline(0.0))
    assert result.merit == score(whole_part(block), result.order)
    assert all(bound <= reached for bound, reached in zip(result.bound[:1], result.merit[:1], strict=True))

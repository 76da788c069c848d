"""All mosaic floorplans with up to seven rooms against three published sequences.

Sources (numbers and titles from memory): OEIS A001181 (Baxter numbers), A006318 (large Schröder numbers), A006012;
Ackerman, Barequet & Pinter 2006, 'A bijection between permutations and floorplans'; Yao, Chen, Cheng & Graham 2003,
'Floorplan representations: complexity and connections' (mosaic floorplans are counted by Baxter numbers, slicing ones
by large Schröder numbers); Asinowski & Mansour 2010, 'Separable d-permutations and guillotine partitions'.

A floorplan can be sliced by full cuts just when straight seams can sew it; one that can be peeled room by room is a
single unit.
"""

from collections import Counter
from math import comb

import pytest
import shapely

from seamtree.block.build import block_from_polygons
from seamtree.planning.build import build_plan
from seamtree.planning.replay import replay
from seamtree.planning.report import block_json
from seamtree.search.find import find_order
from tests.support.floorplans import Room, corners_of, floorplan_block, floorplans

ROOMS = range(1, 8)

BAXTER = dict(zip(ROOMS, (1, 2, 6, 22, 92, 422, 2074), strict=True))  # OEIS A001181
SCHROEDER = dict(zip(ROOMS, (1, 2, 6, 22, 90, 394, 1806), strict=True))  # OEIS A006318
PEELED = dict(zip(ROOMS, (1, 2, 6, 20, 68, 232, 792), strict=True))  # OEIS A006012


def baxter_number(n: int) -> int:
    """Chung, Graham, Hoggatt & Kleiman 1978, 'The number of Baxter permutations' (from memory)."""
    total = sum(comb(n + 1, k - 1) * comb(n + 1, k) * comb(n + 1, k + 1) for k in range(1, n + 1))
    return total // (comb(n + 1, 1) * comb(n + 1, 2))


def test_the_sequences_are_what_their_formulas_say() -> None:
    assert all(BAXTER[n] == baxter_number(n) for n in ROOMS)
    assert all(PEELED[n] == 4 * PEELED[n - 1] - 2 * PEELED[n - 2] for n in ROOMS if n > 2)
    # Large Schröder numbers: (n + 1) S(n) = 3 (2n - 1) S(n - 1) - (n - 2) S(n - 2), here S(n - 1) for n rooms.
    assert all(
        (n + 1) * SCHROEDER[n + 1] == 3 * (2 * n - 1) * SCHROEDER[n] - (n - 2) * SCHROEDER[n - 1]
        for n in ROOMS
        if 2 <= n < 7
    )


@pytest.mark.parametrize("n", ROOMS)
def test_layouts_are_as_many_as_baxter_numbers(n: int) -> None:
    plans = floorplans(n)
    assert len(plans) == BAXTER[n]
    assert len(set(plans)) == BAXTER[n]


@pytest.mark.parametrize("n", ROOMS)
def test_rooms_tile_the_square_in_general_position(n: int) -> None:
    for rooms in floorplans(n):
        boxes = [shapely.box(*room) for room in rooms]
        assert sum(box.area for box in boxes) == n * n == shapely.union_all(boxes).area
        inner = Counter(
            place for ring in corners_of(rooms) for place in ring if 0 < place[0] < n and 0 < place[1] < n
        )
        assert set(inner.values()) <= {3}


def up_to_mirroring(n: int) -> Counter[tuple[Room, ...]]:
    """Return one floorplan of every two that are mirrored along a diagonal, and how many it stands for."""
    every = {tuple(sorted(rooms)) for rooms in floorplans(n)}
    mirrored = {rooms: tuple(sorted((y, x, yy, xx) for x, y, xx, yy in rooms)) for rooms in every}
    assert every == set(mirrored.values())
    return Counter(min(pair) for pair in mirrored.items())


@pytest.mark.parametrize("n", ROOMS)
def test_verdicts_follow_the_sequences(n: int) -> None:
    verdicts: Counter[str] = Counter()
    for rooms, times in up_to_mirroring(n).items():
        block = floorplan_block(rooms)
        answer = build_plan(block, find_order(block, time_limit=10))
        replay([block.polygon(p) for p in range(n)], block_json(answer), tolerance=block.tolerance)
        verdicts[answer.verdict] += times
        if answer.verdict == "hard corners":
            counts = answer.counts
            assert (counts.partial, counts.set_in, counts.curved, counts.excess_pivots) == (1, 0, 0, 0)
            assert answer.bound.hard_corners == 1
        else:
            assert answer.proven
    assert verdicts["single unit"] == PEELED[n]
    assert verdicts["single unit"] + verdicts["joined units"] == SCHROEDER[n]
    assert verdicts["hard corners"] == {5: 2, 6: 28, 7: 268}.get(n, 0) == BAXTER[n] - SCHROEDER[n]


def test_blocks_from_shared_corners_are_those_from_polygons() -> None:
    for rooms in floorplans(5):
        block = floorplan_block(rooms)
        other = block_from_polygons([shapely.box(*(2.0 * v for v in room)) for room in rooms], name="floorplan")
        assert (block.junctions, block.edges, block.patches, block.lines) == (
            other.junctions,
            other.edges,
            other.patches,
            other.lines,
        )

"""Cuts with corners above locked parts, against searches over whole blocks."""

import random

import pytest
import shapely
from benchmarks.families import picture_with_locked_parts

from seamtree.block.model import Block
from seamtree.errors import DrawingError
from seamtree.search.bent import BentSearch, TooBentError
from seamtree.search.find import find_order
from seamtree.search.junction_model import solve_part
from seamtree.search.local_rule import build_part
from seamtree.search.orders import score
from seamtree.search.parts import Locked, PartsGraph
from seamtree.search.view import bits, build_view
from tests.support.layouts import quarter_circle
from tests.support.random_layouts import random_layout


def with_inward_corners(seed: int) -> list[shapely.Polygon]:
    """Merge a few neighbours of a random layout, whatever the shape."""
    rng = random.Random(seed)
    polygons = random_layout(seed)
    for _ in range(rng.randint(1, 3)):
        k = rng.randrange(len(polygons))
        for n, other in enumerate(polygons):
            union = polygons[k].union(other)
            if n != k and polygons[k].intersection(other).length > 1e-6 and not union.interiors:
                kept = [p for m, p in enumerate(polygons) if m not in (k, n)]
                polygons = [*kept, shapely.Polygon(union.exterior).simplify(1e-9)]
                break
    return polygons


def test_units_are_those_of_the_junction_model_over_the_whole_block() -> None:
    compared = unsafe = 0
    for seed in range(1000):
        layout = with_inward_corners(seed)
        if not 8 <= len(layout) <= 22:
            continue
        try:
            block = Block.from_polygons(layout, tolerance=1e-5)
        except DrawingError:
            continue  # merging has closed a ring round a patch
        found = find_order(block, time_limit=4)
        if not found.locked or len(found.locked[0]) == len(block.patches):
            continue
        whole = solve_part(block, range(len(block.patches)), effort=3)
        merit = score(build_part(block, range(len(block.patches))), found.order)
        if whole.proven and found.proven:
            assert merit[:4] == whole.merit[:4], seed
            compared += 1
            unsafe += len(found.locked) > 1
    assert compared > 50
    assert unsafe > 5


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_a_picture_with_six_locked_parts_is_proven(seed: int) -> None:
    block = Block.from_polygons(picture_with_locked_parts(seed))
    found = find_order(block, time_limit=10)
    assert found.proven
    assert (len(found.locked), found.hard_corners) == (6, 6)


def test_curves_are_left_to_others() -> None:
    block = quarter_circle()
    view = build_view(block)

    def solve_locked(patches: int) -> Locked:
        answer = solve_part(block, bits(patches), effort=1)
        return Locked(patches, answer.order, answer.merit, answer.bound, answer.proven)

    graph = PartsGraph(view, solve_locked, 100)
    _, locked = graph.chosen(graph.solve_part(view.all_patches))
    with pytest.raises(TooBentError):
        BentSearch(graph, locked)

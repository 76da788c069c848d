"""Which units have the same foundation."""

import math

import pytest
import shapely
from shapely import affinity

from seamtree.block.build import block_from_polygons
from seamtree.block.foundations import classify
from seamtree.block.model import Block

FLAG = (shapely.Polygon([(0, 0), (2, 0), (0, 1)]), shapely.Polygon([(2, 0), (2, 1), (0, 1)]))


def pair_of(
    second: list[shapely.Polygon], fabrics: tuple[str, ...] = ("navy", "white", "navy", "white")
) -> list[int]:
    """Classify the flag and a changed copy of it, laid side by side with a sash between them."""
    first = list(FLAG)
    bounds = shapely.total_bounds([*first, *second])
    assert bounds[0] >= 0
    left, right = _block_of(first, fabrics[:2]), _block_of(second, fabrics[2:])
    block = Block(
        name="two",
        width=9,
        height=9,
        tolerance=0.02,
        junctions=left.junctions + right.junctions,
        edges=left.edges,
        patches=left.patches
        + tuple(
            type(p)(tuple(j + len(left.junctions) for j in p.ring), p.edges, p.fabric, p.label) for p in right.patches
        ),
        lines=left.lines,
    )
    return classify(block, [(0, 1), (2, 3)])


def _block_of(polygons: list[shapely.Polygon], fabrics: tuple[str, ...]) -> Block:
    return block_from_polygons(polygons, fabrics=fabrics)


@pytest.mark.parametrize("angle", [0, 17, 90, 180, 271.5])
def test_turned_units_have_the_same_foundation(angle: float) -> None:
    turned = [affinity.translate(affinity.rotate(p, angle, origin=(0, 0)), 5, 5) for p in FLAG]
    assert pair_of(turned) == [0, 0]


def test_a_mirrored_unit_needs_its_own() -> None:
    mirrored = [affinity.translate(affinity.scale(p, -1, 1, origin=(0, 0)), 5, 5) for p in FLAG]
    assert pair_of(mirrored) == [0, 1]


def test_other_fabrics_need_their_own() -> None:
    moved = [affinity.translate(p, 5, 5) for p in FLAG]
    assert pair_of(moved, ("navy", "white", "white", "navy")) == [0, 0]  # turned by half a turn they are alike
    assert pair_of(moved, ("navy", "white", "navy", "red")) == [0, 1]


def test_another_size_needs_its_own() -> None:
    larger = [affinity.translate(affinity.scale(p, 1.1, 1.1, origin=(0, 0)), 5, 5) for p in FLAG]
    assert pair_of(larger) == [0, 1]


def test_stitches_of_neighbours_do_not_matter() -> None:
    """A junction in the side of a patch, where a neighbour's seam arrives, does not change the foundation."""
    block = block_from_polygons(
        [
            ((0, 0), (2, 0), (2, 1), (0, 1)),
            ((0, 1), (1, 1), (1, 2), (0, 2)),
            ((1, 1), (2, 1), (2, 2), (1, 2)),
            ((2, 0), (4, 0), (4, 1), (2, 1)),
            ((2, 1), (4, 1), (4, 2), (2, 2)),
        ]
    )
    numbers = classify(block, [(p,) for p in range(5)])
    areas = [round(shapely.Polygon(block.polygon(p)).area, 6) for p in range(5)]
    assert all((numbers[a] == numbers[b]) == math.isclose(areas[a], areas[b]) for a in range(5) for b in range(5))


def test_many_slight_turns_are_not_lost() -> None:
    # Each turn strays 0.005 in, the whole 0.16 in: on one the sides bulge out, on the other in.
    arc = [(float(x), 2 + 0.01 * x * (8 - x)) for x in range(9)]
    block = block_from_polygons([[*arc, (8.0, 0.0), (0.0, 0.0)], [*arc, (8.0, 4.0), (0.0, 4.0)]])
    assert classify(block, [(0,), (1,)]) == [0, 1]

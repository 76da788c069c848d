"""Lines that come back to where they set out."""

from __future__ import annotations

import math

import pytest
from shapely import Polygon

from seamtree.block.build import block_from_polygons
from seamtree.block.model import Block
from seamtree.planning.build import plan


def lifebuoy(turned: float) -> Block:
    """Return a round of 16 sides in a frame of two halves.

    The tolerance is so large that the sides of the round are in line from corner to corner.
    """
    around = [math.radians(turned) + k * math.tau / 16 for k in range(17)]
    near, far = ([(r * math.cos(a), r * math.sin(a)) for a in around] for r in (1, 2))
    halves = (Polygon([*near[:9], *far[8::-1]]), Polygon([*near[8:], *far[:7:-1]]))
    return block_from_polygons([Polygon(near[:-1]), *halves], tolerance=0.1)


@pytest.mark.parametrize("turned", [0, 45, 90, 180, 270])
def test_a_line_all_round_begins_where_no_other_seam_ends(turned: float) -> None:
    block = lifebuoy(turned)
    assert plan(block).verdict == "hard corners"
    around: dict[int, list[int]] = {}
    for k in block.interior_edges:
        for j in (block.edges[k].start, block.edges[k].end):
            around.setdefault(j, []).append(k)
    tees = [edges for edges in around.values() if len(edges) == 3]
    assert len(tees) == 2
    for edges in tees:
        assert any(block.in_line(a, b) for a in edges for b in edges)

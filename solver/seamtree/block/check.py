"""The planar map checks itself: what has to hold for every block, whatever it was built from."""

from __future__ import annotations

import math
from collections import Counter
from itertools import pairwise

import shapely

from seamtree.block.model import OUTSIDE, Block
from seamtree.errors import SeamtreeError
from seamtree.geometry.straight import is_straight

_EXACT = 1e-6


class StructureError(SeamtreeError, AssertionError):
    """A planar map contradicts itself."""


def check_structure(block: Block) -> None:
    """Check that a block is a planar map.

    Every edge lies in the rings of the patches on its sides and nowhere else; rings lead round their patches
    counter-clockwise as seen; Euler's formula holds; edges meet only at junctions; the areas of the patches add up to
    that of the outline; lines cover every interior edge once, and their edges follow each other.

    Raises
    ------
    StructureError
        If it is not.
    """
    _check_frame(block)
    _check_sides(block)
    _check_euler(block)
    _check_plane(block)
    _check_lines(block)


def _require(holds: bool, message: str) -> None:
    if not holds:
        raise StructureError(message)


def _check_frame(block: Block) -> None:
    _require(bool(block.patches), "a block has at least one patch")
    ends = Counter(j for edge in block.edges for j in (edge.start, edge.end))
    _require(
        set(ends) == set(range(len(block.junctions))), "every junction is the end of an edge, and every end is one"
    )
    _require(len(set(block.junctions)) == len(block.junctions), "two junctions lie at the same place")
    _require(all(math.isfinite(v) for at in block.junctions for v in at), "a coordinate is no number")
    xs, ys = zip(*block.junctions, strict=True)
    _require(min(xs) == 0.0 == min(ys), "coordinates begin at the top left corner of the bounding box")
    _require((max(xs), max(ys)) == (block.width, block.height), "width and height are those of the bounding box")


def _check_sides(block: Block) -> None:
    """Check that rings and edges say the same."""
    sides: Counter[tuple[int, int]] = Counter()
    for number, patch in enumerate(block.patches):
        _require(
            len(patch.ring) == len(patch.edges) >= 3, f"the ring of patch {number} has an edge for each junction"
        )
        _require(patch.ring[0] == min(patch.ring), f"the ring of patch {number} starts at its smallest junction")
        for a, b, e in zip(patch.ring, (*patch.ring[1:], patch.ring[0]), patch.edges, strict=True):
            edge = block.edges[e]
            _require({a, b} == {edge.start, edge.end}, f"edge {e} does not join the junctions {a} and {b}")
            side = edge.left if (a, b) == (edge.start, edge.end) else edge.right
            _require(side == number, f"patch {number} does not lie where edge {e} says")
            sides[e, number] += 1
    expected = Counter(
        (e, side) for e, edge in enumerate(block.edges) for side in (edge.left, edge.right) if side >= 0
    )
    _require(sides == expected, "every side of an edge belongs to the ring of one patch")
    pairs = {frozenset((edge.start, edge.end)) for edge in block.edges}
    _require(len(pairs) == len(block.edges), "two edges join the same junctions")


def _check_euler(block: Block) -> None:
    """Check Euler's formula; the outside is one face, and the edges hang together."""
    around: dict[int, list[int]] = {}
    for edge in block.edges:
        around.setdefault(edge.start, []).append(edge.end)
        around.setdefault(edge.end, []).append(edge.start)
    reached = [0]
    seen = {0}
    for junction in reached:
        fresh = [j for j in around[junction] if j not in seen]
        seen.update(fresh)
        reached += dict.fromkeys(fresh)
    _require(len(reached) == len(block.junctions), "the edges do not hang together")
    faces = len(block.patches) + 1
    _require(len(block.junctions) - len(block.edges) + faces == 2, "Euler's formula does not hold")


def _check_plane(block: Block) -> None:
    """Check what is drawn: edges meet at junctions only, patches lie side by side."""
    lines = shapely.linestrings([[block.junctions[edge.start], block.junctions[edge.end]] for edge in block.edges])
    first, second = shapely.STRtree(lines).query(lines, predicate="intersects")
    for a, b in zip(first.tolist(), second.tolist(), strict=True):
        if a < b:
            one, other = block.edges[a], block.edges[b]
            _require(bool({one.start, one.end} & {other.start, other.end}), f"edges {a} and {b} cross")
            _require(shapely.intersection(lines[a], lines[b]).geom_type == "Point", f"edges {a} and {b} lie in one")
    # In coordinates with y down a ring that is counter-clockwise as seen has a negative signed area.
    areas = [-_signed_area([block.junctions[j] for j in patch.ring]) for patch in block.patches]
    _require(min(areas) > 0.0, "a ring leads round its patch clockwise")
    # A ring may touch itself in a point; its area in the plane is that of the repaired polygon.
    polygons = [shapely.make_valid(shapely.Polygon(block.polygon(p))) for p in range(len(block.patches))]
    covered = float(shapely.union_all(polygons, grid_size=1e-9).area)
    _require(abs(sum(areas) - covered) <= _EXACT * max(1.0, covered), "patches lie over each other")


def _signed_area(ring: list[tuple[float, float]]) -> float:
    return sum(a[0] * b[1] - a[1] * b[0] for a, b in pairwise([*ring, ring[0]])) / 2


def _check_lines(block: Block) -> None:
    """Check that lines cover the interior edges, and only those, and are straight as far as they say."""
    stop = 0
    for line in block.lines:
        _require(line.first == stop < line.stop, "lines cover the interior edges one after the other")
        stop = line.stop
        edges = block.edges[line.first : line.stop]
        _require(all(a.end == b.start for a, b in pairwise(edges)), f"the edges from {line.first} on do not follow")
        _require(len(line.reach) == len(edges), f"the line from edge {line.first} on has a reach for every edge")
        _require(list(line.reach) == sorted(line.reach), f"the reach of the line from edge {line.first} on falls")
        path = [block.junctions[j] for j in (edges[0].start, *(edge.end for edge in edges))]
        for k, last in enumerate(line.reach):
            _require(line.first + k <= last < line.stop, f"the reach of edge {line.first + k} leads out of its line")
            straight = is_straight(path[k : last - line.first + 2], tolerance=block.tolerance)
            _require(straight, f"the line is not straight from edge {line.first + k} to edge {last}")
    interior = [OUTSIDE not in (edge.left, edge.right) for edge in block.edges]
    _require(
        interior == [k < stop for k in range(len(block.edges))], "interior edges come first, and each is on a line"
    )

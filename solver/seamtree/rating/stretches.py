"""Stretches of seam, angles and matched points of a block, from its planar map alone."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations

from seamtree.block.model import Block
from seamtree.errors import Point


@dataclass(frozen=True, slots=True)
class Stretch:
    """A stretch of seam that is sewn in one go.

    Parameters
    ----------
    length
        Inches.
    middle
        Middle of its middle edge.
    patches
        The patches on both sides there.
    """

    length: float
    middle: Point
    patches: tuple[int, int]


def find_stretches(block: Block) -> tuple[Stretch, ...]:
    """Return the stretches of seam of a block.

    A seam that runs through a junction is sewn there in one go if no other seam runs through as well; where several
    cross, each of them ends, since only one of them can be sewn last.
    """
    outline = block.boundary_junctions()
    onward: dict[int, list[int]] = {}
    for j, arms in enumerate(block.interior_arms()):
        through = [] if j in outline else [pair for pair in combinations(arms, 2) if runs_on(block, *pair)]
        if len(through) == 1:
            for one, other in (through[0], through[0][::-1]):
                onward.setdefault(one, []).append(other)
    done: set[int] = set()
    found = []
    # From the ends of every run first, so that its edges come in turn; what is left then are closed curves.
    for k in sorted(block.interior_edges, key=lambda k: (len(onward.get(k, ())), k)):
        if k not in done:
            run = _run(onward, k)
            done.update(run)
            found.append(_stretch(block, run))
    return tuple(found)


def _run(onward: dict[int, list[int]], start: int) -> list[int]:
    run = [start]
    seen = {start}
    while True:
        following = [k for k in onward.get(run[-1], ()) if k not in seen]
        if not following:
            return run
        run.append(following[0])
        seen.add(following[0])


def _stretch(block: Block, run: Sequence[int]) -> Stretch:
    edge = block.edges[run[len(run) // 2]]
    (ax, ay), (bx, by) = block.junctions[edge.start], block.junctions[edge.end]
    length = sum(block.edge_length(k) for k in run)
    return Stretch(length, ((ax + bx) / 2, (ay + by) / 2), (edge.left, edge.right))


def runs_on(block: Block, one: int, other: int) -> bool:
    """Tell whether two seams that meet are one: in line with each other, or chords of one curve."""
    curves = block.edges[one].curve, block.edges[other].curve
    if curves[0] is not None and curves[0] == curves[1]:
        return True
    return block.in_line(one, other)


def is_matched(block: Block, junction: int, arms: Sequence[int]) -> bool:
    """Tell whether seams have to meet at a junction inside the block, however it is sewn.

    They have to where seams run through and every one of these has seams that end on it from both sides.
    """
    turned = sorted(arms, key=lambda k: block.direction(junction, k))
    pairs = [(a, b) for a, b in combinations(range(len(turned)), 2) if runs_on(block, turned[a], turned[b])]
    return bool(pairs) and all(1 < b - a < len(turned) - 1 for a, b in pairs)


def angles_of(block: Block, patch: int) -> Iterator[tuple[int, float]]:
    """Yield the corners of a patch with its angles there, degrees.

    A curve counts with its direction at the corner, not with that of its last chord, which turns as it is flattened
    more finely.
    """
    ring, edges = block.patches[patch].ring, block.patches[patch].edges
    for k, junction in enumerate(ring):
        before, after = edges[k - 1], edges[k]
        if block.edges[before].curve is not None and block.edges[before].curve == block.edges[after].curve:
            continue
        (back, back_turn), (ahead, ahead_turn) = (_leaving(block, patch, k, way) for way in (-1, 1))
        # The patch is on the left of its ring, and y points down: from ahead to back the other way round the clock.
        angle = math.degrees(ahead - back) % 360.0
        yield junction, max(0.0, angle + math.degrees(ahead_turn - back_turn))


def _leaving(block: Block, patch: int, k: int, way: int) -> tuple[float, float]:
    """Return how the boundary of a patch leaves its corner `k`, onward (way 1) or back (way -1).

    Returns
    -------
    tuple of float
        The direction of the first edge, and how far the direction at the corner itself is turned from it (radians).
    """
    ring, edges = block.patches[patch].ring, block.patches[patch].edges
    count = len(ring)
    points = [block.junctions[ring[(k + way * step) % count]] for step in range(3)]
    first, second = (edges[k], edges[(k + 1) % count]) if way == 1 else (edges[k - 1], edges[k - 2])
    chord = _heading(points[0], points[1])
    curve = block.edges[first].curve
    if curve is None or block.edges[second].curve != curve:
        return chord, 0.0
    # On a circle through three points the tangent turns from a chord by half the angle that the chord spans, which
    # is the share of its length in the turn between the two chords.
    turn = math.remainder(_heading(points[1], points[2]) - chord, math.tau)
    lengths = math.dist(points[0], points[1]), math.dist(points[1], points[2])
    return chord, -turn * lengths[0] / sum(lengths)


def _heading(start: Point, end: Point) -> float:
    return math.atan2(end[1] - start[1], end[0] - start[0])

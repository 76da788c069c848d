"""From faces that share their vertices to the planar map of a block.

The faces come noded and healed: two faces that touch share every vertex of the boundary between them. Here the
vertices that mean nothing are dropped, the edges in line are strung together, and everything is numbered in an
order that depends on the geometry alone, so that the order of the input never shows.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations, pairwise

import numpy as np

from seamtree.block.model import OUTSIDE, Block, Edge, Line, Patch
from seamtree.errors import Finding, Point
from seamtree.geometry.straight import cross, in_line, is_straight, straying

EXACT = 1e-6
"""A vertex of two edges that strays less than this (inches) was never drawn as a bend."""

_ROUND = 6
"""Decimals that order junctions and patches; finer differences are noise of the arithmetic."""

Pair = tuple[int, int]


@dataclass(frozen=True, slots=True)
class Face:
    """A face to become a patch: its vertices in turn (either orientation), fabric and label."""

    ring: tuple[int, ...]
    fabric: str | None = None
    label: str | None = None


def assemble_block(
    vertices: Sequence[Point],
    faces: Sequence[Face],
    *,
    tolerance: float,
    name: str,
    curves: Mapping[Pair, int] | None = None,
    notes: tuple[Finding, ...] = (),
) -> Block:
    """Build the planar map of one block.

    Parameters
    ----------
    vertices
        Coordinates in inches, y down, in any frame; the block moves to its own.
    faces
        The patches, edge-connected and without holes.
    tolerance
        What cloth cannot tell apart, inches.
    name
        Name of the block.
    curves
        Number of the smooth drawn curve for each segment (smaller vertex first) that is a chord of one.
    notes
        Findings to hand on.

    Raises
    ------
    ValueError
        If two faces lie on the same side of a segment, so the faces are no planar map.
    """
    curves = curves or {}
    used = {v for face in faces for v in face.ring}
    left, top = min([vertices[v][0] for v in used]), min([vertices[v][1] for v in used])
    points = [(x - left, y - top) for x, y in vertices]
    rings = [_counter_clockwise(face.ring, points) for face in faces]
    rings = _drop_straight_vertices(rings, points, curves)
    junctions, rings, renumbered = _number_junctions(rings, points)
    curves = {
        _pair(renumbered[a], renumbered[b]): c for (a, b), c in curves.items() if a in renumbered and b in renumbered
    }
    order = _in_order(rings, junctions)
    rings = [rings[f] for f in order]
    sides = [_sides(ring) for ring in rings]
    edges, lines = _string_edges(sides, junctions, curves, tolerance)
    index = {(edge.start, edge.end): k for k, edge in enumerate(edges)}
    index |= {(edge.end, edge.start): k for k, edge in enumerate(edges)}
    patches = tuple(
        Patch(
            ring=ring,
            edges=tuple([index[side] for side in around]),
            fabric=faces[f].fabric,
            label=faces[f].label,
        )
        for ring, around, f in zip(rings, sides, order, strict=True)
    )
    return Block(
        name=name,
        width=max(x for x, _ in junctions),
        height=max(y for _, y in junctions),
        tolerance=tolerance,
        junctions=tuple(junctions),
        edges=tuple(edges),
        patches=patches,
        lines=lines,
        notes=notes,
    )


def _pair(a: int, b: int) -> Pair:
    return (a, b) if a < b else (b, a)


def _sides(ring: Sequence[int]) -> list[Pair]:
    return list(zip(ring, (*ring[1:], ring[0]), strict=True))


def _counter_clockwise(ring: Sequence[int], points: Sequence[Point]) -> tuple[int, ...]:
    """Turn a ring so that its face is on the left hand as seen (y points down)."""
    doubled = 0.0
    bx, by = points[ring[-1]]
    for vertex in ring:
        (ax, ay), (bx, by) = (bx, by), points[vertex]
        doubled += ax * by - bx * ay
    return tuple(ring) if doubled < 0 else tuple(reversed(ring))


def _drop_straight_vertices(
    rings: list[tuple[int, ...]], points: Sequence[Point], curves: Mapping[Pair, int]
) -> list[tuple[int, ...]]:
    """Leave out vertices where only two segments meet and the boundary goes straight on."""
    meeting: dict[int, set[int]] = {}
    for ring in rings:
        for a, b in _sides(ring):
            meeting.setdefault(a, set()).add(b)
            meeting.setdefault(b, set()).add(a)
    # Walked in a fixed direction of the plane, so that both faces of a boundary drop the same vertices.
    for vertex in sorted((v for v, around in meeting.items() if len(around) == 2), key=lambda v: points[v]):
        a, b = meeting[vertex]
        if _pair(a, vertex) in curves or _pair(vertex, b) in curves or b in meeting[a]:
            continue
        if is_straight((points[a], points[vertex], points[b]), tolerance=EXACT):
            for end, other in ((a, b), (b, a)):
                meeting[end] = (meeting[end] - {vertex}) | {other}
            del meeting[vertex]
    return [tuple(v for v in ring if v in meeting) for ring in rings]


def _number_junctions(
    rings: list[tuple[int, ...]], points: Sequence[Point]
) -> tuple[list[Point], list[tuple[int, ...]], dict[int, int]]:
    """Number the vertices in use from top to bottom, left to right; rings start at their smallest junction."""
    found = list({v for ring in rings for v in ring})
    places = np.array([points[v] for v in found])
    rounded = np.round(places, _ROUND)
    order = np.lexsort((places[:, 1], places[:, 0], rounded[:, 0], rounded[:, 1]))
    used = [found[k] for k in order.tolist()]
    number = {v: k for k, v in enumerate(used)}
    turned = []
    for ring in rings:
        new = [number[v] for v in ring]
        at = new.index(min(new))
        turned.append(tuple(new[at:] + new[:at]))
    return [points[v] for v in used], turned, number


def _in_order(rings: Sequence[tuple[int, ...]], junctions: Sequence[Point]) -> list[int]:
    """Order patches by the middle of their corners, top to bottom, left to right."""
    sizes = np.array([len(ring) for ring in rings])
    corners = np.array([junctions[j] for ring in rings for j in ring])
    first = np.append(0, np.cumsum(sizes)[:-1])
    middles = np.round(np.add.reduceat(corners, first) / sizes[:, None], _ROUND).tolist()
    return sorted(range(len(rings)), key=lambda f: (middles[f][1], middles[f][0], rings[f]))


def _string_edges(
    sides: Sequence[Sequence[Pair]],
    junctions: Sequence[Point],
    curves: Mapping[Pair, int],
    tolerance: float,
) -> tuple[list[Edge], tuple[Line, ...]]:
    """Find the edges and string the interior ones together to lines; `sides` are those of each patch."""
    patch_at: dict[Pair, int] = {}
    for patch, around_patch in enumerate(sides):
        for side in around_patch:
            if side in patch_at:
                raise ValueError(f"patches {patch_at[side]} and {patch} lie on the same side of a segment")
            patch_at[side] = patch
    interior = sorted([(a, b) for a, b in patch_at if a < b and (b, a) in patch_at])
    outline = sorted([_pair(a, b) for a, b in patch_at if (b, a) not in patch_at])
    on_outline = {j for side in outline for j in side}
    around: dict[int, list[int]] = {}  # ascending, as the edges are
    for a, b in interior:
        around.setdefault(a, []).append(b)
        around.setdefault(b, []).append(a)
    follows = _pair_up(around, on_outline, junctions, tolerance)
    edges: list[Edge] = []
    lines: list[Line] = []
    for run in _runs(interior, follows, around, junctions):
        first = len(edges)
        edges += [Edge(a, b, patch_at[a, b], patch_at[b, a], curves.get(_pair(a, b))) for a, b in pairwise(run)]
        reach = _reach([junctions[j] for j in run], tolerance)
        lines.append(Line(first, len(edges), tuple(first + k for k in reach)))
    edges += [
        Edge(a, b, patch_at.get((a, b), OUTSIDE), patch_at.get((b, a), OUTSIDE), curves.get((a, b)))
        for a, b in outline
    ]
    return edges, tuple(lines)


def _pair_up(
    around: Mapping[int, list[int]], on_outline: set[int], junctions: Sequence[Point], tolerance: float
) -> dict[tuple[int, int], int]:
    """Decide which edges are in line at each interior junction.

    Returns
    -------
    dict
        For an edge (from, junction) the junction at which the edge in line with it ends. Each edge has at most
        one partner; the pairs that stray least are made first.
    """
    follows: dict[tuple[int, int], int] = {}
    for j, ends in around.items():
        if j in on_outline:
            continue
        here = junctions[j]
        candidates = [
            (a, b)
            for a, b in _opposite(ends, junctions, here)
            if in_line(junctions[a], here, junctions[b], tolerance=tolerance)
        ]
        if len(candidates) > 1 and len({end for pair in candidates for end in pair}) < 2 * len(candidates):
            candidates.sort(key=lambda pair: _strays(junctions[pair[0]], here, junctions[pair[1]]))
        for a, b in candidates:
            if (a, j) not in follows and (b, j) not in follows:
                follows[a, j], follows[b, j] = b, a
    return follows


def _opposite(ends: Sequence[int], junctions: Sequence[Point], here: Point) -> Iterator[Pair]:
    """Yield the pairs of ends that lie on different sides of a junction, as the ends of a line do."""
    ways = [(end, junctions[end][0] - here[0], junctions[end][1] - here[1]) for end in ends]
    for (a, ax, ay), (b, bx, by) in combinations(ways, 2):
        if ax * bx + ay * by < 0.0:
            yield a, b


def _strays(before: Point, here: Point, after: Point) -> tuple[float, float]:
    """Return how far a path strays from a line, and a number that grows with how sharply it turns."""
    doubled = abs(cross(before, here, after))
    ahead = (here[0] - before[0]) * (after[0] - here[0]) + (here[1] - before[1]) * (after[1] - here[1])
    return straying((before, here, after)), round(doubled / ahead, 9)


def _runs(
    interior: Sequence[Pair],
    follows: Mapping[tuple[int, int], int],
    around: Mapping[int, Sequence[int]],
    junctions: Sequence[Point],
) -> list[list[int]]:
    """Walk from edge to edge in line; each run leads rightwards (or straight down).

    A run that comes back to where it set out has to begin somewhere, and its first and last edge do not count as in
    line: it begins where no other seam ends that this could matter to, if there is such a place.
    """
    done: set[Pair] = set()
    runs = []
    for a, b in interior:
        if (a, b) in done:
            continue
        run = _walk(_walk([b, a], follows)[::-1], follows)
        if follows.get((run[-2], run[-1])) == run[1]:
            start = next((k for k, j in enumerate(run) if len(around[j]) == 2), 0)
            run = [*run[start:-1], *run[: start + 1]]
        done |= {_pair(p, q) for p, q in pairwise(run)}
        left, right = junctions[run[0]], junctions[run[-1]]
        runs.append(run if (round(left[0], _ROUND), left[1]) <= (round(right[0], _ROUND), right[1]) else run[::-1])
    return runs


def _walk(run: list[int], follows: Mapping[tuple[int, int], int]) -> list[int]:
    """Carry a run on as long as an edge in line follows, at most once round."""
    start = (run[0], run[1])
    while (after := follows.get((run[-2], run[-1]))) is not None and (run[-1], after) != start:
        run.append(after)
    return run


def _reach(points: Sequence[Point], tolerance: float) -> list[int]:
    """Return for every segment of a run the last segment up to which it is straight as a whole."""
    count = len(points) - 1
    if is_straight(points, tolerance=tolerance):
        return [count - 1] * count
    reach: list[int] = []
    last = 0
    for k in range(count):
        last = max(last, k)
        while last + 1 < count and is_straight(points[k : last + 3], tolerance=tolerance):
            last += 1
        reach.append(last)
    return reach

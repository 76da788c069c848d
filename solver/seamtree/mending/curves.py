"""Curved seams replaced by the fewest straight ones within a stated distance.

A stretch of a curve between two junctions where other seams end stays attached to them. In between, its own
vertices are the corners that the straight seams may use; of all ways to choose them, the one with the fewest
straight seams is taken (by dynamic programming), and among these the one that moves the drawing least. The distance
is the largest one from a vertex of the curve to the straight seam that replaces its stretch.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
import numpy.typing as npt
import shapely

from seamtree.block.assemble import Face
from seamtree.block.model import Block
from seamtree.block.sketch import Sketch
from seamtree.errors import Point
from seamtree.mending.redraw import assemble

_HALVINGS = 12
"""As often a stretch is tried with half the distance when straight seams would run into others."""


@dataclass(frozen=True, slots=True)
class Stretch:
    """A stretch of a curve: its junctions in turn, and one of its edges."""

    junctions: tuple[int, ...]
    edge: int


@dataclass(frozen=True, slots=True)
class Straightening:
    """A stretch with the junctions that are kept, and how far the drawing moves."""

    stretch: Stretch
    kept: tuple[int, ...]
    moved: float


def straighten(block: Block, *, distance: float) -> tuple[Block, tuple[Straightening, ...]]:
    """Replace all curved seams of a block by straight ones.

    Parameters
    ----------
    block
        The block.
    distance
        How far the drawing may move, inches.

    Returns
    -------
    Block
        The block with straight seams, or the same one if nothing is curved.
    tuple of Straightening
        What was replaced.
    """
    stretches = list(_stretches(block))
    if not stretches:
        return block, ()
    distances = [distance] * len(stretches)
    for _ in range(_HALVINGS):
        done = [
            Straightening(s, *straightest(np.array([block.junctions[j] for j in s.junctions]), distance=d))
            for s, d in zip(stretches, distances, strict=True)
        ]
        dropped = {j for s in done for j in s.stretch.junctions} - {
            s.stretch.junctions[k] for s in done for k in s.kept
        }
        rings = [tuple(j for j in patch.ring if j not in dropped) for patch in block.patches]
        wrong = _wrong_patches(block, rings)
        if not wrong:
            return _without(block, rings, stretches), tuple(s for s in done if len(s.stretch.junctions) > 2)
        for n, s in enumerate(stretches):
            edge = block.edges[s.edge]
            if {edge.left, edge.right} & wrong:
                distances[n] /= 2
    return block, ()


def _stretches(block: Block) -> Iterator[Stretch]:
    """Yield the stretches of curved seams between junctions with other seams, and of lines that bend gently."""
    arms: list[list[int]] = [[] for _ in block.junctions]
    for k, edge in enumerate(block.edges):
        arms[edge.start].append(k)
        arms[edge.end].append(k)
    curve_of: dict[int, object] = {}
    for n, line in enumerate(block.lines):
        for k in range(line.first, line.stop):
            if block.edges[k].curve is not None:
                curve_of[k] = ("curve", block.edges[k].curve)
            elif not line.straight:
                curve_of[k] = ("line", n)
    done: set[int] = set()
    for k in sorted(curve_of):
        if k not in done:
            run = [*_walk(block, arms, curve_of, k, block.edges[k].start)[::-1], block.edges[k].start]
            run += [block.edges[k].end, *_walk(block, arms, curve_of, k, block.edges[k].end)]
            sides = {side for a, b in pairwise(run) for side in ((a, b), (b, a))}
            done |= {e for j in run for e in arms[j] if (block.edges[e].start, block.edges[e].end) in sides}
            yield Stretch(tuple(run), k)


def _walk(block: Block, arms: Sequence[Sequence[int]], curve_of: dict[int, object], edge: int, at: int) -> list[int]:
    """Return the junctions that follow along a curve up to one where another seam ends."""
    found: list[int] = []
    start = at
    while len(arms[at]) == 2:
        after = arms[at][0] + arms[at][1] - edge
        if curve_of.get(after) != curve_of[edge]:
            break
        at = block.edges[after].start + block.edges[after].end - at
        if at == start:
            break
        edge = after
        found.append(at)
    return found


def straightest(points: npt.NDArray[np.float64], *, distance: float) -> tuple[tuple[int, ...], float]:
    """Choose the fewest corners of a polyline.

    Parameters
    ----------
    points
        Shape (n, 2); the first and the last stay.
    distance
        How far a left out point may be from the chord that replaces its stretch.

    Returns
    -------
    tuple of int
        The points that stay.
    float
        The largest distance of one that does not.
    """
    count = len(points)
    best: list[tuple[int, float]] = [(0, 0.0)] + [(count, math.inf)] * (count - 1)
    came = [0] * count
    for first in range(count - 1):
        for last in range(first + 1, count):
            moved = _farthest(points, first, last)
            if moved <= distance:
                reached = (best[first][0] + 1, max(best[first][1], moved))
                if reached < best[last]:
                    best[last], came[last] = reached, first
    kept = [count - 1]
    while kept[-1]:
        kept.append(came[kept[-1]])
    return tuple(kept[::-1]), best[-1][1]


def _farthest(points: npt.NDArray[np.float64], first: int, last: int) -> float:
    """Return the largest distance from the points of a stretch to its chord."""
    if last - first < 2:
        return 0.0
    a, b, inner = points[first], points[last], points[first + 1 : last]
    along = b - a
    length = float(along @ along)
    share = np.clip((inner - a) @ along / length, 0.0, 1.0) if length else np.zeros(len(inner))
    return float(np.hypot(*(inner - a - share[:, None] * along).T).max())


def _wrong_patches(block: Block, rings: Sequence[tuple[int, ...]]) -> set[int]:
    """Return the patches that would cross themselves, vanish, or overlap others."""
    shapes = [
        shapely.Polygon([block.junctions[j] for j in ring]) if len(ring) > 2 else shapely.Polygon() for ring in rings
    ]
    wrong = {p for p, shape in enumerate(shapes) if not shape.is_valid or shape.buffer(-block.tolerance).is_empty}
    if not wrong:
        pairs = shapely.STRtree(shapes).query(shapes, predicate="overlaps").T.tolist()
        pairs += shapely.STRtree(shapes).query(shapes, predicate="contains").T.tolist()
        wrong |= {p for pair in pairs if pair[0] != pair[1] for p in pair}
    return wrong


def _without(block: Block, rings: Sequence[tuple[int, ...]], stretches: Sequence[Stretch]) -> Block:
    """Put the block together again; what is left of the straightened stretches is no curve any more."""
    straight = {j for s in stretches for j in s.junctions}
    curves = {
        (min(e.start, e.end), max(e.start, e.end)): e.curve
        for e in block.edges
        if e.curve is not None and not (e.interior and e.start in straight and e.end in straight)
    }
    faces = [Face(ring, patch.fabric, patch.label) for ring, patch in zip(rings, block.patches, strict=True)]
    return assemble(block, block.junctions, faces, curves)


def middle(path: Sequence[Point]) -> Point:
    """Return the point halfway along a path (inches)."""
    at = shapely.LineString(path).interpolate(0.5, normalized=True)
    return at.x, at.y


@dataclass(frozen=True, slots=True)
class Straightened:
    """A curve of a sketch that was replaced: its new corners, the areas on either side, how far the drawing moves."""

    path: tuple[Point, ...]
    areas: tuple[int, int]
    moved: float


def straighten_sketch(sketch: Sketch, *, distance: float) -> tuple[Sketch, tuple[Straightened, ...]]:
    """Replace all curves inside a drawing in which patches float by the fewest straight seams.

    Parameters
    ----------
    sketch
        The drawing.
    distance
        How far it may move, inches.

    Returns
    -------
    Sketch, tuple of Straightened
        The same sketch and nothing where nothing is curved, or straight seams would run into others.
    """
    chosen = [k for k, c in enumerate(sketch.curves) if c is not None and not sketch.outline[k]]
    arms: dict[int, list[int]] = {}
    for k, ends in enumerate(sketch.edges):
        for v in ends:
            arms.setdefault(v, []).append(k)
    left = set(chosen)
    gone: set[tuple[int, int]] = set()
    made: list[tuple[int, int]] = []
    done: list[Straightened] = []
    for k in chosen:
        if k not in left:
            continue
        left.discard(k)
        run = list(sketch.edges[k])
        for _ in range(2):
            run.reverse()
            while len(arms[run[-1]]) == 2 and run[0] != run[-1]:
                after = next((n for n in arms[run[-1]] if n in left and sketch.curves[n] == sketch.curves[k]), None)
                if after is None:
                    break
                left.discard(after)
                run.append(sum(sketch.edges[after]) - run[-1])
        kept, moved = straightest(np.array([sketch.points[v] for v in run]), distance=distance)
        gone.update((min(a, b), max(a, b)) for a, b in pairwise(run))
        made += [(run[a], run[b]) for a, b in pairwise(kept)]
        path = tuple(sketch.points[run[n]] for n in kept)
        done.append(Straightened(path, _beside(sketch, k), moved))
    if not chosen:
        return sketch, ()
    stay = [k for k, (a, b) in enumerate(sketch.edges) if (min(a, b), max(a, b)) not in gone]
    edges = tuple(sketch.edges[k] for k in stay) + tuple(made)
    outline = tuple(sketch.outline[k] for k in stay) + (False,) * len(made)
    pieces = shapely.get_parts(shapely.polygonize([shapely.LineString([sketch.points[v] for v in e]) for e in edges]))
    tree = shapely.STRtree([area.shape for area in sketch.areas])
    areas = tuple(
        replace(sketch.areas[int(n)], shape=piece)
        for piece, n in zip(pieces, tree.nearest(shapely.point_on_surface(pieces)), strict=True)
    )
    if len(areas) != len(sketch.areas):
        return sketch, ()
    curves = tuple(sketch.curves[k] for k in stay) + (None,) * len(made)
    return replace(sketch, edges=edges, curves=curves, outline=outline, areas=areas), tuple(done)


def _beside(sketch: Sketch, edge: int) -> tuple[int, int]:
    """Return the areas on either side of an edge inside a drawing."""
    middle = shapely.LineString([sketch.points[v] for v in sketch.edges[edge]]).centroid
    away = shapely.distance([area.shape for area in sketch.areas], middle)
    first, second = sorted(range(len(sketch.areas)), key=lambda n: (round(float(away[n]), 9), n))[:2]
    return first, second

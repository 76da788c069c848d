"""Which drawn curves run on into each other.

Curves that meet smoothly are one curve to whoever sews them. Whether they do is judged by the tangents of the curves
as drawn: the chords of a small curve turn so sharply that they say nothing.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from seamtree.block.noding import Floats, Ints, Network
from seamtree.drawing.drawn import STRAIGHT, Shape, Track
from seamtree.errors import Point
from seamtree.geometry.distinct import distinct
from seamtree.geometry.straight import is_straight
from seamtree.tolerances import SMOOTH_TURN_DEGREES

_LEAST_COSINE = math.cos(math.radians(SMOOTH_TURN_DEGREES))


@dataclass(frozen=True, slots=True)
class _Curve:
    """A drawn curve: its points in turn and the directions in which it passes them, shape (n, 2) each."""

    number: int
    points: Floats
    tangents: Floats


def smooth_numbers(shapes: Sequence[Shape], seen: Ints, *, tolerance: float) -> dict[int, int]:
    """Return for each curve that is seen the number of the smooth curve that it is a part of.

    Parameters
    ----------
    shapes
        The shapes of the drawing.
    seen
        Numbers of the curves of which something is seen.
    tolerance
        Ends nearer than this to a curve meet it, inches.
    """
    wanted = set(seen.tolist()) - {STRAIGHT}
    if not wanted:
        return {}
    curves = [c for shape in shapes for track in shape.tracks for c in _curves_of(track) if c.number in wanted]
    root = {number: number for number in wanted}

    def find(number: int) -> int:
        while root[number] != number:
            root[number] = root[root[number]]
            number = root[number]
        return number

    for a, b in _smooth_meetings(curves, tolerance):
        low, high = sorted((find(a), find(b)))
        root[high] = low
    return {number: find(number) for number in wanted}


def _curves_of(track: Track) -> Iterator[_Curve]:
    """Yield the curves that a track consists of."""
    curves = track.curves
    if not any(curves):
        return
    points = track.path
    starts = [k for k, number in enumerate(curves) if k == 0 or number != curves[k - 1]]
    for start, stop in zip(starts, (*starts[1:], len(curves)), strict=True):
        if curves[start] != STRAIGHT:
            at = np.array(points[start : stop + 1])
            yield _Curve(curves[start], at, _tangents(at))


def _tangents(points: Floats) -> Floats:
    """Return the unit tangents of a curve at the points where it was flattened.

    Inside, the chords before and after are weighted as on a circle through the three points; at the ends the turn of
    half the first chord is taken on, as a circle would.
    """
    steps = np.diff(points, axis=0)
    lengths = np.hypot(*steps.T)
    angles = np.unwrap(np.arctan2(steps[:, 1], steps[:, 0]))
    if len(steps) == 1:
        headings = np.repeat(angles, 2)
    else:
        turn = np.diff(angles)
        share = lengths[:-1] / (lengths[:-1] + lengths[1:])
        inside = angles[:-1] + share * turn
        headings = np.concatenate([[2 * angles[0] - inside[0]], inside, [2 * angles[-1] - inside[-1]]])
    return np.column_stack([np.cos(headings), np.sin(headings)])


def _smooth_meetings(curves: Sequence[_Curve], tolerance: float) -> Iterator[tuple[int, int]]:
    """Yield pairs of numbers of which the first curve runs smoothly on into the second."""
    own = np.concatenate([np.repeat(c.number, len(c.points) - 1) for c in curves])
    start = np.concatenate([c.points[:-1] for c in curves])
    step = np.concatenate([np.diff(c.points, axis=0) for c in curves])
    before = np.concatenate([c.tangents[:-1] for c in curves])
    after = np.concatenate([c.tangents[1:] for c in curves])
    begins = np.concatenate([np.arange(len(c.points) - 1) == 0 for c in curves])
    ceases = np.concatenate([np.arange(len(c.points) - 2, -1, -1) == 0 for c in curves])
    ends = np.concatenate([c.points[[0, -1]] for c in curves])
    onwards = np.concatenate([c.tangents[[0, -1]] * [[-1.0], [1.0]] for c in curves])
    number = np.repeat([c.number for c in curves], 2)
    lines = shapely.linestrings(np.stack([start, start + step], axis=1))
    end, chord = shapely.STRtree(lines).query(shapely.points(ends), predicate="dwithin", distance=tolerance)
    other = number[end] != own[chord]
    end, chord = end[other], chord[other]
    away = ends[end] - start[chord]
    length = np.hypot(*step[chord].T)
    along = (away * step[chord]).sum(axis=1) / length
    share = np.clip(along / length, 0.0, 1.0)[:, None]
    tangent = before[chord] * (1 - share) + after[chord] * share
    cosine = (tangent * onwards[end]).sum(axis=1) / np.hypot(*tangent.T)
    # At the end of the other curve only one way leads on.
    no_way_back = begins[chord] & (along <= tolerance)
    no_way_on = ceases[chord] & (along >= length - tolerance)
    smooth = ((cosine >= _LEAST_COSINE) & ~no_way_on) | ((cosine <= -_LEAST_COSINE) & ~no_way_back)
    yield from zip(number[end[smooth]].tolist(), own[chord[smooth]].tolist(), strict=True)


def curved_edges(
    network: Network, shapes: Sequence[Shape], seen: Ints, *, tolerance: float
) -> dict[tuple[int, int], int]:
    """Return the number of its smooth curve for each edge that is a chord of one.

    A stretch of curve of which no more is seen than what is straight within the tolerance is a line.

    Parameters
    ----------
    network
        Edges with the numbers of drawn curves.
    shapes
        The shapes of the drawing.
    seen
        Curve numbers of all that is seen.
    tolerance
        Inches.
    """
    smooth = smooth_numbers(shapes, distinct(seen), tolerance=tolerance)
    chords: dict[int, list[tuple[int, int]]] = {}
    chosen = network.curve != STRAIGHT
    for (a, b), number in zip(network.edges[chosen].tolist(), network.curve[chosen].tolist(), strict=True):
        chords.setdefault(smooth[number], []).append((a, b))
    points = [(x, y) for x, y in network.points.tolist()]
    return {
        chord: number
        for number, drawn in sorted(chords.items())
        for stretch in _stretches(drawn)
        if not _is_line(stretch, points, tolerance)
        for chord in stretch
    }


def _stretches(chords: Sequence[tuple[int, int]]) -> Iterator[list[tuple[int, int]]]:
    """Yield the chords that hang together."""
    around: dict[int, list[tuple[int, int]]] = {}
    for chord in chords:
        for vertex in chord:
            around.setdefault(vertex, []).append(chord)
    left = set(chords)
    for start in chords:
        if start not in left:
            continue
        left.remove(start)
        stretch = [start]
        for chord in stretch:
            for other in (*around[chord[0]], *around[chord[1]]):
                if other in left:
                    left.remove(other)
                    stretch.append(other)
        yield stretch


def _is_line(stretch: Sequence[tuple[int, int]], points: Sequence[Point], tolerance: float) -> bool:
    """Tell whether chords that hang together are a path that is straight within the tolerance."""
    around: dict[int, list[int]] = {}
    for a, b in stretch:
        around.setdefault(a, []).append(b)
        around.setdefault(b, []).append(a)
    ends = [v for v, others in around.items() if len(others) == 1]
    if len(ends) != 2 or any(len(others) > 2 for others in around.values()):
        return False
    path = [min(ends)]
    while len(path) <= len(stretch):
        before, here = (path[-2] if len(path) > 1 else -1), path[-1]
        path.append(next(v for v in around[here] if v != before))
    return is_straight([points[v] for v in path], tolerance=tolerance)

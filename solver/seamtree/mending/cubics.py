"""Drawn curves, which a block knows as chords, fitted with cubic Bézier curves so that they can be drawn again.

The chords of a curve are taken in spans that turn by no more than a sixth of a circle and end wherever another seam
does. Each span becomes one cubic with the tangents of the curve at its ends; the lengths of its two handles are those
of the least squares fit (Schneider 1990, 'An algorithm for automatically fitting digitized curves'). Where the fit
strays too far, the span is halved.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt
import shapely

from seamtree.block.model import Block
from seamtree.errors import Point

Floats = npt.NDArray[np.float64]

_MOST_TURN = math.radians(60.0)
_FIT_SHARE = 0.1
"""A cubic stays within this share of the tolerance of the junctions that it passes."""


_SAMPLES = 65
"""Points of a cubic that stand for it when it is measured."""


_ROUNDS = 4
"""As often a fit is made with the places of the junctions on the cubic found before."""


@dataclass(frozen=True, slots=True)
class Span:
    """Chords of a curve that are drawn as one cubic.

    Parameters
    ----------
    edges
        In turn from the start of the cubic.
    ends
        The junctions where it starts and ends.
    handles
        Its two control points.
    """

    edges: tuple[int, ...]
    ends: tuple[int, int]
    handles: tuple[Point, Point]

    def reversed(self) -> Span:
        """Return the same cubic, drawn the other way."""
        return Span(self.edges[::-1], self.ends[::-1], self.handles[::-1])


def fit_curves(block: Block) -> dict[int, Span]:
    """Return for every edge of a drawn curve the span that it belongs to; short straight spans are left out."""
    tangents = _tangents(block)
    spans: dict[int, Span] = {}
    for edges, junctions in _runs(block):
        for span in _fit_run(block, edges, junctions, tangents):
            spans.update(dict.fromkeys(span.edges, span))
    return spans


def _runs(block: Block) -> Iterator[tuple[list[int], list[int]]]:
    """Yield the chords of curves in turn, with their junctions, between junctions where other seams end."""
    arms: list[list[int]] = [[] for _ in block.junctions]
    for k, edge in enumerate(block.edges):
        arms[edge.start].append(k)
        arms[edge.end].append(k)
    done: set[int] = set()

    def onwards(k: int, at: int) -> Iterator[tuple[int, int]]:
        while len(arms[at]) == 2:
            k = sum(arms[at]) - k
            if k in done or block.edges[k].curve != block.edges[next(iter(first))].curve:
                return
            done.add(k)
            at = block.edges[k].start + block.edges[k].end - at
            yield k, at

    for k, edge in enumerate(block.edges):
        if edge.curve is None or k in done:
            continue
        done.add(k)
        first = [k]
        back = list(onwards(k, edge.start))
        ahead = list(onwards(k, edge.end))
        edges = [e for e, _ in back[::-1]] + [k] + [e for e, _ in ahead]
        yield edges, [j for _, j in back[::-1]] + [edge.start, edge.end] + [j for _, j in ahead]


def _fit_run(
    block: Block, edges: Sequence[int], junctions: Sequence[int], tangents: dict[tuple[int, int], Point]
) -> Iterator[Span]:
    points = [block.junctions[j] for j in junctions]
    curve = block.edges[edges[0]].curve
    waiting = list(_pieces(points))[::-1]
    while waiting:
        first, last = waiting.pop()
        if last - first < 2:
            continue
        ends = junctions[first], junctions[last]
        run = np.array(points[first : last + 1])
        heading = _towards(tangents[ends[0], curve or 0], points[first], points[first + 1])
        arriving = _towards(tangents[ends[1], curve or 0], points[last], points[last - 1])
        handles, stray = _fit(run, np.array(heading), np.array(arriving))
        if stray <= _FIT_SHARE * block.tolerance:
            yield Span(tuple(edges[first:last]), ends, handles)
        else:
            middle = (first + last) // 2
            waiting += [(middle, last), (first, middle)]


def _pieces(points: Sequence[Point]) -> Iterator[tuple[int, int]]:
    """Yield stretches that turn by no more than a sixth of a circle, as equal in turning as they come."""
    headings = [math.atan2(b[1] - a[1], b[0] - a[0]) for a, b in pairwise(points)]
    turned = [0.0]
    for a, b in pairwise(headings):
        turned.append(turned[-1] + abs((b - a + math.pi) % math.tau - math.pi))
    count = max(1, math.ceil(turned[-1] / _MOST_TURN))
    first = 0
    for n in range(1, count + 1):
        last = len(points) - 1
        if n < count:
            last = next(k for k, t in enumerate(turned) if t >= turned[-1] * n / count)
        if last > first:
            yield first, last
            first = last


def _fit(points: Floats, leaving: Floats, arriving: Floats) -> tuple[tuple[Point, Point], float]:
    """Fit a cubic with given directions of its handles; return its control points and how far it strays."""
    steps = np.hypot(*np.diff(points, axis=0).T)
    t = np.concatenate([[0.0], np.cumsum(steps)]) / steps.sum()
    places = shapely.points(points)
    s = np.linspace(0.0, 1.0, _SAMPLES)
    for _ in range(_ROUNDS):
        b0, b1, b2, b3 = _weights(t)
        rest = points - np.outer(b0 + b1, points[0]) - np.outer(b2 + b3, points[-1])
        columns = np.column_stack([np.outer(b1, leaving).ravel(), np.outer(b2, arriving).ravel()])
        lengths = np.linalg.lstsq(columns, rest.ravel(), rcond=None)[0]
        if (lengths <= 0).any():
            lengths = np.full(2, steps.sum() / 3)
        controls = np.array(
            [points[0], points[0] + lengths[0] * leaving, points[-1] + lengths[1] * arriving, points[-1]]
        )
        samples = _weights(s).T @ controls
        drawn = shapely.LineString(samples)
        # Each junction belongs to the place of the cubic that is nearest to it; then the fit is made again.
        along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(samples, axis=0).T))])
        t = np.interp(shapely.line_locate_point(drawn, places), along, s)
        t[0], t[-1] = 0.0, 1.0
    stray = float(shapely.distance(places, drawn).max())
    return ((float(controls[1, 0]), float(controls[1, 1])), (float(controls[2, 0]), float(controls[2, 1]))), stray


def _weights(t: Floats) -> Floats:
    """Return the weights of the four points of a cubic at some parameters; shape (4, n)."""
    return np.array([(1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t**2 * (1 - t), t**3])


def _towards(tangent: Point, at: Point, other: Point) -> Point:
    """Turn a tangent so that it leads towards another point."""
    ahead = (other[0] - at[0]) * tangent[0] + (other[1] - at[1]) * tangent[1]
    return tangent if ahead >= 0 else (-tangent[0], -tangent[1])


def _tangents(block: Block) -> dict[tuple[int, int], Point]:
    """Return the direction of each curve at each of its junctions: of the chord between the neighbours there."""
    near: dict[tuple[int, int], list[int]] = {}
    for edge in block.edges:
        if edge.curve is not None:
            near.setdefault((edge.start, edge.curve), []).append(edge.end)
            near.setdefault((edge.end, edge.curve), []).append(edge.start)
    directions: dict[tuple[int, int], Point] = {}
    for (j, curve), ends in near.items():
        if len(ends) == 2:
            directions[j, curve] = _heading(block.junctions[ends[0]], block.junctions[ends[1]])
    for (j, curve), ends in near.items():
        if len(ends) != 2:
            # At its end a curve is taken to go on turning as it did over the last chord.
            along = _heading(block.junctions[j], block.junctions[ends[0]])
            inner = directions.get((ends[0], curve), along)
            dot = inner[0] * along[0] + inner[1] * along[1]
            directions[j, curve] = (2 * dot * along[0] - inner[0], 2 * dot * along[1] - inner[1])
    return directions


def _heading(start: Point, end: Point) -> Point:
    length = math.dist(start, end)
    return (end[0] - start[0]) / length, (end[1] - start[1]) / length

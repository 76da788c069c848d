"""Noding: from drawn lines to segments that meet only at shared vertices, with what misses by a hair healed.

The method is snap rounding (Hobby 1999, 'Practical segment intersection with finite precision output') with discs of
the tolerance's radius round the drawn points in place of pixels:

1. a free end nearer than the tolerance to a segment moves onto it;
2. drawn points nearer to each other than the tolerance become one *vertex*, and all segments follow it;
3. a segment that passes a vertex nearer than the tolerance is led through it (but the place where a fill begins to
   hide a line draws no other line);
4. what still crosses gets a vertex at the crossing, or is led through the vertex that is nearer to the crossing than
   the tolerance.

In step 3 distances count from the segment as it was before it was led anywhere. So what moves, moves by less than the
tolerance, and two lines that meet at a small angle do not close up like a zip. Vertices are numbered by their
coordinates before anything depends on a number, so the order of the input never shows.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
import shapely

from seamtree.block.paint import Complexes, Segments, as_complex
from seamtree.errors import DrawingError, Finding

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
Bools = npt.NDArray[np.bool_]
Geometries = npt.NDArray[np.object_]

JOINT, FREE, INNER, CUT, CROSSING = range(5)
"""What was drawn at a vertex: a corner or several ends; one end; a point inside a curve; nothing, as a fill begins to
hide a line there; nothing, as lines cross there."""

_IS_IDLE = np.array([False, True, False, True, True])
"""Whether a vertex of each kind means nothing where two edges go on as one: nobody drew a corner there."""

ON_LINE = 1e-7
"""A vertex nearer to a segment than this (inches) lies on it."""

_DECIMALS = 9
"""Decimals of coordinates (inches); points that differ less are one point."""

_ROUNDS = 40
"""Rounds of resolving crossings; in the second half nothing is snapped any more, and that comes to an end."""

_APART = 5.0
"""Crossings nearer to each other than this many tolerances are resolved one after the other."""


@dataclass(frozen=True, slots=True)
class Network:
    """Segments that meet only at shared vertices.

    Parameters
    ----------
    points
        Shape (n, 2), inches.
    kind
        `JOINT`, `FREE`, `INNER`, `CUT` or `CROSSING` for each vertex; (n,).
    edges
        Pairs of vertices, the smaller first, none twice; (m, 2).
    curve
        Number of the drawn curve of each edge, 0 for a straight one; (m,).
    snapped
        How many drawn points were moved, or had a line led to them, so far that one could see it.
    """

    points: Floats
    kind: Ints
    edges: Ints
    curve: Ints
    snapped: int = 0

    def linestrings(self) -> Geometries:
        """Return the edges as line strings."""
        made: Geometries = shapely.linestrings(self.points[self.edges])
        return made

    def degrees(self) -> Ints:
        """Return how many edges meet at each vertex."""
        return np.bincount(self.edges.ravel(), minlength=len(self.points))


@dataclass(frozen=True, slots=True)
class Stops:
    """Vertices through which edges are to be led: one edge, vertex and place along the edge (0 to 1) each."""

    edge: Ints
    vertex: Ints
    along: Floats


_NO_STOPS = Stops(np.empty(0, np.int64), np.empty(0, np.int64), np.empty(0))


def build_network(segments: Segments, *, tolerance: float, visible: float) -> Network:
    """Node drawn segments.

    Parameters
    ----------
    segments
        What is seen of the drawing.
    tolerance
        What cloth cannot tell apart, inches.
    visible
        Points that move by more than this count as snapped, inches.
    """
    drawn, ends, count = _drawn_points(segments)
    inner = np.bincount(ends[segments.inner], minlength=len(drawn))
    kind = np.where(count > 1, JOINT, np.where(count == 1, FREE, np.where(inner > 0, INNER, CUT)))
    # Points inside curves come last, so that a curve goes to the end of a line and not the other way round.
    leader = leaders(drawn, kind, count, tolerance, active=kind <= FREE)
    gathered = np.bincount(leader, weights=count, minlength=len(drawn))
    kind = np.where(gathered > 1, JOINT, kind)
    edges, curve = _unique_edges(leader[ends], segments.curve)
    points, _ = _onto_lines(drawn, kind == FREE, edges, tolerance)
    if points is not drawn or (kind > FREE).any():
        leader = leaders(points, kind, count, tolerance, active=leader == np.arange(len(drawn)))[leader]
        edges, curve = _unique_edges(leader[ends], segments.curve)
    stops, missed = passed_vertices(points, edges, tolerance, kind <= INNER)
    snapped = (np.hypot(*(points[leader] - drawn).T) > visible) & (count > 0)
    snapped[stops.vertex[(missed > visible) & (kind[stops.vertex] == JOINT)]] = True
    edges, curve = _led_through(edges, curve, stops)
    points, stops = _onto_lines(points, kind == CUT, edges, tolerance)
    edges, curve = _led_through(edges, curve, stops)
    return resolve(Network(points, kind, edges, curve, int(snapped.sum())), tolerance=tolerance)


def resolve(network: Network, *, tolerance: float) -> Network:
    """Resolve what crosses in a network, and leave out the vertices that are nothing."""
    network = _without_crossings(network, tolerance)
    return _compact(_without_idle_vertices(network, tolerance))


def merge_vertices(network: Network, onto: Ints) -> Network:
    """Put vertices onto others.

    Parameters
    ----------
    network
        Any network.
    onto
        For each vertex the one that it becomes; (n,).
    """
    edges, curve = _unique_edges(onto[network.edges], network.curve)
    return replace(network, edges=edges, curve=curve)


def lead_through(network: Network, edge: Ints, vertex: Ints) -> Network:
    """Lead edges through vertices that they do not pass yet; both arrays have the same length."""
    stops = Stops(edge, vertex, _along(network.points, network.edges[edge], network.points[vertex])[0])
    inside = (stops.along > 0.0) & (stops.along < 1.0)
    edges, curve = _led_through(
        network.edges, network.curve, Stops(edge[inside], vertex[inside], stops.along[inside])
    )
    return replace(network, edges=edges, curve=curve)


def _drawn_points(segments: Segments) -> tuple[Floats, Ints, Ints]:
    """Return the different points, the two points of each segment, and how many drawn ends each point is."""
    at = np.round(np.concatenate([segments.start, segments.end]), _DECIMALS) + 0.0
    keys, number = np.unique(as_complex(at), return_inverse=True)
    ends = number.reshape(2, -1).T
    count = np.bincount(ends[~(segments.inner | segments.cut)], minlength=len(keys))
    return np.column_stack([keys.real, keys.imag]), ends, count


def leaders(points: Floats, kind: Ints, count: Ints, tolerance: float, active: Bools | None = None) -> Ints:
    """Return for each point the one that it becomes: itself, or one nearer than the tolerance that means more."""
    leader = np.arange(len(points))
    which = leader if active is None else np.flatnonzero(active)
    dots = shapely.points(points[which])
    a, b = shapely.STRtree(dots).query(dots, predicate="dwithin", distance=tolerance)
    a, b = which[a[a != b]], which[b[a != b]]
    near: dict[int, list[int]] = {}
    for p, q in zip(a.tolist(), b.tolist(), strict=True):
        near.setdefault(p, []).append(q)
    free = set(near)
    for p in sorted(near, key=lambda p: (kind[p], -count[p], p)):
        if p in free:
            followers = [q for q in near[p] if q in free]
            leader[followers] = p
            free -= {p, *followers}
    return leader


def _unique_edges(ends: Ints, curve: Ints) -> tuple[Ints, Ints]:
    """Return the different edges; where one was drawn several times, a curve counts before a straight line."""
    a, b = np.minimum(*ends.T), np.maximum(*ends.T)
    proper = a != b
    a, b, curve = a[proper], b[proper], curve[proper]
    order = np.lexsort((np.where(curve == 0, np.iinfo(np.int64).max, curve), b, a))
    a, b, curve = a[order], b[order], curve[order]
    first = np.append(True, (a[1:] != a[:-1]) | (b[1:] != b[:-1]))[: len(a)]
    return np.column_stack([a[first], b[first]]), curve[first]


def _along(points: Floats, edges: Ints, at: Floats) -> tuple[Floats, Floats]:
    """Return where points lie along edges (0 at the start, 1 at the end), and how far from their lines."""
    start = points[edges[:, 0]]
    step = points[edges[:, 1]] - start
    away = at - start
    length = np.hypot(*step.T)
    along = (away * step).sum(axis=1) / length**2
    off = np.abs(step[:, 0] * away[:, 1] - step[:, 1] * away[:, 0]) / length
    return along, off


def passed_vertices(
    points: Floats, edges: Ints, tolerance: float, chosen: Bools | None = None
) -> tuple[Stops, Floats]:
    """Return the vertices (or the chosen ones) that edges pass nearer than the tolerance, and how far off."""
    used = np.flatnonzero(np.bincount(edges.ravel()))
    used = used if chosen is None else used[chosen[used]]
    at = points[used]
    # Of a diagonal the tree looks at the box only, which is what is wanted: all that is near comes to light below.
    around = shapely.linestrings(np.stack([at - tolerance, at + tolerance], axis=1))
    vertex, edge = shapely.STRtree(shapely.linestrings(points[edges])).query(around)
    vertex = used[vertex]
    other = (edges[edge] != vertex[:, None]).all(axis=1)
    vertex, edge = vertex[other], edge[other]
    along, off = _along(points, edges[edge], points[vertex])
    passed = (along > 0.0) & (along < 1.0) & (off <= tolerance)
    return Stops(edge[passed], vertex[passed], along[passed]), off[passed]


def _onto_lines(points: Floats, chosen: Bools, edges: Ints, tolerance: float) -> tuple[Floats, Stops]:
    """Move chosen vertices onto the nearest line in reach.

    Returns
    -------
    array, Stops
        The points, and the places where the moved ones lie on edges.
    """
    if not chosen.any():
        return points, _NO_STOPS
    stops, off = passed_vertices(points, edges, tolerance, chosen)
    order = np.lexsort((stops.edge, np.round(off, _DECIMALS), stops.vertex))
    vertex = stops.vertex[order]
    nearest = order[np.append(True, vertex[1:] != vertex[:-1])[: len(order)]]
    stops = Stops(stops.edge[nearest], stops.vertex[nearest], stops.along[nearest])
    start = points[edges[stops.edge, 0]]
    moved = points.copy()
    moved[stops.vertex] = start + stops.along[:, None] * (points[edges[stops.edge, 1]] - start)
    return moved, stops


def _led_through(edges: Ints, curve: Ints, stops: Stops) -> tuple[Ints, Ints]:
    """Lead edges through their stops, in the order in which they lie along them."""
    if not len(stops.edge):
        return edges, curve
    number = np.arange(len(edges))
    edge = np.concatenate([number, stops.edge, number])
    vertex = np.concatenate([edges[:, 0], stops.vertex, edges[:, 1]])
    along = np.concatenate([np.full(len(edges), -1.0), stops.along, np.full(len(edges), 2.0)])
    order = np.lexsort((vertex, along, edge))
    edge, vertex = edge[order], vertex[order]
    same = edge[1:] == edge[:-1]
    pieces = np.column_stack([vertex[:-1], vertex[1:]])[same]
    return _unique_edges(pieces, curve[edge[1:][same]])


# -- crossings ------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Crossings:
    """Pairs of edges that cross, and where."""

    first: Ints
    second: Ints
    at: Floats


def _without_crossings(network: Network, tolerance: float) -> Network:
    """Give crossings a vertex, until nothing crosses."""
    for turn in range(_ROUNDS):
        touching, crossings = _conflicts(network.points, network.edges)
        if not len(touching.edge) and not len(crossings.first):
            return network
        reach = tolerance if 2 * turn < _ROUNDS else ON_LINE
        ends, new = _split_by_nearness(network, crossings, reach)
        points, more = _new_vertices(network, new, reach)
        stops = Stops(
            np.concatenate([touching.edge, ends.edge, more.edge]),
            np.concatenate([touching.vertex, ends.vertex, more.vertex]),
            np.concatenate([touching.along, ends.along, more.along]),
        )
        edges, curve = _led_through(network.edges, network.curve, stops)
        kind = np.concatenate([network.kind, np.full(len(points) - len(network.points), CROSSING)])
        network = replace(network, points=points, kind=kind, edges=edges, curve=curve)
    x, y = crossings.at[0] if len(crossings.at) else network.points[touching.vertex[0]]
    message = (
        f"The lines near ({x:.2f}, {y:.2f}) in lie so close together that their crossings cannot be told apart. Draw "
        "them farther apart, or raise the tolerance."
    )
    raise DrawingError(Finding("tangled", message, (float(x), float(y))))


def _conflicts(points: Floats, edges: Ints) -> tuple[Stops, _Crossings]:
    """Find vertices that lie on an edge that does not end there, and edges that cross."""
    lines = shapely.linestrings(points[edges])
    first, second = shapely.STRtree(lines).query(lines)
    once = first < second
    first, second = first[once], second[once]
    ends = np.concatenate([edges[first], edges[second]], axis=1)
    a, b, c, d = as_complex(points)[ends].T
    one, other = b - a, d - c
    # Signed distances of the ends of each edge from the line of the other.
    sides = np.array([_away(a, c, other), _away(b, c, other), _away(c, a, one), _away(d, a, one)])
    shared = ends[:, :2, None] == ends[:, None, 2:]
    apart = ~np.concatenate([shared.any(axis=2), shared.any(axis=1)], axis=1).T
    touching = _touching(points, edges, ends, (first, second), (np.abs(sides) <= ON_LINE) & apart)
    crosses = (sides[0] * sides[1] < 0) & (sides[2] * sides[3] < 0) & apart.all(axis=0)
    crosses[crosses] = np.abs(sides[:, crosses]).min(axis=0) > ON_LINE
    share = sides[0, crosses] / (sides[0, crosses] - sides[1, crosses])
    at = a[crosses] + share * one[crosses]
    return touching, _Crossings(first[crosses], second[crosses], np.column_stack([at.real, at.imag]))


def _away(at: Complexes, start: Complexes, step: Complexes) -> Floats:
    """Return the signed distances of places from lines that lead on from a start in a direction."""
    distances: Floats = (step.conjugate() * (at - start)).imag / np.abs(step)
    return distances


def _touching(points: Floats, edges: Ints, ends: Ints, numbers: tuple[Ints, Ints], touches: Bools) -> Stops:
    """Return the vertices that lie on an edge which does not end there; the last one is of shape (4, pairs)."""
    corner, pair = np.nonzero(touches)
    vertex, edge = ends[pair, corner], np.array(numbers)[1 - corner // 2, pair]
    along, _ = _along(points, edges[edge], points[vertex])
    inside = (along > 0.0) & (along < 1.0)
    edge, vertex, along = edge[inside], vertex[inside], along[inside]
    _, once = np.unique(edge * len(points) + vertex, return_index=True)
    return Stops(edge[once], vertex[once], along[once])


def _split_by_nearness(network: Network, crossings: _Crossings, reach: float) -> tuple[Stops, _Crossings]:
    """Part the crossings that an end of one of the edges can stand for from those that need a vertex of their own."""
    points, edges = network.points, network.edges
    ends = np.concatenate([edges[crossings.first], edges[crossings.second]], axis=1)
    distances = np.hypot(*np.moveaxis(points[ends] - crossings.at[:, None], -1, 0))
    best = distances.argmin(axis=1) if len(ends) else np.zeros(0, dtype=np.int64)
    row = np.arange(len(ends))
    near = distances[row, best] <= reach
    edge = np.where(best < 2, crossings.second, crossings.first)[near]
    vertex = ends[row, best][near]
    along, _ = _along(points, edges[edge], points[vertex])
    stops = Stops(edge, vertex, np.clip(along, 0.0, 1.0))
    return stops, _Crossings(crossings.first[~near], crossings.second[~near], crossings.at[~near])


def _new_vertices(network: Network, crossings: _Crossings, reach: float) -> tuple[Floats, Stops]:
    """Make vertices at crossings, and lead all edges in reach through them.

    Of crossings that lie close together only the one goes first that most lines pass: the others are often gone
    then, as when several lines were meant to meet in one point.
    """
    points, edges = network.points, network.edges
    at = crossings.at
    if not len(at):
        return points, _NO_STOPS
    dots = shapely.points(at)
    crossing, edge = shapely.STRtree(network.linestrings()).query(dots, predicate="dwithin", distance=reach)
    passes = np.bincount(crossing, minlength=len(at))
    first, second = shapely.STRtree(dots).query(dots, predicate="dwithin", distance=_APART * reach)
    rank = np.empty(len(at), dtype=np.int64)
    rank[np.lexsort((at[:, 1], np.round(at[:, 0], _DECIMALS), -passes))] = np.arange(len(at))
    later = np.zeros(len(at), dtype=bool)
    later[first[rank[first] > rank[second]]] = True
    number = np.full(len(at), -1)
    number[~later] = len(points) + np.arange(int((~later).sum()))
    chosen = number[crossing] >= 0
    edge, vertex = edge[chosen], number[crossing[chosen]]
    along, _ = _along(points, edges[edge], at[crossing[chosen]])
    inside = (along > 0.0) & (along < 1.0)
    return np.concatenate([points, at[~later]]), Stops(edge[inside], vertex[inside], along[inside])


# -- tidying --------------------------------------------------------------------------------------------------


def _without_idle_vertices(network: Network, tolerance: float) -> Network:
    """Join the two edges at vertices where nobody drew a corner and nothing else meets."""
    points, edges, curve = network.points, network.edges, network.curve
    idle = (network.degrees() == 2) & _IS_IDLE[network.kind]
    if not idle.any():
        return network
    number = {(a, b): c for (a, b), c in zip(edges.tolist(), curve.tolist(), strict=True)}
    around: dict[int, list[int]] = {}
    for a, b in edges[idle[edges].any(axis=1)].tolist():
        around.setdefault(a, []).append(b)
        around.setdefault(b, []).append(a)
    for v in np.flatnonzero(idle).tolist():
        a, b = sorted(around[v])
        first, second = _pair(a, v), _pair(v, b)
        along, off = _along(points, np.array([[a, b]]), points[[v]])
        if number[first] != number[second] or (a, b) in number or off[0] > tolerance or not 0 < along[0] < 1:
            continue
        number[a, b] = number.pop(first)
        del number[second]
        for end, other in ((a, b), (b, a)):
            if end in around:
                around[end] = [other if n == v else n for n in around[end]]
    kept = np.array(sorted(number), dtype=np.int64).reshape(-1, 2)
    return replace(network, edges=kept, curve=np.array([number[a, b] for a, b in kept.tolist()], dtype=np.int64))


def _pair(a: int, b: int) -> tuple[int, int]:
    return (a, b) if a < b else (b, a)


def _compact(network: Network) -> Network:
    """Leave out vertices that no edge uses, and number the others by their coordinates."""
    used = np.flatnonzero(np.bincount(network.edges.ravel()))
    at = network.points[used]
    used = used[np.lexsort((at[:, 1], at[:, 0]))]
    number = np.full(len(network.points), -1)
    number[used] = np.arange(len(used))
    edges, curve = _unique_edges(number[network.edges], network.curve)
    return Network(network.points[used], network.kind[used], edges, curve, network.snapped)

"""Closing up slivers: faces so narrow that cloth cannot tell their sides apart."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import replace
from itertools import pairwise

import numpy as np
import shapely

from seamtree.block.faces import Faces, dangling_chains, find_faces
from seamtree.block.noding import (
    FREE,
    JOINT,
    Floats,
    Ints,
    Network,
    lead_through,
    leaders,
    merge_vertices,
    passed_vertices,
    resolve,
)
from seamtree.block.paint import Segments

_REACHES = (2.0, 3.0)
"""How many tolerances apart the sides of a sliver can be. A face without any circle of radius r inside is hardly
anywhere wider than 2 r if it is long, and a convex one has a width of at most 3 r (Blaschke 1916, 'Kreis und Kugel';
an equilateral triangle reaches it)."""

_ROUNDS = 10

_PARALLEL = 0.85
"""Least cosine of the angle between an edge and the drawn lines that became it."""

_ONE_NEIGHBOUR = 0.75
"""A sliver that lies along one and the same neighbour by more than this share of its boundary parts nothing."""


def close_slivers(network: Network, *, tolerance: float) -> tuple[Faces, int]:
    """Close up faces that disappear when shrunk by the tolerance.

    Parameters
    ----------
    network
        Edges that meet only at shared vertices.
    tolerance
        Inches.

    Returns
    -------
    Faces, int
        The faces of what is left, and how many slivers were closed. A sliver that sticks out into a single
        neighbour or into the open is left: closing it would leave a line with nothing on its sides.
    """
    faces = find_faces(network)
    before = len(faces.rings)
    for reach in _REACHES:
        for _ in range(_ROUNDS):
            thin = [f for f in slivers(faces, tolerance) if _can_close(faces, f)]
            if not thin:
                return faces, before - len(faces.rings)
            apart = _apart(faces, thin)
            count = len(faces.rings)
            faces = find_faces(_collapse(faces, apart, reach=reach * tolerance, tolerance=tolerance))
            if len(faces.rings) == count:
                break
    return faces, before - len(faces.rings)


def without_closed_tips(faces: Faces, seen: Segments, *, tolerance: float, visible: float) -> tuple[Faces, int]:
    """Leave out dangling edges that are the closed up tip of something that tapers off.

    Where two lines run towards each other and come nearer than the tolerance they become one, and beyond that they
    may part nothing any more. No line ends there: two do, and they were drawn apart.

    Parameters
    ----------
    faces
        What a network encloses.
    seen
        The lines as drawn.
    tolerance
        Inches.
    visible
        Lines that are apart by less than this were drawn in the same place, inches.

    Returns
    -------
    Faces, int
        The faces, and how many tips were left out.
    """
    if not len(faces.dangling):
        return faces, 0
    network = faces.network
    degrees = network.degrees()
    tree = shapely.STRtree(shapely.linestrings(np.stack([seen.start, seen.end], axis=1)))
    closed: set[int] = set()
    tips = 0
    for end, chain, stop in dangling_chains(faces):
        if network.kind[end] != JOINT or degrees[stop] == 1:
            continue
        if _drawn_apart(network.points[network.edges[chain[-1]]], seen, tree, 2 * tolerance) > visible:
            closed.update(chain)
            tips += 1
    left = np.array([k for k in faces.dangling.tolist() if k not in closed], dtype=np.int64)
    return replace(faces, dangling=left), tips


def _drawn_apart(edge: Floats, seen: Segments, tree: shapely.STRtree, reach: float) -> float:
    """Return how far apart the lines were drawn that became an edge (inches)."""
    middle = edge.mean(axis=0)
    along = (edge[1] - edge[0]) / np.hypot(*(edge[1] - edge[0]))
    across = np.array([-along[1], along[0]])
    near = tree.query(shapely.Point(middle), predicate="dwithin", distance=reach)
    step = seen.end[near] - seen.start[near]
    parallel = np.abs(step @ along) > _PARALLEL * np.hypot(*step.T)
    start, step = seen.start[near][parallel], step[parallel]
    if not len(start):
        return 0.0
    share = ((middle - start) @ along) / (step @ along)
    beside = (share > -0.5) & (share < 1.5)
    off = (start + share[:, None] * step - middle)[beside] @ across
    return float(np.ptp(off)) if len(off) else 0.0


def slivers(faces: Faces, tolerance: float) -> list[int]:
    """Return the faces that disappear when shrunk by the tolerance."""
    # A circle of radius r inside a face leaves it an area of at least r times half the perimeter of the circle; the
    # other way round, area / perimeter is never more than the radius of the largest circle inside.
    candidates = np.flatnonzero(faces.areas < tolerance * faces.perimeters)
    if not len(candidates):
        return []
    gone = shapely.is_empty(shapely.buffer(faces.polygons[candidates], -tolerance))
    return [int(f) for f in candidates[gone]]


def _can_close(faces: Faces, face: int) -> bool:
    """Tell whether more than one neighbour lies along a face."""
    along: dict[int, float] = defaultdict(float)
    ring = faces.rings[face]
    at = faces.network.points[list(ring)]
    lengths = np.hypot(*(np.roll(at, -1, axis=0) - at).T).tolist()
    for neighbour, length in zip(faces.beside[face], lengths, strict=True):
        along[neighbour] += length
    return bool(max(along.values()) <= _ONE_NEIGHBOUR * sum(lengths))


def _apart(faces: Faces, thin: list[int]) -> list[int]:
    """Choose slivers that have no vertex in common, the smallest first."""
    taken: set[int] = set()
    chosen = []
    for f in sorted(thin, key=lambda f: (round(float(faces.areas[f]), 9), faces.rings[f])):
        if taken.isdisjoint(faces.rings[f]):
            taken.update(faces.rings[f])
            chosen.append(f)
    return chosen


def _collapse(faces: Faces, thin: list[int], *, reach: float, tolerance: float) -> Network:
    """Bring the sides of slivers together: all onto one point if that is near enough, else onto each other."""
    network = faces.network
    points, onto, degrees = network.points.copy(), np.arange(len(network.points)), network.degrees()
    for f in thin:
        ring = np.unique(faces.rings[f])
        middle = _middle(faces.polygons[f], points[ring])
        if np.hypot(*(points[ring] - middle).T).max() <= 2 * reach:
            leader = ring[np.lexsort((ring, -degrees[ring], network.kind[ring]))[0]]
            onto[ring] = leader
            # A point that nobody drew may move, and then every side moves by less than the tolerance.
            if network.kind[leader] > FREE:
                points[leader] = middle
        else:
            active = np.zeros(len(points), dtype=bool)
            active[ring] = True
            onto[ring] = leaders(points, network.kind, degrees, reach, active=active)[ring]
    merged = merge_vertices(replace(network, points=points), onto)
    number = {(a, b): k for k, (a, b) in enumerate(merged.edges.tolist())}
    edges: list[Ints] = []
    vertices: list[Ints] = []
    for f in thin:
        ring = onto[list(faces.rings[f])]
        sides = {number[min(a, b), max(a, b)] for a, b in pairwise([*ring.tolist(), int(ring[0])]) if a != b}
        if sides:
            own = np.array(sorted(sides), dtype=np.int64)
            stops, _ = passed_vertices(merged.points, merged.edges[own], reach)
            edges.append(own[stops.edge])
            vertices.append(stops.vertex)
    if edges:
        merged = lead_through(merged, np.concatenate(edges), np.concatenate(vertices))
    return resolve(merged, tolerance=tolerance)


def _middle(polygon: shapely.Geometry, corners: Floats) -> Floats:
    """Return the middle of the largest circle inside of a polygon, or of its corners if there is none."""
    circle = shapely.maximum_inscribed_circle(polygon)
    middle: Floats = corners.mean(axis=0) if shapely.is_empty(circle) else shapely.get_coordinates(circle)[0]
    return middle

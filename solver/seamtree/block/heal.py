"""Closing up slivers: faces so narrow that cloth cannot tell their sides apart."""

from __future__ import annotations

from collections import defaultdict

import numpy as np
import shapely

from seamtree.block.faces import Faces, find_faces
from seamtree.block.noding import (
    Ints,
    Network,
    lead_through,
    leaders,
    merge_vertices,
    passed_vertices,
    resolve,
)

_ROUNDS = 20

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
    closed = 0
    faces = find_faces(network)
    for _ in range(_ROUNDS):
        thin = [f for f in slivers(faces, tolerance) if _can_close(faces, f)]
        if not thin:
            break
        apart = _apart(faces, thin)
        network = _collapse(faces, apart, tolerance)
        closed += len(apart)
        faces = find_faces(network)
    return faces, closed


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


def _collapse(faces: Faces, thin: list[int], tolerance: float) -> Network:
    """Bring the sides of slivers together: vertices onto vertices in reach, and sides through the others."""
    network = faces.network
    # A face without any circle of radius r inside is nowhere wider than 2 r where its sides are parallel.
    reach = 2 * tolerance
    onto = np.arange(len(network.points))
    degrees = network.degrees()
    for f in thin:
        active = np.zeros(len(network.points), dtype=bool)
        active[list(faces.rings[f])] = True
        new = leaders(network.points, network.kind, degrees, reach, active=active)
        onto[active] = new[active]
    merged = merge_vertices(network, onto)
    number = {(a, b): k for k, (a, b) in enumerate(merged.edges.tolist())}
    edges: list[Ints] = []
    vertices: list[Ints] = []
    for f in thin:
        ring = onto[list(faces.rings[f])].tolist()
        sides = {number[min(a, b), max(a, b)] for a, b in zip(ring, (*ring[1:], ring[0]), strict=True) if a != b}
        own = np.array(sorted(sides), dtype=np.int64)
        if len(own):
            stops, _ = passed_vertices(merged.points, merged.edges[own], reach)
            edges.append(own[stops.edge])
            vertices.append(stops.vertex)
    if edges:
        merged = lead_through(merged, np.concatenate(edges), np.concatenate(vertices))
    return resolve(merged, tolerance=tolerance)

"""Faces: the areas that the edges of a network enclose, and the edges that enclose nothing.

Every edge is two half-edges, one on each side. Turning as far as possible to the same hand at every vertex leads
round the face that lies on that hand (a doubly connected edge list; Muller & Preparata 1978).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import shapely

from seamtree.block.noding import Bools, Floats, Geometries, Ints, Network

OPEN = -1
"""Number of the face beside an edge where the drawing is open to the outside."""


@dataclass(frozen=True, slots=True)
class Faces:
    """What a network encloses.

    Parameters
    ----------
    network
        The network, with edges that enclose nothing.
    rings
        The vertices round each face; a vertex comes twice where the face touches itself.
    beside
        For each ring the face on the other side of the edge from ``ring[i]`` to the next vertex, or `OPEN`.
    polygons
        The faces as polygons; the pieces of line work that lie inside of them are cut out.
    areas, perimeters
        Square inches and inches.
    pieces
        The vertices round the outside of each connected piece of line work that encloses something.
    islands
        The pieces that lie wholly inside a face, with that face.
    dangling, parting_nothing
        Edges of the network that end in the open, and edges with the same face on both sides.
    """

    network: Network
    rings: tuple[tuple[int, ...], ...]
    beside: tuple[tuple[int, ...], ...]
    polygons: Geometries
    areas: Floats
    perimeters: Floats
    pieces: tuple[tuple[int, ...], ...]
    islands: tuple[tuple[int, int], ...]
    dangling: Ints
    parting_nothing: Ints


def find_faces(network: Network) -> Faces:
    """Find the faces of a network whose edges meet only at shared vertices."""
    solid = np.flatnonzero(~_dangling(network))
    cycles, cycle = _cycles(network.points, network.edges[solid])
    bridge = cycle[0::2] == cycle[1::2]
    bridges = solid[bridge]
    if bridge.any():
        solid = solid[~bridge]
        cycles, cycle = _cycles(network.points, network.edges[solid])
    origin, target = _half_edges(network.edges[solid])
    # Counted from a corner of each face, so that even the areas of tiny faces far out keep their sign.
    corner = network.points[origin[np.array([half for half, *_ in cycles], dtype=np.int64)]][cycle]
    a, b = network.points[origin] - corner, network.points[target] - corner
    areas = _sums(cycle, (a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]) / 2, len(cycles))
    lengths = _sums(cycle, np.hypot(*(b - a).T), len(cycles))
    bounded = areas > 0.0
    number = np.where(bounded, np.cumsum(bounded) - 1, OPEN)
    starts: list[int] = origin.tolist()
    other_side: list[int] = number[cycle].reshape(-1, 2)[:, ::-1].ravel().tolist()
    inner = [halves for halves, within in zip(cycles, bounded.tolist(), strict=True) if within]
    outer = [halves for halves, within in zip(cycles, bounded.tolist(), strict=True) if not within]
    rings = tuple(tuple([starts[half] for half in halves]) for halves in inner)
    pieces = tuple(tuple([starts[half] for half in halves]) for halves in outer)
    polygons = _polygons(network.points, rings)
    islands = _islands(network.points, polygons, areas[bounded], pieces)
    enclosing = np.zeros(len(network.edges), dtype=bool)
    enclosing[solid] = enclosing[bridges] = True
    return Faces(
        network,
        rings,
        tuple(tuple([other_side[half] for half in halves]) for halves in inner),
        _without_islands(network.points, polygons, pieces, islands),
        areas[bounded],
        lengths[bounded],
        pieces,
        islands,
        np.flatnonzero(~enclosing),
        bridges,
    )


def dangling_chains(faces: Faces) -> Iterator[tuple[int, list[int], int]]:
    """Walk from every loose end to where its line ends again or meets others, from top to bottom.

    Yields
    ------
    int, list, int
        The vertex of the loose end, the edges on the way, and the vertex where it ends.
    """
    network = faces.network
    degrees = network.degrees().tolist()
    around: dict[int, list[tuple[int, int]]] = {}
    for k, (a, b) in zip(faces.dangling.tolist(), network.edges[faces.dangling].tolist(), strict=True):
        around.setdefault(a, []).append((k, b))
        around.setdefault(b, []).append((k, a))
    ends = np.array([v for v in around if degrees[v] == 1], dtype=np.int64)
    places = np.round(network.points[ends], 3)
    for end in ends[np.lexsort((ends, places[:, 0], places[:, 1]))].tolist():
        edge, at = around[end][0]
        chain = [edge]
        while degrees[at] == 2 and len(around[at]) == 2:
            edge, at = next((k, other) for k, other in around[at] if k != chain[-1])
            chain.append(edge)
        yield end, chain, at


def _dangling(network: Network) -> Bools:
    """Tell which edges vanish when edges with a free end are taken away again and again."""
    gone = np.zeros(len(network.edges), dtype=bool)
    degrees = network.degrees()
    loose = np.flatnonzero(degrees == 1).tolist()
    if not loose:
        return gone
    around: dict[int, list[int]] = {}
    edges: list[list[int]] = network.edges.tolist()
    for k, (a, b) in enumerate(edges):
        around.setdefault(a, []).append(k)
        around.setdefault(b, []).append(k)
    while loose:
        vertex = loose.pop()
        for k in around[vertex]:
            if gone[k] or degrees[vertex] != 1:
                continue
            gone[k] = True
            degrees[edges[k]] -= 1
            loose.append(edges[k][0] if edges[k][1] == vertex else edges[k][1])
    return gone


def _half_edges(edges: Ints) -> tuple[Ints, Ints]:
    """Return where half-edges begin and end; ``2k`` and ``2k + 1`` are the two of edge ``k``."""
    return edges.ravel(), edges[:, ::-1].ravel()


def _cycles(points: Floats, edges: Ints) -> tuple[list[list[int]], Ints]:
    """Go round each face, and round the outside of the pieces.

    Returns
    -------
    list, array
        The half-edges of each cycle in turn, and the number of the cycle that each half-edge belongs to.
    """
    if not len(edges):
        return [], np.empty(0, dtype=np.int64)
    origin, target = _half_edges(edges)
    step = points[target] - points[origin]
    order = np.lexsort((np.arctan2(step[:, 1], step[:, 0]), origin))
    # After a half-edge comes the one before its twin in the turn round the vertex where it ends.
    first = np.flatnonzero(np.append(True, origin[order][1:] != origin[order][:-1]))
    previous = np.arange(len(order)) - 1
    previous[first] = np.append(first[1:], len(order)) - 1
    before = np.empty_like(order)
    before[order] = order[previous]
    follows: list[int] = before[np.arange(len(order)) ^ 1].tolist()
    owner = [-1] * len(follows)
    cycles: list[list[int]] = []
    for start in range(len(follows)):
        if owner[start] >= 0:
            continue
        cycle = []
        half = start
        while owner[half] < 0:
            owner[half] = len(cycles)
            cycle.append(half)
            half = follows[half]
        cycles.append(cycle)
    return cycles, np.array(owner, dtype=np.int64)


def _sums(cycle: Ints, values: Floats, count: int) -> Floats:
    """Add up the values of the half-edges of each cycle."""
    return np.bincount(cycle, values, count).astype(np.float64)


def _polygons(points: Floats, rings: tuple[tuple[int, ...], ...]) -> Geometries:
    if not rings:
        return np.empty(0, dtype=object)
    which = np.repeat(np.arange(len(rings)), [len(ring) for ring in rings])
    corners = [vertex for ring in rings for vertex in ring]
    made: Geometries = shapely.polygons(shapely.linearrings(points[corners], indices=which))
    return made


def _islands(
    points: Floats, polygons: Geometries, areas: Floats, pieces: tuple[tuple[int, ...], ...]
) -> tuple[tuple[int, int], ...]:
    """Return the pieces that lie wholly inside a face, with the smallest such face."""
    if len(pieces) < 2:
        return ()
    corners = shapely.points(points[[ring[0] for ring in pieces]])
    piece, face = shapely.STRtree(polygons).query(corners, predicate="within")
    smallest: dict[int, int] = {}
    for p, f in zip(piece.tolist(), face.tolist(), strict=True):
        if p not in smallest or areas[f] < areas[smallest[p]]:
            smallest[p] = f
    return tuple(sorted(smallest.items()))


def _without_islands(
    points: Floats,
    polygons: Geometries,
    pieces: tuple[tuple[int, ...], ...],
    islands: tuple[tuple[int, int], ...],
) -> Geometries:
    for piece, face in islands:
        polygons[face] = shapely.difference(polygons[face], shapely.Polygon(points[list(pieces[piece])]).buffer(0))
    return polygons

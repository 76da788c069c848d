"""From changed seams back to a block: the planar map is put together anew from its faces."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from itertools import pairwise

from seamtree.block.assemble import Face, assemble_block
from seamtree.block.model import Block
from seamtree.errors import Point
from seamtree.mending.network import Network
from seamtree.search.view import bits

Ring = tuple[int, ...]
Pair = tuple[int, int]


class Rebuilder:
    """Puts a block together with some of the optional edges of its network sewn.

    Parameters
    ----------
    network
        The network of the block.
    """

    def __init__(self, network: Network) -> None:
        self._network = network
        self._points = [vertex.at for vertex in network.vertices]
        self._patch_of = {
            slot: network.piece_patches[n]
            for ray in network.rays
            for slot, n in zip(ray.edges, ray.pieces, strict=True)
        }

    def add_seams(self, sewn: int) -> Block:
        """Return the block with seams added; none of them may end loose inside a patch."""
        block = self._network.block
        used = self._used(sewn)
        divided = self._divided(sewn, used, set(self._patch_of.values()))
        faces = []
        for p, patch in enumerate(block.patches):
            rings = divided.get(p) or [_with_vertices(self._network, p, used)]
            largest = max(range(len(rings)), key=lambda n: abs(_doubled_area(rings[n], self._points)))
            faces += [Face(r, patch.fabric, patch.label if n == largest else None) for n, r in enumerate(rings)]
        return assemble(block, self._points, faces, _curves(self._network, used))

    def new_patches(self, sewn: int, *, near: int = -1) -> list[list[Point]]:
        """Return the corners of the patches that added seams make of others.

        Parameters
        ----------
        sewn
            The optional edges.
        near
            Only those patches count through which one of these edges leads; all without it.
        """
        patches = {self._patch_of[slot] for slot in bits(sewn & near)}
        divided = self._divided(sewn, self._used(sewn), patches)
        return [[self._points[v] for v in ring] for rings in divided.values() for ring in rings]

    def _used(self, sewn: int) -> set[int]:
        places = self._network.slot_vertex
        return {v for slot in bits(sewn) for v in (places[slot], places[slot + 1])}

    def _divided(self, sewn: int, used: set[int], patches: set[int]) -> dict[int, list[Ring]]:
        """Return the rings into which added seams divide each of some patches."""
        chords: dict[int, set[Pair]] = {}
        for slot in bits(sewn):
            a, b = self._network.slot_vertex[slot], self._network.slot_vertex[slot + 1]
            chords.setdefault(self._patch_of[slot], set()).add((a, b))
        return {
            p: faces_of(_with_vertices(self._network, p, used), sorted(chords[p]), self._points)
            for p in sorted(chords)
            if p in patches
        }


def _with_vertices(network: Network, patch: int, used: set[int]) -> Ring:
    """Return the ring of a patch with the vertices in use inside its sides."""
    block = network.block
    ring: list[int] = []
    for j, k in zip(block.patches[patch].ring, block.patches[patch].edges, strict=True):
        inside = [v for v in network.edge_on.get(k, ()) if v in used]
        ring += [j, *(inside if block.edges[k].start == j else inside[::-1])]
    return tuple(ring)


def _curves(network: Network, used: set[int]) -> dict[Pair, int]:
    """Return the number of the drawn curve for every stretch of one."""
    curves = {}
    for k, edge in enumerate(network.block.edges):
        if edge.curve is not None:
            run = [edge.start, *(v for v in network.edge_on.get(k, ()) if v in used), edge.end]
            curves.update({(min(a, b), max(a, b)): edge.curve for a, b in pairwise(run)})
    return curves


def faces_of(ring: Ring, chords: Iterable[Pair], points: Sequence[Point]) -> list[Ring]:
    """Return the faces into which chords divide a face.

    Parameters
    ----------
    ring
        Vertices of the face in turn, the face on the left hand as seen.
    chords
        Straight stretches inside; together with the ring they hang together, and none ends loose.
    points
        Places of the vertices.

    Returns
    -------
    list of tuple of int
        Rings with their face on the left hand as seen.
    """
    onwards: dict[int, list[int]] = {}
    for a, b in [*zip(ring, (*ring[1:], ring[0]), strict=True), *chords, *((b, a) for a, b in chords)]:
        onwards.setdefault(a, []).append(b)
    waiting = sorted((a, b) for a, ends in onwards.items() for b in ends)
    done: set[Pair] = set()
    faces = []
    for start in waiting:
        if start in done:
            continue
        side = start
        face = []
        while side not in done:
            done.add(side)
            face.append(side[0])
            side = (side[1], _leftmost(side, onwards[side[1]], points))
        faces.append(tuple(face))
    return faces


def _leftmost(side: Pair, ends: Sequence[int], points: Sequence[Point]) -> int:
    """Return the way on that turns most to the left hand as seen, so that no other way lies between."""
    back = _angle(points[side[1]], points[side[0]])

    def turned(end: int) -> float:
        # Clockwise from the way back; straight back comes last.
        return (back - _angle(points[side[1]], points[end])) % math.tau or math.tau

    return min(ends, key=turned)


def _angle(start: Point, end: Point) -> float:
    """Return the angle of a direction, counter-clockwise as seen (y points down)."""
    return math.atan2(start[1] - end[1], end[0] - start[0])


def _doubled_area(ring: Ring, points: Sequence[Point]) -> float:
    return math.fsum(
        points[a][0] * points[b][1] - points[b][0] * points[a][1]
        for a, b in zip(ring, (*ring[1:], ring[0]), strict=True)
    )


def assemble(block: Block, points: Sequence[Point], faces: Sequence[Face], curves: Mapping[Pair, int]) -> Block:
    """Put a changed block together.

    Parameters
    ----------
    block
        The block before; its name, tolerance, notes, markings and names of fabrics stay.
    points, faces, curves
        See `seamtree.block.assemble.assemble_block`.
    """
    made = assemble_block(points, faces, tolerance=block.tolerance, name=block.name, curves=curves, notes=block.notes)
    return replace(made, markings=block.markings, fabric_names=block.fabric_names)

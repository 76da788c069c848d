"""The network: all seams of a block and all candidates for added ones as bit sets, made once for the search.

Lines and their extensions are strung together: a line, the gap that its extension bridges, the line that the
extension runs into, and so on. Each junction or crossing on such a string is a *slot*, and an empty slot parts a
string from the next one. Bit s of a set of edges stands for the edge between slots s and s + 1. Edges of extensions
are optional; which of them are sewn is the state of the search, and a slot where only one of its two edges is sewn
is one where a seam stops.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from seamtree.block.model import Block
from seamtree.errors import Point
from seamtree.geometry.straight import is_straight
from seamtree.mending.extensions import SNAP, Extension, LineEnd, Piece, Tracer, Vertex
from seamtree.search.view import bits, runs_of


@dataclass(frozen=True, slots=True)
class Ray:
    """An extension as the search sees it: a row of optional edges, used from its start up to some point.

    Parameters
    ----------
    source
        The line that is carried on, and its end.
    edges
        The slots whose edges it consists of, in turn.
    vertices
        One more than edges, in turn.
    pieces
        The piece (patch by patch) that each edge belongs to.
    onto
        The end of another line that it runs into, in line with it.
    cut_short
        Whether it could be carried on.
    """

    source: LineEnd
    edges: tuple[int, ...]
    vertices: tuple[int, ...]
    pieces: tuple[int, ...]
    onto: LineEnd | None
    cut_short: bool


@dataclass(slots=True)
class Network:
    """Bit sets of a block with its candidates.

    Parameters
    ----------
    block
        The block.
    vertices
        Junctions first, by number; then the places that only extensions bring about.
    base
        The edges that the block has.
    interior
        Slots of the vertices that do not lie on the outline.
    inner
        Slots of the vertices inside patches, where extensions cross each other.
    bent
        Slots of strings that are not straight as a whole.
    reach
        Per slot the slot of the last edge up to which the string from its edge is straight.
    slot_vertex
        Per slot its vertex; -1 for empty slots.
    vertex_slots
        Per vertex its slots.
    rays
        The candidates.
    piece_patches
        Per piece of an extension, the patch it goes through.
    edge_on
        Per edge of the block, the vertices inside it, in the direction of the edge.
    junction_patches
        Per junction, the patches round it.
    """

    block: Block
    vertices: tuple[Vertex, ...]
    base: int
    interior: int
    inner: int
    bent: int
    reach: tuple[int, ...]
    slot_vertex: tuple[int, ...]
    vertex_slots: tuple[int, ...]
    rays: tuple[Ray, ...]
    piece_patches: tuple[int, ...]
    edge_on: dict[int, tuple[int, ...]]
    junction_patches: tuple[int, ...]
    _closures: dict[int, int] = field(default_factory=dict)

    def closure(self, run: int) -> int:
        """Return all slots of the vertices that have a slot in a run."""
        closure = self._closures.get(run)
        if closure is None:
            closure = self._closures[run] = self.all_slots_of(run)
        return closure

    def all_slots_of(self, slots: int) -> int:
        """Return all slots of the vertices that have one of the slots."""
        found = 0
        for slot in bits(slots):
            found |= self.vertex_slots[self.slot_vertex[slot]]
        return found

    def cut(self, sewn: int, slots: int) -> int:
        """Cut at full cuts until none is left.

        Parameters
        ----------
        sewn
            The edges that there are.
        slots
            Slots of vertices inside parts.

        Returns
        -------
        int
            The slots that are left.
        """
        stops = sewn ^ (sewn << 1)
        slots &= sewn | (sewn << 1)
        again = True
        while again:
            again = False
            for run in runs_of(slots):
                # A cut made before in this pass may have shortened the run; it gets its turn in the next pass.
                if run & stops or run & slots != run or (run & self.bent and not self._is_straight(run)):
                    continue
                slots &= ~self.closure(run)
                again = True
        return slots

    def _is_straight(self, run: int) -> bool:
        return self.reach[(run & -run).bit_length() - 2] >= run.bit_length() - 1

    def knots(self, slots: int) -> list[int]:
        """Split slots that are left when everything is cut into those that edges join."""
        knots = []
        waiting = runs_of(slots)
        while waiting:
            knot = self.closure(waiting.pop(0)) & slots
            again = True
            while again:
                again = False
                apart = []
                for run in waiting:
                    if run & knot:
                        knot |= self.closure(run) & slots
                        again = True
                    else:
                        apart.append(run)
                waiting = apart
            knots.append(knot)
        return knots

    def patches_round(self, vertex: int) -> int:
        """Return the patches round a vertex, as a bit set."""
        here = self.vertices[vertex]
        if here.patch >= 0:
            return 1 << here.patch
        if here.edge >= 0:
            edge = self.block.edges[here.edge]
            return 1 << edge.left | 1 << edge.right
        return self.junction_patches[here.junction]

    def added_patches(self, sewn: int) -> int:
        """Return how many patches more there are when some optional edges are sewn (Euler's formula)."""
        crossings = {self.slot_vertex[slot] for slot in bits((sewn | sewn << 1) & self.inner)}
        return (sewn & ~self.base).bit_count() - len(crossings)


def build_network(block: Block, locked: Sequence[int], *, most_pieces: int) -> Network:
    """Trace the extensions of a block that can loosen its locked parts, and string everything together.

    Parameters
    ----------
    block
        The block.
    locked
        The patches of each locked part, as bit sets.
    most_pieces
        How many patches an extension may pass.
    """
    tracer = Tracer(block, most_pieces=most_pieces)
    within = 0
    for part in locked:
        within |= part
    traced = tracer.trace_all() if within else []
    extensions = _without_doubles([e for e in (_trim(e, within) for e in traced) if e])
    return _Builder(block, tracer, extensions).build()


def locked_parts(block: Block) -> list[int]:
    """Return the patches of each locked part, as bit sets; none if straight seams can sew the block.

    Cutting at a full cut first never adds a hard corner, so the order of the cuts does not matter and no search is
    needed. Only the junctions inside parts matter: a cut takes the junctions that it passes to the outline of the
    parts it leaves. Junctions that stay inside whatever is cut, and that edges join, are a knot; the patches round
    it are a locked part.
    """
    network = build_network(block, (), most_pieces=0)
    parts = []
    for knot in network.knots(network.cut(network.base, network.interior)):
        patches = 0
        for slot in bits(knot):
            patches |= network.patches_round(network.slot_vertex[slot])
        parts.append(patches)
    return parts


def _trim(extension: Extension, within: int) -> Extension | None:
    """Leave out what an extension does after it has left the last locked part."""
    useful = [n for n, piece in enumerate(extension.pieces, 1) if within >> piece.patch & 1]
    if not useful:
        return None
    if extension.onto or useful[-1] == len(extension.pieces):
        return extension
    # Whatever is beyond might lead into another locked part, if it was cut short.
    return Extension(extension.source, extension.pieces[: useful[-1]], None, extension.cut_short)


def _without_doubles(extensions: Sequence[Extension]) -> list[Extension]:
    """Keep only the first extension onto an end of a line, and only one of two that come to lie on each other."""
    kept = []
    onto: set[LineEnd] = set()
    taken: set[frozenset[int]] = set()
    for extension in extensions:
        pieces = []
        for piece in extension.pieces:
            if frozenset((piece.start, piece.end)) in taken:
                break
            pieces.append(piece)
        whole = len(pieces) == len(extension.pieces)
        target = extension.onto if whole and extension.onto not in onto else None
        if target:
            onto.add(target)
        taken |= {frozenset((piece.start, piece.end)) for piece in pieces}
        if pieces:
            cut_short = extension.cut_short or not whole
            kept.append(Extension(extension.source, tuple(pieces), target, cut_short))
    return kept


class _Builder:
    """Lays out strings of lines and extensions."""

    def __init__(self, block: Block, tracer: Tracer, extensions: Sequence[Extension]) -> None:
        self._block = block
        self._tracer = tracer
        self._vertices = list(tracer.vertices)
        self._pieces: list[Piece] = [piece for e in extensions for piece in e.pieces]
        self._along = self._cross_pieces()
        self._gaps: dict[LineEnd, tuple[Extension, int]] = {}
        first = 0
        for extension in extensions:
            self._gaps[extension.source] = (extension, first)
            first += len(extension.pieces)
        self._onto = {e.onto: e.source for e in extensions if e.onto}
        self._slot_vertex: list[int] = []
        self._base = self._bent = 0
        self._reach: list[int] = []
        self._rays: list[Ray] = []

    # -- crossings ---------------------------------------------------------------------------------------------

    def _cross_pieces(self) -> list[list[int]]:
        """Return the vertices along each piece, with those where pieces cross."""
        along: list[dict[int, float]] = []
        by_patch: dict[int, list[int]] = {}
        for n, piece in enumerate(self._pieces):
            a, b = self._vertices[piece.start].at, self._vertices[piece.end].at
            along.append({piece.start: 0.0, piece.end: math.dist(a, b)})
            by_patch.setdefault(piece.patch, []).append(n)
        for patch, here in by_patch.items():
            inside: list[int] = []
            for i, m in enumerate(here):
                for n in here[i + 1 :]:
                    self._cross(m, n, patch, along, inside)
        return [sorted(places, key=lambda v: (places[v], v)) for places in along]

    def _cross(self, m: int, n: int, patch: int, along: list[dict[int, float]], inside: list[int]) -> None:
        """Find the crossing of two pieces in a patch; a vertex that is near will do."""
        at = _crossing(*(self._vertices[v].at for piece in (m, n) for v in _ends(self._pieces[piece])))
        if at is None:
            return
        snap = SNAP * self._block.tolerance
        near = [(math.dist(self._vertices[v].at, at), v) for v in (*along[m], *along[n], *inside)]
        if near and min(near)[0] <= snap:
            vertex = min(near)[1]
        else:
            self._vertices.append(Vertex(at, patch=patch))
            vertex = len(self._vertices) - 1
            inside.append(vertex)
        for piece in (m, n):
            along[piece].setdefault(vertex, math.dist(self._vertices[self._pieces[piece].start].at, at))

    # -- strings -----------------------------------------------------------------------------------------------

    def build(self) -> Network:
        """Lay out all strings."""
        done: set[int] = set()
        for n in range(len(self._block.lines)):
            if n not in done:
                self._lay(self._first_end(n), done)
        vertex_slots = [0] * len(self._vertices)
        for slot, v in enumerate(self._slot_vertex):
            if v >= 0:
                vertex_slots[v] |= 1 << slot
        interior = inner = 0
        outline = self._block.boundary_junctions()
        for v, vertex in enumerate(self._vertices):
            if vertex.patch >= 0:
                inner |= vertex_slots[v]
            on_outline = vertex.junction in outline or (
                vertex.edge >= 0 and not self._block.edges[vertex.edge].interior
            )
            if not on_outline:
                interior |= vertex_slots[v]
        return Network(
            self._block,
            tuple(self._vertices),
            self._base,
            interior,
            inner,
            self._bent,
            tuple(self._reach),
            tuple(self._slot_vertex),
            tuple(vertex_slots),
            tuple(self._rays),
            tuple(piece.patch for piece in self._pieces),
            {k: on for k in range(len(self._block.edges)) if (on := tuple(self._tracer.vertices_on(k)))},
            _patches_at(self._block),
        )

    def _first_end(self, line: int) -> LineEnd:
        """Return the end of a string of lines that a line belongs to, from which it is laid out."""
        end: LineEnd = (line, 0)
        while (before := self._linked(end)) is not None and before[0] != line:
            end = (before[0], 1 - before[1])
        return end

    def _linked(self, end: LineEnd) -> LineEnd | None:
        """Return the end of the line beyond the gap at the end of a line."""
        if end in self._gaps and self._gaps[end][0].onto:
            return self._gaps[end][0].onto
        return self._onto.get(end)

    def _lay(self, end: LineEnd, done: set[int]) -> None:
        """Lay out one string, from the given end of its first line."""
        start = len(self._slot_vertex)
        if end in self._gaps:
            self._lay_gap(end, backwards=True)
        while True:
            done.add(end[0])
            self._lay_line(end)
            end = (end[0], 1 - end[1])
            after = self._linked(end)
            if end in self._gaps:
                self._lay_gap(end, backwards=False)
            elif after is not None:
                self._lay_gap(after, backwards=True)
            if after is None or after[0] in done:
                break
            end = after
        self._finish(start)

    def _append(self, vertices: Sequence[int]) -> int:
        """Append vertices to the string being laid out, the first of which may be its last; return its slot."""
        if self._slot_vertex and self._slot_vertex[-1] == vertices[0]:
            vertices = vertices[1:]
            first = len(self._slot_vertex) - 1
        else:
            first = len(self._slot_vertex)
        self._slot_vertex += vertices
        return first

    def _lay_line(self, end: LineEnd) -> None:
        line = self._block.lines[end[0]]
        vertices = [self._block.edges[line.first].start]
        for k in range(line.first, line.stop):
            vertices += [*self._tracer.vertices_on(k), self._block.edges[k].end]
        first = self._append(vertices if end[1] == 0 else vertices[::-1])
        self._base |= (1 << (first + len(vertices) - 1)) - (1 << first)

    def _lay_gap(self, source: LineEnd, *, backwards: bool) -> None:
        extension, first_piece = self._gaps[source]
        vertices = [extension.pieces[0].start]
        pieces: list[int] = []
        for n in range(first_piece, first_piece + len(extension.pieces)):
            vertices += self._along[n][1:]
            pieces += [n] * (len(self._along[n]) - 1)
        first = self._append(vertices[::-1] if backwards else vertices)
        edges = range(first, first + len(pieces))
        ordered = tuple(edges)[::-1] if backwards else tuple(edges)
        onto = extension.onto
        self._rays.append(Ray(source, ordered, tuple(vertices), tuple(pieces), onto, extension.cut_short))
        if onto:
            back = Ray(onto, ordered[::-1], tuple(vertices[::-1]), tuple(pieces[::-1]), source, cut_short=False)
            self._rays.append(back)

    def _finish(self, start: int) -> None:
        """Work out how far a string is straight, and part it from the next one."""
        points = [self._vertices[v].at for v in self._slot_vertex[start:]]
        count = len(points) - 1
        tolerance = self._block.tolerance
        if is_straight(points, tolerance=tolerance):
            self._reach += [start + count - 1] * count
        else:
            self._bent |= (1 << len(self._slot_vertex)) - (1 << start)
            last = 0
            for k in range(count):
                last = max(last, k)
                while last + 1 < count and is_straight(points[k : last + 3], tolerance=tolerance):
                    last += 1
                self._reach.append(start + last)
        self._reach += [-1, -1]
        self._slot_vertex.append(-1)


def _patches_at(block: Block) -> tuple[int, ...]:
    around = [0] * len(block.junctions)
    for p, patch in enumerate(block.patches):
        for j in patch.ring:
            around[j] |= 1 << p
    return tuple(around)


def _ends(piece: Piece) -> Iterator[int]:
    yield piece.start
    yield piece.end


def _crossing(a: Point, b: Point, c: Point, d: Point) -> Point | None:
    """Return where two stretches cross strictly inside both, if they do."""
    ux, uy, vx, vy = b[0] - a[0], b[1] - a[1], d[0] - c[0], d[1] - c[1]
    across = ux * vy - uy * vx
    if abs(across) <= 1e-12 * math.hypot(ux, uy) * math.hypot(vx, vy):
        return None
    s = ((c[0] - a[0]) * vy - (c[1] - a[1]) * vx) / across
    t = ((c[0] - a[0]) * uy - (c[1] - a[1]) * ux) / across
    if not (0 < s < 1 and 0 < t < 1):
        return None
    return a[0] + s * ux, a[1] + s * uy

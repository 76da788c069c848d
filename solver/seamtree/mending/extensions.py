"""Extensions: seams that stop inside the block, carried straight on.

A seam stops where its line ends at an interior junction: the stem of a T, an arm of a Y or of a star, either arm of
a bend. Its extension runs on in the direction of the line, patch by patch, until it meets the outline or the end of
another line that is in line with it. The stretch through one patch is a *piece*.

An extension that passes a junction nearer than the tolerance is led through it, so that no sliver is left beside it.
It goes no further than it is straight within the tolerance, and no further than its pieces leave something of every
patch on both sides.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import shapely

from seamtree.block.model import OUTSIDE, Block, Line
from seamtree.errors import Point
from seamtree.geometry.straight import in_line, is_straight

SNAP = 1.25
"""An extension is led through what it misses by less than so many tolerances, so that nothing is snapped later."""

_EXACT = 1e-9

LineEnd = tuple[int, int]
"""A line, and 0 for the end where it starts or 1 for the one where it stops."""


@dataclass(frozen=True, slots=True)
class Vertex:
    """A junction, or a place where an extension meets a seam or another extension.

    Parameters
    ----------
    at
        Place, inches.
    junction, edge, patch
        The junction that it is, or the edge or the patch that it lies in; -1 for the other two.
    """

    at: Point
    junction: int = -1
    edge: int = -1
    patch: int = -1


@dataclass(frozen=True, slots=True)
class Piece:
    """The stretch of an extension through one patch, from vertex to vertex."""

    patch: int
    start: int
    end: int


@dataclass(frozen=True, slots=True)
class Extension:
    """A line carried on.

    Parameters
    ----------
    source
        The line and its end.
    pieces
        In turn from the junction where the line stops.
    onto
        The end of the line that it runs into, in line with it.
    cut_short
        Whether it could be carried on for more pieces than were asked for.
    """

    source: LineEnd
    pieces: tuple[Piece, ...]
    onto: LineEnd | None = None
    cut_short: bool = False


def line_points(block: Block, line: Line) -> list[int]:
    """Return the junctions along a line."""
    return [block.edges[line.first].start, *(block.edges[k].end for k in range(line.first, line.stop))]


class Tracer:
    """Carries lines on through a block and keeps the vertices that come up.

    Parameters
    ----------
    block
        The block.
    most_pieces
        How many patches an extension may pass.
    """

    def __init__(self, block: Block, *, most_pieces: int) -> None:
        self.vertices = [Vertex(at, junction=j) for j, at in enumerate(block.junctions)]
        self._block = block
        self._most = most_pieces
        self._snap = SNAP * block.tolerance
        self._outline = block.boundary_junctions()
        self._on_edge: dict[int, list[int]] = {}
        self._patches_at: list[list[int]] = [[] for _ in block.junctions]
        for p, patch in enumerate(block.patches):
            for j in patch.ring:
                self._patches_at[j].append(p)
        self._arms: list[list[int]] = [[] for _ in block.junctions]
        for k in block.interior_edges:
            self._arms[block.edges[k].start].append(block.edges[k].end)
            self._arms[block.edges[k].end].append(block.edges[k].start)
        self._line_ends: dict[int, list[tuple[LineEnd, int]]] = {}
        for n, line in enumerate(block.lines):
            points = line_points(block, line)
            for end in (0, 1):
                self._line_ends.setdefault(points[-end], []).append(((n, end), points[1 if end == 0 else -2]))

    def trace_all(self) -> list[Extension]:
        """Carry on every line that stops inside the block, at both ends."""
        found: list[Extension] = []
        reached: set[LineEnd] = set()
        for n, line in enumerate(self._block.lines):
            points = line_points(self._block, line)
            for end in (0, 1):
                if points[0] == points[-1] or (n, end) in reached or not self._stops((n, end), points[-end]):
                    continue
                extension = self.trace((n, end))
                if extension.pieces:
                    found.append(extension)
                if extension.onto:
                    reached.add(extension.onto)
        # An extension onto an end that had been carried on elsewhere before stops there as a stem.
        traced = {extension.source for extension in found}
        return [e if e.onto not in traced else Extension(e.source, e.pieces) for e in found]

    def _stops(self, source: LineEnd, at: int) -> bool:
        """Tell whether a line really stops inside the block at its end: a curve that goes on does not."""
        if at in self._outline:
            return False
        line = self._block.lines[source[0]]
        last = line.first if source[1] == 0 else line.stop - 1
        curve = self._block.edges[last].curve
        return curve is None or not any(
            edge.curve == curve and at in (edge.start, edge.end)
            for k, edge in enumerate(self._block.edges)
            if k != last
        )

    def trace(self, source: LineEnd) -> Extension:
        """Carry one line on."""
        run = self._straight_end(source)
        heading = _heading(run[0], run[-1])
        pieces: list[Piece] = []
        onto: LineEnd | None = None
        line = self._block.lines[source[0]]
        at = line_points(self._block, line)[-source[1]]
        while onto is None and not self._ended(at):
            if len(pieces) == self._most:
                return Extension(source, tuple(pieces), None, cut_short=True)
            piece = self._next_piece(at, heading, pieces[-1].patch if pieces else OUTSIDE)
            if piece is None or not is_straight([*run, self.vertices[piece.end].at], tolerance=self._block.tolerance):
                break
            pieces.append(piece)
            run.append(self.vertices[piece.end].at)
            blocked, onto = self._meets_line(run[-2], piece.end, source)
            if blocked:
                break
            at = piece.end
        return Extension(source, tuple(pieces), onto)

    def _straight_end(self, source: LineEnd) -> list[Point]:
        """Return the last straight stretch of a line, up to its end."""
        line = self._block.lines[source[0]]
        points = [self._block.junctions[j] for j in line_points(self._block, line)]
        if source[1] == 1:
            return points[min(k for k, last in enumerate(line.reach) if line.first + k <= last == line.stop - 1) :]
        return points[: line.reach[0] - line.first + 2][::-1]

    def _ended(self, vertex: int) -> bool:
        """Tell whether a vertex lies on the outline, where there is nothing to go on into."""
        here = self.vertices[vertex]
        if here.junction >= 0:
            return here.junction in self._outline
        return not self._block.edges[here.edge].interior

    def _meets_line(self, before: Point, vertex: int, source: LineEnd) -> tuple[bool, LineEnd | None]:
        """Tell whether a line in line with the extension keeps it from going on, and whether it runs into its end."""
        j = self.vertices[vertex].junction
        if j < 0 or j in self._outline:
            return False, None
        here, tolerance = self._block.junctions[j], self._block.tolerance
        for line_end, beyond in self._line_ends.get(j, ()):
            if line_end[0] != source[0] and in_line(before, here, self._block.junctions[beyond], tolerance=tolerance):
                return True, line_end
        blocked = any(in_line(before, here, self._block.junctions[far], tolerance=tolerance) for far in self._arms[j])
        return blocked, None

    # -- one piece ---------------------------------------------------------------------------------------------

    def _next_piece(self, start: int, heading: Point, behind: int) -> Piece | None:
        patch = self._patch_ahead(start, heading, behind)
        if patch is None:
            return None
        end = self._shoot(patch, start, heading)
        if end is None or not self._leaves_both_sides(patch, start, end):
            return None
        return Piece(patch, start, end)

    def _patch_ahead(self, start: int, heading: Point, behind: int) -> int | None:
        """Return the patch into which a heading leads from a vertex."""
        here = self.vertices[start]
        if here.junction < 0:
            edge = self._block.edges[here.edge]
            return edge.right if edge.left == behind else edge.left
        j = here.junction
        for p in self._patches_at[j]:
            ring = self._block.patches[p].ring
            for i, corner in enumerate(ring):
                if corner == j and self._opens_to(ring[i - 1], j, ring[(i + 1) % len(ring)], heading):
                    return p
        return None

    def _opens_to(self, before: int, corner: int, after: int, heading: Point) -> bool:
        """Tell whether a heading leads into a patch at one of its corners (the patch on the left hand)."""
        points = self._block.junctions
        first = _angle(_heading(points[corner], points[after]))
        opening = (_angle(_heading(points[corner], points[before])) - first) % math.tau
        turned = (_angle(heading) - first) % math.tau
        return _EXACT < turned < opening - _EXACT

    def _shoot(self, patch: int, start: int, heading: Point) -> int | None:
        """Return the vertex where a heading leaves a patch."""
        block = self._block
        x, y = self.vertices[start].at
        ring = block.patches[patch].ring
        along, off = [], []
        for j in ring:
            dx, dy = block.junctions[j][0] - x, block.junctions[j][1] - y
            along.append(dx * heading[0] + dy * heading[1])
            off.append(heading[0] * dy - heading[1] * dx)
        hit = self._first_side(patch, start, along, off)
        far = math.inf if hit is None else hit[0]
        skip = self.vertices[start].junction
        passed = [
            (s, abs(h), j)
            for s, h, j in zip(along, off, ring, strict=True)
            if j != skip and abs(h) <= self._snap < s <= far + self._snap
        ]
        before = [near for near in passed if near[0] < far]
        if before:
            return min(before)[2]
        if hit is None:
            return None
        at = (x + heading[0] * far, y + heading[1] * far)
        close = [(math.dist(at, block.junctions[j]), j) for _, _, j in passed]
        if close and min(close)[0] <= self._snap:
            return min(close)[1]
        return self._vertex_on(hit[1], at)

    def _first_side(
        self, patch: int, start: int, along: Sequence[float], off: Sequence[float]
    ) -> tuple[float, int] | None:
        """Return how far away the first side of a patch is that a heading crosses, and its edge."""
        here = self.vertices[start]
        edges, ring = self._block.patches[patch].edges, self._block.patches[patch].ring
        best: tuple[float, int] | None = None
        for i, edge in enumerate(edges):
            k = (i + 1) % len(ring)
            if edge == here.edge or here.junction in (ring[i], ring[k]) or (off[i] < 0) == (off[k] < 0):
                continue
            s = along[i] + (along[k] - along[i]) * off[i] / (off[i] - off[k])
            if s > _EXACT and (best is None or s < best[0]):
                best = (s, edge)
        return best

    def _vertex_on(self, edge: int, at: Point) -> int:
        """Return the vertex at a place on an edge, which may be one that is near."""
        known = self._on_edge.setdefault(edge, [])
        for v in known:
            if math.dist(self.vertices[v].at, at) <= self._snap:
                return v
        self.vertices.append(Vertex(at, edge=edge))
        known.append(len(self.vertices) - 1)
        return known[-1]

    def _leaves_both_sides(self, patch: int, start: int, end: int) -> bool:
        """Tell whether a straight piece parts a patch into two that are more than slivers."""
        polygon = self._block.polygon(patch)
        a, b = self._position(patch, start), self._position(patch, end)
        if a == b:
            return False
        sides = _split(polygon, a, self.vertices[start].at, b, self.vertices[end].at)
        shapes = [shapely.Polygon(side) for side in sides if len(side) > 2]
        if len(shapes) < 2 or not all(shape.is_valid for shape in shapes):
            return False
        parted = sum(shape.area for shape in shapes)
        whole = shapely.Polygon(polygon).area
        if abs(parted - whole) > 1e-6 * whole + _EXACT:
            return False
        return all(not shape.buffer(-SNAP * self._block.tolerance).is_empty for shape in shapes)

    def _position(self, patch: int, vertex: int) -> tuple[int, bool]:
        """Return the corner or side of a patch where a vertex lies, and whether it is a corner."""
        here, shape = self.vertices[vertex], self._block.patches[patch]
        if here.junction >= 0:
            return shape.ring.index(here.junction), True
        return shape.edges.index(here.edge), False

    def vertices_on(self, edge: int) -> Iterator[int]:
        """Yield the vertices inside an edge, in the direction of the edge."""
        origin = self._block.junctions[self._block.edges[edge].start]
        yield from sorted(self._on_edge.get(edge, ()), key=lambda v: math.dist(origin, self.vertices[v].at))


def _heading(start: Point, end: Point) -> Point:
    length = math.dist(start, end)
    return (end[0] - start[0]) / length, (end[1] - start[1]) / length


def _angle(heading: Point) -> float:
    """Return the angle of a heading, counter-clockwise as seen (y points down)."""
    return math.atan2(-heading[1], heading[0])


def _split(
    polygon: Sequence[Point], a: tuple[int, bool], start: Point, b: tuple[int, bool], end: Point
) -> tuple[list[Point], list[Point]]:
    """Split the corners of a polygon along a chord between two corners or sides."""

    def walk(first: tuple[int, bool], last: tuple[int, bool]) -> list[Point]:
        # From a corner or a point on a side to the other one, in turn.
        count = len(polygon)
        i = first[0] + 1
        steps = (last[0] - first[0]) % count
        inner = [polygon[(i + s) % count] for s in range(steps)]
        if last[1] and inner:
            inner.pop()
        return inner

    return [start, *walk(a, b), end], [end, *walk(b, a), start]

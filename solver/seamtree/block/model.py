"""The block as a planar map.

Patches are faces, edges the stretches of boundary between two junctions with one patch on each side, junctions
the points where edges meet or where one edge bends. A line is a run of interior edges, each in line with the
next. Everything refers to everything by index.

Coordinates are inches, x to the right and y down, from the top left corner of the block's bounding box, seen
from the fabric side. 'Left' of an edge is the left hand of someone who walks from its start to its end on the
drawing as it is seen.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from dataclasses import dataclass
from typing import TYPE_CHECKING

from seamtree import arguments
from seamtree.errors import Finding, Point
from seamtree.fabric import fabric_words
from seamtree.words import count, dimensions

if TYPE_CHECKING:
    import networkx as nx  # noqa: TID251

    from seamtree.drawing.drawn import Track

MICRO = 1_000_000
"""Parts of an inch in which lengths of seams are added up."""

OUTSIDE = -1
"""The side of an outline edge where there is no patch."""


@dataclass(frozen=True, slots=True)
class Edge:
    """A straight stretch of boundary.

    Parameters
    ----------
    start, end
        Junctions.
    left, right
        Patches on either side, `OUTSIDE` where there is none.
    curve
        Number of the smooth drawn curve that this edge is a chord of, None for a straight edge.
    """

    start: int
    end: int
    left: int
    right: int
    curve: int | None = None

    def __post_init__(self) -> None:
        if self.start == self.end or self.left == self.right:
            raise ValueError("an edge joins two junctions and parts two faces")

    @property
    def interior(self) -> bool:
        """Whether there is a patch on both sides."""
        return OUTSIDE not in (self.left, self.right)


@dataclass(frozen=True, slots=True)
class Patch:
    """One piece of fabric.

    Parameters
    ----------
    ring
        Junctions in turn, the patch on the left hand (counter-clockwise as seen), starting at the smallest index.
    edges
        ``edges[i]`` leads from ``ring[i]`` to the next junction of the ring.
    fabric
        ``#rrggbb``, the id of a gradient or pattern, or the word given in the file; None when unknown.
    label
        Text drawn inside the patch.
    """

    ring: tuple[int, ...]
    edges: tuple[int, ...]
    fabric: str | None = None
    label: str | None = None

    def __repr__(self) -> str:
        told = [f"{len(self.ring)} corners"]
        told += [f"fabric {self.fabric[:40]}"] if self.fabric else []
        told += [f"label {self.label[:40]!r}"] if self.label else []
        return f"<Patch: {', '.join(told)}>"


@dataclass(frozen=True, slots=True)
class Line:
    """A run of interior edges, each in line with the next; all of them lead along it.

    Parameters
    ----------
    first, stop
        The edges ``range(first, stop)``.
    reach
        ``reach[i]`` is the last edge up to which the run from edge ``first + i`` is straight as a whole.
    """

    first: int
    stop: int
    reach: tuple[int, ...]

    @property
    def straight(self) -> bool:
        """Whether the whole line is straight within the tolerance."""
        return self.reach[0] == self.stop - 1


@dataclass(frozen=True, slots=True)
class Block:
    """A block: its planar map, size and fabrics.

    Parameters
    ----------
    name
        From the drawing's file name; blocks of one drawing are numbered.
    width, height
        Of the bounding box as drawn, inches.
    tolerance
        What cloth cannot tell apart, inches.
    junctions
        Coordinates.
    edges
        Interior edges first, line by line; then the outline edges.
    patches, lines
        See `Patch`, `Line`. Every interior edge belongs to exactly one line.
    notes
        Findings of the reader and of the healing that do not make the block unusable.
    markings
        Dashed lines of the drawing, in block coordinates; never seams.
    fabric_names
        Fabrics of patches of which the drawing says how they are called, with their names.
    """

    name: str
    width: float
    height: float
    tolerance: float
    junctions: tuple[Point, ...]
    edges: tuple[Edge, ...]
    patches: tuple[Patch, ...]
    lines: tuple[Line, ...]
    notes: tuple[Finding, ...] = ()
    markings: tuple[Track, ...] = ()
    fabric_names: tuple[tuple[str, str], ...] = ()

    def __repr__(self) -> str:
        size = dimensions(self.width, self.height)
        figures = f"{count(len(self.patches), 'patch', 'patches')}, {count(len(self.junctions), 'junction')}"
        return f"<Block {self.name[:60]!r}: {size}, {figures}>"

    def place(self, junction: int) -> Point:
        """Return where a junction is.

        Parameters
        ----------
        junction
            Its number, as in the path of a seam or the ring of a patch.

        Returns
        -------
        tuple of float
            Inches from the top left corner of the block, x to the right and y down, seen from the fabric side.

        Raises
        ------
        OptionError
            If there is no such junction.
        """
        return self.junctions[arguments.whole("junction", junction, least=0, most=len(self.junctions) - 1)]

    def to_networkx(self) -> nx.Graph:
        """Return the patches as a graph: two are neighbours where they share a seam.

        Returns
        -------
        networkx.Graph
            Nodes are the numbers of patches, with the attributes `fabric`, `label` and `polygon` (places of the
            corners, inches). Edges have `length` (inches of boundary that the patches share, all stretches
            together) and `edges` (their numbers). The graph has `name`, `width` and `height`.

        Examples
        --------
        >>> import seamtree
        >>> rows = [[(0, y), (4, y), (4, y + 2), (0, y + 2)] for y in (0, 2)]
        >>> seamtree.block_from_polygons(rows).to_networkx().edges[0, 1]["length"]
        4.0
        """
        from seamtree.graphs import block_graph

        return block_graph(self)

    def _repr_svg_(self) -> str:
        """Return the block as a picture, for notebooks."""
        from seamtree.picture.bare import draw_block
        from seamtree.picture.render import notebook_svg

        return notebook_svg(draw_block(self))

    def fabric_words(self) -> dict[str | None, str]:
        """Return what each fabric is called: as in the drawing, else by a plain word for its colour."""
        return fabric_words((patch.fabric for patch in self.patches), self.fabric_names)

    @property
    def interior_edges(self) -> range:
        """The edges with a patch on both sides."""
        return range(self.lines[-1].stop if self.lines else 0)

    def line_of(self, edge: int) -> int:
        """Return the line that an interior edge belongs to."""
        return bisect_right(self.lines, edge, key=lambda line: line.first) - 1

    def in_line(self, a: int, b: int) -> bool:
        """Tell whether two interior edges follow each other in one line."""
        return abs(a - b) == 1 and self.line_of(a) == self.line_of(b)

    def direction(self, junction: int, edge: int) -> float:
        """Return the direction in which an edge leaves one of its ends (radians, from x to y)."""
        here = self.edges[edge]
        (x, y), (fx, fy) = (
            self.junctions[junction],
            self.junctions[here.end if here.start == junction else here.start],
        )
        return math.atan2(fy - y, fx - x)

    def edge_length(self, edge: int) -> float:
        """Return the length of an edge (inches)."""
        return math.dist(self.junctions[self.edges[edge].start], self.junctions[self.edges[edge].end])

    def micro_length(self, edge: int) -> int:
        """Return the length of an edge in `MICRO` units of an inch: whole numbers, so that sums are exact."""
        return round(MICRO * self.edge_length(edge))

    def polygon(self, patch: int) -> list[Point]:
        """Return the corners of a patch in turn (inches)."""
        return [self.junctions[j] for j in self.patches[patch].ring]

    def drawn_curves(self) -> tuple[tuple[tuple[Point, Point], ...], ...]:
        """Return for each smooth drawn curve the ends of its chords inside the block (inches)."""
        chords: dict[int, list[tuple[Point, Point]]] = {}
        for k in self.interior_edges:
            edge = self.edges[k]
            if edge.curve is not None:
                ends = self.junctions[edge.start], self.junctions[edge.end]
                chords.setdefault(edge.curve, []).append(ends)
        return tuple(map(tuple, chords.values()))

    def interior_arms(self) -> tuple[tuple[int, ...], ...]:
        """Return the interior edges at every junction."""
        arms: list[list[int]] = [[] for _ in self.junctions]
        for k in self.interior_edges:
            arms[self.edges[k].start].append(k)
            arms[self.edges[k].end].append(k)
        return tuple(map(tuple, arms))

    def edge_between(self) -> dict[frozenset[int], int]:
        """Return every edge by the two junctions that it joins."""
        return {frozenset((edge.start, edge.end)): k for k, edge in enumerate(self.edges)}

    def boundary_junctions(self) -> frozenset[int]:
        """Return the junctions on the block outline."""
        outline = self.edges[self.interior_edges.stop :]
        return frozenset([j for edge in outline for j in (edge.start, edge.end)])

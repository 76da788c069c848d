"""The block as bit sets, made once for the search.

Edges are bits by their number; they are numbered line by line, so a run of edges in line is a run of ones.
Junctions are bits in a second numbering, by *slots*: every line has a slot for each of its junctions in turn, and
an empty slot parts it from the next line. A junction has a slot on every line that passes or ends there, and all of
them are set together. In a set of junctions that are interior to a part, the maximal runs of ones are then the
maximal stretches of seam inside the part, and a run that holds no end slot of its line is a full cut: it enters over
one edge, passes its junctions, and leaves over the next edge.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Sequence
from functools import cached_property
from itertools import pairwise
from typing import NamedTuple

import numpy as np
import numpy.typing as npt
import shapely

from seamtree.block.model import Block
from seamtree.errors import Point
from seamtree.geometry.straight import convex_hull

EXACT = 1e-9
"""Distances below this (inches) are noise of the arithmetic."""


Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
Bools = npt.NDArray[np.bool_]


def bits(mask: int) -> Iterator[int]:
    """Yield the numbers of the bits set, lowest first."""
    while mask:
        low = mask & -mask
        yield low.bit_length() - 1
        mask ^= low


def runs_of(mask: int) -> list[int]:
    """Split a bit set into its maximal runs of neighbouring ones, lowest first."""
    runs = []
    while mask:
        rest = mask & (mask + (mask & -mask))  # adding the lowest one carries through the lowest run
        runs.append(mask ^ rest)
        mask = rest
    return runs


def union(sets: Sequence[int], chosen: int) -> int:
    """Put together the bit sets that have the numbers in a bit set."""
    total = 0
    while chosen:
        n = chosen.bit_length() - 1
        total |= sets[n]
        chosen ^= 1 << n
    return total


class SeamView(NamedTuple):
    """Bit sets of a block.

    Parameters
    ----------
    block
        The block itself.
    patch_edges
        Per patch, its interior edges.
    patch_slots
        Per patch, the slots of the interior junctions round it.
    patches_met
        Per patch, the patches that it meets at these, itself among them.
    neighbours
        Per patch, the patches that share an edge with it.
    line_ends
        The last edge of each line.
    bent
        The edges of lines that are not straight as a whole.
    reach
        Per edge, the last edge up to which the run from it is straight.
    slot_edge
        Per slot, the edge that leaves the junction along the line; for the last slot of a line, the edge that
        enters it.
    slot_junction
        Per slot, its junction, -1 for the empty slots between lines.
    junction_slots
        Per junction, all of its slots; 0 on the block outline.
    junction_patches
        Per junction, the patches round it; on the block outline also the bit after the last patch, for the outside.
    ends
        Slots where a line ends.
    crossed
        Slots of lines where another pair of edges in line meets at the same junction.
    plain
        Slots of junctions where two lines cross and no other edge arrives.
    left_stems, right_stems
        Slots inside lines where other seams arrive from the left, from the right.
    tee
        Slots of junctions at which some pair in line has no stem on one side: one patch spans it, so a unit may
        hold the junction in its inside. No unit can hold any other junction.
    lengths
        Per interior edge, in millionths of an inch.
    bent_slots
        Slots of lines that are not straight as a whole.
    slot_line
        Per slot, its line; -1 for the empty slots.
    beside
        Per line, the slots of the junctions clearly to its left and to its right, however far the line is carried on.
    convex
        Whether the block is convex, so that all parts between cuts are.
    """

    block: Block
    patch_edges: tuple[int, ...]
    patch_slots: tuple[int, ...]
    patches_met: tuple[int, ...]
    neighbours: tuple[int, ...]
    line_ends: int
    bent: int
    reach: tuple[int, ...]
    slot_edge: tuple[int, ...]
    slot_junction: tuple[int, ...]
    junction_slots: tuple[int, ...]
    junction_patches: tuple[int, ...]
    ends: int
    crossed: int
    plain: int
    left_stems: int
    right_stems: int
    tee: int
    lengths: tuple[int, ...]
    bent_slots: int
    slot_line: tuple[int, ...]
    beside: SidesOfLines
    convex: bool

    @property
    def all_patches(self) -> int:
        """All patches as a bit set."""
        return (1 << len(self.block.patches)) - 1

    @property
    def all_slots(self) -> int:
        """The slots of all interior junctions."""
        total = 0
        for slots in self.junction_slots:
            total |= slots
        return total

    def closure(self, run: int) -> int:
        """Return all slots of the junctions that have a slot in a run."""
        closure = 0
        for slot in bits(run):
            closure |= self.junction_slots[self.slot_junction[slot]]
        return closure

    def line_slots(self, line: int) -> int:
        """Return the slots of a line, its ends included."""
        # Each line before it has taken one slot more than it has junctions, and one junction more than edges.
        first, stop = self.block.lines[line].first + 2 * line, self.block.lines[line].stop + 2 * line
        return (1 << (stop + 1)) - (1 << first)

    def run_edges(self, run: int) -> tuple[int, int]:
        """Return the first and last edge of the cut that passes the junctions of a run of slots."""
        low = (run & -run).bit_length() - 1
        return self.slot_edge[low] - 1, self.slot_edge[run.bit_length() - 1]

    def is_cut(self, run: int) -> bool:
        """Tell whether a maximal run of slots is a full straight cut."""
        if run & self.ends:
            return False
        if run & self.bent_slots:
            first, last = self.run_edges(run)
            return last <= self.reach[first]
        return True

    def is_safe(self, run: int) -> bool:
        """Tell whether no other line crosses a cut (slots inside it) and no single patch spans it."""
        return not run & self.crossed and bool(run & self.left_stems) and bool(run & self.right_stems)


def build_view(block: Block) -> SeamView:
    """Make the bit sets of a block."""
    on_outline = block.boundary_junctions()
    layout = _Slots(block, on_outline)
    junction_slots = tuple(0 if j in on_outline else s for j, s in enumerate(layout.of_junction))
    patches = _Patches(block, on_outline, junction_slots)
    return SeamView(
        block=block,
        patch_edges=tuple(patches.edges),
        patch_slots=tuple(patches.slots),
        patches_met=tuple(patches.met),
        neighbours=tuple(patches.neighbours),
        line_ends=sum(1 << (line.stop - 1) for line in block.lines),
        bent=sum(((1 << line.stop) - (1 << line.first)) for line in block.lines if not line.straight),
        reach=tuple(last for line in block.lines for last in line.reach),
        slot_edge=tuple(layout.slot_edge),
        slot_junction=tuple(layout.slot_junction),
        junction_slots=junction_slots,
        junction_patches=tuple(patches.of_junction),
        ends=layout.ends,
        crossed=layout.crossed,
        plain=layout.plain,
        left_stems=layout.left_stems,
        right_stems=layout.right_stems,
        tee=layout.tee,
        lengths=tuple(map(block.micro_length, block.interior_edges)),
        bent_slots=layout.bent,
        slot_line=tuple(layout.slot_line),
        beside=SidesOfLines(block, layout.slot_junction, layout.slot_line, on_outline),
        convex=_is_convex(block),
    )


class _Patches:
    """What lies round every patch and every junction."""

    def __init__(self, block: Block, on_outline: frozenset[int], junction_slots: Sequence[int]) -> None:
        outside = 1 << len(block.patches)
        self.of_junction = [outside if j in on_outline else 0 for j in range(len(block.junctions))]
        for p, patch in enumerate(block.patches):
            for j in patch.ring:
                self.of_junction[j] |= 1 << p
        self.slots, self.met = [0] * len(block.patches), [0] * len(block.patches)
        for p, patch in enumerate(block.patches):
            for j in patch.ring:
                if j not in on_outline:
                    self.slots[p] |= junction_slots[j]
                    self.met[p] |= self.of_junction[j]
        self.edges, self.neighbours = [0] * len(block.patches), [0] * len(block.patches)
        for k, edge in enumerate(block.edges[: block.interior_edges.stop]):
            self.edges[edge.left] |= 1 << k
            self.edges[edge.right] |= 1 << k
            self.neighbours[edge.left] |= 1 << edge.right
            self.neighbours[edge.right] |= 1 << edge.left


def _is_convex(block: Block) -> bool:
    """Tell whether the outline has no inward corner, within the tolerance."""
    corners = [block.junctions[j] for j in block.boundary_junctions()]
    hull = convex_hull(corners)
    length = sum(block.edge_length(k) for k in range(len(block.interior_edges), len(block.edges)))
    around = sum(math.dist(a, b) for a, b in zip(hull, hull[1:] + hull[:1], strict=True))
    return length <= around * (1 + 1e-9) or _within(corners, hull, block.tolerance / 2)


def _within(points: list[Point], hull: list[Point], distance: float) -> bool:
    """Tell whether every point lies near the boundary of its convex hull."""
    ring = shapely.LinearRing(hull)
    shapely.prepare(ring)  # a flattened arc has thousands of corners, and so has its hull
    return bool(shapely.dwithin(ring, shapely.points(points), distance).all())


class SidesOfLines:
    """Which junctions lie on which side of each line; worked out for the lines that are asked about."""

    def __init__(
        self, block: Block, slot_junction: Sequence[int], slot_line: Sequence[int], on_outline: frozenset[int]
    ) -> None:
        self._block = block
        self._slots = slot_junction, slot_line, on_outline
        self._known: dict[int, tuple[int, int]] = {}

    @cached_property
    def _arrays(self) -> tuple[Floats, Ints, Bools]:
        """Per slot: where it is, its line, and whether its junction is inside the block."""
        junctions, lines, on_outline = self._slots
        at = np.array(self._block.junctions, dtype=float)[list(junctions)]
        inside = np.array([j >= 0 and j not in on_outline for j in junctions], dtype=bool)
        return at, np.array(lines), inside

    def __getitem__(self, number: int) -> tuple[int, int]:
        """Return the slots on the left and on the right of a line."""
        known = self._known.get(number)
        if known is None:
            known = self._known[number] = self._find(number)
        return known

    def _find(self, number: int) -> tuple[int, int]:
        line, edges = self._block.lines[number], self._block.edges
        start, end = edges[line.first].start, edges[line.stop - 1].end
        if line.stop - line.first == 1 or start == end:  # parts nothing
            return 0, 0
        at, lines, inside = self._arrays
        left, right = _beside(self._block.junctions[start], self._block.junctions[end], at, lines == number)
        return _as_bits(inside & left), _as_bits(inside & right)


def _as_bits(flags: Bools) -> int:
    return int.from_bytes(np.packbits(flags, bitorder="little").tobytes(), "little")


def _beside(start: Point, end: Point, at: Floats, own: Bools) -> tuple[Bools, Bools]:
    """Tell which places lie clearly to the left and to the right of a line.

    Parameters
    ----------
    start, end
        The ends of the line, inches.
    at
        The places; (places, 2), inches.
    own
        Whether a place is on the line; (places,).

    Returns
    -------
    tuple of numpy.ndarray
        (places,) each.
    """
    length = math.dist(start, end)
    dx, dy = (end[0] - start[0]) / length, (end[1] - start[1]) / length
    x, y = at[:, 0] - start[0], at[:, 1] - start[1]
    # y points down: what is on the left hand of a walker has a negative cross product.
    away, along = dx * y - dy * x, dx * x + dy * y
    # A line may stray from the chord between its ends, and what lies on it is on neither side.
    clear = 2 * float(np.abs(away[own]).max(initial=0)) + EXACT
    # What lies beyond the ends of a line is never in a part that the line cuts through.
    beyond = (along < 0) | (along > length)
    return away < np.where(beyond, 0.0, -clear), np.where(beyond, away >= 0.0, away > clear)


class _Slots:
    """Lays the junctions of all lines out in a row of slots and says what is what."""

    def __init__(self, block: Block, on_outline: frozenset[int]) -> None:
        self.slot_edge: list[int] = []
        self.slot_junction: list[int] = []
        self.slot_line: list[int] = []
        self.of_junction = [0] * len(block.junctions)
        self.ends = self.crossed = self.plain = self.left_stems = self.right_stems = self.tee = self.bent = 0
        passed: list[tuple[int, int]] = []
        """Slots inside lines, with their junctions."""
        tees = set()
        for number, line in enumerate(block.lines):
            edges = block.edges[line.first : line.stop]
            base = len(self.slot_edge)
            self.slot_edge += (*range(line.first, line.stop), line.stop - 1, -1)
            self.slot_junction += (*(edge.start for edge in edges), edges[-1].end, -1)
            self.slot_line += [number] * (len(edges) + 1) + [-1]
            for slot, j in enumerate(self.slot_junction[base:-1], base):
                self.of_junction[j] |= 1 << slot
            self.ends |= 1 << base | 1 << base + len(edges)
            if not line.straight:
                self.bent |= (2 << base + len(edges)) - (1 << base)
            for slot, (before, after) in enumerate(pairwise(edges), base + 1):
                passed.append((slot, before.end))
                on_left, on_right = before.left != after.left, before.right != after.right
                self.left_stems |= on_left << slot
                self.right_stems |= on_right << slot
                if not (on_left and on_right):
                    tees.add(before.end)
        lines_at = Counter(j for _, j in passed)
        for slot, j in passed:
            if lines_at[j] > 1:
                self.crossed |= 1 << slot
                if self.of_junction[j].bit_count() == 2:
                    self.plain |= 1 << slot
        for j in tees - on_outline:
            self.tee |= self.of_junction[j]

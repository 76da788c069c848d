"""The planar map as the checks see it: plain sets as bits, and walks along lines.

Made from the block alone. Junctions on the outline count as if one more patch lay round them, so that no part has all
patches round such a junction.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from functools import cached_property

from seamtree.block.model import Block, Line

Junctions = int
"""Junctions inside the block, as a bit set."""

Patches = int
"""Patches, as a bit set."""


def bits(mask: int) -> Iterator[int]:
    """Yield the numbers of the bits set, lowest first."""
    while mask:
        low = mask & -mask
        yield low.bit_length() - 1
        mask ^= low


def mask_of(numbers: Iterable[int]) -> int:
    """Return numbers as a bit set."""
    mask = 0
    for n in numbers:
        mask |= 1 << n
    return mask


def union(sets: Sequence[int], chosen: int) -> int:
    """Put together the bit sets that have the numbers in a bit set."""
    total = 0
    for n in bits(chosen):
        total |= sets[n]
    return total


class Planar:
    """A block for the checks.

    Parameters
    ----------
    block
        The block.

    Attributes
    ----------
    around
        Per junction, the patches round it.
    inner
        The junctions inside the block.
    arms
        Per junction, the interior edges there.
    line
        Per interior edge, its line.
    through
        Per junction, the first edges of the pairs in line there.
    beside
        Per patch, its interior edges, each with the patch on the other side.
    """

    def __init__(self, block: Block) -> None:
        self.block = block
        outline = block.boundary_junctions()
        count = len(block.junctions)
        self.around = [1 << len(block.patches) if j in outline else 0 for j in range(count)]
        for p, patch in enumerate(block.patches):
            for j in patch.ring:
                self.around[j] |= 1 << p
        self.inner = [j for j in range(count) if j not in outline]
        self.line: list[Line] = [line for line in block.lines for _ in range(line.first, line.stop)]
        self.arms: list[list[int]] = [[] for _ in range(count)]
        self.linked = [0] * count
        self.through: list[list[int]] = [[] for _ in range(count)]
        self.beside: list[list[tuple[int, Patches]]] = [[] for _ in block.patches]
        for k, line in enumerate(self.line):
            edge = block.edges[k]
            self.beside[edge.left].append((k, 1 << edge.right))
            self.beside[edge.right].append((k, 1 << edge.left))
            for j, other in ((edge.start, edge.end), (edge.end, edge.start)):
                self.arms[j].append(k)
                self.linked[j] |= 1 << other
            if k + 1 < line.stop:
                self.through[edge.end].append(k)

    @cached_property
    def spanned(self) -> Junctions:
        """Junctions inside the block with a pair of edges in line that one patch spans: no unit holds any other."""
        spanned = 0
        for j in self.inner:
            for k in self.through[j]:
                before, after = self.block.edges[k], self.block.edges[k + 1]
                if before.left == after.left or before.right == after.right:
                    spanned |= 1 << j
        return spanned

    @cached_property
    def ended(self) -> Junctions:
        """Junctions inside the block at which a line ends."""
        return mask_of(j for j in self.inner if 2 * len(self.through[j]) < len(self.arms[j]))

    @property
    def whole(self) -> Patches:
        """All patches."""
        return (1 << len(self.block.patches)) - 1

    def reach(self, edge: int) -> int:
        """Return the last edge up to which the run from an edge is straight as a whole."""
        line = self.line[edge]
        return line.reach[edge - line.first]

    def ends(self, edge: int) -> tuple[int, int]:
        """Return both junctions of an edge."""
        return self.block.edges[edge].start, self.block.edges[edge].end

    # -- parts and clusters ------------------------------------------------------------------------------------

    def inside(self, patches: Patches) -> Junctions:
        """Return the junctions that have all patches round them in a part."""
        return mask_of(j for j in self.inner if not self.around[j] & ~patches)

    def patches_round(self, junctions: Junctions) -> Patches:
        """Return the patches round some junctions."""
        return union(self.around, junctions)

    def clusters(self, junctions: Junctions) -> Iterator[Junctions]:
        """Split junctions into the sets that edges link."""
        left = junctions
        while left:
            found = fresh = left & -left
            while fresh:
                fresh = union(self.linked, fresh) & left & ~found
                found |= fresh
            left ^= found
            yield found

    # -- cuts --------------------------------------------------------------------------------------------------

    def cuts(self, cluster: Junctions) -> Iterator[range]:
        """Walk along the lines that enter a set of junctions and yield the full straight cuts through it."""
        edges = self.block.edges
        for first in sorted(k for j in bits(cluster) for k in self.through[j] if not cluster >> edges[k].start & 1):
            line = self.line[first]
            last = first
            while last < line.stop and cluster >> edges[last].end & 1:
                last += 1
            if last <= self.reach(first):
                yield range(first, last + 1)

    def part_cuts(self, patches: Patches, inside: Junctions) -> Iterator[range]:
        """Yield the full straight cuts of a part: those through junctions inside it, and single edges."""
        yield from self.cuts(inside)
        for k in self.block.interior_edges:
            edge = self.block.edges[k]
            if patches >> edge.left & patches >> edge.right & ~(inside >> edge.start | inside >> edge.end) & 1:
                yield range(k, k + 1)

    def passed(self, run: range) -> Iterator[int]:
        """Yield the junctions that a cut passes."""
        return (self.block.edges[k].end for k in run[:-1])

    def sides(self, patches: Patches, run: Sequence[int], start: Patches) -> tuple[Patches, Patches]:
        """Return what of a part can be reached from some patches without crossing a run of edges, and the rest."""
        crossed = set(run)
        side = fresh = start
        while fresh:
            reached = 0
            for p in bits(fresh):
                for k, other in self.beside[p]:
                    if k not in crossed:
                        reached |= other
            fresh = reached & patches & ~side
            side |= fresh
        return side, patches & ~side

    def left_of(self, path: Sequence[int]) -> set[int]:
        """Return the patches on the left of a path of edges, each with the junction that it leads to after it."""
        left = set()
        for k, j in zip(path[0::2], path[1::2], strict=True):
            edge = self.block.edges[k]
            left.add(edge.left if edge.end == j else edge.right)
        return left

    def cut_sides(self, patches: Patches, run: range) -> tuple[Patches, Patches]:
        """Return both sides of a full straight cut."""
        return self.sides(patches, run, 1 << self.block.edges[run[0]].left)

    def is_safe(self, run: range) -> bool:
        """Tell whether no other line crosses a cut and no single patch spans it.

        It is sewn in one step in any order, and never by adding a single patch: a join that may come first.
        """
        edges = self.block.edges
        crossed = any(len(self.through[j]) > 1 for j in self.passed(run))
        return not crossed and len({edges[k].left for k in run}) > 1 and len({edges[k].right for k in run}) > 1

    def parts_safely(self, run: range) -> bool:
        """Tell whether a cut may come first where corners have to be turned: no drawn curve goes on across it."""
        if not self.is_safe(run):
            return False
        for j in self.passed(run):
            curves = [c for k in self.arms[j] if (c := self.block.edges[k].curve) is not None]
            if len(set(curves)) < len(curves):
                return False
        return True

    # -- units -------------------------------------------------------------------------------------------------

    def peels(self, patches: Patches) -> bool:
        """Tell whether a part can be peeled patch by patch: whether it is a unit."""
        left = waiting = patches
        while waiting:
            p = waiting.bit_length() - 1
            waiting ^= 1 << p
            run = [k for k, other in self.beside[p] if left & other]
            if self.is_straight(run, left):
                left ^= 1 << p
                for k in run:
                    edge = self.block.edges[k]
                    waiting |= 1 << (edge.left if edge.right == p else edge.right)
        return not left & (left - 1)

    def is_straight(self, run: Sequence[int], left: Patches) -> bool:
        """Tell whether some edges are one straight stretch with nothing but the patches that are left beside it."""
        if not run or run[-1] - run[0] != len(run) - 1 or run[-1] > self.reach(run[0]):
            return False
        return not any(self.around[self.block.edges[k].end] & ~left for k in run[:-1])

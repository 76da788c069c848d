"""The parts of a block that no full cut divides."""

from __future__ import annotations

from collections.abc import Collection, Iterator

from seamtree.block.model import Block, Line


def locked_parts(block: Block) -> list[int]:
    """Return the patches of each locked part, as bit sets; none if straight seams can sew the block.

    Cutting at a full cut first never adds a hard corner, so the order of the cuts does not matter and no search is
    needed: every seam from outline to outline is cut, part by part, until none is left.
    """
    broken = set(block.boundary_junctions())
    cut: set[int] = set()
    before = -1
    while len(cut) > before:
        before = len(cut)
        for line in block.lines:
            for run in list(_full_cuts(block, line, broken, cut)):
                cut.update(run)
                broken.update(j for k in run for j in (block.edges[k].start, block.edges[k].end))
    part = list(range(len(block.patches)))

    def find(p: int) -> int:
        while part[p] != p:
            part[p] = part[part[p]]
            p = part[p]
        return p

    left = [block.edges[k] for k in block.interior_edges if k not in cut]
    for edge in left:
        a, b = sorted((find(edge.left), find(edge.right)))
        part[b] = a
    found: dict[int, int] = {find(edge.left): 0 for edge in left}
    for p in range(len(part)):
        if find(p) in found:
            found[find(p)] |= 1 << p
    return [found[leader] for leader in sorted(found)]


def _full_cuts(block: Block, line: Line, broken: Collection[int], cut: Collection[int]) -> Iterator[range]:
    """Yield the straight runs of a line from one junction on the outline of a part to the next."""
    begun: int | None = line.first if block.edges[line.first].start in broken else None
    for k in range(line.first, line.stop):
        if k in cut:
            begun = None
        if block.edges[k].end in broken:
            if begun is not None and line.reach[begun - line.first] >= k:
                yield range(begun, k + 1)
            begun = k + 1

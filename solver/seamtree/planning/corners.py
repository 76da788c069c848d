"""Hard corners in plain words: what kind, where, and why the drawing asks for them."""

from __future__ import annotations

from collections import deque
from collections.abc import Mapping, Sequence
from itertools import pairwise

from seamtree.block.model import Block
from seamtree.errors import Finding
from seamtree.planning.model import CornerKind, HardCorner, Join, id_order
from seamtree.words import at

_KIND_CODES = {"set-in": "set-in-seam", "partial": "partial-seam", "curved": "curved-seam"}


def describe_corners(block: Block, edges: Sequence[int], part: frozenset[int]) -> tuple[HardCorner, ...]:
    """Return the hard corners of a seam in turn.

    Parameters
    ----------
    block
        The block.
    edges
        The edges of the seam in turn.
    part
        The patches of both parts that it joins.
    """
    if is_one_cut(block, edges):
        return ()
    from seamtree.search.corners.local_rule import build_part
    from seamtree.search.corners.orders import SewnSeam, find_corners

    view = build_part(block, part)
    junctions = [_between(block, a, b) for a, b in pairwise(edges)]
    pairs = tuple(view.pair(j, pair) for j, pair in zip(junctions, pairwise(edges), strict=True))
    corners = find_corners(view, SewnSeam(tuple(edges), pairs))
    passed = {pair.junction: pair for pair in pairs}
    found = []
    for j in corners.marks:
        pair = passed[j]
        kind: CornerKind = "set-in"
        if pair.partial:
            kind = "partial"
        elif not pair.hard and j not in corners.bends:
            kind = "curved"
        at = _middle_of_curve(edges, junctions, corners.curves, j) if kind == "curved" else j
        found.append(HardCorner(kind, at, _reason(block, kind, j, pair.straight)))
    return tuple(found)


def _middle_of_curve(
    edges: Sequence[int], junctions: Sequence[int], curves: Sequence[Sequence[int]], junction: int
) -> int:
    """Return the middle junction of the run of chords that a curved corner stands for."""
    inside = [(j, {a, b}) for j, (a, b) in zip(junctions, pairwise(edges), strict=True)]
    for chords in map(set, curves):
        run = [j for j, pair in inside if pair <= chords]
        if junction in run:
            return run[len(run) // 2]
    return junction


def is_one_cut(block: Block, edges: Sequence[int]) -> bool:
    """Tell whether edges are one straight run of one line."""
    first, last = min(edges), max(edges)
    line = block.lines[block.line_of(first)]
    return last - first == len(edges) - 1 and last < line.stop and last <= line.reach[first - line.first]


def _between(block: Block, a: int, b: int) -> int:
    """Return the junction where two edges that follow each other meet."""
    shared = {block.edges[a].start, block.edges[a].end} & {block.edges[b].start, block.edges[b].end}
    return min(shared)


def _reason(block: Block, kind: str, junction: int, in_line: bool) -> str:
    if kind == "curved":
        return "the seam follows a drawn curve"
    if kind == "partial":
        return "the seam that ends here should be sewn before the seam it ends on, but the two wait for each other"
    if in_line:
        return "the line bends more than cloth forgives"
    arms = sum(junction in (edge.start, edge.end) for edge in block.edges if edge.interior)
    if arms == 2:
        return "the boundary between two patches turns a corner"
    return f"{_NUMBERS.get(arms, str(arms))} seams meet here and no two of them can be sewn last in one line"


_NUMBERS = {3: "three", 4: "four", 5: "five", 6: "six", 7: "seven", 8: "eight"}


def hard_corner_warning(
    block: Block, join: Join, corner: HardCorner, ids: Mapping[int, str], *, scale: float = 1.0
) -> Finding:
    """Say where a hard corner is, which patches meet there, and why it cannot be avoided in this drawing.

    `scale` says in which parts of an inch the place is told: 1 for inches, 2.54 for centimetres.
    """
    x, y = block.junctions[corner.junction]
    around = sorted(
        (p for p, patch in enumerate(block.patches) if corner.junction in patch.ring), key=lambda p: id_order(ids[p])
    )
    names = [ids[p] for p in around]
    message = (
        f"Join {join.step} has a {_TITLES[corner.kind]} at {at((scale * x, scale * y))} ({', '.join(names)}): "
        f"{corner.reason}."
    )
    if corner.kind == "partial":
        ring = find_ring(block, corner.junction)
        if ring:
            named = " → ".join(
                "–".join(sorted((ids[block.edges[k].left], ids[block.edges[k].right]), key=id_order)) for k in ring
            )
            message += f" The seams {named} wait for each other in a ring, each ending on the next."
    return Finding(_KIND_CODES[corner.kind], message, (x, y), tuple(names))


_TITLES = {"set-in": "set-in corner", "partial": "partial seam", "curved": "curved seam"}


def find_ring(block: Block, junction: int) -> tuple[int, ...]:
    """Find a ring of seams that wait for each other through a tee.

    Parameters
    ----------
    block
        The block.
    junction
        A junction where a seam ends on a line.

    Returns
    -------
    tuple of int
        For each seam of the ring the edge with which it ends on the next one; empty if there is no ring.
    """
    line_of = {k: n for n, line in enumerate(block.lines) for k in range(line.first, line.stop)}
    through = {block.edges[k].end: n for n, line in enumerate(block.lines) for k in range(line.first, line.stop - 1)}
    waits: dict[int, list[tuple[int, int]]] = {}
    stems: dict[int, list[int]] = {}
    for n, line in enumerate(block.lines):
        for k, end in ((line.first, block.edges[line.first].start), (line.stop - 1, block.edges[line.stop - 1].end)):
            if end in through:
                waits.setdefault(n, []).append((k, through[end]))
                stems.setdefault(end, []).append(k)
    for stem in stems.get(junction, ()):
        ring = _ring_from(waits, line_of[stem], stem, through[junction])
        if ring:
            return ring
    return ()


def _ring_from(waits: Mapping[int, Sequence[tuple[int, int]]], start: int, stem: int, onto: int) -> tuple[int, ...]:
    """Search breadth first for the shortest way from the line a stem ends on back to the stem's own line."""
    came: dict[int, tuple[int, int] | None] = {onto: None}
    queue = deque([onto])
    while queue:
        line = queue.popleft()
        if line == start:
            back = []
            step = came[line]
            while step is not None:
                back.append(step[0])
                step = came[step[1]]
            return (stem, *reversed(back))
        for k, target in waits.get(line, ()):
            if target not in came:
                came[target] = (k, line)
                queue.append(target)
    return ()

"""Closed walks along which seams would wait for each other in a circle.

A closed walk along edges in which each would have to be sewn no earlier than the one before it is impossible, so at
one of its junctions the next edge stops. Such rows follow from the times, but linear relaxations do not see times;
for walks round single patches, and for rings of lines each of which ends on the next, they are written down.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from seamtree.search.corners.local_rule import Part

_WALKS = 500
"""Rings of lines that are looked for at most."""

_WALK_LENGTH = 24
"""Edges of such a ring at most."""

Walk = tuple[tuple[int, int], ...]
"""Junctions in turn, each with the edge along which a closed walk leaves it."""


def closed_walks(part: Part) -> Iterator[Walk]:
    """Yield closed walks, each of which stops at one of its junctions in every order."""
    yield from _round_patches(part)
    yield from _rings_of_lines(part)


def _round_patches(part: Part) -> Iterator[Walk]:
    """Yield the walks round each patch that touches no outline, both ways."""
    for p in part.patches:
        patch = part.block.patches[p]
        if all(j in part.around for j in patch.ring):
            yield tuple(zip(patch.ring, patch.edges, strict=True))
            yield tuple(zip(patch.ring, (patch.edges[-1], *patch.edges), strict=False))


def _rings_of_lines(part: Part) -> Iterator[Walk]:
    """Yield closed walks that go on along lines, and turn onto a line where they meet its middle."""
    through = {}
    for j, pairs in part.pairs.items():
        straight = [pair.edges for pair in pairs if pair.straight]
        if len(straight) == 1:
            through[j] = straight[0]
    found: set[Walk] = set()
    for e in part.edges:
        for j in part.ends(e):
            for walk in _walks(part, through, e, j):
                turn = walk.index(min(walk))
                found.add(walk[turn:] + walk[:turn])
                if len(found) >= _WALKS:
                    break
    yield from sorted(found)


def _walks(part: Part, through: Mapping[int, tuple[int, int]], first: int, start: int) -> Iterator[Walk]:
    """Yield the closed walks that arrive at a junction by an edge, each with the junctions that it leaves."""
    stack: list[tuple[int, int, Walk]] = [(first, start, ())]
    steps = 0
    while stack and steps < _WALKS:
        e, j, walk = stack.pop()
        if j not in through or len(walk) >= _WALK_LENGTH or any(j == passed for passed, _ in walk):
            continue
        steps += 1
        one, other = through[j]
        for onward in (other,) if e == one else (one,) if e == other else (one, other):
            end = next(k for k in part.ends(onward) if k != j)
            here = (*walk, (j, onward))
            if (onward, end) == (first, start):
                yield here
            else:
                stack.append((onward, end, here))

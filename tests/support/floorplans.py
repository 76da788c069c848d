"""All mosaic floorplans with n rooms, one from each Baxter permutation.

Ackerman, Barequet & Pinter 2006, 'A bijection between permutations and floorplans': the order in which rooms can be
taken away from the bottom left corner, with the rooms numbered in the order in which they can be taken away from the
top left corner, is a Baxter permutation, and each one belongs to exactly one floorplan. Here the rooms are put back
in that order. Room k holds the k-th stretch of the falling diagonal of an n by n square, which leaves no choice where
it goes (Law & Reading 2012, 'The Hopf algebra of diagonal rectangulations'), and no two walls on one line, so that
every layout is in general position.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import permutations

from seamtree.block.assemble import Face, assemble_block
from seamtree.block.model import Block

Room = tuple[int, int, int, int]
"""Left, bottom, right, top."""


def baxter_permutations(n: int) -> Iterator[tuple[int, ...]]:
    """Yield the permutations of 1 to n without the patterns 2-41-3 and 3-14-2."""
    yield from (p for p in permutations(range(1, n + 1)) if is_baxter(p))


def is_baxter(p: Sequence[int]) -> bool:
    """Tell whether there are no i < j < k with p[j+1] < p[i] < p[k] < p[j] or p[j] < p[k] < p[i] < p[j+1]."""
    for j in range(1, len(p) - 2):
        low, high = sorted(p[j : j + 2])
        before = [v for v in p[:j] if low < v < high]
        after = [v for v in p[j + 2 :] if low < v < high]
        if before and after and (min(before) < max(after) if p[j] > p[j + 1] else max(before) > min(after)):
            return False
    return True


def floorplan(p: Sequence[int]) -> tuple[Room, ...]:
    """Return the rooms of the floorplan of a Baxter permutation, numbered from 1 along the falling diagonal."""
    n = len(p)
    height = [0] * n  # how far each column is filled from below; never rises from left to right

    def filled(x: int, y: int) -> bool:
        return x == 0 or y == 0 or height[x - 1] >= y

    rooms: dict[int, Room] = {}
    for k in p:
        left, top = k - 1, n - k + 1
        if filled(left, top):
            top = height[left - 1] if left else n
        else:
            left = max(x for x in range(left) if filled(x, top))
        right, bottom = k, n - k
        if filled(right, bottom):
            right = max(x for x in range(right, n + 1) if filled(x, bottom))
        else:
            bottom = height[right - 1]
        rooms[k] = (left, bottom, right, top)
        height[left:right] = [top] * (right - left)
    return tuple(rooms[k] for k in range(1, n + 1))


def floorplans(n: int) -> list[tuple[Room, ...]]:
    """Return all floorplans with n rooms."""
    return [floorplan(p) for p in baxter_permutations(n)]


def corners_of(rooms: Sequence[Room]) -> list[list[tuple[int, int]]]:
    """Return for each room the corners in turn, with those of other rooms that lie on its walls."""
    places = {(x, y) for left, bottom, right, top in rooms for x in (left, right) for y in (bottom, top)}
    rings = []
    for left, bottom, right, top in rooms:
        ring = [(x, bottom) for x in range(left, right)]
        ring += [(right, y) for y in range(bottom, top)]
        ring += [(x, top) for x in range(right, left, -1)]
        ring += [(left, y) for y in range(top, bottom, -1)]
        rings.append([place for place in ring if place in places])
    return rings


def floorplan_block(rooms: Sequence[Room]) -> Block:
    """Build the block of a floorplan, two inches to the unit."""
    rings = corners_of(rooms)
    number: dict[tuple[int, int], int] = {}
    faces = [Face(tuple(number.setdefault(place, len(number)) for place in ring)) for ring in rings]
    return assemble_block([(2.0 * x, 2.0 * y) for x, y in number], faces, tolerance=0.02, name="floorplan")

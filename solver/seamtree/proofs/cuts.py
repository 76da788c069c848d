"""The full straight cuts of parts, for proofs and searches that look at very many parts.

The same cuts as `Planar.part_cuts` and `Planar.cut_sides` give, found by operations on whole sets: the edges inside a
part are those with one of its patches on the left and one on the right. Which patches lie on which side of a cut is
guessed from where they lie beside the line, and the guess stands if no other edges lead from one side to the other.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import NamedTuple

from seamtree.errors import Point
from seamtree.proofs.planar import Patches, Planar, bits

_BYTE = 8

_STRAIGHT = math.pi + math.radians(40)
"""What a part may have at a corner that is not inward, radians: more than lines may turn."""


class Cut(NamedTuple):
    """A full straight cut: its first and last edge, and the patches on both sides of it."""

    first: int
    last: int
    left: Patches
    right: Patches


class Table:
    """Puts together numbers that patches have, as bit sets, eight patches at a time.

    Parameters
    ----------
    values
        For each patch its number.
    """

    def __init__(self, values: Sequence[int]) -> None:
        self._size = -(-len(values) // _BYTE)
        self._tables: list[list[int]] = []
        for start in range(0, len(values), _BYTE):
            table = [0]
            for value in values[start : start + _BYTE]:
                table += [known | value for known in table]
            self._tables.append(table)

    def __call__(self, part: Patches) -> int:
        """Return the union of the numbers of a part."""
        total = 0
        for table, byte in zip(self._tables, part.to_bytes(self._size, "little"), strict=True):
            total |= table[byte]
        return total


class FullCuts:
    """Finds full straight cuts.

    Parameters
    ----------
    planar
        The block.

    Attributes
    ----------
    middles
        For each patch a point inside, if it has no inward corner.
    """

    def __init__(self, planar: Planar) -> None:
        self.planar = planar
        block = planar.block
        # An edge has the place of its number plus that of its line, so that lines lie apart.
        self._number: list[int] = []
        self._left, self._right = [0] * len(block.patches), [0] * len(block.patches)
        self._line: list[int] = [-1] * len(block.edges)
        self._beside: list[Patches] = []
        self.middles = [_middle(planar, p) for p in range(len(block.patches))]
        for line in block.lines:
            start, end = (block.junctions[j] for j in (block.edges[line.first].start, block.edges[line.stop - 1].end))
            dx, dy = end[0] - start[0], end[1] - start[1]
            left = sum(
                1 << p for p, (x, y) in enumerate(self.middles) if dx * (y - start[1]) - dy * (x - start[0]) < 0
            )
            self._beside.append(left)
            for k in range(line.first, line.stop):
                place = len(self._number)
                self._number.append(k)
                self._left[block.edges[k].left] |= 1 << place
                self._right[block.edges[k].right] |= 1 << place
                self._line[k] = len(self._beside) - 1
            self._number.append(-1)
        self._inside_left, self._inside_right = Table(self._left), Table(self._right)
        # Per line the edges, by their places, that have one patch on either side of it.
        self._across = [self._inside_left(left) ^ self._inside_right(left) for left in self._beside]
        self._angles = {
            (p, patch.ring[k]): _angle(*(block.junctions[patch.ring[(k + n) % len(patch.ring)]] for n in (-1, 0, 1)))
            for p, patch in enumerate(block.patches)
            for k in range(len(patch.ring))
        }
        self._turned: dict[tuple[int, Patches], bool] = {}
        self._within: dict[Patches, int] = {}
        self._safe: dict[tuple[int, int], bool] = {}
        self._safe_of: dict[Patches, Cut | None] = {}
        self._cuts: dict[Patches, tuple[Cut, ...]] = {}
        self._units: dict[Patches, bool] = {}

    def __len__(self) -> int:
        """Return of how many parts the cuts are known."""
        return len(self._cuts)

    def of(self, part: Patches) -> tuple[Cut, ...]:
        """Return all full straight cuts of a part (edge-connected, without holes)."""
        known = self._cuts.get(part)
        if known is None:
            known = self._cuts[part] = tuple(self._find(part))
        return known

    def is_unit(self, part: Patches) -> bool:
        """Tell whether a part can be peeled patch by patch; which patch goes first does not matter."""
        chain = []
        unit: bool | None = None
        while unit is None:
            unit = self._units.get(part)
            if unit is None:
                chain.append(part)
                if part & (part - 1):
                    rest = self._peeled(part)
                    unit, part = (False, part) if rest is None else (None, rest)
                else:
                    unit = True
        self._units.update(dict.fromkeys(chain, unit))
        return unit

    def safe(self, part: Patches) -> Cut | None:
        """Return a cut of a part that may come first in any case, if there is one."""
        if part not in self._safe_of:
            self._safe_of[part] = next((cut for cut in self.of(part) if self._is_safe(cut.first, cut.last)), None)
        return self._safe_of[part]

    def _is_safe(self, first: int, last: int) -> bool:
        safe = self._safe.get((first, last))
        if safe is None:
            safe = self._safe[first, last] = self.planar.is_safe(range(first, last + 1))
        return safe

    def small_units(self, holds: Callable[[Patches], bool], most: int) -> set[Patches] | None:
        """List the units of straight orders that are small enough, grown patch by patch; None if they are too many.

        Whatever is a unit is one without its last patch, and what is small enough stays so. Straight cuts never leave
        a part with an inward corner inside the block.
        """
        edges = self.planar.block.edges
        beside = [0] * len(self._left)
        for k in self.planar.block.interior_edges:
            beside[edges[k].left] |= 1 << edges[k].right
            beside[edges[k].right] |= 1 << edges[k].left
        level = [1 << p for p in range(len(beside))]
        found = set(level)
        while level:
            onward = set()
            for unit in level:
                left, right = self._inside_left(unit), self._inside_right(unit)
                around = 0
                for p in bits(unit):
                    around |= beside[p]
                for p in bits(around & ~unit):
                    grown = unit | 1 << p
                    run = (left & self._right[p]) | (right & self._left[p])
                    if grown not in onward and self._is_stretch(run, grown) and holds(grown):
                        onward.add(grown)
                if len(found) + len(onward) > most:
                    return None
            found |= onward
            level = list(onward)
        return found

    def _is_stretch(self, run: int, part: Patches) -> bool:
        """Tell whether edges (by their places) are one straight stretch with nothing but a part beside it."""
        low = run & -run
        if run & (run + low):
            return False
        first = self._number[low.bit_length() - 1]
        last = first + run.bit_count() - 1
        if last > self.planar.reach(first):
            return False
        edges, around = self.planar.block.edges, self.planar.around
        if any(around[edges[k].end] & ~part for k in range(first, last)):
            return False
        return not (self._turns_in(edges[first].start, part) or self._turns_in(edges[last].end, part))

    def _turns_in(self, junction: int, part: Patches) -> bool:
        """Tell whether a part has an inward corner at a junction inside the block."""
        around = self.planar.around[junction]
        here = around & part
        if here == around or around >> len(self._left):
            return False
        known = self._turned.get((junction, here))
        if known is None:
            known = sum(self._angles[p, junction] for p in bits(here)) > _STRAIGHT
            self._turned[junction, here] = known
        return known

    def _peeled(self, part: Patches) -> Patches | None:
        for cut in self.of(part):
            if not cut.left & (cut.left - 1):
                return cut.right
            if not cut.right & (cut.right - 1):
                return cut.left
        return None

    def _inside(self, part: Patches) -> int:
        """Return the edges inside a part, by their places."""
        known = self._within.get(part)
        if known is None:
            known = self._within[part] = self._inside_left(part) & self._inside_right(part)
        return known

    def _find(self, part: Patches) -> list[Cut]:
        block, around = self.planar.block, self.planar.around
        found = []
        inside = waiting = self._inside(part)
        while waiting:
            low = waiting & -waiting
            run = waiting & ~(waiting + low)  # adding the lowest one carries through the lowest run
            waiting ^= run
            first = self._number[low.bit_length() - 1]
            stop = first + run.bit_count()
            if not around[block.edges[first].start] & ~part:
                first = -1  # the line begins inside the part
            for k in range(stop - run.bit_count(), stop):
                if around[block.edges[k].end] & ~part:
                    if first >= 0 and k <= self.planar.reach(first):
                        found.append(self._cut(part, inside, first, k))
                    first = k + 1
        return found

    def _cut(self, part: Patches, inside: int, first: int, last: int) -> Cut:
        edges, line = self.planar.block.edges, self._line[first]
        left = part & self._beside[line]
        right = part ^ left
        if left >> edges[first].left & 1 and right >> edges[first].right & 1:
            between = inside & self._across[line]
            if between.bit_count() == last - first + 1:
                place = between.bit_length() - 1
                if self._number[place] == last and self._number[(between & -between).bit_length() - 1] == first:
                    return Cut(first, last, left, right)
        return Cut(first, last, *self.planar.cut_sides(part, range(first, last + 1)))


def _middle(planar: Planar, patch: int) -> tuple[float, float]:
    ring = [planar.block.junctions[j] for j in planar.block.patches[patch].ring]
    return sum(x for x, _ in ring) / len(ring), sum(y for _, y in ring) / len(ring)


def _angle(before: Point, at: Point, after: Point) -> float:
    """Return the angle inside a ring at a corner, radians."""
    one = math.atan2(before[1] - at[1], before[0] - at[0])
    other = math.atan2(after[1] - at[1], after[0] - at[0])
    return (other - one) % (2 * math.pi)

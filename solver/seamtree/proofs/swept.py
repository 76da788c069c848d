"""All parts of a bundle of crossing lines, in arrays.

No single patch spans a crossing of the bundle, so a part is known by the crossings inside it, and no part with
crossings is a unit. Cutting a part along a line takes the crossings on that line out; what is left on its two sides
shares no edge, so joins add up. A number is right for a part if for every line that can be cut there, one and the
numbers of what is left on either side come to no less.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from seamtree.errors import ProofError
from seamtree.proofs.claims import Swept
from seamtree.proofs.planar import Junctions, Planar, bits, mask_of

Words = npt.NDArray[np.uint64]
Flags = npt.NDArray[np.bool_]

_AT_ONCE = 20_000
"""Parts in one go: few enough that what is worked out from them takes little memory."""

_MIX = np.array([0x9E3779B97F4A7C15, 0xBF58476D1CE4E5B9, 0x94D049BB133111EB], dtype=np.uint64)
"""Constants of the mixing function of SplitMix64 (Steele, Lea & Flood 2014); any others would do."""


def check_swept(planar: Planar, cluster: Junctions, swept: Swept) -> int:
    """Check the numbers of a bundle and return that of the whole of it.

    Raises
    ------
    ProofError
        If a number does not follow from the others, or the bundle is no bundle.
    """
    lines = _Lines(planar, cluster, swept)
    parts, joins = swept.parts, swept.joins
    table = _Table(parts)
    if joins[table.find(np.zeros((1, parts.shape[1]), dtype=np.uint64))].any():
        raise ProofError("a part without crossings was claimed to need a join")
    for start in range(0, len(parts), _AT_ONCE):
        here = parts[start : start + _AT_ONCE]
        part, line = np.nonzero(_touch(here, lines.on) & ~_touch(here, lines.ends))
        left, right = (joins[table.find(here[part] & side[line])] for side in (lines.left, lines.right))
        if (joins[start + part] > 1 + left + right).any():
            raise ProofError("a cut of a bundle of crossing lines leaves too few joins")
    everything = lines.words([mask_of(range(len(swept.junctions)))])
    return int(joins[table.find(everything)][0])


class _Lines:
    """The lines of a bundle: the crossings on each, those where it ends, those on either side."""

    def __init__(self, planar: Planar, cluster: Junctions, swept: Swept) -> None:
        self._planar, self._swept = planar, swept
        self._place = {j: n for n, j in enumerate(swept.junctions)}
        if mask_of(swept.junctions) != cluster or len(self._place) < len(swept.junctions):
            raise ProofError("a bundle of crossing lines has not the crossings that it should have")
        if cluster & planar.spanned:
            raise ProofError("a patch spans a crossing of a bundle of lines")
        stretches = {number: found for number in range(len(planar.block.lines)) if (found := self._stretch(number))}
        if sorted(stretches) != sorted(number for number, _, _ in swept.sides):
            raise ProofError("the lines of a bundle are not those through its crossings")
        sides = {number: (mask_of(left), mask_of(right)) for number, left, right in swept.sides}
        for number, (order, inside) in stretches.items():
            self._check_sides(order, *sides[number])
            # A line that ends inside is no cut of a part that holds its end, if no part has a gap in it.
            if mask_of(order) != mask_of(inside):
                self._check_gaps(order, sides)
        self.on, self.ends, self.left, self.right = (
            self.words(column)
            for column in zip(
                *(
                    (mask_of(inside), mask_of(order) & ~mask_of(inside), *sides[number])
                    for number, (order, inside) in stretches.items()
                ),
                strict=True,
            )
        )

    def _stretch(self, number: int) -> tuple[list[int], list[int]] | None:
        """Return the crossings (places) that a line has in turn, and those that it passes; None if it passes none."""
        line, edges = self._planar.block.lines[number], self._planar.block.edges
        junctions = [edges[line.first].start, *(edges[k].end for k in range(line.first, line.stop))]
        inside = [self._place[j] for j in junctions[1:-1] if j in self._place]
        if not inside:
            return None
        held = [j in self._place for j in junctions]
        if sum(a != b for a, b in pairwise([False, *held, False])) > 2:  # always an even number
            raise ProofError("a line leaves a bundle and comes back")
        return [self._place[j] for j in junctions if j in self._place], inside

    def _check_sides(self, order: list[int], left: int, right: int) -> None:
        """Check that a line leaves every crossing on one side, and that no edge leads from one side to the other."""
        everything = mask_of(range(len(self._swept.junctions)))
        on = mask_of(order)
        if left & right or (left | right) & on or left | right | on != everything:
            raise ProofError("a line of a bundle has not every crossing on one side")
        for n in bits(left):
            for j in bits(self._planar.linked[self._swept.junctions[n]]):
                if j in self._place and right >> self._place[j] & 1:
                    raise ProofError("an edge leads from one side of a line of a bundle to the other")

    def _check_gaps(self, order: list[int], sides: dict[int, tuple[int, int]]) -> None:
        """Check that what lies on one side of any line is one stretch of this one."""
        for both in sides.values():
            for side in both:
                kept = [side >> n & 1 for n in order]
                if sum(a != b for a, b in pairwise([0, *kept, 0])) > 2:
                    raise ProofError("a line of a bundle has gaps on one side of another")

    def words(self, masks: Sequence[int]) -> Words:
        """Return bit sets as rows of 64-bit words."""
        count = self._swept.parts.shape[1]
        rows = [[mask >> 64 * w & (1 << 64) - 1 for w in range(count)] for mask in masks]
        return np.array(rows, dtype=np.uint64)


class _Table:
    """Finds the parts of a bundle by their crossings."""

    def __init__(self, parts: Words) -> None:
        self._parts = parts
        self._offsets: Words = np.arange(1, parts.shape[1] + 1, dtype=np.uint64) * _MIX[0]
        keys = self._keys(parts)
        self._where = np.argsort(keys, kind="stable")
        self._sorted = keys[self._where]

    def _keys(self, parts: Words) -> Words:
        mixed = parts + self._offsets
        mixed = (mixed ^ (mixed >> np.uint64(30))) * _MIX[1]
        mixed = (mixed ^ (mixed >> np.uint64(27))) * _MIX[2]
        keys: Words = (mixed ^ (mixed >> np.uint64(31))).sum(axis=1, dtype=np.uint64)
        return keys

    def find(self, parts: Words) -> npt.NDArray[np.int64]:
        """Return the number of each part."""
        at = np.minimum(np.searchsorted(self._sorted, self._keys(parts)), len(self._sorted) - 1)
        found = self._where[at]
        if not np.array_equal(self._parts[found], parts):
            raise ProofError("a part of a bundle of crossing lines is missing")
        return found


def _touch(parts: Words, masks: Words) -> Flags:
    """Tell for each part and each mask, shape (parts, masks), whether they have a crossing in common."""
    touch = np.zeros((len(parts), len(masks)), dtype=bool)
    for n, mask in enumerate(masks):
        for word in np.flatnonzero(mask):
            touch[:, n] |= parts[:, word] & mask[word] != 0
    return touch

"""The largest foundation: which patches of a block may lie on one."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from functools import cached_property

import numpy as np

from seamtree.block.model import Block
from seamtree.geometry.rectangle import fitting_turn

SLACK = 0.001
"""Inches by which a unit may be larger than the largest foundation: what reading a drawing may add to a size."""

_DIRECTIONS = np.exp(-1j * np.pi * np.arange(8) / 8)
"""Directions, an eighth of a half turn apart, in which shapes are measured before they are looked at closely."""

Size = tuple[float, float]
"""Width and height, inches."""


class Largest:
    """A rectangle that no unit of several patches may be larger than, turned by any angle.

    Whatever is part of something that fits also fits. A patch that is too large by itself stays a unit.

    Parameters
    ----------
    block
        The block.
    size
        Width and height of the rectangle, inches.
    """

    def __init__(self, block: Block, size: Size) -> None:
        self.size = size
        self._block = block
        self._sides = size[0] + SLACK, size[1] + SLACK
        self._diagonal = math.hypot(*self._sides)
        self._known: dict[int, bool] = {}
        corners = [np.array([block.junctions[j] for j in patch.ring]) @ (1, 1j) for patch in block.patches]
        spread = [np.multiply.outer(ring, _DIRECTIONS).real for ring in corners]
        self._low = [along.min(axis=0).tolist() for along in spread]
        self._high = [along.max(axis=0).tolist() for along in spread]

    def holds(self, patches: int) -> bool:
        """Tell whether a unit (patches as a bit set) is small enough, or a single patch."""
        if not patches & (patches - 1):
            return True
        known = self._known.get(patches)
        if known is None:
            known = self._known[patches] = self._fits(patches)
        return known

    def is_too_large(self, patch: int) -> bool:
        """Tell whether a patch is too large by itself."""
        return bool(self.oversized >> patch & 1)

    def least_units(self, patches: int) -> int:
        """Return a number of units that any order of a part has at least.

        Patches that are too large are units by themselves; of the others, so many lie pairwise too far apart to share
        a unit.
        """
        alone, left = patches & self.oversized, patches & ~self.oversized
        units = alone.bit_count()
        while left:
            units += 1
            left &= self._far[(left & -left).bit_length() - 1]
        return units

    @cached_property
    def oversized(self) -> int:
        """The patches that are too large by themselves, as a bit set."""
        return sum(1 << p for p in range(len(self._block.patches)) if not self._fits(1 << p))

    @cached_property
    def _far(self) -> list[int]:
        """Per patch, patches that are clearly too far away for one unit."""
        far = []
        lows, highs = np.array(self._low), np.array(self._high)
        for low, high in zip(lows, highs, strict=True):
            extent = np.maximum(highs, high) - np.minimum(lows, low)
            flags = (extent > self._diagonal).any(axis=1)
            far.append(int.from_bytes(np.packbits(flags, bitorder="little").tobytes(), "little"))
        return far

    def _fits(self, patches: int) -> bool:
        members = list(_bits(patches))
        low, high = ([along[p] for p in members] for along in (self._low, self._high))
        extent = [
            max(far) - min(near) for near, far in zip(zip(*low, strict=True), zip(*high, strict=True), strict=True)
        ]
        if max(extent) > self._diagonal:
            return False
        if _lies_in(extent, *self._sides):
            return True
        if min(extent) > max(self._sides):
            return False
        points = {self._block.junctions[j] for p in members for j in self._block.patches[p].ring}
        return fitting_turn(list(points), *self._sides) is not None


def _lies_in(extent: Sequence[float], width: float, height: float) -> bool:
    """Tell whether a shape fits in one of the directions in which it was measured; the square ones are four apart."""
    return any(across <= width and extent[n - 4] <= height for n, across in enumerate(extent))


def _bits(mask: int) -> Iterator[int]:
    while mask:
        low = mask & -mask
        yield low.bit_length() - 1
        mask ^= low

"""Where the allowances of sewn seams lie on the replay's cloth, and whether seams that meet nest.

Written for `seamtree.planning.replay` and used by nothing else. The rule is common practice: where two seams meet
across a join, they nest when their allowances fall on opposite sides of the line that they make. Seen from the point
where they meet, both allowances then lie the same way round it.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from itertools import product

from seamtree.planning.cloth import Cloth

Pair = tuple[int, int]

_SAME_BEND = 1e-6
"""Radians within which two pairs of seams are equally far from being in line."""

_DOUBT = 1e-7
"""Radians by which two ways of measuring an angle may differ."""


class Ridges:
    """The allowances of the seams sewn so far.

    Parameters
    ----------
    cloth
        The patches of the block.
    """

    def __init__(self, cloth: Cloth) -> None:
        self._cloth = cloth
        self._under: set[Pair] = set()

    def press(self, sides: Iterable[Pair], *, toward: bool) -> None:
        """Press a seam toward the part whose rings lead along the given sides, or away from it."""
        self._under.update(side if toward else side[::-1] for side in sides)

    def may_nest(self, corner: int, one: Sequence[int], other: Sequence[int]) -> bool:
        """Tell whether the seams that arrive at a corner can be said to nest.

        Parameters
        ----------
        corner
            A matched point.
        one, other
            The far ends of the seams that arrive from either side.
        """
        sure, _ = self._meetings(corner, one, other)
        return all(self._opposed(corner, *pair) for pair in sure)

    def may_clash(self, corner: int, one: Sequence[int], other: Sequence[int]) -> bool:
        """Tell whether they can be said not to nest."""
        _, possible = self._meetings(corner, one, other)
        return not all(self._opposed(corner, *pair) for pair in possible)

    def _opposed(self, corner: int, far: int, beyond: int) -> bool:
        return ((corner, far) in self._under) == ((corner, beyond) in self._under)

    def _meetings(self, corner: int, one: Sequence[int], other: Sequence[int]) -> tuple[list[Pair], list[Pair]]:
        """Return the pairs of seams that meet beyond doubt, and those that may: in line, or else nearest to it."""
        pairs = list(product(one, other))
        in_line = [(a, b) for a, b in pairs if self._cloth.must_be_in_line(a, corner, b)]
        possible = [(a, b) for a, b in pairs if self._cloth.may_be_in_line(a, corner, b)]
        bends = {(a, b): math.radians(self._cloth.turn(a, corner, b)) for a, b in pairs}
        least = min(bends.values())
        if in_line:
            return in_line, possible
        nearest = [pair for pair, bend in bends.items() if bend <= least + _SAME_BEND + _DOUBT]
        if possible:
            return [], [*possible, *nearest]
        return [pair for pair, bend in bends.items() if bend <= least + _SAME_BEND - _DOUBT], nearest

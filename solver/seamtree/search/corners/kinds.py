"""The units that a small part may fall into, and which of them have the same foundation."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from seamtree.block.foundations import classify
from seamtree.block.model import Block
from seamtree.search.peel import can_peel, interior_edges
from seamtree.search.tree import Order, units_in
from seamtree.search.view import SeamView, bits, build_view

_MOST = 400
"""As many parts that could be units are compared."""


@dataclass(frozen=True, slots=True)
class UnitKinds:
    """Parts that could be units, as bit sets of patches, with the number of their foundation; None if too many."""

    units: Mapping[int, int] | None

    @classmethod
    def of(cls, block: Block, patches: Iterable[int]) -> UnitKinds:
        """List the parts of some patches that could be units."""
        units = _all_units(build_view(block), patches)
        if units is None:
            return cls(None)
        kinds = classify(block, [list(bits(unit)) for unit in units])
        return cls(dict(zip(units, kinds, strict=True)))

    def count(self, order: Order) -> int:
        """Count the different foundations of an order; 0 where they were not compared."""
        if self.units is None:
            return 0
        return len({self.units[sum(1 << p for p in unit.patches)] for unit in units_in(order)})

    def least(self, units: int) -> int:
        """Return how many different foundations any order with so many units has at least."""
        alike = self.units is None or len(set(self.units.values())) < len(self.units)
        return 1 if alike else units


def _all_units(view: SeamView, patches: Iterable[int]) -> list[int] | None:
    """Grow every unit patch by patch: whatever is a unit is one without its last patch."""
    members = sorted(patches)
    level = [1 << p for p in members]
    found = dict.fromkeys(level)
    while level:
        onward: dict[int, None] = {}
        for unit in level:
            for p in members:
                grown = unit | 1 << p
                if grown != unit and can_peel(view, p, grown, interior_edges(view, grown)):
                    onward[grown] = None
        level = list(onward)
        found.update(onward)
        if len(found) > _MOST:
            return None
    return list(found)

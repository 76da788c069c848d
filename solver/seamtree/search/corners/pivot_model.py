"""Pivots in the junction model: at most two corners of a seam are free, the others are excess pivots."""

from __future__ import annotations

from typing import Any

from seamtree.search.corners.junction_model import JunctionModel
from seamtree.search.corners.local_rule import Pair

PIVOTS = 2
"""The place of excess pivots among the items of merit."""


class PivotModel:
    """Adds the free corners, at most two to a seam.

    A seam has a middle and, outwards of a free corner, arms that lead away from it to the ends of the seam. An arm
    that led from one free corner to another would lead both ways, so a seam has no third free corner.

    Parameters
    ----------
    model
        What they are added to.
    """

    def __init__(self, model: JunctionModel) -> None:
        self.model = model
        self.part = model.part
        self.cp = model.cp
        cp, part = self.cp, self.part
        self._middle = {e: cp.new_bool_var(f"middle {e}") for e in part.edges}
        self._arm = {(j, e): cp.new_bool_var(f"arm {j} {e}") for e in part.edges for j in part.ends(e)}
        for e in part.edges:
            cp.add_exactly_one(self._middle[e], *(self._arm[j, e] for j in part.ends(e)))
            for j in part.ends(e):
                cp.add_implication(self._arm[j, e], ~self.model.stops[j, e] if j in part.around else self.model.false)
        free = []
        for pair in (pair for pairs in part.pairs.values() for pair in pairs):
            corner = self._free_corner(pair)
            self._link_arms(pair, corner)
            free += [] if corner is None else [corner]
        self.model.costs[PIVOTS] = self.model.costs[0] - sum(free)

    def _free_corner(self, pair: Pair) -> Any | None:
        """Return the literal that a pair is a free corner; None if it can be no corner."""
        conditions = self._corner_at(pair)
        if conditions is None:
            return None
        free = self.cp.new_bool_var(f"free {pair.junction} {pair.edges}")
        for condition in conditions:
            self.cp.add_implication(free, condition)
        return free

    def _link_arms(self, pair: Pair, free: Any | None) -> None:
        """Carry middle and arms on through a last pair, or change over at a free corner."""
        j, (a, b) = pair.junction, pair.edges
        last = self.model.last[j, pair.edges]
        plain = [last] if free is None else [last, ~free]
        far = {e: next(k for k in self.part.ends(e) if k != j) for e in (a, b)}
        self.cp.add(self._middle[a] == self._middle[b]).only_enforce_if(plain)
        self.cp.add(self._arm[j, a] == self._arm[far[b], b]).only_enforce_if(plain)
        self.cp.add(self._arm[j, b] == self._arm[far[a], a]).only_enforce_if(plain)
        if free is not None:
            self.cp.add(self._middle[a] + self._middle[b] == 1).only_enforce_if(free)
            self.cp.add(self._arm[j, a] + self._arm[j, b] == 1).only_enforce_if(free)

    def _corner_at(self, pair: Pair) -> list[Any] | None:
        """Return what makes a pair a corner, all together; None if it is none. A curve's is where its run begins."""
        if pair.hard:
            return [self.model.last[pair.junction, pair.edges]]
        if pair in self.model.eased_at:
            before = self.model.before_on_curve[pair]
            return [self.model.eased_at[pair], *([] if before is None else [~self.model.eased_at[before]])]
        return [self.model.bends[pair]] if pair in self.model.bends else None

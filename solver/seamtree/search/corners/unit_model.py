"""Units in the junction model: which seams are joins, and what a unit may be."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from seamtree.search.corners.junction_model import JunctionModel
from seamtree.search.corners.kinds import UnitKinds
from seamtree.search.corners.local_rule import Pair
from seamtree.search.view import bits

UNITS = 3
"""The place of units among the items of merit; joins stand for them."""


class UnitModel:
    """Says which edges are joins, and which add a patch to a unit; every seam that does saves a unit.

    What is sewn into a unit ends no join, and it turns no corner. Each junction is passed by a join or lies on the
    seam that adds one patch, so joins are the edges of joins less the junctions that these pass.

    Parameters
    ----------
    model
        What it is added to.

    Attributes
    ----------
    join, joined
        Per edge, and per junction for its last pair, whether it is sewn by a join.
    """

    def __init__(self, model: JunctionModel) -> None:
        self.model = model
        self.part = model.part
        self.cp = model.cp
        self.join: dict[int, Any] = {}
        self.joined: dict[int, Any] = {}
        self._same: dict[int, dict[int, Any]] = {}
        self._add()

    def _add(self) -> None:
        cp, part = self.cp, self.part
        self.join = {e: cp.new_bool_var(f"join {e}") for e in part.edges}
        self.joined = {j: cp.new_bool_var(f"joined {j}") for j in part.around}
        for j, here in part.around.items():
            for e in here:
                cp.add_implication(self.join[e], self.joined[j])
                cp.add_bool_or(~self.joined[j], self.join[e], self.model.stops[j, e])
            for pair in part.pairs[j]:
                if pair.hard:
                    cp.add_implication(self.model.last[j, pair.edges], self.joined[j])
        for corner in (*self.model.bends.items(), *self.model.eased_at.items()):
            cp.add_implication(corner[1], self.joined[corner[0].junction])
        added = {(e, p): cp.new_bool_var(f"added {e} {p}") for e in part.edges for p in part.sides(e)}
        passing: dict[int, list[Any]] = {j: [] for j in part.around}
        for p in part.patches:
            self._add_patch(p, added, passing)
        for e in part.edges:
            cp.add_exactly_one(self.join[e], *(added[e, p] for p in part.sides(e)))
        for j, ways in passing.items():
            cp.add_exactly_one(self.joined[j], *ways)
        self.model.costs[UNITS] = sum(self.join.values()) - sum(self.joined.values())

    def _add_patch(self, p: int, added: Mapping[tuple[int, int], Any], passing: Mapping[int, list[Any]]) -> None:
        """Say along which edges a patch is added: one run in line, sewn before all its other edges."""
        cp, part = self.cp, self.part
        patch = part.block.patches[p]
        first = cp.new_int_var(-1, max(1, len(part.patches) - 2), f"first {p}")
        on: dict[int, Any] = {}
        for before, j, e in zip((patch.edges[-1], *patch.edges), patch.ring, patch.edges, strict=False):
            if j in part.around and (pair := part.pair(j, (before, e))).straight:
                on[j] = self._run_on(pair, (added[before, p], added[e, p]))
                passing[j].append(on[j])
        own = [e for e in patch.edges if e in self.model.time]
        for e in own:
            here = added[e, p]
            cp.add(self.model.time[e] <= first).only_enforce_if(here)
            cp.add(self.model.time[e] + here >= first + 1)
            for j in part.ends(e):
                if j in part.around:
                    cp.add_bool_or(~here, self.model.stops[j, e], *([on[j]] if j in on else []))
        cp.add(sum(added[e, p] for e in own) - sum(on.values()) <= 1)

    def _run_on(self, pair: Pair, both: tuple[Any, Any]) -> Any:
        """Return the literal that the seam which adds a patch runs straight on past a junction."""
        last = self.model.last[pair.junction, pair.edges]
        on = self.cp.new_bool_var(f"on {pair.junction} {pair.edges}")
        for needed in (*both, last):
            self.cp.add_implication(on, needed)
        self.cp.add_bool_or(on, ~both[0], ~both[1], ~last)
        return on

    def keep_apart(self, holds: Callable[[int], bool]) -> None:
        """Keep pairs of patches apart that no unit can hold both of."""
        patches = self.part.patches
        for n, p in enumerate(patches):
            for q in patches[n + 1 :]:
                if not holds(1 << p | 1 << q):
                    self.cp.add_bool_or(~self._same_unit(p)[q])

    def forbid_unit(self, unit: int, holds: Callable[[int], bool]) -> None:
        """Forbid any unit that holds some patches, of those that a unit is too large with, as few as will do."""
        few = unit
        for p in bits(unit):
            if not holds(few & ~(1 << p)):
                few &= ~(1 << p)
        first, *others = bits(few)
        same = self._same_unit(first)
        self.cp.add_bool_or(*(~same[p] for p in others))

    def _same_unit(self, patch: int) -> dict[int, Any]:
        """Return for every patch the literal that it is in the unit of another: they are across all but joins."""
        same = self._same.get(patch)
        if same is None:
            same = self._same[patch] = {
                q: self.model.true if q == patch else self.cp.new_bool_var(f"same {patch} {q}")
                for q in self.part.patches
            }
            for e in self.part.edges:
                a, b = self.part.sides(e)
                self.cp.add_bool_or(self.join[e], ~same[a], same[b])
                self.cp.add_bool_or(self.join[e], same[a], ~same[b])
        return same

    def foundations(self, kinds: UnitKinds) -> Any | None:
        """Return the number of different foundations; None where there are too many parts that could be units."""
        if kinds.units is None:
            return None
        needed = {kind: self.cp.new_bool_var(f"foundation {kind}") for kind in sorted(set(kinds.units.values()))}
        holds: dict[int, list[Any]] = {p: [] for p in self.part.patches}
        for unit, kind in kinds.units.items():
            sewn = self.cp.new_bool_var(f"unit {unit}")
            self.cp.add_implication(sewn, needed[kind])
            for e in self.part.edges:
                inside = sum(unit >> p & 1 for p in self.part.sides(e))
                if inside:
                    self.cp.add_implication(
                        sewn, ~self.join[e] if inside == len(self.part.sides(e)) else self.join[e]
                    )
            for p in bits(unit):
                holds[p].append(sewn)
        for choices in holds.values():
            self.cp.add_exactly_one(choices)
        return sum(needed.values())

    def joins_length(self) -> Any:
        """Return the length of the joins, in millionths of an inch."""
        return sum(self.part.block.micro_length(e) * join for e, join in self.join.items())

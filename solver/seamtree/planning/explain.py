"""Why a plan takes as many units as it does, in plain words and as plain data."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
from typing import Any

from seamtree.planning.model import Plan, id_order
from seamtree.planning.naming import middle_of, name_patches, sort_ids
from seamtree.planning.numbering import count_orders
from seamtree.planning.wishes import NO_WISHES
from seamtree.search.reasons import Knot, Reasons, find_reasons
from seamtree.search.straight.clusters import Run
from seamtree.search.view import build_view
from seamtree.words import count, inches, listed, place

_FEW = 8
"""As many seams of a knot are named one by one."""

_MANY = 12
"""As many seams are named that are joins whatever the order."""


def explain(plan: Plan, *, time_limit: float = 10.0) -> Explanation:
    """Find what stands in the way of fewer units in a plan, and what each choice of a seam costs.

    Parameters
    ----------
    plan
        The plan that is explained.
    time_limit
        Effort in seconds of an ordinary machine; counted, not clocked.
    """
    if not plan.counts.joins or plan.wishes != NO_WISHES:
        return Explanation(plan, Reasons((), (), (), None))
    return Explanation(plan, find_reasons(plan.block, time_limit=time_limit))


@dataclass(frozen=True, slots=True)
class Explanation:
    """What stands in the way of fewer units, and what each choice cost.

    Parameters
    ----------
    plan
        The plan that is explained.
    reasons
        What was found out about its block.
    """

    plan: Plan
    reasons: Reasons

    def __repr__(self) -> str:
        knots, locked = len(self.reasons.knots), len(self.reasons.locked)
        certain = len(self.reasons.certain)
        return f"<Explanation of {self.plan!r}: {certain} certain joins, {knots} knots, {locked} locked parts>"

    def sentences(self) -> Iterator[tuple[int, str]]:
        """Yield sentences, each with how deep it is set in: 0, 1 or 2."""
        return _Teller(self.plan, self.reasons).sentences()

    def to_json(self) -> dict[str, Any]:
        """Return the explanation as plain data, with the sentences."""
        return _Teller(self.plan, self.reasons).to_json()


class _Teller:
    """Tells what was found out about a block, as sentences and as plain data."""

    def __init__(self, plan: Plan, reasons: Reasons) -> None:
        self.plan, self.reasons = plan, reasons

    @cached_property
    def _ids(self) -> Mapping[int, str]:
        return self.plan.patch_ids()

    @cached_property
    def _joins(self) -> frozenset[frozenset[int]]:
        """The stretches of seam that the plan sews as joins."""
        return frozenset(frozenset(ends) for join in self.plan.joins() for ends in pairwise(join.seam.path))

    # -- words ------------------------------------------------------------------------------------------------

    def sentences(self) -> Iterator[tuple[int, str]]:
        """Yield sentences, each with how deep it is set in: 0, 1 or 2."""
        yield from self._units()
        numbered = list(self._numbered())
        if numbered:
            yield 0, "How the patches are numbered:"
            yield from ((1, line) for line in numbered)

    def _units(self) -> Iterator[tuple[int, str]]:
        if not self.plan.counts.joins:
            yield 0, "Why not fewer units: one unit is as few as there can be."
            return
        if self.plan.wishes != NO_WISHES:
            yield 0, "What was asked of the plan, and what it costs:"
            yield from ((1, f"- {sentence}") for sentence in self._asked())
            return
        if self.plan.counts.hard_corners:
            yield 0, "Why not fewer hard corners and units:"
            yield from self._locks()
        else:
            joins = count(self.plan.counts.joins, "join")
            yield 0, f"Why not fewer units: every join parts a unit in two, and {joins} cannot be done without:"
        yield from ((1, line) for line in self._certain())
        for knot in self.reasons.knots:
            takes = "" if self.plan.counts.hard_corners else f" that takes {count(knot.joins, 'join')}"
            yield 1, f"The seams {self._round(knot.patches)} make a knot{takes}."
            yield from ((2, line) for line in self._tied(knot))
        yield from ((0, line) for line in self._compared())

    def _asked(self) -> Iterator[str]:
        """Say of each wish what it costs."""
        costs = [note.message for note in self.plan.notes if note.code == "wish-costs"]
        yield from costs or ["Nothing: plans without that take as many units."]

    def _numbered(self) -> Iterator[str]:
        view = build_view(self.plan.block)
        for unit in self.plan.units():
            changes = sum(self._fabric(a) != self._fabric(b) for a, b in pairwise(unit.patches))
            orders = count_orders(view, sum(1 << p for p in unit.patches))
            if orders is not None and len(unit.patches) > 2:
                yield (
                    f"- unit {unit.name}: {count(orders, 'order')} can be sewn; this one changes fabric "
                    f"{count(changes, 'time') if changes else 'never'}"
                )

    def _fabric(self, patch: int) -> str | None:
        return self.plan.block.patches[patch].fabric

    def _locks(self) -> Iterator[tuple[int, str]]:
        for patches in self.reasons.locked:
            yield (
                1,
                f"The seams {self._round(patches)} lock each other: none runs straight through from side to side.",
            )
            yield from ((2, line) for line in self._locked(patches))

    def _round(self, patches: Sequence[int]) -> str:
        x, y = middle_of(self.plan.block, patches)
        return f"round {x:.2f}, {y:.2f} ({name_patches(self._ids, patches)})"

    def _certain(self) -> Iterator[str]:
        cuts = self.reasons.certain
        if cuts:
            yield (
                "Nothing crosses these seams, and others end on them from both sides, so each is a join whatever the "
                "order:"
            )
            for cut in cuts[:_MANY]:
                yield f"- from {self._ends(cut)}"
            if len(cuts) > _MANY:
                yield f"- and {len(cuts) - _MANY} more"

    def _tied(self, knot: Knot) -> Iterator[str]:
        places: dict[str, list[str]] = {}
        for name, j in sorted(((self._ids[p], j) for p, j in knot.witness), key=lambda turn: id_order(turn[0])):
            places.setdefault("several stretches" if j is None else f"corner at {self._at(j)}", []).append(name)
        names = _and(sort_ids(self._ids, [p for p, _ in knot.witness]))
        yield f"None of {names} can be sewn on last: what it shares with the others is not one straight stretch."
        if len(knot.witness) <= _MANY:
            yield "(" + "; ".join(f"{where}: {_and(names)}" for where, names in places.items()) + ".)"
        yield "Whichever seam through them is sewn last as a join, the whole block then takes"
        for cost in knot.cuts[:_FEW]:
            most = "" if cost.exact else "at most "
            units = self.plan.counts.units - knot.joins + cost.joins
            chosen = " (a join of this plan)" if self._is_join(cost.cut) else ""
            length = inches(self._length(cost.cut))
            yield f"- from {self._ends(cost.cut)}, {length} in: {most}{count(units, 'unit')}{chosen}"
        if len(knot.cuts) > _FEW:
            yield f"- and {len(knot.cuts) - _FEW} other seams, none of them better"

    def _locked(self, patches: Sequence[int]) -> Iterator[str]:
        stars = self._without_pairs(patches)
        if stars:
            corners = "a hard corner" if len(stars) == 1 else f"{len(stars)} hard corners"
            yield f"No two seams are in line at {self._places(stars)}: {corners}, whatever the order."
        given = {c.junction: c.kind for join in self.plan.joins() for c in join.seam.corners}
        inside = self._inner(patches) - set(stars)
        curved = sorted(j for j, kind in given.items() if j in inside and kind == "curved")
        ring = sorted(j for j, kind in given.items() if j in inside and kind != "curved")
        if curved:
            yield f"A curved seam is sewn round {self._places(curved)}."
        if ring:
            yield f"Seams that wait for each other in a ring are opened at {self._places(ring)}."

    def _places(self, junctions: Sequence[int]) -> str:
        return _and([self._at(j) for j in junctions])

    def _compared(self) -> Iterator[str]:
        found = self.reasons.comparison
        if found is None:
            return
        ways = "There is one way" if found.orders == 1 else f"There are {found.orders:,} ways"
        yield f"{ways} to cut the block up into {count(self.plan.counts.units, 'unit')}."
        foundations, length = self.plan.counts.foundations, sum(join.seam.length for join in self.plan.joins())
        if found.orders > 1:
            different = count(foundations, "different foundation")
            yield f"The one chosen takes {different} and {inches(length)} in of joins."
        if found.shortest < length - 1e-6:
            yield (
                f"Joins could be as short as {inches(found.shortest)} in, but on {found.foundations_then} different "
                "foundations."
            )

    # -- data -------------------------------------------------------------------------------------------------

    def to_json(self) -> dict[str, Any]:
        """Return the explanation as plain data, with the sentences."""
        compared = self.reasons.comparison
        return {
            "certain": [[list(end) for end in self._end_points(cut)] for cut in self.reasons.certain],
            "knots": [
                {
                    "patches": sort_ids(self._ids, knot.patches),
                    "joins": knot.joins,
                    "witness": sort_ids(self._ids, [p for p, _ in knot.witness]),
                    "seams": [
                        {
                            "path": [list(end) for end in self._end_points(cost.cut)],
                            "units": self.plan.counts.units - knot.joins + cost.joins,
                            "exact": cost.exact,
                            "chosen": self._is_join(cost.cut),
                        }
                        for cost in knot.cuts
                    ],
                }
                for knot in self.reasons.knots
            ],
            "locked": [sort_ids(self._ids, patches) for patches in self.reasons.locked],
            "ways": None if compared is None else compared.orders,
            "shortest_joins": None if compared is None else round(compared.shortest, 6),
            "sentences": [sentence for _, sentence in self.sentences()],
        }

    # -- places -----------------------------------------------------------------------------------------------

    def _at(self, junction: int) -> str:
        return place(self.plan.block.junctions[junction])

    def _end_points(self, cut: Run) -> tuple[tuple[float, float], tuple[float, float]]:
        first, last = (self.plan.block.edges[k] for k in cut)
        return self.plan.block.junctions[first.start], self.plan.block.junctions[last.end]

    def _ends(self, cut: Run) -> str:
        first, last = (self.plan.block.edges[k] for k in cut)
        return f"{self._at(first.start)} to {self._at(last.end)}"

    def _length(self, cut: Run) -> float:
        return sum(map(self.plan.block.edge_length, range(cut[0], cut[1] + 1)))

    def _is_join(self, cut: Run) -> bool:
        edges = (self.plan.block.edges[k] for k in range(cut[0], cut[1] + 1))
        return all(frozenset((edge.start, edge.end)) in self._joins for edge in edges)

    def _inner(self, patches: Sequence[int]) -> set[int]:
        """Return the junctions with nothing but these patches round them."""
        inside = set(patches)
        around: dict[int, set[int]] = {}
        for edge in self.plan.block.edges:
            for j in (edge.start, edge.end):
                around.setdefault(j, set()).update((edge.left, edge.right))
        return {j for j, beside in around.items() if beside <= inside}

    def _without_pairs(self, patches: Sequence[int]) -> list[int]:
        """Return the junctions inside a part where three seams or more meet and no two are in line."""
        arms = self.plan.block.interior_arms()
        return sorted(
            j
            for j in self._inner(patches)
            if len(arms[j]) > 2 and not any(self.plan.block.in_line(*ab) for ab in pairwise(arms[j]))
        )


def _and(names: Sequence[str]) -> str:
    """Name the first few of several things."""
    if len(names) > _MANY:
        return ", ".join(names[:_MANY]) + f" and {len(names) - _MANY} more"
    return listed(names)

"""The junction model: the best sewing order of a part, by constraint programming on its junctions.

For every interior junction one pair of edges is last. Edges carry times; the last pair of a junction is sewn at one
moment, strictly later than all other edges there. On top of this, family by family:

- *corners*: hard pairs, bends in lines that are not straight as a whole, curves;
- *pivots*: at most two corners of each seam are free, the others are excess pivots;
- *units*: at most one straight seam adds each patch to a unit as a single patch; each such seam saves a unit.

The items of merit are minimised one after the other, each frozen before the next.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from seamtree.block.model import Block
from seamtree.search.greedy import construct_order
from seamtree.search.kinds import UnitKinds
from seamtree.search.local_rule import CurveChain, Pair, Part, PartResult, build_part
from seamtree.search.narrow import fewest_narrow_units
from seamtree.search.orders import (
    Corners,
    SewnSeam,
    find_corners,
    is_matched,
    last_pairs,
    replay,
    score,
    sew,
    trace_seams,
)
from seamtree.search.tree import Merit, Order
from seamtree.search.view import bits

ITEMS = 4
"""Hard corners, set-in seams, excess pivots, units: what the model minimises."""

PIVOTS = 2
"""Place of the excess pivots among them."""

_NARROW_PER_SECOND = 3_000
"""Parts that the search by narrow cuts may look at for each second of effort."""

FLOORS = (0, 0, 0, 1)
"""What each item is at least in any part."""

FREE_PIVOTS = 2
"""Hard corners of one seam that cost no excess pivot."""

SHARES = (0.3, 0.3, 0.5, 1.0)
"""What each item may spend of the effort that is left when its turn comes."""

TIDY = 0.05
"""What each of matched points, foundations and length of joins may spend of all effort once units are settled."""

TIDY_PATCHES = 40
"""Parts up to this size are tidied so."""

MOST_EDGES = 1_000
"""Edges of a part for which the model is built in any case; it takes a while to build and to read."""

EDGES_PER_SECOND = 2_000
"""Edges of a part for which it is built for each second of effort."""

RING_ROUNDS = 20
"""How often a solution with a closed ring is cut off before the item is left as it is."""


# ------------------------------------------------------------------------------------------------ hints


class Trace:
    """A sewing order in the words of the model, to hint every variable from."""

    def __init__(self, part: Part, order: Order) -> None:
        steps = replay(part, order)
        self.step_of = {e: k for k, step in enumerate(steps) for e in step.seam.edges}
        self.last = last_pairs(part, self.step_of)
        self.added: dict[int, tuple[int, frozenset[int]]] = {}
        self.bends: set[int] = set()
        self.eased: set[int] = set()
        self.free: set[int] = set()
        self.middle: set[int] = set()
        self.outward: set[tuple[int, int]] = set()
        for k, step in enumerate(steps):
            if step.added is not None:
                self.added[step.added] = (k, frozenset(step.seam.edges))
            self._note(part, step.seam)

    def _note(self, part: Part, seam: SewnSeam) -> None:
        corners = find_corners(part, seam)
        self.bends.update(corners.bends)
        self.eased.update(e for run in corners.curves for e in run)
        passed = [p.junction for p in seam.pairs]
        free = sorted(passed.index(j) for j in _corner_places(part, seam, corners))[:FREE_PIVOTS]
        self.free.update(passed[i] for i in free)
        start = free[0] + 1 if free else 0
        stop = free[1] + 1 if len(free) > 1 else len(seam.edges)
        self.middle.update(seam.edges[start:stop])
        self.outward.update((passed[i], seam.edges[i]) for i in range(start))
        self.outward.update((passed[i - 1], seam.edges[i]) for i in range(stop, len(seam.edges)))


def _corner_places(part: Part, seam: SewnSeam, corners: Corners) -> list[int]:
    """Return one junction for every hard corner; a curve has its corner where its run begins along the chain."""
    places = [p.junction for p in seam.pairs if p.hard] + list(corners.bends)
    if not corners.curves:
        return places
    chain_of = {e: chain for chain in part.curves for e in chain.edges}
    for run in corners.curves:
        chords = set(run)
        passed = {p.junction for p in seam.pairs if p.curved and chords.issuperset(p.edges)}
        chain = chain_of[run[0]]
        count = len(chain.junctions)
        places.append(
            next(
                (
                    j
                    for i, j in enumerate(chain.junctions)
                    if j in passed and not ((i > 0 or chain.closed) and chain.junctions[(i - 1) % count] in passed)
                ),
                chain.junctions[0],
            )
        )
    return places


# ------------------------------------------------------------------------------------------------ model


class JunctionModel:
    """Variables and constraints over one part; the families are added when their turn comes.

    Parameters
    ----------
    part
        The part.
    """

    def __init__(self, part: Part) -> None:
        from ortools.sat.python import cp_model

        self.part = part
        self.cp = cp_model.CpModel()
        self._hints: list[tuple[Any, Callable[[Trace], int]]] = []
        self._true = self.cp.new_constant(1)
        self._false = self.cp.new_constant(0)
        self.last: dict[tuple[int, tuple[int, int]], Any] = {}
        self.stops: dict[tuple[int, int], Any] = {}
        self.bends: dict[Pair, Any] = {}
        self.eased: dict[int, Any] = {}
        self.eased_at: dict[Pair, Any] = {}
        self.free: dict[int, list[Any]] = {}
        self.unit_step: dict[int, list[Any]] = {}
        self._before_on_curve: dict[Pair, Pair | None] = {}
        self._order_edges()
        self.costs: list[Any] = [*self._count_corners()]

    # -- variables -----------------------------------------------------------------------------------

    def _bool(self, name: str, hint: Callable[[Trace], bool]) -> Any:
        variable = self.cp.new_bool_var(name)
        self._hints.append((variable, hint))
        return variable

    def _int(self, low: int, high: int, name: str, hint: Callable[[Trace], int]) -> Any:
        variable = self.cp.new_int_var(low, high, name)
        self._hints.append((variable, hint))
        return variable

    def hint(self, order: Order) -> None:
        """Start the next solve from a sewing order."""
        trace = Trace(self.part, order)
        self.cp.clear_hints()  # type: ignore[no-untyped-call]
        hints = self.cp.proto.solution_hint
        hints.vars.extend([variable.index for variable, _ in self._hints])
        hints.values.extend([int(value(trace)) for _, value in self._hints])

    # -- order ---------------------------------------------------------------------------------------

    def _order_edges(self) -> None:
        """Times, last pairs, and the edges that stop at a junction because they are not in its last pair."""
        horizon = max(0, len(self.part.patches) - 2)
        self.time: dict[int, Any] = {}
        for first in self.part.edges:
            if first not in self.time:
                moment = self._int(0, horizon, f"time {first}", lambda t, e=first: t.step_of[e])  # type: ignore[misc]
                self.time.update(dict.fromkeys(self._always_together(first), moment))
        for j, pairs in self.part.pairs.items():
            for pair in pairs:
                self.last[j, pair.edges] = (
                    self._true
                    if len(pairs) == 1
                    else self._bool(f"last {j} {pair.edges}", lambda t, j=j, p=pair: t.last[j] == p)  # type: ignore[misc]
                )
            if len(pairs) > 1:
                self.cp.add_exactly_one(self.last[j, pair.edges] for pair in pairs)
            self._close(j)

    def _always_together(self, first: int) -> list[int]:
        """Return an edge and those that hang on it by junctions of two edges: one step sews them all."""
        found, reached = [first], {first}
        for e in found:
            for j in self.part.ends(e):
                here = self.part.around.get(j, ())
                if len(here) == 2:
                    fresh = [k for k in here if k not in reached]
                    reached.update(fresh)
                    found += fresh
        return found

    def _close(self, j: int) -> None:
        """Sew the last pair of a junction at one moment, strictly later than all other edges there."""
        here = self.part.around[j]
        if len(here) == 2:
            self.stops.update(((j, e), self._false) for e in here)
            return
        closing = self._int(
            1, max(1, len(self.part.patches) - 2), f"closing {j}", lambda t: t.step_of[t.last[j].edges[0]]
        )
        for e in here:
            others = [self.last[j, pair.edges] for pair in self.part.pairs[j] if e not in pair.edges]
            if len(others) == 1:
                stop = others[0]
            else:
                stop = self._bool(f"stop {j} {e}", lambda t, e=e: e not in t.last[j].edges)  # type: ignore[misc]
                self.cp.add(stop == sum(others))
            self.stops[j, e] = stop
            self.cp.add(self.time[e] + stop <= closing)
            self.cp.add(self.time[e] >= closing).only_enforce_if(~stop)

    # -- corners -------------------------------------------------------------------------------------

    def _count_corners(self) -> tuple[Any, Any]:
        """Return the number of hard corners, and of set-in ones among them."""
        for chain in self.part.curves:
            self._ease(chain)
        self._bend()
        hard: list[Any] = [*self.bends.values(), *self._curved_terms()]
        set_in: list[Any] = [*self.bends.values()]
        for j, pairs in self.part.pairs.items():
            hard.append(self._choice_cost(j, {pair: int(pair.hard) for pair in pairs}))
            set_in.append(self._choice_cost(j, {pair: int(pair.set_in) for pair in pairs}))
        return sum(hard), sum(set_in)

    def _choice_cost(self, j: int, cost: Mapping[Pair, int]) -> Any:
        """Return the cost of the last pair; what every choice costs is a constant, which keeps bounds tight."""
        least = min(cost.values())
        return least + sum((c - least) * self.last[j, pair.edges] for pair, c in cost.items() if c > least)

    def _ease(self, chain: CurveChain) -> None:
        """Say which chords lie in a run of the curve that counts as curved."""
        for e in chain.edges:
            self.eased[e] = self._bool(f"eased {e}", lambda t, e=e: e in t.eased)  # type: ignore[misc]
        pairs = [self._chain_pair(chain, i) for i in range(len(chain.junctions))]
        for i, pair in enumerate(pairs):
            last = self.last[pair.junction, pair.edges]
            both = self._bool(
                f"eased at {pair.junction}",
                lambda t, p=pair: t.last[p.junction] == p and p.edges[0] in t.eased,  # type: ignore[misc]
            )
            self.eased_at[pair] = both
            self._before_on_curve[pair] = pairs[i - 1] if i or chain.closed else None
            self.cp.add_implication(both, last)
            for e in pair.edges:
                self.cp.add_implication(both, self.eased[e])
                self.cp.add_bool_or(both, ~last, ~self.eased[e])
            if not pair.straight:
                self.cp.add_implication(last, both)

    def _curved_terms(self) -> Iterable[Any]:
        """Yield terms that add up to the number of curved runs: chords less links."""
        for chain in self.part.curves:
            yield from (self.eased[e] for e in chain.edges)
            pairs = [self._chain_pair(chain, i) for i in range(len(chain.junctions))]
            yield from (-self.eased_at[pair] for pair in pairs)
            if chain.closed:
                self.forbid_ring(pairs)

    def _chain_pair(self, chain: CurveChain, i: int) -> Pair:
        return self.part.pair(chain.junctions[i], (chain.edges[i], chain.edges[(i + 1) % len(chain.edges)]))

    def forbid_ring(self, pairs: Iterable[Pair]) -> None:
        """Forbid that pairs which close a ring are all last: no seam runs into itself, so no part has a hole."""
        self.cp.add_bool_or(*(~self.last[pair.junction, pair.edges] for pair in pairs))

    def _bend(self) -> None:
        """Bend every sewn run in line that is not straight as a whole, or ease it round a curve."""
        for window in self.part.windows:
            open_ends = [~self.last[p.junction, p.edges] for p in window.pairs]
            if window.curve:
                self.cp.add_bool_or(self.eased_at[window.pairs[0]], *open_ends)
                continue
            ways = [self.eased_at[p] if p.curved else self._bend_at(p) for p in window.pairs]
            self.cp.add_bool_or(*ways, *open_ends)

    def _bend_at(self, pair: Pair) -> Any:
        j = pair.junction
        if pair not in self.bends:
            self.bends[pair] = self._bool(f"bend {j}", lambda t: j in t.bends and t.last[j] == pair)
            self.cp.add_implication(self.bends[pair], self.last[j, pair.edges])
        return self.bends[pair]

    # -- excess pivots -------------------------------------------------------------------------------

    def add_pivots(self) -> None:
        """Add the free corners, at most two to a seam.

        A seam has a middle and, outwards of a free corner, arms that lead away from it to the ends of the seam. An
        arm that led from one free corner to another would lead both ways, so a seam has no third free corner.
        """
        part = self.part
        self.middle = {e: self._bool(f"middle {e}", lambda t, e=e: e in t.middle) for e in part.edges}  # type: ignore[misc]
        self.arm = {
            (j, e): self._bool(f"arm {j} {e}", lambda t, j=j, e=e: (j, e) in t.outward)  # type: ignore[misc]
            for e in part.edges
            for j in part.ends(e)
        }
        for e in part.edges:
            self.cp.add_exactly_one(self.middle[e], *(self.arm[j, e] for j in part.ends(e)))
            for j in part.ends(e):
                self.cp.add_implication(self.arm[j, e], ~self.stops[j, e] if j in part.around else self._false)
        for pairs in part.pairs.values():
            for pair in pairs:
                self._link_arms(pair)
        self.costs.append(self.costs[0] - sum(f for marks in self.free.values() for f in marks))

    def _free_corner(self, pair: Pair) -> Any | None:
        """Return the literal that the corner of a pair is free, None where there can be no corner."""
        j, last = pair.junction, self.last[pair.junction, pair.edges]
        if pair.hard:
            conditions = [last]
        elif pair.curved:
            conditions = self._head_conditions(pair)
        elif pair in self.bends:
            conditions = [self.bends[pair]]
        else:
            return None
        free = self._bool(f"free {j} {pair.edges}", lambda t: j in t.free and t.last[j] == pair)
        for condition in conditions:
            self.cp.add_implication(free, condition)
        self.free.setdefault(j, []).append(free)
        return free

    def _head_conditions(self, pair: Pair) -> list[Any]:
        """A curve has its one corner where its run begins along the chain."""
        before = self._before_on_curve[pair]
        return [self.eased_at[pair]] if before is None else [self.eased_at[pair], ~self.eased_at[before]]

    def _link_arms(self, pair: Pair) -> None:
        """Carry middle and arms on through a last pair, or change over at a free corner."""
        j, (a, b) = pair.junction, pair.edges
        last = self.last[j, pair.edges]
        free = self._free_corner(pair)
        plain = [last] + ([] if free is None else [~free])
        far = {e: next(k for k in self.part.ends(e) if k != j) for e in (a, b)}
        self.cp.add(self.middle[a] == self.middle[b]).only_enforce_if(plain)
        self.cp.add(self.arm[j, a] == self.arm[far[b], b]).only_enforce_if(plain)
        self.cp.add(self.arm[j, b] == self.arm[far[a], a]).only_enforce_if(plain)
        if free is not None:
            self.cp.add(self.middle[a] + self.middle[b] == 1).only_enforce_if(free)
            self.cp.add(self.arm[j, a] + self.arm[j, b] == 1).only_enforce_if(free)

    # -- units ---------------------------------------------------------------------------------------

    def add_units(self) -> None:
        """Add the seams that add a single patch to a unit."""
        self.unit_step = {e: [] for e in self.part.edges}
        heads = [head for p in self.part.patches for head in self._add_patch(p)]
        for steps in self.unit_step.values():
            if len(steps) > 1:
                self.cp.add_at_most_one(steps)
        for j, here in self.part.around.items():
            for e in here:
                for f in here:
                    if f != e:
                        # A seam that is sewn into a unit ends no seam that is not.
                        self.cp.add(sum(self.unit_step[e]) <= sum(self.unit_step[f]) + self.stops[j, e])
        self.costs.append(len(self.part.patches) - sum(heads))

    def matched_points(self) -> Any:
        """Return the matched points; a pair with seams on both sides is never sewn into a unit, so lies in a join."""
        return sum(
            self._choice_cost(j, {pair: int(is_matched(self.part, pair)) for pair in pairs})
            for j, pairs in self.part.pairs.items()
        )

    def joins_length(self) -> Any:
        """Return the length of the joins, in millionths of an inch."""
        length = self.part.block.micro_length
        return sum(length(e) * (1 - sum(steps)) for e, steps in self.unit_step.items())

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
                    self.cp.add(sum(self.unit_step[e]) == (inside == 2)).only_enforce_if(sewn)
            for p in bits(unit):
                holds[p].append(sewn)
        for choices in holds.values():
            self.cp.add_exactly_one(choices)
        return sum(needed.values())

    def _add_patch(self, p: int) -> list[Any]:
        """Say along which edges a patch is added to a unit; return the first edges of these runs."""
        patch = self.part.block.patches[p]
        own = [e for e in patch.edges if e in self.time]
        added = {
            e: self._bool(f"added {p} {e}", lambda t, e=e: p in t.added and e in t.added[p][1])  # type: ignore[misc]
            for e in own
        }
        first = self._int(
            -1, max(0, len(self.part.patches) - 2), f"first {p}", lambda t: t.added[p][0] if p in t.added else -1
        )
        for e in own:
            self.unit_step[e].append(added[e])
            self.cp.add(self.time[e] <= first).only_enforce_if(added[e])
            self.cp.add(self.time[e] + added[e] >= first + 1)
            if e in self.eased:
                self.cp.add_implication(added[e], ~self.eased[e])
        heads = []
        count = len(patch.edges)
        on = {}
        for i, e in enumerate(patch.edges):
            before = patch.edges[i - 1]
            if e in added and before in added:
                on[i] = self._run_on(p, patch.ring[i], before, e, added)
        for i, e in enumerate(patch.edges):
            if e not in added:
                continue
            for j, link in ((patch.ring[i], on.get(i)), (patch.ring[(i + 1) % count], on.get((i + 1) % count))):
                if j in self.part.around:
                    self.cp.add_bool_or(~added[e], self.stops[j, e], *([] if link is None else [link]))
            heads.append(self._head(p, e, added[e], on.get(i)))
        self.cp.add_at_most_one(heads)
        return heads

    def _run_on(self, p: int, j: int, before: int, e: int, added: Mapping[int, Any]) -> Any | None:
        """Return the literal that the seam which adds a patch runs straight on past a junction, None if it cannot."""
        if j not in self.part.around:
            return None
        pair = self.part.pair(j, (before, e))
        if not pair.straight:
            return None
        on = self._bool(f"on {p} {j}", lambda t: p in t.added and {before, e} <= t.added[p][1] and t.last[j] == pair)
        self.cp.add_implication(on, added[before])
        self.cp.add_implication(on, added[e])
        self.cp.add_implication(on, self.last[j, pair.edges])
        if pair in self.bends:
            self.cp.add_implication(on, ~self.bends[pair])
        return on

    def _head(self, p: int, e: int, added: Any, on: Any | None) -> Any:
        """Return the literal that the run along which a patch is added begins with an edge."""
        if on is None:
            return added
        before = next(b for b in on_edges(self.part, p, e))
        head = self._bool(
            f"head {p} {e}",
            lambda t: p in t.added and e in t.added[p][1] and before not in t.added[p][1],
        )
        self.cp.add_implication(head, added)
        self.cp.add_bool_or(~added, head, on)
        self.cp.add_bool_or(~head, ~on)
        return head


def on_edges(part: Part, p: int, e: int) -> Sequence[int]:
    """Return the edge before an edge in the ring of a patch."""
    edges = part.block.patches[p].edges
    return (edges[edges.index(e) - 1],)


# ------------------------------------------------------------------------------------------------ solving


@dataclass(slots=True)
class _Search:
    """The state of the staged search: the best order so far and what is left to spend."""

    part: Part
    order: Order
    merit: Merit
    effort: float
    kinds: UnitKinds | None = None
    spent: float = 0.0

    def floor(self, item: int) -> int:
        """Return what an item is at least, given the items before it.

        A unit step turns no corner and a join has at most two free corners, so (hard corners - excess) / 2 joins
        are needed.
        """
        if item < ITEMS - 1:
            return FLOORS[item]
        return 1 + math.ceil((self.merit.hard_corners - self.merit.excess_pivots) / FREE_PIVOTS)

    def solve(self, model: JunctionModel, item: int, share: float) -> int:
        """Minimise one item with the earlier ones frozen; return the bound."""
        floor = self.floor(item)
        if self.merit[item] <= floor:
            return floor
        model.cp.add(model.costs[item] >= floor)
        return max(floor, self.minimise(model, model.costs[item], self.effort * share))

    def minimise(self, model: JunctionModel, goal: Any, spend: float) -> int:
        """Minimise a goal, cutting off rings as they turn up; return the bound."""
        model.hint(self.order)
        model.cp.minimize(goal)
        least = 0
        for _ in range(RING_ROUNDS):
            before = self.effort
            bound, closed = self._solve_once(model, max(0.01, spend))
            least = max(least, bound)
            spend -= before - self.effort
            if not closed or spend <= 0:
                break
            for ring in closed:
                model.forbid_ring(ring.pairs)
        return least

    def _solve_once(self, model: JunctionModel, spend: float) -> tuple[int, list[SewnSeam]]:
        """Solve the model as it is; return the bound and the rings that the solution closes."""
        from ortools.sat.python import cp_model

        solver = cp_model.CpSolver()
        solver.parameters.max_deterministic_time = spend
        # One worker and counted time: the same answer on every machine.
        solver.parameters.num_workers = 1
        solver.parameters.catch_sigint_signal = False  # else Ctrl-C would end the process unheard from then on
        solver.parameters.random_seed = 1
        # Parts are small: relaxing, probing and looking for symmetries take longer than they save.
        solver.parameters.linearization_level = 0
        solver.parameters.cp_model_probing_level = 0
        solver.parameters.symmetry_level = 0
        status = solver.solve(model.cp)
        self.effort -= solver.response_proto.deterministic_time
        self.spent += solver.response_proto.deterministic_time
        closed: list[SewnSeam] = []
        if status in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            closed = self._take(model, solver)
        return math.ceil(solver.best_objective_bound - 1e-6), closed

    def _take(self, model: JunctionModel, solver: Any) -> list[SewnSeam]:
        """Read the order off a solution and keep it if it is better; return the rings that it closes."""
        last = {
            j: next(p for p in pairs if solver.boolean_value(model.last[j, p.edges]))
            for j, pairs in self.part.pairs.items()
        }
        rings = [seam for seam in trace_seams(self.part, self.part.edges, last) if seam.ring]
        if rings:
            return rings
        joins = {e: not any(solver.boolean_value(s) for s in steps) for e, steps in model.unit_step.items()}
        horizon = len(self.part.patches)
        rank = {e: solver.value(t) + horizon * joins.get(e, False) for e, t in model.time.items()}
        order = sew(self.part, last, rank)
        merit = score(self.part, order)
        if self._rank(order, merit) < self._rank(self.order, self.merit):
            self.order, self.merit = order, merit
        return []

    def _rank(self, order: Order, merit: Merit) -> tuple[int, ...]:
        """Return what an order costs, in the order of merit."""
        return (*merit[:-1], self.kinds.count(order) if self.kinds else 0, merit.length)

    def narrow(self) -> int | None:
        """Search for the fewest units by narrow cuts, where that settles them; return the bound."""
        if self.merit.excess_pivots or self.part.curves:
            return None
        found = fewest_narrow_units(self.part, self.merit, budget=1 + int(self.effort * _NARROW_PER_SECOND))
        if found.order is not None:
            self.order, self.merit = found.order, score(self.part, found.order)
        return found.least_units if found.least_units >= self.merit.units else None


def solve_part(block: Block, patches: Iterable[int], *, effort: float, tidy: bool = True) -> PartResult:
    """Find the best sewing order of a part.

    Parameters
    ----------
    block
        The block.
    patches
        An edge-connected set of its patches without holes.
    effort
        Deterministic seconds for the solver, all items together.
    tidy
        Whether fewer matched points, fewer different foundations and shorter joins are looked for as well.

    Returns
    -------
    PartResult
        The order, and what is proven about it.
    """
    part = build_part(block, patches)
    order, merit = construct_order(part)
    if len(part.edges) > max(MOST_EDGES, EDGES_PER_SECOND * effort):
        return PartResult(order, merit, Merit(*FLOORS), (False,) * 4, (False,) * 3)
    search = _Search(part, order, merit, effort)
    model = JunctionModel(part)
    bounds: list[int] = []
    for item in range(ITEMS - 1):
        if item == PIVOTS:
            model.add_pivots()
        bounds.append(search.solve(model, item, SHARES[item]))
        model.cp.add(model.costs[item] <= search.merit[item])
    settled = search.narrow() if bounds == list(search.merit[: ITEMS - 1]) else None
    if settled is None:
        model.add_units()
        settled = search.solve(model, ITEMS - 1, SHARES[-1])
    bounds.append(settled)
    levels = [search.merit[item] <= bound for item, bound in enumerate(bounds)]
    proven = tuple(all(levels[: k + 1]) for k in range(ITEMS))
    tidied = _tidy(search, model, effort) if tidy and all(levels) else (False, False, False)
    return PartResult(search.order, search.merit, Merit(*bounds), proven, tidied, search.spent)  # type: ignore[arg-type]


def _tidy(search: _Search, model: JunctionModel, effort: float) -> tuple[bool, bool, bool]:
    """Look for fewer matched points, then fewer different foundations, then shorter joins, with all else frozen.

    Returns
    -------
    tuple of bool
        Whether each of the three is proven, the ones before it included.
    """
    part = search.part
    if len(part.patches) > TIDY_PATCHES:
        return search.merit.matched_points == 0, False, False
    if len(model.costs) < ITEMS:
        model.add_units()
    model.cp.add(model.costs[ITEMS - 1] <= search.merit.units)
    kinds = UnitKinds.of(part.block, part.patches)
    search.kinds = kinds
    goals: tuple[tuple[Callable[[], Any], Callable[[], int], int], ...] = (
        (model.matched_points, lambda: search.merit.matched_points, 0),
        (lambda: model.foundations(kinds), lambda: kinds.count(search.order), kinds.least(search.merit.units)),
        (model.joins_length, lambda: search.merit.length, 0),
    )
    proven: list[bool] = []
    for goal, reached, least in goals:
        cost = goal()
        if cost is None:
            proven.append(False)
            continue
        search.effort = TIDY * effort
        bound = search.minimise(model, cost, search.effort) if reached() > least else least
        proven.append(all(proven) and reached() <= bound)
        model.cp.add(cost <= reached())
    return proven[0], proven[1], proven[2]

"""The junction model: the best sewing order of a part, by constraint programming on its junctions.

For every interior junction one pair of edges is last. Edges carry times; the last pair of a junction is sewn at one
moment, strictly later than all other edges there. On top of this, family by family:

- *corners*: hard pairs, bends in lines that are not straight as a whole, curves;
- *units*: every edge is a join, or adds the patch on one of its sides to a unit as a single patch;
- *pivots*: at most two corners of each seam are free, the others are excess pivots.

All items of merit are minimised in one sum, weighted so that each counts more than all after it can come to. The
corners alone come first, for they are quickly proven and stay so whatever becomes of the rest; what they prove is a
constraint, and what they find the start, of what follows.

A closed walk along edges in which each would have to be sewn no earlier than the one before it is impossible, so at
one of its junctions the next edge stops. Such rows follow from the times, but linear relaxations do not see times;
for walks round single patches, and for rings of lines each of which ends on the next, they are written down.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from seamtree.block.model import Block
from seamtree.proofs.claims import FREE_PIVOTS
from seamtree.search.corners.greedy import construct_order
from seamtree.search.corners.kinds import UnitKinds
from seamtree.search.corners.local_rule import CurveChain, Pair, Part, PartResult, build_part
from seamtree.search.corners.narrow import fewest_narrow_units
from seamtree.search.corners.orders import is_matched, score, sew, trace_seams
from seamtree.search.corners.witnesses import corner_places
from seamtree.search.effort import Deadline
from seamtree.search.solver import Solution, hint, new_model, solve_model
from seamtree.search.tree import Merit, Order, units_in
from seamtree.search.view import bits

if TYPE_CHECKING:
    from seamtree.search.limited import UnitLimit

ITEMS = 4
"""Hard corners, set-in seams, excess pivots, units: what the model minimises."""

FLOORS = (0, 0, 0, 1)
"""What each item is at least in any part."""

CORNERS_SHARE = 0.4
"""What the corners alone may spend of all effort."""

QUICK_SHARE = 0.02
"""What they may spend before that without linear relaxations, which few parts need for their corners."""

FREE_SHARE = 0.7
"""What the search for an order without excess pivots may spend of the effort that is left."""

MOST_EDGES = 1_000
"""Edges of a part for which the model is built in any case; it takes a while to build and to read."""

EDGES_PER_SECOND = 2_000
"""Edges of a part for which it is built for each second of effort."""

ROUNDS = 40
"""How often closed rings are cut off before the goal is left as it is."""

_WALKS = 500
"""Rings of lines that are looked for at most."""

_WALK_LENGTH = 24
"""Edges of such a ring at most."""

TIDY = 0.15
"""What each of matched points, foundations and length of joins may spend of all effort once units are settled."""

TIDY_PATCHES = 40
"""Parts up to this size are tidied so."""

_CERTAIN = 0.5
"""Share of the junctions with a certain corner from which on a part is searched by narrow cuts."""

_NARROW_PER_SECOND = 3_000
"""Parts that the search by narrow cuts may look at for each second of effort."""

_NARROW_PATCHES = 50
"""Up to this size; in a larger part each takes longer."""


# ------------------------------------------------------------------------------------------------ model


class JunctionModel:
    """Variables and constraints over one part; the families are added when their turn comes.

    Parameters
    ----------
    part
        The part.

    Attributes
    ----------
    time, stops, last
        Per edge its time; per junction and edge whether the edge is sewn before the last pair there; per junction and
        pair of edges whether it is the last one.
    join, joined
        Per edge, and per junction for its last pair, whether it is sewn by a join.
    costs
        The items of merit that are modelled so far, in order; joins stand for units.
    """

    def __init__(self, part: Part) -> None:
        self.part = part
        self.cp = new_model()
        self._true = self.cp.new_constant(1)
        self._false = self.cp.new_constant(0)
        self.time: dict[int, Any] = {}
        self.last: dict[tuple[int, tuple[int, int]], Any] = {}
        self.stops: dict[tuple[int, int], Any] = {}
        self.bends: dict[Pair, Any] = {}
        self.eased: dict[int, Any] = {}
        self.eased_at: dict[Pair, Any] = {}
        self.join: dict[int, Any] = {}
        self.joined: dict[int, Any] = {}
        self._same: dict[int, dict[int, Any]] = {}
        self._before_on_curve: dict[Pair, Pair | None] = {}
        self._order_edges()
        self._forbid_walks()
        hard, set_in = self._count_corners()
        self.costs: dict[int, Any] = {0: hard, 1: set_in}

    # -- order ---------------------------------------------------------------------------------------

    def _order_edges(self) -> None:
        """Times, last pairs, and the edges that stop at a junction because they are not in its last pair."""
        horizon = max(1, len(self.part.patches) - 2)
        for first in self.part.edges:
            if first not in self.time:
                moment = self.cp.new_int_var(0, horizon, f"time {first}")
                self.time.update(dict.fromkeys(self._always_together(first), moment))
        for j, pairs in self.part.pairs.items():
            for pair in pairs:
                name = f"last {j} {pair.edges}"
                self.last[j, pair.edges] = self._true if len(pairs) == 1 else self.cp.new_bool_var(name)
            if len(pairs) > 1:
                self.cp.add_exactly_one(self.last[j, pair.edges] for pair in pairs)
            self._close(j, horizon)

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

    def _close(self, j: int, horizon: int) -> None:
        """Sew the last pair of a junction at one moment, strictly later than all other edges there."""
        here = self.part.around[j]
        if len(here) == 2:
            self.stops.update(((j, e), self._false) for e in here)
            return
        closing = self.cp.new_int_var(1, horizon, f"closing {j}")
        for e in here:
            others = [self.last[j, pair.edges] for pair in self.part.pairs[j] if e not in pair.edges]
            if len(others) == 1:
                stop = others[0]
            else:
                stop = self.cp.new_bool_var(f"stop {j} {e}")
                self.cp.add(stop == sum(others))
            self.stops[j, e] = stop
            self.cp.add(self.time[e] + stop <= closing)
            self.cp.add(self.time[e] >= closing).only_enforce_if(~stop)

    def _forbid_walks(self) -> None:
        for walk in (*_round_patches(self.part), *_rings_of_lines(self.part)):
            self.cp.add(sum(self.stops[at] for at in walk) >= 1)

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
            self.eased[e] = self.cp.new_bool_var(f"eased {e}")
        pairs = [self._chain_pair(chain, i) for i in range(len(chain.junctions))]
        for i, pair in enumerate(pairs):
            last = self.last[pair.junction, pair.edges]
            both = self.cp.new_bool_var(f"eased at {pair.junction}")
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
        if pair not in self.bends:
            self.bends[pair] = self.cp.new_bool_var(f"bend {pair.junction}")
            self.cp.add_implication(self.bends[pair], self.last[pair.junction, pair.edges])
        return self.bends[pair]

    def keep_corners(self, places: Sequence[frozenset[int]]) -> None:
        """Keep hard corners to where they are known to lie: one of each set of junctions, and none elsewhere."""
        at = {j: [self.last[j, pair.edges] for pair in pairs if pair.hard] for j, pairs in self.part.pairs.items()}
        for pair, bend in self.bends.items():
            at[pair.junction].append(bend)
        within = frozenset[int]().union(*places)
        for j, corners in at.items():
            if j not in within:
                self.cp.add_bool_and(~corner for corner in corners)
        for place in places:
            self.cp.add_exactly_one(corner for j in sorted(place) for corner in at[j])

    # -- units ---------------------------------------------------------------------------------------

    def add_units(self) -> None:
        """Say which edges are joins, and which add a patch to a unit; every seam that does saves a unit.

        What is sewn into a unit ends no join, and it turns no corner. Each junction is passed by a join or lies on
        the seam that adds one patch, so joins are the edges of joins less the junctions that these pass.
        """
        cp, part = self.cp, self.part
        self.join = {e: cp.new_bool_var(f"join {e}") for e in part.edges}
        self.joined = {j: cp.new_bool_var(f"joined {j}") for j in part.around}
        for j, here in part.around.items():
            for e in here:
                cp.add_implication(self.join[e], self.joined[j])
                cp.add_bool_or(~self.joined[j], self.join[e], self.stops[j, e])
            for pair in part.pairs[j]:
                if pair.hard:
                    cp.add_implication(self.last[j, pair.edges], self.joined[j])
        for corner in (*self.bends.items(), *self.eased_at.items()):
            cp.add_implication(corner[1], self.joined[corner[0].junction])
        added = {(e, p): cp.new_bool_var(f"added {e} {p}") for e in part.edges for p in part.sides(e)}
        passing: dict[int, list[Any]] = {j: [] for j in part.around}
        for p in part.patches:
            self._add_patch(p, added, passing)
        for e in part.edges:
            cp.add_exactly_one(self.join[e], *(added[e, p] for p in part.sides(e)))
        for j, ways in passing.items():
            cp.add_exactly_one(self.joined[j], *ways)
        self.costs[ITEMS - 1] = sum(self.join.values()) - sum(self.joined.values())

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
        own = [e for e in patch.edges if e in self.time]
        for e in own:
            here = added[e, p]
            cp.add(self.time[e] <= first).only_enforce_if(here)
            cp.add(self.time[e] + here >= first + 1)
            for j in part.ends(e):
                if j in part.around:
                    cp.add_bool_or(~here, self.stops[j, e], *([on[j]] if j in on else []))
        cp.add(sum(added[e, p] for e in own) - sum(on.values()) <= 1)

    def _run_on(self, pair: Pair, both: tuple[Any, Any]) -> Any:
        """Return the literal that the seam which adds a patch runs straight on past a junction."""
        last = self.last[pair.junction, pair.edges]
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
                q: self._true if q == patch else self.cp.new_bool_var(f"same {patch} {q}") for q in self.part.patches
            }
            for e in self.part.edges:
                a, b = self.part.sides(e)
                self.cp.add_bool_or(self.join[e], ~same[a], same[b])
                self.cp.add_bool_or(self.join[e], same[a], ~same[b])
        return same

    # -- below the units -----------------------------------------------------------------------------

    def matched_points(self) -> Any:
        """Return the matched points; a pair with seams on both sides is never sewn into a unit, so lies in a join."""
        return sum(
            self._choice_cost(j, {pair: int(is_matched(self.part, pair)) for pair in pairs})
            for j, pairs in self.part.pairs.items()
        )

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

    # -- excess pivots -------------------------------------------------------------------------------

    def add_pivots(self, *, excess: bool) -> None:
        """Add the free corners, at most two to a seam; all corners are, unless some may be excess pivots.

        A seam has a middle and, outwards of a free corner, arms that lead away from it to the ends of the seam. An
        arm that led from one free corner to another would lead both ways, so a seam has no third free corner.
        """
        cp, part = self.cp, self.part
        self._middle = {e: cp.new_bool_var(f"middle {e}") for e in part.edges}
        self._arm = {(j, e): cp.new_bool_var(f"arm {j} {e}") for e in part.edges for j in part.ends(e)}
        for e in part.edges:
            cp.add_exactly_one(self._middle[e], *(self._arm[j, e] for j in part.ends(e)))
            for j in part.ends(e):
                cp.add_implication(self._arm[j, e], ~self.stops[j, e] if j in part.around else self._false)
        free = []
        for pair in (pair for pairs in part.pairs.values() for pair in pairs):
            corner = self._free_corner(pair, excess=excess)
            self._link_arms(pair, corner)
            free += [] if corner is None else [corner]
        self.costs[2] = self.costs[0] - sum(free) if excess else 0

    def _free_corner(self, pair: Pair, *, excess: bool) -> Any | None:
        """Return the literal that a pair is a free corner; None if it can be no corner."""
        conditions = self._corner_at(pair)
        if conditions is None:
            return None
        if len(conditions) == 1 and not excess:
            return conditions[0]
        free = self.cp.new_bool_var(f"free {pair.junction} {pair.edges}")
        for condition in conditions:
            self.cp.add_implication(free, condition)
        if not excess:
            self.cp.add_bool_or(free, *(~condition for condition in conditions))
        return free

    def _link_arms(self, pair: Pair, free: Any | None) -> None:
        """Carry middle and arms on through a last pair, or change over at a free corner."""
        j, (a, b) = pair.junction, pair.edges
        last = self.last[j, pair.edges]
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
            return [self.last[pair.junction, pair.edges]]
        if pair in self.eased_at:
            before = self._before_on_curve[pair]
            return [self.eased_at[pair], *([] if before is None else [~self.eased_at[before]])]
        return [self.bends[pair]] if pair in self.bends else None


# ------------------------------------------------------------------------------------------------ closed walks

Walk = tuple[tuple[int, int], ...]
"""Junctions in turn, each with the edge along which a closed walk leaves it."""


def _round_patches(part: Part) -> Iterator[Walk]:
    """Yield the walks round each patch that touches no outline, both ways."""
    for p in part.patches:
        patch = part.block.patches[p]
        if all(j in part.around for j in patch.ring):
            yield tuple(zip(patch.ring, patch.edges, strict=True))
            yield tuple(zip(patch.ring, (patch.edges[-1], *patch.edges), strict=False))


def _rings_of_lines(part: Part) -> Iterator[Walk]:
    """Yield closed walks that go on along lines, and turn onto a line where they meet its middle."""
    through = {}
    for j, pairs in part.pairs.items():
        straight = [pair.edges for pair in pairs if pair.straight]
        if len(straight) == 1:
            through[j] = straight[0]
    found: set[Walk] = set()
    for e in part.edges:
        for j in part.ends(e):
            for walk in _walks(part, through, e, j):
                turn = walk.index(min(walk))
                found.add(walk[turn:] + walk[:turn])
                if len(found) >= _WALKS:
                    break
    yield from sorted(found)


def _walks(part: Part, through: Mapping[int, tuple[int, int]], first: int, start: int) -> Iterator[Walk]:
    """Yield the closed walks that arrive at a junction by an edge, each with the junctions that it leaves."""
    stack: list[tuple[int, int, Walk]] = [(first, start, ())]
    steps = 0
    while stack and steps < _WALKS:
        e, j, walk = stack.pop()
        if j not in through or len(walk) >= _WALK_LENGTH or any(j == passed for passed, _ in walk):
            continue
        steps += 1
        one, other = through[j]
        for onward in (other,) if e == one else (one,) if e == other else (one, other):
            end = next(k for k in part.ends(onward) if k != j)
            here = (*walk, (j, onward))
            if (onward, end) == (first, start):
                yield here
            else:
                stack.append((onward, end, here))


# ------------------------------------------------------------------------------------------------ solving


@dataclass(slots=True)
class _Search:
    """The best order so far, what is proven of it, and what is left to spend."""

    part: Part
    order: Order
    merit: Merit
    effort: float
    deadline: Deadline | None
    bound: tuple[int, ...] = FLOORS
    spent: float = 0.0
    model: JunctionModel = field(init=False)
    kinds: UnitKinds | None = None
    limit: UnitLimit | None = None
    impossible: bool = False
    _start: Solution | None = None
    _last: Mapping[int, Pair] = field(default_factory=dict)

    @property
    def over(self) -> bool:
        """Whether the clock has ended the search."""
        return self.deadline is not None and self.deadline.over

    def minimise(self, share: float, *, relaxed: bool = True) -> bool:
        """Minimise all items that are modelled in one weighted sum; return whether that was done to the end.

        Parameters
        ----------
        share
            What that may spend of the effort that is left.
        relaxed
            Whether linear relaxations help; without them most of a solver's steps are ten times as fast.
        """
        spend = share * self.effort
        for _ in range(ROUNDS):
            weights = self._weights(sorted(self.model.costs))
            goal = sum(weight * self.model.costs[item] for item, weight in weights.items())
            self.model.cp.add(goal >= sum(weights[item] * (self.bound[item] - FLOORS[item]) for item in weights))
            self.model.cp.add(goal <= sum(weights[item] * (self.merit[item] - FLOORS[item]) for item in weights))
            self.model.cp.minimize(goal)
            solution = self._solve(spend, relaxed=relaxed)
            spend -= solution.spent
            again = solution.found and self._take(solution)
            self.impossible = solution.impossible
            if not solution.impossible:
                self._raise_bound(weights, solution.bound)
            if not again or spend <= 0 or self.over:
                return solution.optimal and not again
        return False

    def _solve(self, effort: float, *, relaxed: bool = True) -> Solution:
        if self._start is not None:
            hint(self.model.cp, self._start)
        solution = solve_model(self.model.cp, effort=effort, deadline=self.deadline, relaxed=relaxed)
        self.effort -= solution.spent
        self.spent += solution.spent
        if solution.found:
            self._start = solution
        return solution

    def _weights(self, items: Sequence[int]) -> dict[int, int]:
        """Return a weight for each item that is more than all items after it can come to in an order worth while."""
        weights, weight = {}, 1
        for item in reversed(items):
            weights[item] = weight
            # No order has more joins than seams, and none that is as good has more corners of any kind.
            weight *= 1 + (len(self.part.patches) if item == ITEMS - 1 else self.merit.hard_corners)
        return weights

    def _raise_bound(self, weights: Mapping[int, int], bound: int) -> None:
        """Read what is proven off the bound of the sum: of an item only as far as all before it are reached."""
        least = list(self.bound)
        for item in sorted(weights):
            share, bound = divmod(max(0, bound), weights[item])
            share += FLOORS[item]
            if share > least[item]:
                least[item] = share
                if item < 2:
                    least[item + 1 :] = FLOORS[item + 1 :]
            if share < least[item] or self.merit[item] > least[item]:
                break
        self.bound = tuple(least)

    def _take(self, solution: Solution) -> bool:
        """Read the order off a solution, keep it if it is better; return whether it closed rings (now forbidden)."""
        model = self.model
        last = {
            j: next(pair for pair in pairs if solution[model.last[j, pair.edges]])
            for j, pairs in self.part.pairs.items()
        }
        seams = trace_seams(self.part, self.part.edges, last)
        rings = [seam for seam in seams if seam.ring]
        for ring in rings:
            model.forbid_ring(ring.pairs)
        if rings:
            return True
        horizon = len(self.part.patches)
        rank = {
            e: solution[t] + horizon * (solution[model.join[e]] if model.join else 0) for e, t in model.time.items()
        }
        joins = [e for e, join in model.join.items() if solution[join]] if self.limit else ()
        order = sew(self.part, last, rank, joins)
        too_large = self._too_large(order)
        if too_large and self.limit:
            order = self.limit.split(order)
        merit = score(self.part, order)
        if self._rank(order, merit) < self._rank(self.order, self.merit):
            self.order, self.merit, self._last = order, merit, last
        if not model.join:
            return False
        for unit in too_large:
            model.forbid_unit(unit, self.limit.holds)  # type: ignore[union-attr]
        return bool(too_large)

    def _too_large(self, order: Order) -> list[int]:
        """Return the units of an order that are too large, as bit sets."""
        if self.limit is None:
            return []
        units = (sum(1 << p for p in unit.patches) for unit in units_in(order))
        return [unit for unit in units if not self.limit.holds(unit)]

    def _rank(self, order: Order, merit: Merit) -> tuple[int, ...]:
        """Return what an order costs, in the order of merit."""
        return (*merit[:-1], self.kinds.count(order) if self.kinds else 0, merit.length)

    def refine(self, goal: Any, reached: Callable[[], int], effort: float) -> bool:
        """Minimise a figure below the units with all above it frozen; return whether that was done to the end."""
        self.effort = effort
        for item, cost in self.model.costs.items():
            self.model.cp.add(cost <= self.merit[item] - FLOORS[item])
        self.model.cp.minimize(goal)
        done = False
        for _ in range(ROUNDS):
            solution = self._solve(self.effort)
            again = solution.found and self._take(solution)
            done = solution.optimal and not again
            if not again or self.effort <= 0:
                break
        self.model.cp.add(goal <= reached())
        return done

    def solve_corners(self, places: Sequence[frozenset[int]]) -> None:
        """Minimise hard corners: first where they are known to lie, which is settled at once, then anywhere.

        Parameters
        ----------
        places
            Sets of junctions, none in two of them: at one of each there is a hard corner.
        """
        self.bound = (len(places), *FLOORS[1:])
        self.model = JunctionModel(self.part)
        self.model.keep_corners(places)
        self.minimise(QUICK_SHARE, relaxed=False)
        if self.impossible:
            self.bound = (len(places) + 1, *FLOORS[1:])
        if self.settled(2) or self.over:
            return
        self.model = JunctionModel(self.part)
        self.minimise(QUICK_SHARE, relaxed=False)
        if not self.settled(2):
            self.minimise(CORNERS_SHARE)

    def solve_units(self, places: Sequence[frozenset[int]], share: float, *, excess: bool) -> bool:
        """Minimise all items on a model of its own; return whether no better order can have another number of pivots.

        Parameters
        ----------
        places
            Junctions where hard corners are known to lie.
        share
            What that may spend of the effort that is left, where no order without excess pivots is known.
        excess
            Whether orders may have excess pivots; without any, each corner of a seam is free.
        """
        self.model = JunctionModel(self.part)
        if len(places) == self.merit.hard_corners:
            self.model.keep_corners(places)
        self.model.add_units()
        if self.limit is not None:
            self.model.keep_apart(self.limit.holds)
        self.model.add_pivots(excess=excess)
        self.minimise(share if self.merit.excess_pivots else 1.0)
        if self.impossible:
            self.bound = (*self.bound[:2], max(self.bound[2], 1), FLOORS[3])
        return not self.merit.excess_pivots

    def settled(self, items: int) -> bool:
        """Tell whether the first items are proven to be the least."""
        return self.merit[:items] == self.bound[:items]

    def narrow(self) -> None:
        """Search for the fewest units by narrow cuts, where corners that nobody can avoid leave few of them."""
        certain = sum(min(pair.hard for pair in pairs) for pairs in self.part.pairs.values())
        if self.part.curves or not self.settled(2):
            return
        if certain < _CERTAIN * len(self.part.pairs):
            return
        budget = 1 + int(self.effort * _NARROW_PER_SECOND * min(1.0, _NARROW_PATCHES / len(self.part.patches)))
        found = fewest_narrow_units(self.part, self.merit, last=self._last, budget=budget, deadline=self.deadline)
        if found.order is not None:
            self.order, self.merit = found.order, score(self.part, found.order)
        if found.least_units is None:
            self.bound = (*self.bound[:2], max(self.bound[2], 1), FLOORS[3])
        elif not self.merit.excess_pivots:
            self.bound = (*self.bound[:3], max(self.bound[3], found.least_units))


def solve_part(
    block: Block,
    patches: Iterable[int],
    *,
    effort: float,
    deadline: Deadline | None = None,
    known: Order | None = None,
    limit: UnitLimit | None = None,
) -> PartResult:
    """Find the best sewing order of a part.

    Parameters
    ----------
    block
        The block.
    patches
        An edge-connected set of its patches without holes.
    effort
        Deterministic seconds for the solver, all items together.
    deadline
        What ends the search in any case, with what it has found.
    known
        An order of the part to start from; without one it is made by plain rules.
    limit
        What units may be, if not all are small enough.

    Returns
    -------
    PartResult
        The order, and what is proven about it.
    """
    part = build_part(block, patches)
    order, merit = construct_order(part) if known is None else (known, score(part, known))
    if limit is not None:
        order = limit.split(order)
        merit = score(part, order)
    search = _Search(part, order, merit, effort, deadline, limit=limit)
    if len(part.edges) <= max(MOST_EDGES, EDGES_PER_SECOND * effort):
        _settle(search)
    if search.settled(2):
        # A join turns two corners, and what is more is an excess pivot; no better order has more of those.
        joins = (search.merit.hard_corners - search.merit.excess_pivots + 1) // FREE_PIVOTS
        search.bound = (*search.bound[:3], max(search.bound[3], 1 + joins))
    levels = tuple(search.settled(items) for items in range(1, ITEMS + 1))
    tidied = _tidy(search, TIDY * effort) if all(levels) and limit is None else (False, False, False)
    return PartResult(search.order, search.merit, Merit(*search.bound), levels, tidied, search.spent)  # type: ignore[arg-type]


def _settle(search: _Search) -> None:
    """Minimise corners, then all items."""
    places = corner_places(search.part)
    search.solve_corners(places)
    if search.limit is None:
        search.narrow()
    if search.settled(ITEMS) or search.over:
        return
    if search.settled(2) and search.solve_units(places, FREE_SHARE, excess=False):
        return
    search.solve_units(places, 1.0, excess=True)


def _tidy(search: _Search, effort: float) -> tuple[bool, bool, bool]:
    """Look for fewer matched points, then fewer different foundations, then shorter joins, with all else frozen.

    Returns
    -------
    tuple of bool
        Whether each of the three is proven, the ones before it included.
    """
    part, model = search.part, search.model
    if len(part.patches) > TIDY_PATCHES:
        return search.merit.matched_points == 0, False, False
    if not model.join:
        model.add_units()
        model.add_pivots(excess=True)
    kinds = search.kinds = UnitKinds.of(part.block, part.patches)
    matched = search.refine(model.matched_points(), lambda: search.merit.matched_points, effort)
    foundations = model.foundations(kinds)
    if foundations is None:
        return matched, False, False
    fewest = kinds.count(search.order) == kinds.least(search.merit.units)
    fewest = search.refine(foundations, lambda: kinds.count(search.order), effort) or fewest
    shortest = search.refine(model.joins_length(), lambda: search.merit.length, effort)
    return matched, matched and fewest, matched and fewest and shortest

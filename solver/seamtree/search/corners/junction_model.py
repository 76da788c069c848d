"""The junction model: the sewing orders of a part, by constraint programming on its junctions.

For every interior junction one pair of edges is last. Edges carry times; the last pair of a junction is sewn at one
moment, strictly later than all other edges there. On top of this, family by family:

- *corners*, here: hard pairs, bends in lines that are not straight as a whole, curves;
- *units* (`unit_model`): every edge is a join, or adds the patch on one of its sides to a unit as a single patch;
- *pivots* (`pivot_model`): at most two corners of each seam are free, the others are excess pivots.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from seamtree.search.corners.local_rule import CurveChain, Pair, Part
from seamtree.search.corners.orders import is_matched, trace_seams
from seamtree.search.corners.walks import closed_walks
from seamtree.search.solver import new_model


class JunctionModel:
    """Variables and constraints over one part: the order of its edges, and its hard corners.

    Parameters
    ----------
    part
        The part.

    Attributes
    ----------
    time, stops, last
        Per edge its time; per junction and edge whether the edge is sewn before the last pair there; per junction and
        pair of edges whether it is the last one.
    bends, eased, eased_at, before_on_curve
        Per pair in line whether the seam bends there; per chord whether it lies in a run of its curve that counts as
        curved, and the same per pair of chords; per such pair the one before it on the curve.
    true, false
        Constants.
    costs
        The items of merit that are modelled so far, in order; `UnitModel` and `PivotModel` add theirs.
    """

    def __init__(self, part: Part) -> None:
        self.part = part
        self.cp = new_model()
        self.true = self.cp.new_constant(1)
        self.false = self.cp.new_constant(0)
        self.time: dict[int, Any] = {}
        self.last: dict[tuple[int, tuple[int, int]], Any] = {}
        self.stops: dict[tuple[int, int], Any] = {}
        self.bends: dict[Pair, Any] = {}
        self.eased: dict[int, Any] = {}
        self.eased_at: dict[Pair, Any] = {}
        self._bent = bends_alone(part)
        self.before_on_curve: dict[Pair, Pair | None] = {}
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
                self.last[j, pair.edges] = self.true if len(pairs) == 1 else self.cp.new_bool_var(name)
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
            self.stops.update(((j, e), self.false) for e in here)
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
        for walk in closed_walks(self.part):
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
            hard.append(self.choice_cost(j, {pair: int(pair.hard) for pair in pairs}))
            set_in.append(self.choice_cost(j, {pair: int(pair.set_in) for pair in pairs}))
        return sum(hard), sum(set_in)

    def choice_cost(self, j: int, cost: Mapping[Pair, int]) -> Any:
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
            self.before_on_curve[pair] = pairs[i - 1] if i or chain.closed else None
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
        if not self._bent.get(pair, True):
            return self.false
        if pair not in self.bends:
            bend = self.true if pair in self._bent else self.cp.new_bool_var(f"bend {pair.junction}")
            self.cp.add_implication(bend, self.last[pair.junction, pair.edges])
            self.bends[pair] = bend
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

    def matched_points(self) -> Any:
        """Return the matched points; a pair with seams on both sides is never sewn into a unit, so lies in a join."""
        return sum(
            self.choice_cost(j, {pair: int(is_matched(self.part, pair)) for pair in pairs})
            for j, pairs in self.part.pairs.items()
        )


def bends_alone(part: Part) -> dict[Pair, bool]:
    """Decide where edges bend that meet where no others do.

    They are sewn as one seam in every order, so it only matters how often it bends, and how near to the end where it
    may go on in line: as near as can be, for a bend at that end is as good as one more before it. The chords of a
    round patch would leave the solver many ways that are equal. Where a seam may go on in line at both ends, nothing
    is decided, nor along drawn curves.
    """
    if part.curves:
        return {}
    alone = {j: part.pairs[j][0] for j, here in part.around.items() if len(here) == 2}
    bent: dict[Pair, bool] = {}
    for seam in trace_seams(part, part.edges, alone):
        place = {pair: n for n, pair in enumerate(seam.pairs)}
        spans, ends = [], set()
        for window in part.windows:
            inside = [place[pair] for pair in window.pairs if pair in place]
            if len(inside) == len(window.pairs):
                spans.append((min(inside), max(inside)))
            elif inside:
                ends |= {n == 0 for n in (0, len(place) - 1) if n in inside}
        if seam.ring or len(ends) > 1 or (ends and len(place) == 1):
            continue
        if True in ends:
            spans = [(-last, -first) for first, last in spans]
        bends = {abs(n) for n in _stabs(spans)}
        bent.update((pair, n in bends) for pair, n in place.items() if not pair.hard)
    return bent


def _stabs(spans: Sequence[tuple[int, int]]) -> set[int]:
    """Return the fewest numbers of which each span has one, each as large as can be."""
    stabs: list[int] = []
    for first, last in sorted(spans, key=lambda span: span[1]):
        if not stabs or stabs[-1] < first:
            stabs.append(last)
    return set(stabs)

"""The parts graph, reduced to what matters, and the search for the fewest joins on it.

Cutting a block at full straight cuts gives an AND/OR graph of parts, and fewest(part) = 1 for a unit, else the least
fewest(A) + fewest(B) over the cuts of the part. This module works on the same graph with much less in it:

- **Clusters.** Only junctions inside a part can keep it from being a unit. Two junctions belong together when an
  edge joins them; a *cluster* is a connected set of them, standing for the patches round it. Whatever else the part
  has hangs on its clusters over single patches and single edges and can always be sewn to the unit it hangs on,
  as long as at most one cluster has a tee (see `SeamView.tee`): units elsewhere have no junction inside, so they
  are trees of patches and can be begun at any of them. Joins then add up over the clusters. Parts with the same
  clusters are one state.
- **Safe cuts.** A cut that no other line crosses, with stems on both sides, is a join in every best order, and it
  may come first: no search. (It is sewn in one step whatever the order; and since no single patch spans it on
  either side, this step adds no single patch.)
- **Idle cuts.** Where lines only cross, a cut that crosses just one other line need not be tried: giving their
  crossing to the other line never costs a join, since the cut parts the rest into two sides that never meet again.
- **Bounds.** A junction that no single patch spans lies inside a join on one of its lines. Crossings that share no
  line therefore need one join each; a matching of lines bounds the joins from below and stops the search early.
- **Cuts that do not cross.** Where as many cuts as that bound says, none of which crosses another, leave nothing but
  units, they are the answer, and no part has to be looked at.
- **Sweeps.** What bounds do not settle soon is valued in arrays, all parts at once (see `search.straight.sweep`).
- A cluster without any cut that is no unit is **locked**: straight seams cannot sew it. Full cuts come first without
  adding hard corners, but which of several goes first may decide how many units there are, and so may seams that turn
  in the locked part. So what holds a locked part is cut at safe cuts only, and what is left is settled as a whole.

Where two or more clusters with tees lie in one part, their joins still add up to a lower bound (one unit at most is
common to both). The bound is reached when the orders found for them fit together into units; where they do not, the
part is searched as a whole.

Fewest joins is all that is searched for here: whichever full cuts come first, the hard corners of the locked parts
add up to the same figures, and in a straight order the matched points are the junctions that no single patch spans.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager, suppress
from typing import TYPE_CHECKING, NamedTuple

from seamtree.proofs.claims import Cost
from seamtree.search.effort import NEVER, Deadline
from seamtree.search.nested import Nested, follow
from seamtree.search.peel import interior_edges
from seamtree.search.pieces import falls_into_units, order_seams
from seamtree.search.straight.clusters import NO_CUT, ClusterMap, Run
from seamtree.search.straight.matching import one_crossing_each
from seamtree.search.tree import Merit, Order
from seamtree.search.view import SeamView, bits, runs_of

if TYPE_CHECKING:
    from seamtree.search.straight.sweep import Sweep

_UNLIMITED = 1 << 60

_SHORT_SEARCH = 60
"""States that a bundle of crossing lines is searched for before it is swept: bounds often settle it at once."""

_SWEEP_RATE = 30
"""Parts that are swept in the time in which one state is searched."""


class GaveUpError(Exception):
    """Raised where a search that may not be cut short would have to be."""


class _Pause(Exception):  # noqa: N818 - a signal, not an error
    """A bundle of crossing lines is worth sweeping."""


class Locked(NamedTuple):
    """The answer for a locked part.

    Parameters
    ----------
    patches
        Of the part, as a bit set.
    order
        A sewing order for them.
    merit, bound
        What it costs, and what no order of this part can go below, item by item.
    proven
        Whether hard corners to units are proven to be the least for this part.
    tidied
        Whether matched points, then different foundations, then the length of joins are as well.
    spent, costs
        See `seamtree.search.corners.local_rule.PartResult`.
    """

    patches: int
    order: Order
    merit: Merit
    bound: Merit
    proven: bool
    tidied: tuple[bool, bool, bool] = (False, False, False)
    spent: float = 0.0
    costs: Callable[[int], Cost | None] | None = None


LockedSolver = Callable[[int], Locked]


class Option(NamedTuple):
    """One way to cut a state: the cut, and what is left on both sides.

    A side with two or more clusters with tees is named as a part (patches), every other side by its clusters (slots).
    """

    cut: Run
    clusters: tuple[int, ...]
    parts: tuple[int, ...] = ()


class Solved(NamedTuple):
    """A state with its joins and how they come about; a unit has neither cut nor locked part.

    A part that is put together from its clusters has an option without a cut. A swept cluster has all of its cuts.
    The joins are exact unless not all cuts were tried below.
    """

    joins: int
    option: Option | None = None
    locked: Locked | None = None
    cuts: tuple[Run, ...] = ()
    exact: bool = True


class PartsGraph:
    """The reduced parts graph of a block, explored from above and solved from below.

    Parameters
    ----------
    view
        Bit sets of the block.
    solve_locked
        Finds the best order of a locked part (patches as a bit set).
    budget
        How many states may be searched over all of their cuts; the ones after that follow one promising cut only.
    may_be_cut_short
        Whether they do; otherwise the search gives up there.
    sweep_limit
        How many parts of a bundle of crossing lines may be valued in arrays.
    deadline
        When the clock ends the search over all cuts as the budget does.
    cuts_first
        Whether what holds a locked part is cut at all of its cuts, safe or not: hard corners stay as few, but units
        may be more than needed.
    solved, low, parts, swept
        What is known: clusters with their least joins (the fewest found where `cut_short`), lower bounds of others,
        parts with several clusters, and the clusters that were swept.
    apart
        For clusters that were settled by cuts that do not cross, and for bundles of crossing lines, crossings that
        share no line, one for each join of the first lower bound.
    """

    def __init__(
        self,
        view: SeamView,
        solve_locked: LockedSolver,
        budget: int,
        *,
        may_be_cut_short: bool = True,
        sweep_limit: int = 1_000_000,
        deadline: Deadline = NEVER,
        cuts_first: bool = False,
    ) -> None:
        self.view = view
        self.map = ClusterMap(view)
        self.solve_locked = solve_locked
        self.budget = budget
        self.may_be_cut_short = may_be_cut_short
        self.sweep_limit = sweep_limit
        self.deadline = deadline
        self.cuts_first = cuts_first
        self.solved: dict[int, Solved] = {}
        self.low: dict[int, int] = {}
        self.parts: dict[int, Solved] = {}
        self.swept: dict[int, Sweep] = {}
        self.apart: dict[int, tuple[int, ...]] = {}
        self.searched = 0
        self.cut_short = False
        self._pause = 0
        self._open: dict[int, list[Option]] = {}

    # -- cuts --------------------------------------------------------------------------------------------------

    def all_options(self, cluster: int) -> Iterator[Option]:
        """Yield the ways to cut a cluster: one if a safe cut exists, else all."""
        self._count_state()
        for run in self.map.cuts(cluster):
            yield self._option(cluster, run)

    def _options(self, cluster: int, cuts: list[int]) -> list[Option]:
        """Return the ways to cut a cluster that may matter for the fewest joins."""
        view = self.view
        if not cluster & (view.tee | view.ends):
            cuts = [run for run in cuts if run & (run - 1) or not run & view.plain] or cuts[:1]
        if len(cuts) > 1 and self._spent():
            self._cut_short()
            cuts = [max(cuts, key=int.bit_count)]
        self._count_state()
        return [self._option(cluster, run) for run in cuts]

    def _spent(self) -> bool:
        return self.searched >= self.budget or self.deadline.over

    def _cut_short(self) -> None:
        if not self.may_be_cut_short:
            raise GaveUpError
        self.cut_short = True

    def _count_state(self) -> None:
        if self._pause and self.searched >= self._pause:
            raise _Pause
        self.searched += 1

    def _option(self, cluster: int, run: int) -> Option:
        view = self.view
        cut = view.run_edges(run)
        rest = cluster & ~self.map.closure(run)
        line = view.slot_line[run.bit_length() - 1]
        left, right = (rest & side for side in view.beside[line])
        if view.convex and left | right == rest:
            sides = self.map.clusters_in(left), self.map.clusters_in(right)
            if not rest & view.tee:
                return Option(cut, sides[0] + sides[1])
        else:
            clusters = self.map.clusters_in(rest)
            if self.map.tees(clusters) < 2:
                return Option(cut, clusters)
            patches, _ = self.map.split(self.map.patches_round(cluster), cut)
            inside = tuple(c for c in clusters if not self.map.round_one(c) & ~patches)
            sides = inside, tuple(c for c in clusters if c not in inside)
        if all(self.map.tees(side) < 2 for side in sides):
            return Option(cut, sides[0] + sides[1])
        parts = self.map.split(self.map.patches_round(cluster), cut)
        crowded = [self.map.tees(side) > 1 for side in sides]
        return Option(
            cut,
            tuple(c for side, many in zip(sides, crowded, strict=True) if not many for c in side),
            tuple(part for part, many in zip(parts, crowded, strict=True) if many),
        )

    # -- bounds ------------------------------------------------------------------------------------------------

    def least(self, cluster: int) -> int:
        """Return a lower bound of the joins of a cluster."""
        low = self.low.get(cluster)
        if low is None:
            if not cluster & ~self.view.tee:
                low = 0
            elif not cluster & (self.view.tee | self.view.ends):
                self.apart[cluster] = self._match_lines(cluster)
                low = len(self.apart[cluster])
            else:
                low = 1
            self.low[cluster] = low
        return low

    def _match_lines(self, cluster: int) -> tuple[int, ...]:
        """Return crossings that share no line: each needs a join of its own."""
        view = self.view
        runs = runs_of(cluster)
        taken = 0
        matched = []
        for run in runs:
            free = run & ~taken
            if free:
                junction = view.slot_junction[(free & -free).bit_length() - 1]
                matched.append(junction)
                for other in runs:
                    if other & view.junction_slots[junction]:
                        taken |= self.map.closure(other)
        return tuple(matched)

    # -- the search --------------------------------------------------------------------------------------------

    def solve(self, cluster: int, limit: int = _UNLIMITED) -> int:
        """Search a cluster for its fewest joins.

        Parameters
        ----------
        cluster
            Slots of its junctions.
        limit
            The search ends as soon as it is known that the joins are more than this.

        Returns
        -------
        int
            The fewest joins, now in `solved`; or a lower bound above the limit.
        """
        return follow(self._solve(cluster, limit))

    def _solve(self, cluster: int, limit: int = _UNLIMITED) -> Nested[int]:
        known = self.solved.get(cluster)
        if known is not None:
            return known.joins
        low = self.least(cluster)
        if low > limit:
            return low
        if self._pause or cluster & self.view.tee:
            return (yield self._search(cluster, limit, low))
        return (yield self._search_bundle(cluster, limit, low))

    @contextmanager
    def limited(self, states: int) -> Iterator[None]:
        """Leave the body of a with statement once so many more states have been searched in it; nothing is swept."""
        self._pause = self.searched + states
        with suppress(_Pause):
            yield
        self._pause = 0

    def _search_bundle(self, cluster: int, limit: int, low: int) -> Nested[int]:
        """Search a bundle of crossing lines for a little while, then value all of its parts in arrays."""
        self._pause = self.searched + _SHORT_SEARCH
        try:
            return (yield self._search(cluster, limit, low))
        except _Pause:
            from seamtree.search.straight.sweep import TooManyParts, build_bundle, sweep

            self._pause = _UNLIMITED
            bundle = build_bundle(self.view, cluster)
            if bundle is not None:
                with suppress(TooManyParts):
                    swept = self.swept[cluster] = sweep(bundle, limit=self.sweep_limit, deadline=self.deadline)
                    self.searched += len(swept.rows) // _SWEEP_RATE
                    self.solved[cluster] = Solved(swept.joins(), cuts=swept.best_cuts(self.view))
                    return swept.joins()
            return (yield self._search(cluster, limit, low))
        finally:
            self._pause = 0

    def _search(self, cluster: int, limit: int, low: int) -> Nested[int]:
        options = self._open.get(cluster)
        if options is None:
            cuts = self.map.cuts(cluster)
            if self.map.is_unit(cluster, cuts):
                self.solved[cluster] = Solved(0)
                return 0
            if cluster & self.map.locked and not self._may_cut(cuts):
                return self._solve_locked(cluster)
            if len(cuts) > 1 and self._cut_apart(cluster, cuts):
                return self.solved[cluster].joins
            options = self._options(cluster, cuts)
            self._open[cluster] = options
        best, floor = yield self._choose(options, limit, low)
        if best is None:
            if self.cut_short:  # what was found below may not be the least, so nothing is proven here
                return max(low, floor)
            self.low[cluster] = max(low, floor)
            return self.low[cluster]
        self.solved[cluster] = best
        del self._open[cluster]
        return best.joins

    def _may_cut(self, cuts: Sequence[int]) -> bool:
        """Tell whether what holds a locked part is parted by cuts."""
        return bool(cuts) if self.cuts_first else any(map(self.map.parts_safely, cuts))

    def _cut_apart(self, cluster: int, cuts: Sequence[int]) -> bool:
        """Try cuts that do not cross; tell whether they leave only units, and are proven to be the fewest."""
        view = self.view
        free = cluster & ~view.tee
        chosen, passed = [], 0
        for run in sorted(cuts, key=lambda run: (-(run & free).bit_count(), run)):
            if run & free and not run & passed:
                chosen.append(run)
                passed |= self.map.closure(run)
        if free & ~passed:
            return False
        witnesses = one_crossing_each(view, cluster, chosen)
        if witnesses is None:
            return False
        runs = _middle_first([view.run_edges(run) for run in sorted(chosen)])
        seams = 0
        for first, last in runs:
            seams |= (1 << (last + 1)) - (1 << first)
        if not falls_into_units(view, self.map.patches_round(cluster), seams):
            return False
        self._count_state()
        self.apart[cluster] = witnesses
        self.solved[cluster] = Solved(len(runs), cuts=tuple(runs))
        return True

    def _choose(self, options: Sequence[Option], limit: int, low: int) -> Nested[tuple[Solved | None, int]]:
        """Try options, the promising ones first; return the best within the limit, or what all of them exceed."""
        best: Solved | None = None
        floor = _UNLIMITED
        for least, n in sorted((self._least_of(option), n) for n, option in enumerate(options)):
            if least > limit:
                floor = min(floor, least)
                break
            joins = yield self._try(options[n], limit)
            if joins <= limit:
                best = Solved(joins, options[n])
                if joins <= low:
                    break
                limit = joins - 1
            floor = min(floor, joins)
        if best is not None:  # where the search is cut short after the best was found, others might be better
            best = best._replace(exact=not self.cut_short)
        return best, floor

    def _least_of(self, option: Option) -> int:
        return 1 + sum(map(self._known, self._below(option)))

    def _below(self, option: Option) -> tuple[int, ...]:
        if not option.parts:
            return option.clusters
        return sum((self.map.clusters_in(self.map.slots_inside(part)) for part in option.parts), option.clusters)

    def try_option(self, option: Option, limit: int) -> int:
        """Return the joins of an option, or a lower bound above the limit."""
        return follow(self._try(option, limit))

    def _try(self, option: Option, limit: int) -> Nested[int]:
        below = self._below(option)
        # Bounds rise while neighbours are searched, so the sum is kept from one reading of them.
        bounds = [self._known(cluster) for cluster in below]
        least = 1 + sum(bounds)
        for cluster, bound in zip(below, bounds, strict=True):
            if least > limit:
                return least
            least += (yield self._solve(cluster, limit - least + bound)) - bound
        if least > limit:
            return least
        for part in option.parts:
            together = sum(self.solved[c].joins for c in self.map.clusters_in(self.map.slots_inside(part)))
            least += (yield self._solve_part(part)).joins - together
        return least

    def _known(self, cluster: int) -> int:
        known = self.solved.get(cluster)
        return self.least(cluster) if known is None else known.joins

    def _solve_locked(self, cluster: int) -> int:
        locked = self.solve_locked(self.map.patches_round(cluster))
        self.solved[cluster] = Solved(locked.merit.units - 1, None, locked)
        self.low[cluster] = locked.bound.units - 1
        return locked.merit.units - 1

    # -- parts with several clusters ---------------------------------------------------------------------------

    def solve_part(self, part: int) -> Solved:
        """Return the best way to sew a part, from its clusters where they fit together, else by its cuts."""
        return follow(self._solve_part(part))

    def _solve_part(self, part: int) -> Nested[Solved]:
        known = self.parts.get(part)
        if known is None:
            known = self.parts[part] = yield self._search_part(part)
        return known

    def _search_part(self, part: int) -> Nested[Solved]:
        clusters = self.map.clusters_in(self.map.slots_inside(part))
        joins = 0
        for cluster in clusters:
            joins += yield self._solve(cluster)
        together = Solved(joins, Option(NO_CUT, clusters), exact=not self.cut_short)
        if self.map.tees(clusters) < 2 or self._fits(part, together):
            return together
        options = self.part_options(part)
        if self.map.locked & self.map.slots_inside(part) and not self.cuts_first:
            options = [option for option in options if self.map.is_safe(option.cut)][:1]
        if not options:
            locked = self.solve_locked(part)
            return Solved(locked.merit.units - 1, None, locked)
        best: Solved | None = None
        for option in options:
            total = 1
            for side in option.parts:
                total += (yield self._solve_part(side)).joins
            if best is None or total < best.joins:
                best = Solved(total, option)
                if total == joins:
                    break
        if best is None:
            raise AssertionError("a part with cuts has a best one")
        return best._replace(exact=not self.cut_short)

    def _fits(self, part: int, solved: Solved) -> bool:
        """Tell whether the pieces that are left when all joins are opened are units."""
        cuts, locked = self.chosen(solved)
        seams = 0
        for first, last in cuts:
            seams |= (1 << (last + 1)) - (1 << first)
        for answer in locked:
            seams |= order_seams(answer.order)
        return falls_into_units(self.view, part, seams)

    def part_options(self, part: int) -> list[Option]:
        """Return all cuts of a part: those through its clusters, and single edges between them."""
        view = self.view
        clusters = self.map.clusters_in(self.map.slots_inside(part))
        touched = set()
        cuts = []
        for cluster in clusters:
            touched |= {view.slot_junction[slot] for slot in bits(cluster)}
            cuts += [view.run_edges(run) for run in runs_of(cluster) if view.is_cut(run)]
        for k in bits(interior_edges(view, part)):
            if view.block.edges[k].start not in touched and view.block.edges[k].end not in touched:
                cuts.append((k, k))
        if len(cuts) > 1 and self._spent():
            self._cut_short()
            cuts = [max(cuts, key=lambda cut: cut[1] - cut[0])]
        self.searched += 1
        return [Option(cut, (), self.map.split(part, cut)) for cut in sorted(cuts)]

    def least_of_part(self, part: int) -> int:
        """Return a lower bound of the joins of a part."""
        return sum(map(self.least, self.map.clusters_in(self.map.slots_inside(part))))

    # -- reading the answer ------------------------------------------------------------------------------------

    def chosen(self, solved: Solved) -> tuple[list[Run], list[Locked]]:
        """List the cuts of a solution, each after the ones it needs, and its locked parts."""
        cuts: list[Run] = []
        locked: list[Locked] = []
        stack = [solved]
        while stack:
            solved = stack.pop()
            cuts += solved.cuts
            if solved.locked:
                locked.append(solved.locked)
            if solved.option and solved.option.cut != NO_CUT:
                cuts.append(solved.option.cut)
            stack += reversed(self.below(solved))
        return cuts, locked

    def below(self, solved: Solved) -> list[Solved]:
        """Return the solutions that a solution is made of."""
        if solved.option is None:
            return []
        return [self.solved[c] for c in solved.option.clusters] + [self.parts[p] for p in solved.option.parts]

    def locked_parts(self) -> tuple[tuple[int, ...], ...]:
        """Return the patches of each part that straight seams cannot sew."""
        return tuple(
            tuple(bits(self.map.patches_round(cluster))) for cluster in self.map.clusters_in(self.map.locked)
        )


def _middle_first(cuts: Sequence[Run]) -> list[Run]:
    """Put cuts in a turn in which each halves what is left, so that no order is deeper than it need be."""
    if len(cuts) < 2:
        return list(cuts)
    middle = len(cuts) // 2
    return [cuts[middle], *_middle_first(cuts[:middle]), *_middle_first(cuts[middle + 1 :])]

"""Blocks of several units: the stages of the search, one after the other."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from seamtree.block.model import Block
from seamtree.search.claims import claim_costs, claim_joins
from seamtree.search.corners.exhaustive import STEPS_PER_SECOND, sew_small_part
from seamtree.search.corners.local_rule import PartResult, build_part
from seamtree.search.corners.orders import score
from seamtree.search.effort import SOLVER_SHARE, Deadline
from seamtree.search.nested import Nested, follow
from seamtree.search.peel import peel
from seamtree.search.pieces import pieces
from seamtree.search.straight.clusters import Run
from seamtree.search.straight.parts import (
    GaveUpError,
    Locked,
    PartsGraph,
    Solved,
)
from seamtree.search.straight.tight import UNCOMPARED, choose_cuts
from seamtree.search.tree import TIDIED_FIGURES, Found, Grown, Joined, Order, count_units
from seamtree.search.view import SeamView, bits

if TYPE_CHECKING:
    from seamtree.search.rows.stretches import Stretches

_STATES_PER_SECOND = 2_000
"""How many states of the parts graph count as a second; counted, not clocked, so that results do not hang on the
machine."""

_FEW_PATCHES = 12
"""Blocks up to this size are compared to the last figure, however many orders are equal."""

_COMPARED_PATCHES = 30
"""Blocks with hard corners up to this size are if that does not take long."""

_COMPARED = 0.005
"""Share of the time for that."""

_LEAST_EFFORT = 0.01
"""Deterministic seconds that are spent on a locked part in any case, so that it has an order."""

_HINT_SHARE = 0.1
"""Share of the effort for a part that goes into an order to start from."""

_HINT_STATES = 1_000
"""States that are searched for it: on 15 lines across a block a thousand find a unit fewer than sixty."""

_FEW_STATES = 500
"""States of a block that are searched before it is taken by rows."""

_FEW_STATES_PATCHES = 200
"""Up to this size; in larger blocks they are fewer."""

_CROSSING_STATES = 100
"""But no fewer than this where lines only cross: bounds settle most of what is cut off there."""

_TOO_FEW_STATES = 10
"""With so few, only what takes no search is tried."""

_FIRST_SHARE = 0.1
"""Share of the time that goes into rows at first."""

_ROWS_SHARE = 0.3
"""Share of the time that goes into rows where the parts graph has not settled a block either."""

_SWEPT_AT_FIRST = 60_000
"""Parts of a bundle of crossing lines that are swept before a block of the same size is taken by rows."""

_SWEPT_PER_SECOND = 30_000
"""Parts of a bundle that are swept for each second there is."""

_SWEPT_PARTS = 400_000
"""Parts of a bundle that are swept at most, however much time there is: each takes a kilobyte or two."""

_ORDINARY_PATCHES = 60
"""Patches of a block whose states take an ordinary time."""

Cut = tuple[int, ...]
"""The edges of a cut, in turn."""


class _LockedError(GaveUpError):
    """Raised where straight seams cannot sew a part, which is not small either: rows would be of no use."""


def find_joined_order(view: SeamView, *, time_limit: float) -> Found:
    """Find the best sewing order of a block that is no single unit.

    Parameters
    ----------
    view
        Bit sets of the block.
    time_limit
        Effort in seconds of an ordinary machine; counted, not clocked.
    """
    deadline = Deadline(time_limit)
    found = _find(view, time_limit=time_limit, deadline=deadline)
    if found.claims.cost.hard_corners:
        from seamtree.search.corners.witnesses import find_witnesses

        corners = find_witnesses(view.block, found.claims.cost.hard_corners)
        found = replace(found, claims=replace(found.claims, corners=corners))
    most = _COMPARED_PATCHES if found.hard_corners else _FEW_PATCHES
    if found.unproven and found.proven and len(view.block.patches) <= most:
        return _compare(view, found, time_limit=time_limit, deadline=deadline)
    return found


def _find(view: SeamView, *, time_limit: float, deadline: Deadline) -> Found:
    stretches: Stretches | None = None
    found: Found | None = None
    crowded: set[int] = set()
    for states, share in (
        (_few_states(view), _FIRST_SHARE),
        (state_budget(view.block, time_limit), _ROWS_SHARE),
    ):
        try:
            searched = _search_parts(view, time_limit=time_limit, deadline=deadline, crowded=crowded, states=states)
            return _better(searched, found)
        except _LockedError:
            break
        except GaveUpError:
            pass
        from seamtree.search.rows.stretches import build_stretches

        stretches = stretches or build_stretches(view.block)
        if stretches is None:
            break
        by_rows = _take_by_rows(stretches, seconds=share * time_limit, deadline=deadline)
        if by_rows is None:
            break
        found = _better(by_rows, found)
        if found.proven:
            break
    return found or _search_parts(view, time_limit=time_limit, deadline=deadline, crowded=crowded)


def _take_by_rows(stretches: Stretches, *, seconds: float, deadline: Deadline) -> Found | None:
    from seamtree.search.rows.by_rows import find_order_by_rows

    by_rows = find_order_by_rows(stretches, seconds=seconds, deadline=deadline)
    if by_rows is None:
        return None
    order, claims = by_rows
    least = claims.cost.joins + 1
    return Found(order, 0, least, proven=count_units(order) == least, unproven=UNCOMPARED, claims=claims)


def _better(one: Found, other: Found | None) -> Found:
    """Return the order with fewer units of two, with what is proven about both."""
    if other is None:
        return one
    mine, others = count_units(one.order), count_units(other.order)
    least = max(one.units, other.units)
    claims = one.claims if one.units == least else other.claims
    better = one if mine <= others else other
    return replace(better, units=least, proven=min(mine, others) == least, claims=claims)


def state_budget(block: Block, time_limit: float) -> int:
    """Return the states of the parts graph that can be searched; each takes longer in a larger block."""
    return int(time_limit * _STATES_PER_SECOND / max(1.0, len(block.patches) / _ORDINARY_PATCHES))


def _few_states(view: SeamView) -> int:
    """Return the states that are searched before a block is taken by rows; each takes longer in a larger block."""
    few = _FEW_STATES * _FEW_STATES_PATCHES**2 // len(view.block.patches) ** 2
    least = 0 if view.all_slots & (view.tee | view.ends) else _CROSSING_STATES
    states = min(_FEW_STATES, max(few, least))
    return states if states > _TOO_FEW_STATES else 0


def _search_parts(
    view: SeamView, *, time_limit: float, deadline: Deadline, crowded: set[int], states: int | None = None
) -> Found:
    """Search the parts graph; with a number of states, give up where they do not settle it.

    Parts with too many ways through to look at all are remembered in `crowded`.
    """
    block, whole = view.block, view.all_patches
    all_effort = SOLVER_SHARE * time_limit
    spent: list[float] = []

    def solve_locked(patches: int) -> Locked:
        effort = max(
            _LEAST_EFFORT, min(all_effort * patches.bit_count() / len(block.patches), all_effort - sum(spent))
        )
        members = list(bits(patches))
        answer = None
        if patches not in crowded:
            answer = sew_small_part(view, members, effort=effort, deadline=deadline)
        if answer is None:
            crowded.add(patches)
            if states is not None:
                raise _LockedError
            known = _cut_first(view, patches, effort=effort, deadline=deadline, spent=spent)
            answer = _solve_part(block, members, effort=effort, deadline=deadline, known=known)
        spent.append(answer.spent)
        return _locked(patches, answer)

    budget = state_budget(block, time_limit)
    few = budget if states is None else min(states, budget)
    limit = int(_SWEPT_AT_FIRST * few / _FEW_STATES if few < budget else _SWEPT_PER_SECOND * time_limit)
    sweep_limit = min(_SWEPT_PARTS, limit)
    graph = PartsGraph(
        view, solve_locked, few, may_be_cut_short=states is None, sweep_limit=sweep_limit, deadline=deadline
    )
    solved = graph.solve_part(whole)
    graph.budget, graph.may_be_cut_short = budget, True
    runs, locked = graph.chosen(solved)
    if locked:
        return _settle(graph, solved)
    unproven: tuple[str, ...] = UNCOMPARED
    cuts = [_edges(run) for run in runs]
    exact = not graph.cut_short
    joins = solved.joins if exact else graph.least_of_part(whole)
    # Before the choice among equal orders, which may be cut short though the joins are proven.
    claims = claim_joins(graph, joins)
    if exact:
        chosen = choose_cuts(graph, whole, effort=all_effort)
        cuts = chosen.cuts or cuts
        unproven = UNCOMPARED if graph.cut_short else chosen.unproven
    order = _put_together(graph, whole, cuts, ())
    return Found(order, 0, joins + 1, proven=solved.joins == joins, unproven=unproven, claims=claims)


def _solve_part(
    block: Block, patches: Sequence[int], *, effort: float, deadline: Deadline, known: Order | None = None
) -> PartResult:
    """Find the best order of a part that straight seams cannot sew; the constraint solver is loaded only then."""
    from seamtree.search.corners.solve_part import solve_part

    return solve_part(block, patches, effort=effort, deadline=deadline, known=known)


def _locked(patches: int, answer: PartResult) -> Locked:
    merit, bound = answer.merit, answer.bound
    return Locked(patches, answer.order, merit, bound, answer.proven, answer.tidied, answer.spent, answer.costs)


def _cut_first(view: SeamView, part: int, *, effort: float, deadline: Deadline, spent: list[float]) -> Order | None:
    """Return an order in which all cuts of a part come before its hard corners; None if it has no cut.

    It has no more hard corners than any, and often few units: something to start from. What its locked parts take
    is added to `spent`.
    """

    def solve_locked(patches: int) -> Locked:
        members = list(bits(patches))
        spend = _HINT_SHARE * effort * len(members) / part.bit_count()
        answer = sew_small_part(view, members, effort=spend, deadline=deadline)
        answer = answer or _solve_part(view.block, members, effort=spend, deadline=deadline)
        spent.append(answer.spent)
        return _locked(patches, answer)

    graph = PartsGraph(view, solve_locked, _HINT_STATES, deadline=deadline, cuts_first=True)
    if not graph.part_options(part):
        return None
    runs, locked = graph.chosen(graph.solve_part(part))
    return _put_together(graph, part, [_edges(run) for run in runs], locked)


def _edges(run: Run) -> Cut:
    return tuple(range(run[0], run[1] + 1))


def _settle(graph: PartsGraph, solved: Solved) -> Found:
    """Say what is proven about a block with locked parts.

    What holds a locked part was cut at safe cuts only: they are joins in every best order. So the figures add up.
    """
    whole = graph.view.all_patches
    runs, locked = graph.chosen(solved)
    order = _put_together(graph, whole, [_edges(run) for run in runs], locked)
    spare = sum(part.merit.units - part.bound.units for part in locked)
    alone = len(locked) == 1 and locked[0].patches == whole
    return Found(
        order,
        hard_corners=sum(part.bound.hard_corners for part in locked),
        units=1 + len(locked) if graph.cut_short else solved.joins + 1 - spare,
        proven=all(part.proven for part in locked) and not graph.cut_short,
        locked=graph.locked_parts(),
        claims=claim_costs(graph, locked),
        unproven=_untidied(locked[0].tidied) if alone else TIDIED_FIGURES,
        set_in=sum(part.bound.set_in for part in locked),
        excess_pivots=sum(part.bound.excess_pivots for part in locked),
    )


def _compare(view: SeamView, found: Found, *, time_limit: float, deadline: Deadline) -> Found:
    """Take the best of all orders that are equal down to the units, where there are few enough ways to look at."""
    patches = range(len(view.block.patches))
    best = sew_small_part(
        view,
        patches,
        effort=SOLVER_SHARE * time_limit,
        known=score(build_part(view.block, patches), found.order),
        steps=math.inf if len(patches) <= _FEW_PATCHES else _COMPARED * STEPS_PER_SECOND * time_limit,
        deadline=deadline,
    )
    return found if best is None else replace(found, order=best.order, unproven=_untidied(best.tidied))


def _untidied(tidied: Sequence[bool]) -> tuple[str, ...]:
    """Name the figures below the units that are not proven in a part."""
    return tuple(figure for figure, proven in zip(TIDIED_FIGURES, tidied, strict=True) if not proven)


def _put_together(graph: PartsGraph, part: int, cuts: Sequence[Cut], locked: Sequence[Locked]) -> Order:
    """Build the order of a part from its cuts (each after the ones it needs) and its locked parts."""
    return follow(_putting_together(graph, part, cuts, locked))


def _putting_together(graph: PartsGraph, part: int, cuts: Sequence[Cut], locked: Sequence[Locked]) -> Nested[Order]:
    if cuts:
        sides = _sides(graph, part, cuts[0])
        shared = []
        for side in sides:
            within = [cut for cut in cuts[1:] if _patch_in(graph.view, cut, side)]
            shared.append(
                (yield _putting_together(graph, side, within, [a for a in locked if not a.patches & ~side]))
            )
        return Joined(cuts[0], (shared[0], shared[1]))
    if locked:
        return (yield _hang_on(graph, part, locked[0], locked[1:]))
    chain = peel(graph.view, part)
    if chain is None:
        raise AssertionError("a part without cuts and locked parts is a unit")
    return Grown(chain)


def _sides(graph: PartsGraph, part: int, cut: Cut) -> Sequence[int]:
    """Return the two sides of a cut, that of the lowest patch first."""
    left, right = graph.map.split(part, (cut[0], cut[-1]))
    return (left, right) if left & -left < right & -right else (right, left)


def _patch_in(view: SeamView, cut: Cut, side: int) -> bool:
    return bool(side >> view.block.edges[cut[0]].left & 1)


def _hang_on(graph: PartsGraph, part: int, first: Locked, others: Sequence[Locked]) -> Nested[Order]:
    """Add what lies round a locked part to the units of its order: each piece hangs on one patch."""
    hanging = pieces(graph.view, part & ~first.patches, 0)
    extra: dict[int, int] = {}
    for piece in hanging:
        holder = next(p for p in bits(first.patches) if graph.view.neighbours[p] & piece)
        extra[holder] = extra.get(holder, 0) | piece

    def extend(order: Order) -> Nested[Order]:
        if isinstance(order, Joined):
            return Joined(order.edges, ((yield extend(order.parts[0])), (yield extend(order.parts[1]))))
        whole = 0
        for p in order.patches:
            whole |= 1 << p | extra.get(p, 0)
        if whole.bit_count() == len(order.patches):
            return order
        return (yield _putting_together(graph, whole, (), [a for a in others if not a.patches & ~whole]))

    return (yield extend(first.order))

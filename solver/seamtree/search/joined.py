"""Blocks of several units: the stages of the search, one after the other."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from seamtree.block.model import Block
from seamtree.search.certificate import check_certificate
from seamtree.search.parts import (
    GaveUpError,
    Locked,
    PartsGraph,
    Run,
    Solved,
    deep_calls,
    falls_into_units,
    order_seams,
    pieces,
)
from seamtree.search.peel import peel
from seamtree.search.tight import UNCOMPARED, choose_cuts
from seamtree.search.tree import Found, Grown, Joined, Merit, Order, count_units
from seamtree.search.view import SeamView, bits

if TYPE_CHECKING:
    from seamtree.search.local_rule import PartResult
    from seamtree.search.stretches import Stretches

_STATES_PER_SECOND = 2_000
"""How many states of the parts graph count as a second; counted, not clocked, so that results do not hang on the
machine."""

SOLVER_SHARE = 0.45
"""Deterministic seconds of the constraint solver that go by in about a second of an ordinary machine."""

_TIDIED = 2.0
"""Once all locked parts of a block have taken so many times the effort for the block, further ones are not tidied."""

_SKIMMED = 4.0
"""Once they have taken so many times that, there is next to no effort left for further ones."""

_LEAST_EFFORT = 0.01
"""Deterministic seconds that are spent on a locked part in any case, so that it has an order."""

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

_TIDIED_FIGURES = ("matched points", *UNCOMPARED)
"""The figures below the units, in the order of merit and in words."""

_WHOLE_LIMIT = 60
"""Blocks of so many patches are given to the junction model as a whole when units are not proven otherwise."""

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
    stretches: Stretches | None = None
    found: Found | None = None
    for states, share in (
        (_few_states(view), _FIRST_SHARE),
        (state_budget(view.block, time_limit), _ROWS_SHARE),
    ):
        try:
            return _better(_search_parts(view, time_limit=time_limit, states=states), found)
        except _LockedError:
            break
        except GaveUpError:
            pass
        from seamtree.search.stretches import build_stretches

        stretches = stretches or build_stretches(view.block)
        if stretches is None:
            break
        by_rows = _take_by_rows(stretches, seconds=share * time_limit)
        if by_rows is None:
            break
        found = _better(by_rows, found)
        if found.proven:
            break
    return found or _search_parts(view, time_limit=time_limit)


def _take_by_rows(stretches: Stretches, *, seconds: float) -> Found | None:
    from seamtree.search.by_rows import find_order_by_rows

    by_rows = find_order_by_rows(stretches, seconds=seconds)
    if by_rows is None:
        return None
    order, least = by_rows
    return Found(order, 0, least, proven=count_units(order) == least, unproven=UNCOMPARED)


def _better(one: Found, other: Found | None) -> Found:
    """Return the order with fewer units of two, with what is proven about both."""
    if other is None:
        return one
    mine, others = count_units(one.order), count_units(other.order)
    least = max(one.units, other.units)
    return replace(one if mine <= others else other, units=least, proven=min(mine, others) == least)


def state_budget(block: Block, time_limit: float) -> int:
    """Return the states of the parts graph that can be searched; each takes longer in a larger block."""
    return int(time_limit * _STATES_PER_SECOND / max(1.0, len(block.patches) / _ORDINARY_PATCHES))


def _few_states(view: SeamView) -> int:
    """Return the states that are searched before a block is taken by rows; each takes longer in a larger block."""
    few = _FEW_STATES * _FEW_STATES_PATCHES**2 // len(view.block.patches) ** 2
    least = 0 if view.all_slots & (view.tee | view.ends) else _CROSSING_STATES
    states = min(_FEW_STATES, max(few, least))
    return states if states > _TOO_FEW_STATES else 0


def _search_parts(view: SeamView, *, time_limit: float, states: int | None = None) -> Found:
    """Search the parts graph; with a number of states, give up where they do not settle it."""
    block, whole = view.block, view.all_patches
    all_effort = SOLVER_SHARE * time_limit
    spent: list[float] = []

    def solve_locked(patches: int) -> Locked:
        from seamtree.search.exhaustive import sew_small_part

        effort = all_effort * patches.bit_count() / len(block.patches)
        if sum(spent) > _SKIMMED * all_effort:
            effort = min(effort, _LEAST_EFFORT)
        members = list(bits(patches))
        answer = sew_small_part(view, members, effort=effort)
        if answer is None:
            if states is not None:
                raise _LockedError
            answer = _solve_part(block, members, effort=effort, tidy=sum(spent) < _TIDIED * all_effort)
        spent.append(answer.spent)
        return Locked(patches, answer.order, answer.merit, answer.bound, answer.proven, answer.tidied)

    budget = state_budget(block, time_limit)
    few = budget if states is None else min(states, budget)
    limit = int(_SWEPT_AT_FIRST * few / _FEW_STATES if few < budget else _SWEPT_PER_SECOND * time_limit)
    sweep_limit = min(_SWEPT_PARTS, limit)
    graph = PartsGraph(view, solve_locked, few, may_be_cut_short=states is None, sweep_limit=sweep_limit)
    with deep_calls():
        solved = graph.solve_part(whole)
        graph.budget, graph.may_be_cut_short = budget, True
        runs, locked = graph.chosen(solved)
        if locked:
            return _settle(graph, solved, time_limit=time_limit)
        unproven: tuple[str, ...] = UNCOMPARED
        cuts = [_edges(run) for run in runs]
        exact = not graph.cut_short
        joins = solved.joins if exact else graph.least_of_part(whole)
        # Before the choice among equal orders, which may be cut short though the joins are proven.
        check_certificate(graph, joins)
        if exact:
            chosen = choose_cuts(graph, whole, effort=all_effort)
            cuts = chosen.cuts or cuts
            unproven = UNCOMPARED if graph.cut_short else chosen.unproven
        order = _put_together(graph, whole, cuts, ())
    return Found(order, 0, joins + 1, proven=solved.joins == joins, unproven=unproven)


def _solve_part(block: Block, patches: Sequence[int], *, effort: float, tidy: bool) -> PartResult:
    """Find the best order of a part that straight seams cannot sew; the constraint solver is loaded only then."""
    from seamtree.search.junction_model import solve_part

    return solve_part(block, patches, effort=effort, tidy=tidy)


def _edges(run: Run) -> Cut:
    return tuple(range(run[0], run[1] + 1))


def _settle(graph: PartsGraph, solved: Solved, *, time_limit: float) -> Found:
    """Say what is proven about a block with locked parts, and look for fewer units where straight cuts may cost some.

    Cutting at full cuts first never adds hard corners, set-in seams or excess pivots. It may add units, unless every
    cut above a locked part is safe: then every best order sews it in one step and as a join. Where that does not
    hold, cuts with corners are tried as well; where that does not settle it, small blocks are given to the junction
    model as a whole. None of this holds for locked parts with stretches of the same drawn curve: one seam along all
    of them counts it once.
    """
    whole = graph.view.all_patches
    runs, locked = graph.chosen(solved)
    cuts = [_edges(run) for run in runs]
    parts = tuple(tuple(bits(part.patches)) for part in locked)
    shared = _with_shared_curves(graph, locked)
    hard = sum(part.bound.hard_corners for n, part in enumerate(locked) if n not in shared)
    hard += any(locked[n].bound.hard_corners for n in shared)
    settled = not shared and all(part.merit[:3] == part.bound[:3] for part in locked) and not graph.cut_short
    order = _put_together(graph, whole, cuts, locked)
    found = Found(
        order, hard, solved.joins + 1, proven=False, locked=parts, unproven=_unproven(graph, solved, locked)
    )
    if settled and _safe_above_locked(graph, solved):
        spare = sum(part.merit.units - part.bound.units for part in locked)
        return replace(found, units=found.units - spare, proven=all(part.proven for part in locked))
    joins, better = _try_bent_cuts(graph, locked) if settled else (0, None)
    if joins == solved.joins:
        return replace(found, proven=True)
    found = replace(found, units=joins + 1)
    if better is not None:
        return replace(found, order=_put_together(graph, whole, *better), proven=True)
    if len(graph.view.block.patches) > _WHOLE_LIMIT:
        return found
    return _settle_as_a_whole(graph, found, locked, solved.joins + 1, time_limit)


def _with_shared_curves(graph: PartsGraph, locked: Sequence[Locked]) -> set[int]:
    """Return the places of the locked parts with a drawn curve that has further stretches in them or in others."""
    view = graph.view
    edges = view.block.edges
    if len(locked) == 1 and locked[0].patches == view.all_patches:
        return set()
    homes: dict[int, list[int]] = {}
    for n, part in enumerate(locked):
        inside = {view.slot_junction[slot] for slot in bits(graph.slots_inside(part.patches))}
        chords: dict[int, Counter[int]] = {}
        for k in view.block.interior_edges:
            curve = edges[k].curve
            if curve is not None and part.patches >> edges[k].left & part.patches >> edges[k].right & 1:
                chords.setdefault(curve, Counter()).update((edges[k].start, edges[k].end))
        for curve, ends in chords.items():
            passed = sum(ends[j] // 2 for j in inside.intersection(ends))
            homes.setdefault(curve, []).extend([n] * max(1, ends.total() // 2 - passed))
    return {n for home in homes.values() if len(home) > 1 for n in home}


def _unproven(graph: PartsGraph, solved: Solved, locked: Sequence[Locked]) -> tuple[str, ...]:
    """Name the figures below the units that may not be the best in a block with locked parts."""
    if not all(part.tidied[0] for part in locked) or not _safe_above_locked(graph, solved):
        return _TIDIED_FIGURES
    if locked[0].patches == graph.view.all_patches:
        return _untidied(locked[0].tidied)
    return UNCOMPARED


def _untidied(tidied: Sequence[bool]) -> tuple[str, ...]:
    """Name the figures below the units that are not proven in a part."""
    return tuple(figure for figure, proven in zip(_TIDIED_FIGURES, tidied, strict=True) if not proven)


def _try_bent_cuts(graph: PartsGraph, locked: Sequence[Locked]) -> tuple[int, tuple[list[Cut], list[Locked]] | None]:
    """Search over straight cuts and cuts with corners.

    Returns
    -------
    tuple
        Joins that no good order goes below (0 if nothing is certain), and cuts and locked parts that need no more;
        None if none were found.
    """
    from seamtree.search.bent import BentSearch, TooBentError

    clusters = graph.clusters_in(graph.view.all_slots)
    try:
        search = BentSearch(graph, locked)
        joins = sum(map(search.solve, clusters))
    except TooBentError:
        return 0, None
    cuts, chosen = search.chosen(clusters)
    # Joins add up to a lower bound over clusters; it is reached where the pieces that are left are units.
    seams = 0
    for cut in cuts:
        seams |= sum(1 << k for k in cut)
    for part in chosen:
        seams |= order_seams(part.order)
    fits = falls_into_units(graph.view, graph.view.all_patches, seams)
    return joins, (cuts, chosen) if fits else None


def _settle_as_a_whole(
    graph: PartsGraph, found: Found, locked: Sequence[Locked], units: int, time_limit: float
) -> Found:
    """Look at all orders of a small block; give others to the junction model, and keep the better order."""
    from seamtree.search.exhaustive import sew_small_part

    patches = range(len(graph.view.block.patches))
    effort = SOLVER_SHARE * time_limit
    hard, set_in, pivots = (sum(part.merit[item] for part in locked) for item in range(3))
    known = Merit(hard, set_in, pivots, units)
    whole = sew_small_part(graph.view, patches, effort=effort, known=known)
    if whole is not None:
        return Found(
            whole.order, whole.merit.hard_corners, whole.merit.units, True, found.locked, _untidied(whole.tidied)
        )
    whole = _solve_part(graph.view.block, patches, effort=effort, tidy=True)
    return replace(
        found,
        order=whole.order if whole.merit[:4] < known[:4] else found.order,
        hard_corners=max(found.hard_corners, whole.bound.hard_corners),
        units=max(found.units, whole.bound.units if all(whole.levels[:3]) else 1),
        proven=whole.proven,
    )


def _safe_above_locked(graph: PartsGraph, solved: Solved) -> bool:
    """Tell whether every cut that was made above a locked part is safe."""
    stack = [(solved, True)]
    while stack:
        node, safe = stack.pop()
        if node.locked and not safe:
            return False
        if node.option:
            safe = safe and graph.is_safe(node.option.cut)
            stack += [(below, safe) for below in graph.below(node)]
    return True


def _put_together(graph: PartsGraph, part: int, cuts: Sequence[Cut], locked: Sequence[Locked]) -> Order:
    """Build the order of a part from its cuts (each after the ones it needs) and its locked parts."""
    if cuts:
        sides = _sides(graph, part, cuts[0])
        shared = []
        for side in sides:
            within = [cut for cut in cuts[1:] if _patch_in(graph.view, cut, side)]
            shared.append(_put_together(graph, side, within, [a for a in locked if not a.patches & ~side]))
        return Joined(cuts[0], (shared[0], shared[1]))
    if locked:
        return _hang_on(graph, part, locked[0], locked[1:])
    chain = peel(graph.view, part)
    if chain is None:
        raise AssertionError("a part without cuts and locked parts is a unit")
    return Grown(chain)


def _sides(graph: PartsGraph, part: int, cut: Cut) -> Sequence[int]:
    """Return the two sides of a cut, that of the lowest patch first."""
    if not graph.view.in_one_line(cut[0], cut[-1]):
        return pieces(graph.view, part, sum(1 << k for k in cut))
    left, right = graph.split(part, (cut[0], cut[-1]))
    return (left, right) if left & -left < right & -right else (right, left)


def _patch_in(view: SeamView, cut: Cut, side: int) -> bool:
    return bool(side >> view.block.edges[cut[0]].left & 1)


def _hang_on(graph: PartsGraph, part: int, first: Locked, others: Sequence[Locked]) -> Order:
    """Add what lies round a locked part to the units of its order: each piece hangs on one patch."""
    hanging = pieces(graph.view, part & ~first.patches, 0)
    extra: dict[int, int] = {}
    for piece in hanging:
        holder = next(p for p in bits(first.patches) if graph.view.neighbours[p] & piece)
        extra[holder] = extra.get(holder, 0) | piece

    def extend(order: Order) -> Order:
        if isinstance(order, Joined):
            return Joined(order.edges, (extend(order.parts[0]), extend(order.parts[1])))
        whole = 0
        for p in order.patches:
            whole |= 1 << p | extra.get(p, 0)
        if whole.bit_count() == len(order.patches):
            return order
        return _put_together(graph, whole, (), [a for a in others if not a.patches & ~whole])

    return extend(first.order)

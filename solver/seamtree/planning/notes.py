"""What there is to say of a plan for which something was asked, or might be."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import pairwise

from seamtree.block.foundations import classify
from seamtree.block.largest import Largest, Size
from seamtree.block.model import Block
from seamtree.errors import Finding
from seamtree.planning.model import Plan, Unit, nodes_in_turn
from seamtree.planning.naming import middle_of, sort_ids
from seamtree.planning.printed import Printed
from seamtree.planning.wishes import Wishes
from seamtree.remedies import PROOFREAD, RENUMBER, Remedy
from seamtree.search.find import find_limited
from seamtree.search.tree import Found, Grown, Joined, Order, count_units, units_in
from seamtree.search.view import bits
from seamtree.words import count, dimensions, listed

_MANY_PATCHES = 400
"""Blocks up to this size are told how many units would need no tape."""

_NOTE_EFFORT = 1.0
"""Seconds that may go into that, for all papers together."""

Sheet = tuple[str, Size]
"""A paper and what a sheet of it holds, inches of finished size."""

_FEW_NAMES = 6
"""As many units are named one by one."""


def told_wishes(plan: Plan, free: Found) -> Iterator[Finding]:
    """Yield what there is to say of what was asked: what it costs, and the patches that are too large.

    Parameters
    ----------
    plan
        The plan, with what was asked.
    free
        The best order without wishes.
    """
    yield from _told_repeats(plan, free)
    size = plan.wishes.largest
    if size is None:
        return
    units, without = plan.counts.units, count_units(free.order)
    if units > without and not plan.wishes.repeats:
        more = f"With units {plan.wishes.limit} the block takes {count(units, 'unit')}"
        searched = "" if free.proven else ", as far as was searched"
        yield Finding("wish-costs", f"{more}; with units of any size {without} would do{searched}.")
    alone = tuple(bits(Largest(plan.block, size).oversized))
    if alone:
        ids = plan.patch_ids()
        names = sort_ids(ids, alone)
        what = (
            f"Patch {names[0]} is larger than {dimensions(*size)} by itself, and stays a unit"
            if len(names) == 1
            else f"Patches {listed(names)} are larger than {dimensions(*size)} by themselves, and stay units"
        )
        message = f"{what}; what is to be smaller has to be drawn in several patches."
        yield Finding("patch-too-large", message, middle_of(plan.block, alone[:1]), tuple(names))


def _told_repeats(plan: Plan, free: Found) -> Iterator[Finding]:
    """Yield what it costs that fewer different foundations come before fewer units."""
    if not plan.wishes.repeats:
        return
    if plan.counts.hard_corners:
        message = "Different foundations are not compared where hard corners have to be turned."
        yield Finding("repeats-not-compared", message)
        return
    kinds, without = _foundations(plan.block, free.order)
    units = plan.counts.units
    if (units, plan.counts.foundations) != (without, kinds):
        limit = f" {plan.wishes.limit}" if plan.wishes.limit else ""
        asked = f"With the fewest different foundations{limit} the block takes {count(units, 'unit')} on "
        asked += f"{count(plan.counts.foundations, 'foundation')}"
        message = f"{asked}; with the fewest units it takes {count(without, 'unit')} on {count(kinds, 'foundation')}."
        yield Finding("wish-costs", message)


def told_printed(plan: Plan, free: Found) -> Iterator[Finding]:
    """Yield what it costs to keep what is printed."""
    without = count_units(free.order)
    if plan.kept and plan.counts.units > without:
        searched = "" if free.proven else ", as far as was searched"
        takes = f"The printed {plan.kept} are kept, which take {count(plan.counts.units, 'unit')}"
        yield Finding("wish-costs", f"{takes}; with {RENUMBER} {without} would do{searched}.", remedies=(RENUMBER,))


def told_refusal(block: Block, printed: Printed, wishes: Wishes) -> Iterator[Finding]:
    """Yield what of the wishes cannot be had: printed units that cannot be sewn, or that contradict the others."""
    for fault in printed.faults[: _FEW_NAMES if printed.asked else 1]:
        if printed.asked:
            message = f"The printed units cannot be had: {fault.message} The plan is made without them."
            yield Finding("wish-refused", message, fault.at, fault.patches)
        else:
            told = f"The printed numbers cannot be kept: {fault.message} The plan has new ones"
            message = f"{told}; {PROOFREAD} tells all that is wrong."
            yield Finding("numbers-not-kept", message, fault.at, fault.patches, remedies=(PROOFREAD,))
    if printed.order is None or printed.names is None:
        return
    if wishes.largest is None:
        return
    largest = Largest(block, wishes.largest)
    units = [unit.patches for unit in units_in(printed.order)]
    large = sorted(printed.names[ps[0]] for ps in units if not largest.holds(sum(1 << p for p in ps)))
    if large:
        what = f"units {listed(large)} as printed are" if len(large) > 1 else f"unit {large[0]} as printed is"
        message = (
            f"The printed {printed.kept} and units {wishes.limit} contradict each other: {what} larger. The plan is "
            f"made without either; {RENUMBER} gives the printed ones up."
        )
        yield Finding("wish-refused", message, remedies=(RENUMBER,))


def told_fewer_foundations(block: Block, printed: Printed, best: Order) -> Iterator[Finding]:
    """Yield that printed units contradict the fewest different foundations, if another order is better in that."""
    if printed.order is None:
        return
    mine, least = (_foundations(block, order) for order in (printed.order, best))
    if least < mine:
        told = [f"{count(units, 'unit')} on {count(kinds, 'foundation')}" for kinds, units in (mine, least)]
        message = (
            f"The printed {printed.kept} and the fewest different foundations contradict each other: they take "
            f"{told[0]}, and {told[1]} would do. The plan is made without either; {RENUMBER} gives the printed ones "
            "up."
        )
        yield Finding("wish-refused", message, remedies=(RENUMBER,))


def _foundations(block: Block, order: Order) -> tuple[int, int]:
    """Return the different foundations and the units of an order."""
    units = [unit.patches for unit in units_in(order)]
    return len(set(classify(block, units))), len(units)


def note_papers(plan: Plan, sheets: Sequence[Sheet], *, time_limit: float) -> Plan:
    """Return a plan with a note on the foundations that a sheet of paper cannot hold, if there are any.

    Parameters
    ----------
    plan
        The plan; one that was asked for units of a size stays as it is.
    sheets
        The papers that may be printed on.
    time_limit
        As for `plan`.
    """
    wide, high = sorted((plan.block.width, plan.block.height))
    small = [(name, size) for name, size in sheets if wide > min(size) or high > max(size)]
    if plan.wishes.largest is not None or not small:
        return plan
    notes = tuple(_told_papers(plan, small, time_limit=time_limit))
    return replace(plan, notes=(*plan.notes, *notes)) if notes else plan


def _found(plan: Plan) -> Found:
    """Return what was found for a plan."""
    bound, cost = plan.bound, plan.claims.cost
    return Found(
        _order_of(plan),
        bound.hard_corners,
        bound.units,
        plan.proven,
        plan.locked,
        (),
        plan.claims,
        cost.set_in,
        cost.excess_pivots,
    )


def _order_of(plan: Plan) -> Order:
    """Return a plan as an order without names."""
    between = plan.block.edge_between()
    finished: list[Order] = []
    for node in nodes_in_turn(plan.tree):
        if isinstance(node, Unit):
            finished.append(Grown(node.patches))
        else:
            second, first = finished.pop(), finished.pop()
            edges = tuple(between[frozenset(ends)] for ends in pairwise(node.seam.path))
            finished.append(Joined(edges, (first, second)))
    return finished[0]


def _told_papers(plan: Plan, sheets: Sequence[Sheet], *, time_limit: float) -> Iterator[Finding]:
    """Yield a note for each paper, or one for papers of which the same is to be said."""
    alike: dict[tuple[tuple[str, ...], bool], list[Sheet]] = {}
    units = [(unit.name, sum(1 << p for p in unit.patches)) for unit in plan.units()]
    for name, size in sheets:
        largest = Largest(plan.block, size)
        taped = tuple(unit for unit, patches in units if not largest.holds(patches))
        if taped:
            alike.setdefault((taped, bool(largest.oversized)), []).append((name, size))
    for (taped, oversized), some in alike.items():
        remedies = tuple(Remedy("fit", name.lower().rpartition(" ")[2]) for name, _ in some)
        held = [f"{name} {'' if n else 'holds '}{dimensions(*size)}" for n, (name, size) in enumerate(some)]
        told = f"A sheet of {', one of '.join((held[0] + ' of finished size', *held[1:]))}. {_are_taped(taped)}; "
        if len(plan.block.patches) > _MANY_PATCHES:
            told += f"{listed(list(map(str, remedies)))} ask{'s' * (len(some) == 1)} for units that need no tape."
        else:
            effort = min(time_limit, _NOTE_EFFORT) / len(some)
            takes = [
                f"with {remedy} {'' if n else 'the block takes '}{_units_that_fit(plan, some[n][1], effort)}"
                for n, remedy in enumerate(remedies)
            ]
            told += f"{', '.join(takes)}{',' * (len(some) > 1)} and nothing is taped"
            told += " but patches that are too large by themselves." if oversized else "."
        yield Finding("larger-than-paper", told, remedies=remedies)


def _are_taped(units: Sequence[str]) -> str:
    if len(units) == 1:
        return f"Unit {units[0]} is larger, so its foundation is taped together"
    several = (
        listed(units)
        if len(units) <= _FEW_NAMES
        else f"{', '.join(units[:_FEW_NAMES])} and {len(units) - _FEW_NAMES} more"
    )
    return f"Units {several} are larger, so their foundations are taped together"


def _units_that_fit(plan: Plan, size: Size, effort: float) -> str:
    """Say how many units a block takes if none is larger than a sheet."""
    limited = find_limited(plan.block, _found(plan), size, time_limit=effort, prove=False)
    return f"{'' if limited.proven else 'at most '}{count(count_units(limited.order), 'unit')}"

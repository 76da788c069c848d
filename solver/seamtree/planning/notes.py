"""What there is to say of a plan for which something was asked, or might be."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from itertools import pairwise

from seamtree.block.largest import Largest, Size
from seamtree.block.model import Block
from seamtree.errors import Finding
from seamtree.planning.model import Plan, Unit, nodes_in_turn
from seamtree.planning.naming import middle_of, sort_ids
from seamtree.planning.printed import Printed
from seamtree.planning.wishes import Wishes
from seamtree.remedies import PROOFREAD, RENUMBER, Remedy
from seamtree.search.find import find_limited
from seamtree.search.straight.foundations import classify
from seamtree.search.tree import Found, Grown, Joined, Order, count_units, units_in
from seamtree.search.view import bits
from seamtree.words import count, dimensions, listed

_MANY_PATCHES = 400
"""Blocks up to this size are told how many units would need no tape."""

_NOTE_EFFORT = 0.5
"""Seconds that may go into that."""

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
    kinds = len(set(classify(plan.block, [unit.patches for unit in units_in(free.order)])))
    units, without = plan.counts.units, count_units(free.order)
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
    if wishes.repeats:
        message = (
            f"The printed {printed.kept} and the fewest different foundations contradict each other. The plan is "
            f"made without either; {RENUMBER} gives the printed ones up."
        )
        yield Finding("wish-refused", message, remedies=(RENUMBER,))
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


def note_paper(plan: Plan, size: Size, paper: str, *, time_limit: float) -> Plan:
    """Return a plan with a note on the foundations that a sheet of paper cannot hold, if there are any.

    Parameters
    ----------
    plan
        The plan; one that was asked for units of a size stays as it is.
    size, paper
        What a sheet holds (inches, finished size) and its name.
    time_limit
        As for `plan`.
    """
    wide, high = sorted((plan.block.width, plan.block.height))
    if plan.wishes.largest is not None or (wide <= min(size) and high <= max(size)):
        return plan
    bound, cost = plan.bound, plan.claims.cost
    order = _order_of(plan)
    found = Found(
        order,
        bound.hard_corners,
        bound.units,
        plan.proven,
        plan.locked,
        (),
        plan.claims,
        cost.set_in,
        cost.excess_pivots,
    )
    notes = tuple(_told_paper(plan, found, size, paper, time_limit=time_limit))
    return replace(plan, notes=(*plan.notes, *notes)) if notes else plan


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


def _told_paper(plan: Plan, found: Found, size: Size, paper: str, *, time_limit: float) -> Iterator[Finding]:
    largest = Largest(plan.block, size)
    taped = [unit.name for unit in plan.units() if not largest.holds(sum(1 << p for p in unit.patches))]
    if not taped:
        return
    names = (
        listed(taped)
        if len(taped) <= _FEW_NAMES
        else f"{', '.join(taped[:_FEW_NAMES])} and {len(taped) - _FEW_NAMES} more"
    )
    several = len(taped) > 1
    remedy = Remedy("fit", paper.lower().rpartition(" ")[2])
    larger = f"Units {names} are larger, so their foundations are" if several else f"Unit {names} is larger, so its "
    larger += "" if several else "foundation is"
    message = f"A sheet of {paper} holds {dimensions(*size)} of finished size. {larger} taped together; {remedy} "
    if len(plan.block.patches) > _MANY_PATCHES:
        yield Finding("larger-than-paper", f"{message}asks for units that need no tape.", remedies=(remedy,))
        return
    limited = find_limited(plan.block, found, size, time_limit=min(time_limit, _NOTE_EFFORT), prove=False)
    number = count_units(limited.order)
    exactly = "" if limited.proven else "at most "
    message += f"takes {exactly}{count(number, 'unit')} and needs no tape."
    if largest.oversized:
        message = message.removesuffix(".") + ", except for patches that are too large by themselves."
    yield Finding("larger-than-paper", message, remedies=(remedy,))

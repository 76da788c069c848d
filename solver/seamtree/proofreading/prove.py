"""Prove or refute the numbers printed on a block."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from itertools import permutations, product

from seamtree.block.model import Block
from seamtree.errors import Finding, ProofError
from seamtree.planning.build import plan
from seamtree.planning.model import Plan
from seamtree.planning.wishes import RENUMBERED
from seamtree.proofreading.chains import first_failure, unit_pieces
from seamtree.proofreading.joins import join_units
from seamtree.proofreading.labels import Reading, place, printed_order, read_labels, shortened
from seamtree.proofreading.orders import nearest_order
from seamtree.proofreading.outcome import (
    Label,
    PrintedJoin,
    PrintedUnit,
    Proofreading,
    Renumbering,
    middle,
    renumbered,
)
from seamtree.remedies import PLAN
from seamtree.search.peel import peel_off
from seamtree.search.view import SeamView, bits, build_view
from seamtree.words import capital, listed

_MOST_WAYS = 200
"""Ways to tell equal numbers apart that are tried."""


def proofread(block: Block, *, time_limit: float = 10.0, best: Plan | None = None) -> Proofreading:
    """Prove that a block can be sewn exactly as its printed numbers say, or say what is wrong with them.

    Parameters
    ----------
    block
        What is to be sewn; the labels of its patches are the printed numbers.
    time_limit
        For the search whether fewer units would do, as for `seamtree.plan`.
    best
        What `seamtree.plan` returned for the block, if it is known already.

    Returns
    -------
    Proofreading
        The printed units, how straight seams join them, and everything that is wrong.

    Raises
    ------
    DrawingError
        If no patch has a label to read.
    OptionError
        If the time limit makes no sense.
    """
    reading = read_labels(block)
    if best is None:
        best = plan(block, time_limit=time_limit, wishes=RENUMBERED)
    view = build_view(block)
    order = printed_order(reading.labels)
    faults = list(reading.faults)
    units = []
    whole = not reading.unsure
    for name, patches in order.items():
        unit, found = _prove_unit(view, reading.labels, name, patches)
        units.append(unit)
        faults += found
        whole &= all(finding.code != "unit-apart" for finding in found)
    joins: tuple[PrintedJoin, ...] = ()
    if whole:
        joins, locked = join_units(view, order)
        faults += locked
    meant = (unit.meant for unit in units if unit.meant is not None)
    notes = (
        *reading.notes,
        *meant,
        *_not_checked(reading, whole=whole),
        *_about_plan(best, len(units), proven=not faults),
    )
    straight = best.counts.hard_corners == 0
    return Proofreading(
        block=block,
        labels=reading.labels,
        units=tuple(units),
        joins=joins,
        joins_checked=whole,
        refutations=tuple(faults),
        notes=notes,
        fewest_units=(best.free_units or best.counts.units) if straight else None,
        least_units=_least_units(best),
    )


# -- one unit ---------------------------------------------------------------------------------------------------


def _prove_unit(
    view: SeamView, labels: Mapping[int, Label], name: str, patches: Sequence[int]
) -> tuple[PrintedUnit, list[Finding]]:
    """Prove that a unit is a chain in printed order, or find the nearest order that is one."""
    printed = {p: labels[p].number for p in patches}
    doubled = len(set(printed.values())) < len(printed)
    title = PrintedUnit(name, (), chain=False).title
    failure = None if doubled else first_failure(view, labels, patches)
    if failure is None and not doubled:
        return PrintedUnit(name, tuple(patches), chain=True), []
    faults = [failure] if failure else []
    apart = unit_pieces(view, labels, title, patches)
    if apart:
        return PrintedUnit(name, tuple(patches), chain=False), [*faults, apart]
    # Doubled numbers are no order, so there is none to hold on to but the plain count.
    numbers = range(1, len(printed) + 1) if doubled else sorted(printed.values())
    nearest = nearest_order(view, printed, numbers)
    if nearest is None:
        faults.append(_locked(view, labels, title, patches))
    meant = _meant(view, labels, patches) if doubled else None
    return PrintedUnit(name, tuple(patches), chain=False, nearest=nearest, meant=meant), faults


def _meant(view: SeamView, labels: Mapping[int, Label], patches: Sequence[int]) -> Finding | None:
    """Tell which of equal numbers are meant, if there is one way to give others the missing numbers that can be sewn.

    Tried are all ways in which every other number stays.
    """
    places: dict[int, list[int]] = {}
    for p in patches:
        places.setdefault(labels[p].number, []).append(p)
    missing = [k for k in range(1, len(patches) + 1) if k not in places]
    twice = {number: found for number, found in places.items() if len(found) > 1}
    if sum(len(found) - 1 for found in twice.values()) != len(missing):
        return None
    ways = math.prod(map(len, twice.values())) * math.factorial(len(missing))
    if ways > _MOST_WAYS:
        return None
    fits = []
    for kept in product(*twice.values()):
        moved = [p for found in twice.values() for p in found if p not in kept]
        for numbers in permutations(missing):
            given = {p: labels[p].number for p in patches} | dict(zip(moved, numbers, strict=True))
            if first_failure(view, labels, sorted(patches, key=given.__getitem__)) is None:
                fits.append(dict(zip(moved, numbers, strict=True)))
    if len(fits) != 1:
        return None
    told = [
        f"the {labels[p]} at {place(middle(view.block, p))} is meant to be {Label(labels[p].unit, number)}"
        for p, number in sorted(fits[0].items())
    ]
    at = middle(view.block, min(fits[0]))
    names = tuple(str(labels[p]) for p in sorted(fits[0]))
    message = f"{capital(listed(told))}: all other numbers can then be sewn as printed, and in no other such way."
    return Finding("which-is-meant", message, at, names)


def _locked(view: SeamView, labels: Mapping[int, Label], title: str, patches: Sequence[int]) -> Finding:
    left, _ = peel_off(view, sum(1 << p for p in patches))
    names = tuple(str(labels[p]) for p in sorted(bits(left), key=lambda p: (labels[p].number, p)))
    message = (
        f"{capital(title)} cannot be sewn in any order: of {shortened(names)} none can be the last one "
        "sewn to the others with one straight seam."
    )
    return Finding("unit-locked", message, middle(view.block, next(bits(left))), names)


def describe_nearest(labels: Mapping[int, Label], title: str, nearest: Renumbering) -> str:
    """Say in a sentence how to renumber a unit so that it can be sewn."""
    changes = renumbered(labels, nearest)
    listed = ", ".join(f"{old} → {new}" for _, old, new in changes)
    count = f"{nearest.changed} patch{'es' * (nearest.changed != 1)}"
    bound = "the fewest" if nearest.exact else f"at least {nearest.least} must change"
    return f"Nearest valid order of {title}: renumber {count} ({bound}): {listed}."


# -- the block --------------------------------------------------------------------------------------------------


def _not_checked(reading: Reading, *, whole: bool) -> Iterator[Finding]:
    if whole:
        return
    why = "every patch has one label" if reading.unsure else "every unit is in one piece"
    yield Finding("joins-not-checked", f"Whether straight seams join the units can only be told once {why}.")


def _least_units(best: Plan) -> int:
    """Return what no plan takes fewer units than, whatever is printed."""
    return best.claims.cost.joins + 1 if best.kept else best.bound.units


def _about_plan(best: Plan, printed: int, *, proven: bool) -> Iterator[Finding]:
    """Compare the printed units with the best plan."""
    counts = best.counts
    if counts.hard_corners:
        if proven and best.bound.hard_corners:
            raise ProofError("the printed order needs straight seams only, but a plan is said to need a hard corner")
        if not proven:
            least = "needs" if best.proven else "has, as far as was searched,"
            corners = f"{counts.hard_corners} hard corner{'s' * (counts.hard_corners != 1)}"
            message = f"The best sewing order {least} {corners}, whatever the numbers; {PLAN} tells where."
            yield Finding("hard-corners", message, remedies=(PLAN,))
        return
    if proven and printed < _least_units(best):
        raise ProofError(f"the block is printed and proven in {printed} units; a plan is said to need more")
    fewest = best.free_units or counts.units
    if fewest < printed:
        units = f"{fewest} unit{'s' * (fewest != 1)}"
        yield Finding("fewer-units", f"{units} would do instead of {printed}; {PLAN} tells how.", remedies=(PLAN,))

"""From a drawing to the smallest change that makes it sewable: the stages one after the other."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from seamtree.block.model import Block
from seamtree.block.sketch import Sketch, sketch_of
from seamtree.errors import Finding, OptionError, Point
from seamtree.mending import curves
from seamtree.mending.choose import Candidate, Chooser
from seamtree.mending.merge import merge
from seamtree.mending.model import Alternative, Goal, Mending, StraightenedCurve
from seamtree.mending.spare import spared_fabrics
from seamtree.mending.words import Names, straightened_curve
from seamtree.planning.build import plan
from seamtree.planning.model import Plan
from seamtree.planning.wishes import RENUMBERED
from seamtree.remedies import STRAIGHTEN, TIME_LIMIT
from seamtree.words import listed

MOST_ALTERNATIVES = 5
"""Equally small changes that may be asked for."""

MOST_ADDED = 60
"""As many patches are added at most to save units."""

_COUNTING_SHARE = 0.2
"""Share of the effort that may go into counting the hard corners of a drawing that is to be changed anyway."""


@dataclass(frozen=True, slots=True)
class _Task:
    """What is to be changed, and how.

    Parameters
    ----------
    sketch, base
        The drawing with straightened curves, and its plan if no patch floats.
    chooser
        Chooses seams for it.
    names
        What patches are called.
    alternatives, units
        As for `mend`.
    """

    sketch: Sketch
    base: Plan | None
    chooser: Chooser
    names: Names
    alternatives: int
    units: int


Found = tuple[list[Alternative], list[Finding]]


def mend(
    drawing: Block | Sketch,
    *,
    goal: Goal = "straight seams",
    units: int | None = None,
    spare: Sequence[str] = (),
    curve_tolerance: float | None = None,
    alternatives: int = 1,
    time_limit: float = 10.0,
    before: Plan | None = None,
) -> Mending:
    """Find the smallest change of a drawing that makes it sewable with straight seams.

    Parameters
    ----------
    drawing
        The block as drawn; a sketch where patches may float in others.
    goal
        ``straight seams``: carry seams on, adding as few patches as possible; among equals, fewest units, then most
        of the drawing's symmetry, then fewest matched points and different foundations. ``units``: add as few patches
        as possible so that no more than `units` units are needed. ``frontier``: what each further patch buys, from
        the fewest patches to the fewest units. ``merged``: drop as few seams as possible between neighbours of the
        same fabric, so that there are no hard corners, or fewer of them, or fewer units.
    units
        Most units; for the goal ``units`` alone.
    spare
        Fabrics, by colour or word, through whose patches no seam is carried.
    curve_tolerance
        Replace curved seams by straight ones within this distance first (inches); None leaves them curved.
    alternatives
        How many equally small changes are wanted, 1 to 5.
    time_limit
        Effort in seconds of an ordinary machine; counted, not clocked.
    before
        The plan of the block as drawn, where there is one already: its patch ids are then used.

    Returns
    -------
    Mending
        The changes and the plans before and after.

    Raises
    ------
    OptionError
        If an option makes no sense.
    """
    if not 1 <= alternatives <= MOST_ALTERNATIVES:
        raise OptionError(f"the number of alternatives must be 1 to {MOST_ALTERNATIVES}, not {alternatives}")
    if curve_tolerance is not None and not 0 < curve_tolerance < float("inf"):
        raise OptionError(f"the distance for curves must be a length above 0 in, not {curve_tolerance:g}")
    if (units is None) == (goal == "units") or (units is not None and units < 1):
        raise OptionError("the most units must be 1 or more, and are for the goal 'units' alone")
    if isinstance(drawing, Block):
        drawn = sketch_of(drawing)
        before = before or plan(drawing, time_limit=time_limit * _COUNTING_SHARE, wishes=RENUMBERED)
    elif goal == "merged":
        raise OptionError("seams cannot be dropped in a drawing in which patches float; mend it first")
    else:
        drawn, before = drawing, None
    fabrics = spared_fabrics(drawn, spare)
    sketch, block, base, straightened = _straightened(drawing, before, curve_tolerance, time_limit)
    names = Names(sketch, before, block)
    found: list[Alternative] = []
    reasons: list[Finding] = []
    if goal == "merged" and block is not None and base is not None:
        found, reasons = _merged(block, base, names, alternatives=alternatives, time_limit=time_limit)
    elif not _is_done(goal, base, units or 1):
        chooser = Chooser(sketch, spare=fabrics, time_limit=time_limit)
        task = _Task(sketch, base, chooser, names, alternatives, units or 1)
        found, reasons = _FINDERS[goal](task)
    return Mending(drawn, before, goal, tuple(found), straightened, base, tuple(reasons), units or 0)


def _straightened(
    drawing: Block | Sketch, before: Plan | None, distance: float | None, time_limit: float
) -> tuple[Sketch, Block | None, Plan | None, tuple[StraightenedCurve, ...]]:
    """Straighten curves if that is wanted; return the drawing, as a block with its plan if none of it floats."""
    if not isinstance(drawing, Block):
        return (drawing if distance is None else curves.straighten_sketch(drawing, distance=distance)), None, None, ()
    if distance is None or before is None:
        return sketch_of(drawing), drawing, before, ()
    block, done = curves.straighten(drawing, distance=distance)
    base = plan(block, time_limit=time_limit * _COUNTING_SHARE, wishes=RENUMBERED) if done else before
    return sketch_of(block), block, base, tuple(straightened_curve(drawing, s, before) for s in done)


def _is_done(goal: Goal, base: Plan | None, units: int) -> bool:
    if base is None or base.counts.hard_corners:
        return False
    return goal == "straight seams" or base.counts.units <= units


def _carry_on(task: _Task) -> Found:
    chooser = task.chooser
    fewest = chooser.fewest()
    reasons = [_stuck(task, part, certain) for part, certain in fewest.stuck]
    if not fewest.choice.edges:
        if not reasons and task.base is None:
            where = task.sketch.faults[0].at or (0.0, 0.0)
            message = (
                f"No line of what floats at {where[0]:.2f}, {where[1]:.2f} can be carried on: its sides are curved. "
                f"{STRAIGHTEN} replaces them by straight ones."
            )
            reasons = [Finding("curved-sides", message, where, remedies=(STRAIGHTEN,))]
        return [], reasons
    units_proven = False
    if not chooser.small or fewest.stuck:
        known = list(chooser.part_by_part(fewest))
    else:
        known = [c for c in (chooser.candidate(fewest.choice),) if c is not None]
        better = chooser.fewest_units(fewest.choice.patches)
        if better is not None:
            known.append(better)
            units_proven = better.choice.proven and better.plan.counts.units == better.choice.units
            known += chooser.equally_good(better)
    if not fewest.stuck:
        known = [c for c in known if not c.plan.counts.hard_corners]
    known.sort(key=lambda c: c.merit)
    known = _really_different(chooser, known, task.alternatives)
    if known and len(known) < task.alternatives and chooser.small and not fewest.stuck:
        for other in chooser.others(known):
            known.append(other)
            if len(known) == task.alternatives:
                break
        known[1:] = sorted(known[1:], key=lambda c: c.merit)
    if not known:
        return [], [*reasons, _out_of_time("No way to add seams was found that reads back")]
    least = known[0].plan.counts.units
    return [
        _alternative(
            task,
            c,
            proven=fewest.choice.proven,
            least=fewest.choice.bound,
            units_proven=units_proven and c.plan.counts.units == least,
        )
        for c in known
    ], reasons


def _really_different(chooser: Chooser, known: Sequence[Candidate], most: int) -> list[Candidate]:
    """Leave out what is a turned or mirrored one of another."""
    kept: list[Candidate] = []
    images: set[frozenset[int]] = set()
    for candidate in known:
        if candidate.choice.edges not in images and len(kept) < most:
            kept.append(candidate)
            images |= {frozenset(move[k] for k in candidate.choice.edges) for move in chooser.symmetries}
            images.add(candidate.choice.edges)
    return kept


def _so_few_units(task: _Task) -> Found:
    chooser = task.chooser
    if not chooser.small:
        return [], [_too_large(task)]
    found, bound, impossible = chooser.fewest_patches(task.units, most=MOST_ADDED)
    wanted = "a single unit" if task.units == 1 else f"{task.units} units"
    if found is None or found.plan.counts.units > task.units:
        if impossible:
            message = f"Carrying seams on cannot make this block {wanted}: every way was tried."
            return [], [Finding("impossible", message)]
        return [], [_out_of_time(f"No way to {wanted} was found in time")]
    return [_alternative(task, found, proven=found.choice.proven, least=bound)], []


def _frontier(task: _Task) -> Found:
    """List what each further patch buys: the fewest patches for fewer and fewer units."""
    chooser = task.chooser
    if not chooser.small:
        return [], [_too_large(task)]
    told: list[Alternative] = []
    if task.base is not None and not task.base.counts.hard_corners:
        units, least = task.base.counts.units, 0
    else:
        mended, reasons = _carry_on(task)
        if not mended:
            return [], reasons
        told.append(mended[0])
        units, least = mended[0].plan.counts.units, mended[0].added_patches
    reasons = []
    while units > 1:
        found, bound, impossible = chooser.fewest_patches(units - 1, most=MOST_ADDED)
        if found is None or found.plan.counts.units >= units:
            wanted = "a single unit" if units == 2 else f"{units - 1} units"
            reasons.append(
                Finding("impossible", f"No seams carried on make it {wanted}: every way was tried.")
                if impossible
                else _out_of_time(f"Whether it can be {wanted} was not settled in time")
            )
            break
        units = found.plan.counts.units
        told.append(_alternative(task, found, proven=found.choice.proven, least=max(bound, least)))
        least = max(least, bound)
    return told, reasons


def _too_large(task: _Task) -> Finding:
    message = f"The block {task.sketch.name} has too many places where seams may go to count units for all of them."
    return Finding("too-many-places", message)


def _out_of_time(what: str, at: Point | None = None) -> Finding:
    return Finding("out-of-time", f"{what}; a longer {TIME_LIMIT} may help.", at, remedies=(TIME_LIMIT,))


def _stuck(task: _Task, part: frozenset[int], certain: bool) -> Finding:
    """Say which part stays locked, and what may help."""
    parts = task.chooser.parts
    arrangement = parts.arrangement
    drawn = sorted(k for k in part if arrangement.drawn[k])
    inside = {v for k in drawn for v in arrangement.edges[k]} - parts.broken
    places = sorted(arrangement.points[v] for v in inside) or [arrangement.points[arrangement.edges[drawn[0]][0]]]
    x, y = places[len(places) // 2]
    patches = {parts.owner[area] for k in drawn for area in parts.sides[k]}
    where = f"round {x:.2f}, {y:.2f} ({listed(task.names.sorted(patches))})"
    if any(arrangement.curves[k] is not None for k in drawn):
        message = f"The part {where} has curved seams: {STRAIGHTEN} replaces them by straight ones."
        return Finding("curved-sides", message, (x, y), remedies=(STRAIGHTEN,))
    if certain and task.chooser.spares:
        message = f"Impossible: in the part {where} no seam can be carried on that spares the fabrics named."
        return Finding("impossible", message, (x, y))
    if certain:
        message = f"In the part {where} no seam can be carried on so that straight seams sew it."
        return Finding("impossible", message, (x, y))
    return _out_of_time(f"For the part {where} nothing was found in time", (x, y))


def _alternative(
    task: _Task, candidate: Candidate, *, proven: bool, least: int, units_proven: bool = False
) -> Alternative:
    added = task.names.added(task.chooser.parts, candidate.choice.edges)
    return Alternative(
        candidate.plan,
        added,
        (),
        candidate.choice.patches,
        candidate.awkward,
        proven,
        least,
        units_proven,
        candidate.symmetries,
    )


def _merged(block: Block, base: Plan, names: Names, *, alternatives: int, time_limit: float) -> Found:
    if base.counts.units == 1:
        return [], []
    answer = merge(block, alternatives=alternatives, time_limit=time_limit)
    found = []
    for merged in answer.found:
        after = plan(merged.block, time_limit=time_limit, wishes=RENUMBERED)
        dropped = tuple(names.dropped(pair) for pair in merged.pairs)
        fewer = len(merged.block.patches) - len(block.patches)
        found.append(Alternative(after, (), dropped, fewer, 0, answer.proven))
    if found:
        return found, []
    message = "No seam between neighbours of the same fabric was found whose loss saves hard corners or units."
    return [], [Finding("nothing-saved", message)]


_FINDERS: dict[Goal, Callable[[_Task], Found]] = {
    "straight seams": _carry_on,
    "units": _so_few_units,
    "frontier": _frontier,
}

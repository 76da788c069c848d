"""From a drawing to the smallest change that makes it sewable: the stages one after the other."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from seamtree.block.model import Block
from seamtree.block.sketch import Sketch, sketch_of
from seamtree.errors import Finding, OptionError, Point
from seamtree.mending import curves
from seamtree.mending.arrangement import arrange
from seamtree.mending.choose import Candidate, Chooser, Fewest
from seamtree.mending.merge import merge
from seamtree.mending.model import Alternative, Goal, Mending, StraightenedCurve
from seamtree.mending.redraw import redraw
from seamtree.mending.spare import spared_fabrics
from seamtree.mending.step_by_step import Steps
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

_STEPS_REACH = 3
"""Through so many patches a seam is carried on at most when seams are added one after the other."""

_NEAR = (1, 2)
"""Through so many patches seams are carried on where the model takes too long to find any way at all."""

_STEPS_SHARE = 0.3
"""Share of the effort for that, where the model looks at the drawing as well."""

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
    alternatives, units, time_limit
        As for `mend`.
    spare
        Fabrics through whose patches no seam is carried.
    """

    sketch: Sketch
    base: Plan | None
    chooser: Chooser
    names: Names
    alternatives: int
    units: int
    spare: frozenset[str]
    time_limit: float


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
    elif not drawing.faults and (whole := redraw(arrange(drawing), ())) is not None:
        drawn, drawing = drawing, whole
        before = before or plan(whole, time_limit=time_limit * _COUNTING_SHARE, wishes=RENUMBERED)
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
        task = _Task(sketch, base, chooser, names, alternatives, units or 1, frozenset(fabrics), time_limit)
        found, reasons = _FINDERS[goal](task)
    return Mending(drawn, before, goal, tuple(found), straightened, base, tuple(reasons), units or 0)


def _straightened(
    drawing: Block | Sketch, before: Plan | None, distance: float | None, time_limit: float
) -> tuple[Sketch, Block | None, Plan | None, tuple[StraightenedCurve, ...]]:
    """Straighten curves if that is wanted; return the drawing, as a block with its plan if none of it floats."""
    if not isinstance(drawing, Block):
        if distance is None:
            return drawing, None, None, ()
        sketch, replaced = curves.straighten_sketch(drawing, distance=distance)
        names = Names(drawing, None, None)
        return sketch, None, None, tuple(StraightenedCurve(s.path, names.between(s.areas), s.moved) for s in replaced)
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
    task, fewest = _fewest(task)
    chooser = task.chooser
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
            units_proven = (
                fewest.all_ways and better.choice.proven and better.plan.counts.units == better.choice.units
            )
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


def _fewest(task: _Task) -> tuple[_Task, Fewest]:
    """Return the fewest patches; where the model takes too long, with seams that are carried on through few only."""
    fewest = task.chooser.fewest()
    if all(certain for _, certain in fewest.stuck):
        return task, fewest
    for reach in _NEAR:
        chooser = Chooser(task.sketch, spare=task.spare, time_limit=task.time_limit, reach=reach)
        near = chooser.fewest()
        if not near.stuck:
            least = fewest.choice.bound + len(fewest.stuck)
            choice = replace(near.choice, proven=near.choice.patches <= least, bound=least)
            return replace(task, chooser=chooser), replace(near, choice=choice, all_ways=False)
    return task, fewest


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
    start, reasons = _start(task)
    if start is None:
        return [], reasons
    if start.units <= task.units and start.first is not None:
        return [start.first], []
    rung, impossible = _Ladder(task, start, until=task.units).rung(task.units)
    if rung is not None:
        return [rung], []
    wanted = "a single unit" if task.units == 1 else f"{task.units} units"
    if impossible:
        message = f"Carrying seams on cannot make this block {wanted}: every way was tried."
        return [], [Finding("impossible", message)]
    return [], [_out_of_time(f"No way to {wanted} was found in time")]


def _frontier(task: _Task) -> Found:
    """List what each further patch buys: the fewest patches for fewer and fewer units."""
    start, reasons = _start(task)
    if start is None:
        return [], reasons
    told = [] if start.first is None else [start.first]
    units, least = start.units, 0 if start.first is None else start.first.added_patches
    ladder = _Ladder(task, start, until=1)
    while units > 1:
        rung, impossible = ladder.rung(units - 1)
        if rung is None:
            wanted = "a single unit" if units == 2 else f"{units - 1} units"
            reasons.append(
                Finding("impossible", f"No seams carried on make it {wanted}: every way was tried.")
                if impossible
                else _out_of_time(f"Whether it can be {wanted} was not settled in time")
            )
            break
        least = max(least, rung.least)
        told.append(replace(rung, least=least))
        units = rung.plan.counts.units
    return told, reasons


@dataclass(frozen=True, slots=True)
class _Start:
    """What fewer units are looked for from: the drawing if straight seams sew it, else that with fewest patches more.

    Parameters
    ----------
    units
        How many it takes.
    sketch, plan
        The drawing; None where it has to be mended first and is modelled as a whole.
    first
        How it is mended, if it has to be.
    """

    units: int
    sketch: Sketch | None
    plan: Plan | None
    first: Alternative | None = None


def _start(task: _Task) -> tuple[_Start | None, list[Finding]]:
    if task.base is not None and not task.base.counts.hard_corners:
        return _Start(task.base.counts.units, task.sketch, task.base), []
    mended, reasons = _carry_on(task)
    if not mended or mended[0].plan.counts.hard_corners:
        return None, reasons
    first = mended[0]
    sketch = None if task.chooser.small else sketch_of(first.block)
    return _Start(first.plan.counts.units, sketch, first.plan, first), reasons


class _Ladder:
    """Finds drawings with fewer units: step by step, and by the model where that takes the drawing as a whole."""

    def __init__(self, task: _Task, start: _Start, *, until: int) -> None:
        self._task, self._start = task, start
        self._rungs: list[Alternative] = []
        self._singles: int | None = None
        if start.sketch is not None:
            self._climb(start.sketch, until)

    def _climb(self, sketch: Sketch, until: int) -> None:
        task, start = self._task, self._start
        share = _STEPS_SHARE if task.chooser.small else 1.0
        chooser = Chooser(sketch, spare=task.spare, time_limit=task.time_limit, reach=_STEPS_REACH)
        names = task.names if start.first is None else Names(sketch, start.plan, start.first.block)
        steps = Steps.of(chooser, start.units, time_limit=task.time_limit * share)
        for candidate in steps.rungs():
            added = names.added(candidate.parts, candidate.choice.edges)
            more, before = candidate.choice.patches, start.first.added_patches if start.first else 0
            own = start.first.added if start.first else ()
            self._rungs.append(
                Alternative(candidate.plan, (*own, *added), (), before + more, candidate.awkward, False, before + 1)
            )
            if candidate.plan.counts.units <= until:
                break
        self._singles = steps.singles

    def rung(self, units: int) -> tuple[Alternative | None, bool]:
        """Return the fewest patches for so few units, and whether it is certain that there are none."""
        task = self._task
        known = next((rung for rung in self._rungs if rung.plan.counts.units <= units), None)
        if known is not None and self._start.first is None:
            least = 1 if self._singles is None or self._singles <= units else 2
            known = replace(known, least=least, proven=known.added_patches <= least)
        if not task.chooser.small or (known is not None and known.proven):
            return known, False
        most = MOST_ADDED if known is None else known.added_patches - 1
        found, bound, impossible = task.chooser.fewest_patches(units, most=most)
        if found is not None and found.plan.counts.units <= units:
            return _alternative(task, found, proven=found.choice.proven, least=bound), False
        if known is not None and impossible:
            return replace(known, proven=True, least=known.added_patches), False
        return known, impossible and known is None


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
    if answer.proven:
        why = "No one or two seams between neighbours of one fabric save hard corners or units: every way was tried."
    else:
        why = "No seams between neighbours of the same fabric were found whose loss saves hard corners or units."
    return [], [Finding("nothing-saved", why)]


_FINDERS: dict[Goal, Callable[[_Task], Found]] = {
    "straight seams": _carry_on,
    "units": _so_few_units,
    "frontier": _frontier,
}

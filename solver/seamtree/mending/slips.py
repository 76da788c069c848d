"""Slips of the hand: gaps, overlaps, overshoots, loose ends, bends, doubled lines, open outlines, a missing frame.

At every place where the drawing looks as if the hand had slipped (`troubles`), all repairs near it are tried on the
drawing from the least on (`moves`), and the first after which nothing is left there is taken; where none does it all,
the one that leaves least. So a single slip is mended by moving as little as possible, and several one after the
other. A drawing is only ever judged by reading it.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import shapely

from seamtree.drawing.model import Drawing
from seamtree.errors import DrawingError, Finding, OptionError, Point
from seamtree.mending.moves import Drawn, Move, apply, moves_near
from seamtree.mending.troubles import BEND, SLIVER, STEP, Diagnosis, Trouble, diagnose, try_diagnosis
from seamtree.tolerances import TOLERANCE

_TRIALS_PER_SECOND = 60
"""How many repairs tried count as a second; counted, not clocked."""

_LARGEST = 0.5
"""Slips up to this size are looked for to say which size would do, inches."""

_PAIRS = 8
"""So many repairs that do not help alone are tried together with a second one."""

_ROUND_UP = 100


@dataclass(frozen=True, slots=True)
class Slip:
    """A slip of the hand that was mended.

    Parameters
    ----------
    at
        Where, after mending, in inches from the top left corner of the block; in the drawing's frame as long as
        there is none.
    kind
        ``gap``, ``overlap``, ``overshoot``, ``loose end``, ``bend``, ``doubled line``, ``open outline`` or
        ``missing frame``.
    distance
        How far something moved, inches; nought where a line was drawn instead.
    shape
        What it belongs to: a name that the drawing gives.
    """

    at: Point
    kind: str
    distance: float
    shape: str


@dataclass(frozen=True, slots=True)
class Mended:
    """A drawing without slips.

    Parameters
    ----------
    drawing
        With the points that were moved.
    slips
        What was mended, from top to bottom.
    left
        Faults that no repair of this size mends.
    enough
        Size up to which slips would have to be mended so that none is left, inches; None where none would do.
    """

    drawing: Drawing
    slips: tuple[Slip, ...]
    left: tuple[Finding, ...] = ()
    enough: float | None = None


def mend_slips(
    drawing: Drawing, *, within: float, tolerance: float = TOLERANCE, time_limit: float = 10.0
) -> Mended:
    """Mend the slips of a drawing, moving as little as possible.

    Parameters
    ----------
    drawing
        What a reader made of a file.
    within
        How far anything may be moved, inches.
    tolerance
        What cloth cannot tell apart, inches.
    time_limit
        Effort in seconds of an ordinary machine; counted, not clocked.

    Raises
    ------
    DrawingError
        If nothing can be made of the drawing at all.
    OptionError
        If `within` is no length above the tolerance.
    """
    if not tolerance < within < math.inf:
        raise OptionError(
            f"slips are larger than the tolerance of {tolerance:g} in, so --within must be, and not {within:g}"
        )
    found = _mended(drawing, within, tolerance, time_limit)
    if found.left and within < _LARGEST:
        more = _mended(drawing, _LARGEST, tolerance, time_limit / 2)
        if not more.left:
            size = max((slip.distance for slip in more.slips), default=0.0)
            return replace(found, enough=math.ceil(size * _ROUND_UP - 1e-6) / _ROUND_UP)
    return found


def enough_for(drawing: Drawing, *, tolerance: float, time_limit: float) -> float | None:
    """Return the least size, in hundredths of an inch, up to which slips have to be mended; None if none will do."""
    found = mend_slips(drawing, within=2 * tolerance, tolerance=tolerance, time_limit=time_limit)
    return found.enough if found.left else 2 * tolerance


@dataclass(slots=True)
class _State:
    """A drawing under repair."""

    drawing: Drawing
    now: Diagnosis
    within: float
    tolerance: float
    trials: int

    def tried(self, drawing: Drawing, group: Sequence[Trouble]) -> Iterator[_Trial]:
        """Yield what repairs of some troubles come to, the least repairs first."""
        drawn = Drawn(drawing, self.tolerance)
        for move in moves_near(drawn, group, self.within):
            if self.trials <= 0:
                return
            self.trials -= 1
            changed = apply(drawing, move)
            after = try_diagnosis(changed, within=self.within, tolerance=self.tolerance)
            if after is not None:
                yield _Trial(changed, after, move.cost, (_slip(drawn, move, group),))


@dataclass(frozen=True, slots=True)
class _Trial:
    """What repairs come to: the drawing and its troubles, the cost, and the slips that they mend."""

    drawing: Drawing
    after: Diagnosis
    cost: float
    slips: tuple[Slip, ...]

    @property
    def merit(self) -> tuple[float, ...]:
        """What is compared; the least is best."""
        return len(self.after.faults), len(self.after.troubles), self.cost


def _mended(drawing: Drawing, within: float, tolerance: float, time_limit: float) -> Mended:
    now = diagnose(drawing, within=within, tolerance=tolerance)
    state = _State(drawing, now, within, tolerance, int(time_limit * _TRIALS_PER_SECOND))
    slips: list[Slip] = []
    given_up: list[shapely.Geometry] = []
    while state.trials > 0:
        group = next(_groups(state.now, within, given_up), None)
        if group is None:
            break
        best = _repaired(state, group)
        if best is None:
            given_up += [trouble.where for trouble in group]
            continue
        slips += best.slips
        state.drawing, state.now = best.drawing, best.after
        given_up = []
    slips.sort(key=lambda slip: (round(slip.at[1], 6), round(slip.at[0], 6)))
    return Mended(state.drawing, tuple(_joined(slips, within)), tuple(state.now.faults))


def _repaired(state: _State, group: Sequence[Trouble]) -> _Trial | None:
    """Return the least repair after which nothing is left at a place, or else the one that leaves least."""
    best: _Trial | None = None
    others: list[_Trial] = []
    for trial in state.tried(state.drawing, group):
        if not _is_better(trial.after, state.now, group):
            others.append(trial)
        elif len(trial.after.troubles) <= len(state.now.troubles) - len(group):
            return trial
        elif best is None or trial.merit < best.merit:
            best = trial
    return best or _repaired_twice(state, group, others)


def _repaired_twice(state: _State, group: Sequence[Trouble], others: list[_Trial]) -> _Trial | None:
    """Return two repairs that leave less to mend together, where none does so alone."""
    where = shapely.union_all([trouble.where for trouble in group])
    others.sort(key=lambda trial: trial.merit)
    best: _Trial | None = None
    for first in others[:_PAIRS]:
        near = [t for t in first.after.troubles if shapely.dwithin(t.where, where, 2 * state.within)]
        new = [t for t in first.after.troubles if not any(shapely.dwithin(t.where, o.where, 1e-6) for o in state.now.troubles)]
        for second in state.tried(first.drawing, near + [t for t in new if not any(t is o for o in near)]):
            if _is_better(second.after, state.now, group):
                both = replace(second, cost=first.cost + second.cost, slips=first.slips + second.slips)
                if best is None or both.merit < best.merit:
                    best = both
        if best is not None:
            return best
    return None


def _is_better(after: Diagnosis, before: Diagnosis, group: Sequence[Trouble]) -> bool:
    """Tell whether a repair leaves less to mend, and takes no patch away that may be meant."""
    narrow = sum(trouble.code in (SLIVER, "gap", "overlap", "tiny", "doubled") for trouble in group)
    return (
        (len(after.faults), len(after.troubles)) < (len(before.faults), len(before.troubles))
        and len(after.troubles) <= len(before.troubles)
        and after.floating <= before.floating
        and after.patches >= before.patches - narrow
    )


def _groups(
    diagnosis: Diagnosis, within: float, given_up: Sequence[shapely.Geometry]
) -> Iterator[list[Trouble]]:
    """Yield troubles that lie beside each other, from top to bottom, but for those that were given up.

    Bends come first: the ends of lines on a bent one miss it or stick out, which is mended with the bend.
    """
    left = [t for t in diagnosis.troubles if not any(shapely.dwithin(t.where, old, 1e-6) for old in given_up)]
    left.sort(key=lambda t: (t.code != BEND, t.fault is None, *(round(v, 6) for v in t.where.bounds[1::-1])))
    while left:
        group = [left.pop(0)]
        for trouble in group:
            near = [t for t in left if shapely.dwithin(t.where, trouble.where, 2 * within)]
            left = [t for t in left if not any(t is other for other in near)]
            group += near
        yield group


def _joined(slips: Sequence[Slip], within: float) -> Iterator[Slip]:
    """Yield slips; those that took several moves at one place once."""
    told: list[Slip] = []
    for slip in slips:
        same = next(
            (k for k, old in enumerate(told) if old.kind == slip.kind and math.dist(old.at, slip.at) <= within), None
        )
        if same is None:
            told.append(slip)
        elif slip.distance > told[same].distance:
            told[same] = slip
    yield from told


# -- words --------------------------------------------------------------------------------------------------------


def _slip(drawn: Drawn, move: Move, group: Sequence[Trouble]) -> Slip:
    """Say what a repair mended."""
    if move.frame:
        return Slip(move.frame[0], "missing frame", 0.0, "the frame")
    if move.drops is not None:
        shape = drawn.drawing.shapes[move.drops]
        return Slip(shape.tracks[0].points[0], "doubled line", 0.0, shape.name)
    if move.closes is not None:
        first, _ = drawn.ends[move.closes]
        return Slip(drawn.at[first], "open outline", 0.0, drawn.drawing.shapes[drawn.shape[first]].name)
    point, target = max(move.points, key=lambda pair: (round(math.dist(drawn.at[pair[0]], pair[1]), 9), -pair[0]))
    return Slip(target, _kind(drawn, move, point, target, group), move.distance, _name(drawn, point))


def _name(drawn: Drawn, point: int) -> str:
    return drawn.drawing.shapes[drawn.shape[point]].name


def _kind(drawn: Drawn, move: Move, point: int, target: Point, group: Sequence[Trouble]) -> str:
    codes = {trouble.code for trouble in group}
    if "overlap" in codes:
        return "overlap"
    if codes & {"gap", "tiny"} or (SLIVER in codes and drawn.drawing.shapes[drawn.shape[point]].fill is not None):
        return "gap" if _grows(drawn, move) else "overlap"
    if "open-outline" in codes:
        return "open outline"
    if SLIVER in codes or "doubled" in codes:
        return "doubled line"
    if len(drawn.beside[point]) == 1:
        before = drawn.at[drawn.beside[point][0]]
        if math.dist(before, target) < 1e-6:
            return "loose end"
        if codes - {BEND, STEP}:
            return "gap" if math.dist(before, target) > math.dist(before, drawn.at[point]) else "overshoot"
    return "bend"


def _grows(drawn: Drawn, move: Move) -> bool:
    """Tell whether the shape that is moved gets larger, or is pushed onto another."""
    shape = drawn.shape[move.points[0][0]]
    before = shapely.Polygon(drawn.drawing.shapes[shape].tracks[0].points) if _is_area(drawn, shape) else None
    if before is None:
        return False
    after = shapely.Polygon(apply(drawn.drawing, move).shapes[shape].tracks[0].points)
    return after.area > before.area - 1e-9


def _is_area(drawn: Drawn, shape: int) -> bool:
    return len(drawn.drawing.shapes[shape].tracks[0].points) > 2


def raise_faults(mended: Mended, *, source: str, within: float) -> None:
    """Refuse a drawing with faults that are larger than the slips that may be mended.

    Raises
    ------
    DrawingError
        If there are any; the size that would do is told.
    """
    if mended.left:
        raise DrawingError([*mended.left, *advice(mended.enough, within)], source=source)


def advice(enough: float | None, within: float | None) -> Iterator[Finding]:
    """Say up to which size slips would have to be mended."""
    if enough is not None:
        than = f", larger than --within {within:g}in" if within is not None else ""
        message = f"This looks like slips of the hand{than}: '--within {enough:g}in' would mend them."
        yield Finding("larger-slip", message)

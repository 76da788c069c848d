"""Slips of the hand: gaps, overlaps, overshoots, loose ends, bends, doubled lines, open outlines, a missing frame.

At every place where the drawing looks as if the hand had slipped (`troubles`), all repairs near it are tried on the
drawing from the least on (`moves`), and the first after which nothing is left there is taken; where none does it all,
the one that leaves least. So a single slip is mended by moving as little as possible, and several one after the
other. A drawing is only ever judged by reading it.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import shapely

from seamtree.block.build import build_blocks
from seamtree.block.sketch import Sketch, Slip
from seamtree.drawing.drawn import Drawing, Shape
from seamtree.errors import Finding, OptionError, Point
from seamtree.mending.moves import Drawn, Move, apply, moves_near
from seamtree.mending.redraw import SLIP
from seamtree.mending.troubles import (
    BEND,
    NARROW,
    NO_OUTLINE,
    SLIVER,
    STEP,
    Diagnosis,
    Trouble,
    diagnose,
    diagnose_again,
)
from seamtree.planning.build import plan
from seamtree.planning.model import Plan
from seamtree.planning.wishes import RENUMBERED
from seamtree.remedies import Remedy
from seamtree.tolerances import TOLERANCE

_TRIALS_PER_SECOND = 120
"""How many repairs tried count as a second; counted, not clocked."""

_USUAL = 60
"""A repair of a drawing with so many patches takes twice as long to try as one of a few."""

_SIZES = (0.1, 0.2, 0.35, 0.5)
"""Up to these sizes slips are looked for to say which size would do, inches."""

_WAYS = (1.6, 1.0)
"""Repairs up to so much larger than the least one are compared with it by what they leave; 1.0: the least one is
taken. Where several slips lie beside each other either may do better: both are tried, and what moves less is kept."""

_PAIRS = 8
"""So many repairs that do not help alone are tried together with a second one."""

_NO_AREA = 1e-3
"""Areas that differ by less are as large, square inches."""

_DECIMALS = 2
"""Areas are compared to so many decimals, square inches."""

_SAME_PLACE = 1e-6
"""Places that differ by less are one, inches."""

_ROUND_UP = 100


@dataclass(frozen=True, slots=True)
class Mended:
    """A drawing without slips.

    Parameters
    ----------
    drawing
        With the points that were moved.
    slips
        What was mended, from top to bottom; places are in the drawing's frame.
    left
        Faults that no repair of this size mends.
    enough
        Size up to which slips would have to be mended so that none is left, inches; None where none would do.
    """

    drawing: Drawing
    slips: tuple[Slip, ...]
    left: tuple[Finding, ...] = ()
    enough: float | None = None


def mend_slips(drawing: Drawing, *, within: float, tolerance: float = TOLERANCE, time_limit: float = 10.0) -> Mended:
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
            f"slips are larger than the tolerance of {tolerance:g} in: give more than that, not {within:g}"
        )
    found = _mended(drawing, within, tolerance, time_limit)
    return replace(found, enough=_enough(drawing, within, tolerance, time_limit)) if found.left else found


def _enough(drawing: Drawing, above: float, tolerance: float, time_limit: float) -> float | None:
    """Return the least size tried, above one that does not do, up to which mending slips leaves no fault."""
    for size in _SIZES:
        if size > max(above, tolerance):
            found = _mended(drawing, size, tolerance, time_limit / len(_SIZES))
            if not found.left:
                return _rounded_up(found)
    return None


def _rounded_up(mended: Mended) -> float:
    """Return the size of the largest slip in whole hundredths of an inch, never less than what is mended at all."""
    size = max((slip.distance for slip in mended.slips), default=0.0)
    return max(math.ceil(size * _ROUND_UP - 1e-6), math.ceil(TOLERANCE * _ROUND_UP + 1)) / _ROUND_UP


def with_slips(sketches: Sequence[Sketch], slips: Sequence[Slip]) -> tuple[Sketch, ...]:
    """Return blocks that know which slips were mended in them, in their own frames.

    Parameters
    ----------
    sketches
        The blocks of a drawing.
    slips
        What was mended, in the drawing's frame.
    """
    boxes = []
    for sketch in sketches:
        left, top, right, bottom = sketch.bounds
        x, y = sketch.corner
        boxes.append(shapely.box(x + left, y + top, x + right, y + bottom))
    own: list[list[Slip]] = [[] for _ in sketches]
    for slip in slips:
        nearest = int(shapely.STRtree(boxes).nearest(shapely.Point(slip.at)))
        x, y = sketches[nearest].corner
        own[nearest].append(replace(slip, at=(slip.at[0] - x, slip.at[1] - y)))
    return tuple(replace(sketch, slips=tuple(its)) for sketch, its in zip(sketches, own, strict=True))


@dataclass(slots=True)
class _State:
    """A drawing under repair, and what it was at the start."""

    start: Drawing
    drawing: Drawing
    now: Diagnosis
    within: float
    tolerance: float
    trials: int
    not_much: float
    known: dict[tuple[Shape, ...], Diagnosis | None]

    def tried(self, drawing: Drawing, group: Sequence[Trouble]) -> Iterator[_Trial]:
        """Yield what repairs of some troubles come to, the least repairs first."""
        drawn = Drawn(drawing, self.tolerance)
        for move in moves_near(drawn, group, self.within):
            changed = apply(drawing, move)
            if max((far for far, _ in movements(self.start, changed)), default=0.0) > self.within + 1e-9:
                continue  # it was moved before, and would go too far in all
            if changed.shapes not in self.known:
                if self.trials <= 0:
                    return
                self.trials -= 1
                after = diagnose_again(changed, self.now, within=self.within, tolerance=self.tolerance)
                self.known[changed.shapes] = after
            after = self.known[changed.shapes]
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
        return self.after.wrong, len(self.after.troubles), self.cost

    def gain(self, areas: bool) -> tuple[float, ...]:
        """Return what is compared where something is left; where areas are wrong, what leaves the least of them."""
        extent = round(self.after.extent, _DECIMALS) if areas else 0.0
        return self.after.wrong, extent, len(self.after.troubles), self.cost


def harmful_slips(
    drawing: Drawing, before: Sequence[Plan | None], *, tolerance: float, time_limit: float
) -> tuple[Slip, ...]:
    """Return what looks like slips of the hand and costs hard corners in a drawing without faults.

    Parameters
    ----------
    drawing
        A drawing without faults.
    before
        Plans of its blocks.
    tolerance
        What cloth cannot tell apart, inches.
    time_limit
        Effort in seconds of an ordinary machine.

    Returns
    -------
    tuple of Slip
        Places are in the drawing's frame; none if the blocks take as many hard corners without the slips.
    """
    found = _mended(drawing, SLIP, tolerance, time_limit / 4)
    if found.left or not found.slips or None in before:
        return ()
    after = [
        plan(block, time_limit=time_limit / 10, wishes=RENUMBERED)
        for block in build_blocks(found.drawing, tolerance=tolerance)
    ]
    corners = sum(one.counts.hard_corners for one in before if one is not None)
    return found.slips if sum(one.counts.hard_corners for one in after) < corners else ()


def _mended(drawing: Drawing, within: float, tolerance: float, time_limit: float) -> Mended:
    """Mend the slips of a drawing in several ways, where one repair does not do all, and return the best."""
    now = diagnose(drawing, within=within, tolerance=tolerance)
    trials = int(time_limit * _TRIALS_PER_SECOND * _USUAL / (_USUAL + now.patches))
    best: _Trial | None = None
    known: dict[tuple[Shape, ...], Diagnosis | None] = {}  # one repair after the other is often the same either way
    for n, not_much in enumerate(_WAYS):
        share = trials // (len(_WAYS) - n)
        state = _State(drawing, drawing, now, within, tolerance, share, not_much, known)
        found = _way(state)
        trials -= share - state.trials
        if best is None or _rounded_merit(found) < _rounded_merit(best):
            best = found
        if not best.after.troubles and len(best.slips) < 2:
            break
    if best is None:
        raise ValueError("there is at least one way")
    slips = sorted(
        _with_distances(best.slips, drawing, best.drawing),
        key=lambda slip: (round(slip.at[1], 6), round(slip.at[0], 6)),
    )
    return Mended(best.drawing, tuple(_joined(slips, within)), tuple(best.after.faults))


def movements(before: Drawing, after: Drawing) -> Iterator[tuple[float, Point]]:
    """Yield how far points of a drawing were moved (inches), and where to; shapes are known by their names."""
    names = Counter(shape.name for shape in before.shapes)
    originals = {shape.name: shape for shape in before.shapes if names[shape.name] == 1}
    for shape in after.shapes:
        if shape.name in originals and shape is not originals[shape.name]:
            for old, new in zip(originals[shape.name].tracks, shape.tracks, strict=False):
                yield from ((math.dist(a, b), b) for a, b in zip(old.points, new.points, strict=False) if a != b)


def _with_distances(slips: Sequence[Slip], before: Drawing, after: Drawing) -> list[Slip]:
    """Return slips that tell how far the points at their places went in all, for some are moved more than once.

    The one nearest to the point that went farthest tells that distance.
    """
    moved = sorted(movements(before, after))
    told = []
    for slip in slips:
        here = [far for far, at in moved if math.dist(at, slip.at) < _SAME_PLACE]
        told.append(replace(slip, distance=here[-1]) if here else slip)
    if told and moved and moved[-1][0] > max(slip.distance for slip in told):
        far, at = moved[-1]
        nearest = min(range(len(told)), key=lambda k: math.dist(told[k].at, at))
        told[nearest] = replace(told[nearest], distance=far)
    return told


def _rounded_merit(trial: _Trial) -> tuple[float, ...]:
    return *trial.merit[:-1], round(trial.cost, 6)


def _way(state: _State) -> _Trial:
    """Mend one place after the other."""
    done = _Trial(state.drawing, state.now, 0.0, ())
    given_up: list[shapely.Geometry] = []
    while state.trials > 0:
        group = next(_groups(state.now, state.within, given_up), None)
        if group is None:
            break
        best = _repaired(state, group)
        if best is None:
            given_up += [trouble.where for trouble in group]
            continue
        done = replace(best, cost=done.cost + best.cost, slips=done.slips + best.slips)
        state.drawing, state.now = best.drawing, best.after
        given_up = []
    return done


def _repaired(state: _State, group: Sequence[Trouble]) -> _Trial | None:
    """Return the least repair after which nothing is left at a place, or else the one that leaves least.

    A repair that is not much larger goes first where it leaves less elsewhere: it is one slip then that shows in
    several places, as that of a patch drawn beside its place.
    """
    best: _Trial | None = None
    codes = {trouble.code for trouble in group}
    hidden = bool(codes & set(NO_OUTLINE))  # other faults show only when there is an outline
    areas = bool(codes & {"gap", "overlap"})  # lines drawn twice leave narrow areas too, but may lie anywhere
    whole: list[_Trial] = []
    others: list[_Trial] = []
    for trial in state.tried(state.drawing, group):
        if whole and trial.cost > state.not_much * whole[0].cost:
            break
        if not _is_better(trial.after, state.now, group):
            others.append(trial)
        elif len(trial.after.troubles) <= len(state.now.troubles) - len(group) and _is_clear(trial.after, group):
            whole.append(trial)
            if not trial.after.troubles:
                break
        elif areas and trial.after.extent > state.now.extent + _NO_AREA:
            others.append(trial)  # less in number, but the gap is wider: what moved was right
        elif best is None or (state.not_much > 1.0 and trial.gain(areas) < best.gain(areas)):
            best = trial
            if hidden and state.not_much <= 1.0:
                return best
    if whole:
        return min(whole, key=lambda trial: trial.merit) if state.not_much > 1.0 else whole[0]
    return best or _repaired_twice(state, group, others)


def _is_clear(after: Diagnosis, group: Sequence[Trouble]) -> bool:
    """Tell whether nothing is left at a place."""
    where = shapely.union_all([trouble.where for trouble in group])
    return not any(shapely.dwithin(trouble.where, where, TOLERANCE) for trouble in after.troubles)


def _repaired_twice(state: _State, group: Sequence[Trouble], others: list[_Trial]) -> _Trial | None:
    """Return two repairs that leave less to mend together, where none does so alone."""
    where = shapely.union_all([trouble.where for trouble in group])
    by_count = sorted(others, key=lambda trial: trial.merit)[:_PAIRS]
    by_extent = sorted(others, key=lambda trial: (round(trial.after.extent, 3), trial.cost))[:_PAIRS]
    best: _Trial | None = None
    for first in (trial for pair in zip(by_extent, by_count, strict=True) for trial in pair):
        known = [old.where for old in state.now.troubles]
        next_ones = [
            t
            for t in first.after.troubles
            if shapely.dwithin(t.where, where, 2 * state.within) or not shapely.dwithin(known, t.where, 1e-6).any()
        ]
        for second in state.tried(first.drawing, next_ones):
            if _is_better(second.after, state.now, group):
                both = replace(second, cost=first.cost + second.cost, slips=first.slips + second.slips)
                if best is None or both.merit < best.merit:
                    best = both
        if best is not None:
            return best
    return None


def _is_better(after: Diagnosis, before: Diagnosis, group: Sequence[Trouble]) -> bool:
    """Tell whether a repair leaves less to mend, and takes no patch away that may be meant."""
    narrow = max(before.narrow - after.narrow, sum(trouble.code in (SLIVER, *NARROW) for trouble in group))
    return (
        (after.wrong, len(after.troubles)) < (before.wrong, len(before.troubles))
        and len(after.troubles) <= len(before.troubles) + max(before.wrong - after.wrong - len(before.faults), 0)
        and after.floating <= before.floating
        and after.patches >= before.patches - narrow
    )


def _groups(diagnosis: Diagnosis, within: float, given_up: Sequence[shapely.Geometry]) -> Iterator[list[Trouble]]:
    """Yield troubles that lie beside each other, from top to bottom, but for those that were given up.

    Where lines end loosely bends come first: the ends of lines on a bent one miss it or stick out, which is mended
    with the bend.
    """
    loose = any(t.code == "loose-end" for t in diagnosis.troubles)
    left = [t for t in diagnosis.troubles if not any(shapely.dwithin(t.where, old, 1e-6) for old in given_up)]
    left.sort(
        key=lambda t: (loose and t.code != BEND, t.fault is None, *(round(v, 6) for v in t.where.bounds[1::-1]))
    )
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
    filled = drawn.drawing.shapes[drawn.shape[point]].fill is not None
    if filled and codes & {"gap", "tiny", "overlap", SLIVER}:
        kind = "gap" if "overlap" not in codes and _grows(drawn, move) else "overlap"
    elif "open-outline" in codes:
        kind = "open outline"
    elif codes & {SLIVER, "doubled"}:
        kind = "doubled line"
    elif len(drawn.beside[point]) == 1 and codes - {BEND, STEP}:
        before = drawn.at[drawn.beside[point][0]]
        longer = math.dist(before, target) > math.dist(before, drawn.at[point])
        kind = "loose end" if math.dist(before, target) < 1e-6 else "gap" if longer else "overshoot"
    else:
        kind = "bend"
    return kind


def _grows(drawn: Drawn, move: Move) -> bool:
    """Tell whether the shape that is moved gets larger, or is pushed onto another."""
    shape = drawn.shape[move.points[0][0]]
    before = shapely.Polygon(drawn.drawing.shapes[shape].tracks[0].points) if _is_area(drawn, shape) else None
    if before is None:
        return False
    after = shapely.Polygon(apply(drawn.drawing, move).shapes[shape].tracks[0].points)
    return bool(after.area > before.area - 1e-9)


def _is_area(drawn: Drawn, shape: int) -> bool:
    return len(drawn.drawing.shapes[shape].tracks[0].points) > 2


def advice(
    drawing: Drawing, mended: Mended | None, *, within: float | None, tolerance: float, time_limit: float
) -> Iterator[Finding]:
    """Say up to which size slips would have to be mended so that nothing is wrong any more.

    Parameters
    ----------
    drawing
        A drawing with faults.
    mended
        What mending slips came to, if that was asked for.
    within
        How large slips could be then.
    tolerance
        What cloth cannot tell apart, inches.
    time_limit
        Effort in seconds of an ordinary machine.
    """
    enough = _enough(drawing, 0.0, tolerance, time_limit) if mended is None else mended.enough
    if enough:
        remedy = Remedy("within", f"{enough:g}")
        than = "" if within is None else f" larger than {within:g} in"
        message = f"This looks like a slip of the hand{than}; '{remedy}' would mend it."
        yield Finding("slip", message, remedies=(remedy,))

"""What would make a block easier: single changes, each scored again, the best of them told.

Changes to the seams themselves are those of `seamtree.mending`, whose blocks are planned and measured anew. The
others change one feature and nothing else: a size, some patches that are made wider, points that are opened, short
seams that are lengthened, seams that no longer meet, fabrics that are spared.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from seamtree.mending.model import Goal
from seamtree.planning.model import Plan, id_order
from seamtree.rating.features import KINDS, Features, Measured, Spot, measure
from seamtree.rating.judgement import Change, ChangeKind
from seamtree.rating.scale import Scale
from seamtree.rating.score import score_tenths
from seamtree.remedies import Remedy
from seamtree.words import at, count, inches, listed

MOST_CHANGES = 3
"""As many changes are told."""

_MOST_NAMED = 3
"""A change of single places changes no more than these, which are named one by one, …"""

_MOST_SPOTS = 8
"""… or than these where nothing less helps, as in a block that is the same on all sides."""

_DESIGN_SHARE = 0.5
"""What changes the shapes of this share of the patches, and of more than one, makes another block: no advice."""

_KEEPING: frozenset[ChangeKind] = frozenset({"size", "mend", "merge"})
"""Changes after which the block looks as before: seams are added or dropped inside a fabric."""

_GROWTH = 1.25
"""A block is made no larger than this, as a share of its width."""

_STRETCH = 2.0
"""Patches and seams are made no wider or longer than this, as a share of what they are."""

_OPENING = 15.0
"""Angles are opened by no more, degrees."""

_CURVE_TOLERANCE = 0.1
"""Inches within which curves are replaced by straight seams."""


def find_changes(plan: Plan, measured: Measured, scale: Scale, *, time_limit: float) -> tuple[Change, ...]:
    """Return the changes that lower the score of a block most, the best first.

    Parameters
    ----------
    plan, measured
        The block's plan and features.
    scale
        What scores them.
    time_limit
        Effort of each search for changes of the seams, in seconds of an ordinary machine; counted, not clocked.
    """
    scorer = _Scorer(scale, measured.features, score_tenths(measured.features, scale))
    found = [change for change in _simple(plan, measured, scorer) if change is not None]
    for try_out in _MENDINGS:
        best = sorted((change.tenths for change in found), reverse=True)
        enough = best[MOST_CHANGES - 1] if len(best) >= MOST_CHANGES else 0
        if try_out.may_save(measured.features, scale) > enough:
            found += _mended(plan, try_out, scorer, time_limit)
    found.sort(key=lambda change: -change.tenths)
    return tuple(found[:MOST_CHANGES])


@dataclass(frozen=True, slots=True)
class _Scorer:
    """Scores a changed block against the block as it is."""

    scale: Scale
    before: Features
    tenths: int

    def change(self, kind: ChangeKind, text: str, after: Features, remedy: Remedy | None = None) -> Change | None:
        """Return a change if it lowers the score."""
        tenths = score_tenths(after, self.scale)
        saved = self.tenths - tenths
        if saved <= 0:
            return None
        level = self.scale.level_of(tenths)
        return Change(kind, text, saved, level, changes_design=kind not in _KEEPING, remedy=remedy)

    def saved(self, after: Features) -> int:
        return self.tenths - score_tenths(after, self.scale)


def _simple(plan: Plan, measured: Measured, scorer: _Scorer) -> Iterator[Change | None]:
    """Yield changes that leave the seams as they are, or all but a few."""
    yield _larger(plan, scorer)
    for adjust in (_WIDER, _OPENED, _LONGER):
        yield _adjusted(measured, adjust, scorer)
    yield _parted(measured, scorer)
    yield _fewer_fabrics(scorer)


# -- size -----------------------------------------------------------------------------------------------------


def _larger(plan: Plan, scorer: _Scorer) -> Change | None:
    """Make the block larger, in steps of half an inch, only as much as lowers the score."""
    width = plan.block.width
    sizes = [step / 2 for step in range(math.floor(2 * width) + 1, math.floor(2 * _GROWTH * width) + 1)]
    if not sizes:
        return None
    best = max(sizes, key=lambda size: (scorer.saved(scorer.before.scaled(size / width)), -size))
    text = f"make the block {inches(best)} in wide instead of {inches(width)}"
    return scorer.change("size", text, scorer.before.scaled(best / width))


# -- a few places ---------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Adjustment:
    """A way to make single places easier: which feature, which steps, how far, how it is told, whether it can be."""

    key: str
    kind: ChangeKind
    step: float
    furthest: Callable[[float], float]
    tell: Callable[[Sequence[Spot], float], str]
    possible: Callable[[Sequence[Spot], float], bool] = lambda _spots, _target: True


def _adjusted(measured: Measured, adjust: _Adjustment, scorer: _Scorer) -> Change | None:
    """Make the hardest places easier: a few if that helps, otherwise more of them."""
    spots = measured.spots.get(adjust.key, ())
    if not spots:
        return None
    for most in (_MOST_NAMED, _MOST_SPOTS):
        target = _best_target(spots, most, adjust, scorer)
        after = scorer.before.with_value(adjust.key, target)
        if scorer.saved(after) > 0 and _keeps_most(_below(spots, target), scorer):
            return scorer.change(adjust.kind, adjust.tell(_below(spots, target), target), after)
    return None


def _best_target(spots: Sequence[Spot], most: int, adjust: _Adjustment, scorer: _Scorer) -> float:
    """Return the least value that saves most among those that so many places fall short of, in whole steps."""
    hardest = spots[0].value
    first, last = (math.floor(value / adjust.step) for value in (hardest, adjust.furthest(hardest)))
    targets = [step * adjust.step for step in range(first + 1, last + 1)]
    possible = [
        target
        for target in targets
        if len(_below(spots[: most + 1], target)) <= most and adjust.possible(spots, target)
    ]
    return max(
        possible,
        key=lambda target: (scorer.saved(scorer.before.with_value(adjust.key, target)), -target),
        default=hardest,
    )


def _below(spots: Sequence[Spot], target: float) -> Sequence[Spot]:
    """Return the places that fall short of a value."""
    return [spot for spot in spots if spot.value < target]


def _can_open(spots: Sequence[Spot], target: float) -> bool:
    """Tell whether all corners can have an angle: those that meet at a place fill as much of a turn as before."""
    return all(
        target * len(here) <= sum(here)
        for at in {spot.at for spot in _below(spots, target)}
        if (here := [spot.value for spot in spots if spot.at == at])
    )


def _keeps_most(spots: Sequence[Spot], scorer: _Scorer) -> bool:
    """Tell whether a change of shapes at these places leaves enough of the design."""
    changed = {patch for spot in spots for patch in spot.patches}
    return len(changed) <= 1 or len(changed) < _DESIGN_SHARE * scorer.before.patches


def _tell_wider(spots: Sequence[Spot], target: float) -> str:
    if len(spots) > _MOST_NAMED:
        return f"widen the {len(spots)} patches narrower than {target:g} in, {_patches(spots)}, to {target:g} in"
    narrow = [f"{_patch(spot)} ({inches(spot.value)} in wide at {at(spot.at)})" for spot in spots]
    return f"widen {listed(narrow)} to {target:g} in"


def _tell_opened(spots: Sequence[Spot], target: float) -> str:
    if len(spots) > _MOST_NAMED:
        return f"open the {len(spots)} points sharper than {target:g}°, in {_patches(spots)}, to {target:g}°"
    sharp = [f"the point of {_patch(spot)} ({spot.value:.0f}° at {at(spot.at)})" for spot in spots]
    return f"open {listed(sharp)} to {target:g}°"


def _tell_longer(spots: Sequence[Spot], target: float) -> str:
    if len(spots) > _MOST_NAMED:
        worst = spots[0]
        return (
            f"lengthen the {len(spots)} seams shorter than {target:g} in, the first of them at {at(worst.at)}, "
            f"to {target:g} in"
        )
    short = [
        f"the seam between {' and '.join(spot.patches)} ({inches(spot.value)} in long at {at(spot.at)})"
        for spot in spots
    ]
    return f"lengthen {listed(short)} to {target:g} in"


def _patch(spot: Spot) -> str:
    return f"patch {spot.patches[0]}"


def _patches(spots: Sequence[Spot]) -> str:
    return listed(sorted({spot.patches[0] for spot in spots}, key=id_order))


_WIDER = _Adjustment("narrowest_patch", "widen", 0.125, lambda width: _STRETCH * width, _tell_wider)
_OPENED = _Adjustment("sharpest_angle", "open", 5.0, lambda angle: angle + _OPENING, _tell_opened, _can_open)
_LONGER = _Adjustment("shortest_seam", "lengthen", 0.125, lambda length: _STRETCH * length, _tell_longer)


def _parted(measured: Measured, scorer: _Scorer) -> Change | None:
    """Let at best half as many seams meet at the points where most do.

    Where as many have to be matched, they cross: that point is the middle of a star or a wheel, and stays.
    """
    spots = measured.spots.get("meeting_seams", ())
    if not spots or measured.features.matched_seams == measured.features.meeting_seams:
        return None
    most = int(spots[0].value)
    fewer = range(math.ceil(most / 2), most)
    possible = [n for n in fewer if sum(spot.value > n for spot in spots[: _MOST_SPOTS + 1]) <= _MOST_SPOTS]
    if not possible:
        return None
    best = max(possible, key=lambda n: (scorer.saved(_at_most(scorer.before, n)), n))
    parted = [spot for spot in spots[:_MOST_SPOTS] if spot.value > best]
    if not _keeps_most(parted, scorer):
        return None
    places = [at(spot.at) for spot in parted]
    if len(places) > _MOST_NAMED:
        places = [*places[:_MOST_NAMED], f"{len(places) - _MOST_NAMED} more points"]
    text = (
        f"let no more than {best} seams meet at {listed(places)}, where {'up to ' * (len(places) > 1)}{most} do: "
        f"end the others on seams beside {'it' if len(places) == 1 else 'them'}"
    )
    return scorer.change("part", text, _at_most(scorer.before, best))


def _at_most(features: Features, seams: int) -> Features:
    """Return the features if no more seams meet at any point."""
    return features.with_value("meeting_seams", seams).with_value("matched_seams", min(features.matched_seams, seams))


def _fewer_fabrics(scorer: _Scorer) -> Change | None:
    """Use a third fewer fabrics."""
    fabrics = scorer.before.fabrics
    fewer = math.ceil(fabrics * 2 / 3)
    text = f"use {count(fewer, 'fabric')} instead of {fabrics}"
    return scorer.change("fabrics", text, scorer.before.with_value("fabrics", fewer))


# -- other seams ----------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Mending:
    """One way of mending.

    Parameters
    ----------
    kind
        The change that it is.
    remedy
        What mends in this way and lists all that it changes.
    fits
        Whether a block with these features can be mended in this way at all.
    saves
        The features that it can make easier.
    goal, curve_tolerance
        As for `seamtree.mending.mend`.
    """

    kind: ChangeKind
    remedy: Remedy
    fits: Callable[[Features], bool]
    saves: tuple[str, ...]
    goal: Goal
    curve_tolerance: float | None = None

    def may_save(self, features: Features, scale: Scale) -> int:
        """Return what it saves at the very most, in tenths of a point."""
        if not self.fits(features):
            return 0
        return sum(curve.tenths(features.value(curve.key)) for curve in scale.curves if curve.key in self.saves)


_MENDING_EFFORT = 2.0
"""Seconds of effort for one way of mending: a rating tries several, and names the change that it found."""

_EVERYTHING = tuple(kind.key for kind in KINDS)

_MENDINGS = (
    _Mending(
        "mend",
        Remedy("mend-straight"),
        lambda features: features.set_in + features.partial > 0 and not features.curved,
        ("set_in", "partial", "excess_pivots", "units", "matched_points", "meeting_seams", "matched_seams"),
        "straight seams",
    ),
    _Mending(
        "straighten",
        Remedy("mend-straightened", f"{_CURVE_TOLERANCE:g}"),
        lambda features: features.curved > 0,
        _EVERYTHING,
        "straight seams",
        _CURVE_TOLERANCE,
    ),
    _Mending("merge", Remedy("mend-merged"), lambda features: features.units > 1, _EVERYTHING, "merged"),
)


def _mended(plan: Plan, way: _Mending, scorer: _Scorer, time_limit: float) -> Iterator[Change]:
    from seamtree.mending.find import mend
    from seamtree.mending.words import describe_change, describe_straightening

    effort = min(time_limit, _MENDING_EFFORT)
    mending = mend(plan.block, goal=way.goal, curve_tolerance=way.curve_tolerance, time_limit=effort, before=plan)
    sentences = describe_straightening(mending)
    if mending.alternatives:
        sentences += describe_change(mending.alternatives[0])
    if sentences and mending.best is not None:
        change = scorer.change(way.kind, _summed_up(sentences, way), measure(mending.best).features, way.remedy)
        if change is not None:
            yield change


def _summed_up(sentences: Sequence[str], way: _Mending) -> str:
    """Tell one change as it is; of several the first, and where to find the others."""
    first, *others = sentences
    if not others:
        return first
    more = count(len(others), "more change")
    return f"{first}; and {more} that {way.remedy} lists"

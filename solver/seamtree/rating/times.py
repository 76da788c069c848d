"""How long a block takes: minutes for each part of the work, from a scale, calibrated by a class's own times.

An estimate is a sum of parts that the scale names, such as cutting and joining; each part is so many minutes for each
of what is counted or measured of the plan. Calibrating multiplies the parts so that they come closest to times that
were taken, in the sense of least squares of the relative error, for an hour off is little in a week and much in two
hours. What the times do not tell apart goes with their common factor.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from seamtree.errors import OptionError
from seamtree.planning.model import Plan

if TYPE_CHECKING:  # scales hold paces
    from seamtree.rating.scale import Scale

WORK = (
    *("patches", "fabrics", "units", "seams", "joins", "seam_inches", "join_inches"),
    *("matched_points", "set_in", "partial", "curved", "excess_pivots"),
)
"""What takes time: seams are those within units; inches are those of all seams, and of the joins among them."""

_ENOUGH = 3
"""Times for each part of the work from which on every part has a factor of its own; with fewer all have the same."""

_PULL = 0.1
"""How strongly the factor of a part is held to the common one, as a share of one time that was taken."""


@dataclass(frozen=True, slots=True)
class Pace:
    """A part of the work: its name, and the minutes for each of what is counted or measured (keys of `WORK`)."""

    name: str
    minutes: tuple[tuple[str, float], ...]


@dataclass(frozen=True, slots=True)
class Estimate:
    """How long a block takes.

    Parameters
    ----------
    parts
        The parts of the work with their minutes, in the order of the scale.
    spread
        Standard deviation of the times of a class, as a share of the whole; None where no times were taken.
    """

    parts: tuple[tuple[str, float], ...]
    spread: float | None = None

    @property
    def rounded(self) -> tuple[tuple[str, int], ...]:
        """The parts in whole minutes, without those that take none."""
        whole = ((name, math.floor(minutes + 0.5)) for name, minutes in self.parts)
        return tuple((name, minutes) for name, minutes in whole if minutes)

    @property
    def minutes(self) -> int:
        """All parts together, in whole minutes, so that they add up as printed."""
        return sum(minutes for _, minutes in self.rounded)

    @property
    def range(self) -> tuple[int, int] | None:
        """From how many minutes to how many two of three sewists take, if that is known."""
        if self.spread is None:
            return None
        return tuple(math.floor(self.minutes * max(0.0, 1 + way * self.spread) + 0.5) for way in (-1, 1))  # type: ignore[return-value]


def work_of(plan: Plan) -> dict[str, float]:
    """Return what is counted or measured of a plan for its time (keys of `WORK`; lengths in inches)."""
    block, counts = plan.block, plan.counts
    return {
        "patches": counts.patches,
        "fabrics": len({patch.fabric for patch in block.patches}),
        "units": counts.units,
        "seams": counts.patches - counts.units,
        "joins": counts.joins,
        "seam_inches": sum(block.edge_length(k) for k in block.interior_edges),
        "join_inches": sum(join.seam.length for join in plan.joins()),
        "matched_points": counts.matched_points,
        "set_in": counts.set_in,
        "partial": counts.partial,
        "curved": counts.curved,
        "excess_pivots": counts.excess_pivots,
    }


def estimate(plan: Plan, scale: Scale) -> Estimate | None:
    """Estimate how long a planned block takes; None where the scale has no minutes."""
    if not scale.paces:
        return None
    return estimate_of(work_of(plan), scale)


def estimate_of(work: Mapping[str, float], scale: Scale) -> Estimate:
    """Estimate how long so much work takes."""
    parts = ((pace.name, sum(work[key] * minutes for key, minutes in pace.minutes)) for pace in scale.paces)
    return Estimate(tuple(parts), scale.spread)


def together(estimates: Sequence[Estimate | None]) -> Estimate | None:
    """Add up the estimates of several blocks on one scale; None where there are none."""
    known = [one for one in estimates if one is not None]
    if not known:
        return None
    sums: dict[str, float] = {}
    for one in known:
        for name, minutes in one.parts:
            sums[name] = sums.get(name, 0.0) + minutes
    return Estimate(tuple(sums.items()), known[0].spread)


# -- a class's own times ----------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Calibration:
    """What times that were taken say of a scale.

    Parameters
    ----------
    scale
        The scale with its minutes calibrated.
    times
        How many times were taken.
    factors
        By what the minutes of each part were multiplied.
    apart
        Whether each part was calibrated by itself.
    """

    scale: Scale
    times: int
    factors: tuple[tuple[str, float], ...]
    apart: bool


def calibrate(scale: Scale, taken: Sequence[tuple[Estimate, float]]) -> Calibration:
    """Calibrate the minutes of a scale.

    Parameters
    ----------
    scale
        A scale with minutes.
    taken
        Estimates on this scale, each with the minutes that it really took.

    Returns
    -------
    Calibration
        With the least squares of the relative errors; no part takes less than no time. The spread is the standard
        deviation of these errors, with as many degrees of freedom as there are times less factors; a single time
        has none.

    Raises
    ------
    OptionError
        If the scale gives no minutes for what was done.
    """
    import numpy as np
    from scipy.optimize import lsq_linear

    minutes = np.array([took for _, took in taken], dtype=float)
    shares = np.array([[part for _, part in one.parts] for one, _ in taken], dtype=float) / minutes[:, None]
    whole = shares.sum(axis=1)
    if not taken or not whole.any():
        raise OptionError("the scale gives no minutes for the work whose times were taken, so nothing can be learnt")
    common = float(lsq_linear(whole[:, None], np.ones(len(taken))).x[0])
    present = [k for k in range(shares.shape[1]) if shares[:, k].any()]
    apart = len(taken) >= _ENOUGH * len(present)
    factors = np.full(shares.shape[1], common)
    if apart:
        pull = np.eye(len(present)) * _PULL
        rows = np.vstack([shares[:, present], pull])
        aims = np.concatenate([np.ones(len(taken)), np.full(len(present), _PULL * common)])
        factors[present] = lsq_linear(rows, aims, bounds=(0, np.inf)).x
    errors = shares @ factors - 1
    freedom = len(taken) - (len(present) if apart else 1)
    spread = math.sqrt(float(errors @ errors) / freedom) if freedom > 0 else None
    paces = tuple(
        replace(pace, minutes=tuple((key, each * float(factor)) for key, each in pace.minutes))
        for pace, factor in zip(scale.paces, factors, strict=True)
    )
    told = tuple((pace.name, float(factor)) for pace, factor in zip(scale.paces, factors, strict=True))
    return Calibration(replace(scale, paces=paces, spread=spread), len(taken), told, apart)

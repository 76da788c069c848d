"""What a plan says of its block and its units as a whole, against the cloth and what was counted."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from seamtree.errors import Point, ReplayError
from seamtree.planning.cloth import Cloth
from seamtree.planning.copies import are_copies

Data = Mapping[str, Any]

LENGTH_SLACK = 1e-5
"""Inches by which a stated length may differ from the true one: coordinates and lengths are rounded."""

_ANGLES = 2_000
"""Angles at which the size of a unit is measured."""


def check_size(cloth: Cloth, answer: Data) -> None:
    """Check the size of the block (inches)."""
    xs, ys = zip(*cloth.points, strict=True)
    for what, stated, true in (
        ("width", answer["width"], max(xs) - min(xs)),
        ("height", answer["height"], max(ys) - min(ys)),
    ):
        if not abs(stated - true) <= LENGTH_SLACK:
            raise ReplayError(f"the block is said to have a {what} of {stated} in; it has {true:.6f} in")


def check_largest(cloth: Cloth, size: Sequence[float] | None, units: Mapping[str, Sequence[int]]) -> None:
    """Check at very many angles that no unit of several patches is larger than was asked."""
    if size is None:
        return
    angles = np.linspace(0, np.pi, _ANGLES)
    slack = math.hypot(*size) * np.pi / _ANGLES + cloth.tolerance
    for name, patches in units.items():
        at = np.array([cloth.points[j] for p in patches for j in cloth.rings[p]]) @ (1, 1j)
        turned = np.multiply.outer(np.exp(1j * angles), at)
        across, along = np.ptp(turned.real, axis=1), np.ptp(turned.imag, axis=1)
        fits = (across <= size[0] + slack) & (along <= size[1] + slack)
        if len(patches) > 1 and not fits.any():
            raise ReplayError(f"unit {name} is larger than {size[0]:g} by {size[1]:g} in however it is turned")


def count_foundations(
    cloth: Cloth, answer: Data, units: Mapping[str, Sequence[int]], patch_of: Mapping[str, int]
) -> int:
    """Check that units said to be sewn on the same foundation are the same shapes and fabrics, turned; count them."""
    fabric = {patch_of[entry["id"]]: entry["fabric"] for entry in answer["patches"]}
    foundations = len(units)
    named: set[str] = set()
    for names in answer["repeats"]:
        if len(names) < 2 or not named.isdisjoint(names) or len(set(names)) < len(names):
            raise ReplayError(f"units {', '.join(names)} are not two or more that repeat each other, named once")
        named.update(names)
        foundations -= len(names) - 1
        first, *others = (units[name] for name in names)
        for name, other in zip(names[1:], others, strict=True):
            if [fabric[p] for p in first] != [fabric[p] for p in other] or not are_copies(
                _corners(cloth, first), _corners(cloth, other), tolerance=cloth.tolerance
            ):
                raise ReplayError(f"units {names[0]} and {name} cannot be sewn on the same foundation")
    return foundations


def _corners(cloth: Cloth, patches: Sequence[int]) -> list[list[Point]]:
    return [[cloth.points[n] for n in cloth.rings[p]] for p in patches]


def check_figures(cloth: Cloth, answer: Data, counted: Mapping[str, int], length: float) -> None:
    """Check the figures, the verdict and the bound of a plan; `length` is that of all joins (inches)."""
    counts = answer["counts"]
    for name, true in counted.items():
        if not is_whole(counts[name]) or counts[name] != true:
            raise ReplayError(f"the plan counts {counts[name]} {name.replace('_', ' ')}; there are {true}")
    hard = sum(counted[name] for name in ("set_in", "partial", "curved"))
    verdict = "hard corners" if hard else "joined units" if counted["joins"] else "single unit"
    if answer["verdict"] != verdict:
        raise ReplayError(f"the verdict is {answer['verdict']!r}; it should be {verdict!r}")
    bound = answer["bound"]
    figures = {"hard_corners": hard, **counted}
    for what in ("hard_corners", "set_in", "excess_pivots", "units", "matched_points", "foundations"):
        least, true = bound[what], figures[what]
        proven = answer["proven"] and what not in ("matched_points", "foundations")
        if not is_whole(least) or not 0 <= least <= true or (proven and least != true):
            raise ReplayError(f"the plan has {true} {what.replace('_', ' ')}; its bound says {least}")
    least = bound["join_length"]
    slack = LENGTH_SLACK * (1 + len(cloth.points))
    if isinstance(least, bool) or not 0 <= least <= length + slack:
        raise ReplayError(f"the joins are {length:.3f} in long; the bound says {least}")


def is_whole(value: object) -> bool:
    """Tell whether a value is a whole number; yes and no are none, although Python takes them for 1 and 0."""
    return isinstance(value, int) and not isinstance(value, bool)

"""Settings of switches, chosen so that as many points as possible agree.

Which side a seam is pressed to, and in which of several equally good orders a unit is numbered, are switches with a
few settings each. At a point where seams meet across a join, pairs of ends agree or not, depending on two switches.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product
from typing import Any

from seamtree.search.solver import new_model, solve_model

_TRIED = 2_000
"""Choices for switches that hang together that are all tried; where there are more, the solver is loaded."""


@dataclass(frozen=True, slots=True)
class End:
    """One end of a seam at a point.

    Parameters
    ----------
    switch
        What its lie depends on.
    lies
        For each setting of the switch, which way it lies.
    """

    switch: int
    lies: tuple[bool, ...]


Pair = tuple[End, End]


@dataclass(frozen=True, slots=True)
class Choice:
    """A setting for every switch, and whether no other choice lets more points agree."""

    settings: tuple[int, ...]
    proven: bool


def choose_settings(costs: Sequence[Sequence[int]], points: Sequence[Sequence[Pair]], *, effort: float) -> Choice:
    """Choose settings so that as many points as can be agree, which cost least, and then as many 0s as possible.

    Parameters
    ----------
    costs
        For each switch what each of its settings costs; the first costs least.
    points
        For each point its pairs of ends; it agrees when the ends of each pair lie the same way.
    effort
        Deterministic seconds for the constraint model, which is loaded only where not all points can agree at once
        and there are too many choices to try them all.
    """
    sizes = [len(settings) for settings in costs]
    at_once = _settle_all(costs, points)
    if at_once is not None:
        return Choice(at_once, proven=True)
    groups = _groups(sizes, points)
    if all(math.prod(sizes[switch] for switch in switches) <= _TRIED for switches, _ in groups):
        return Choice(_try_all(costs, groups), proven=True)
    return _solve(costs, points, effort)


_Group = tuple[list[int], list[Sequence[Pair]]]
"""Switches that hang together, and the points that hang on them."""


def _groups(sizes: Sequence[int], points: Sequence[Sequence[Pair]]) -> list[_Group]:
    first = list(range(len(sizes)))

    def root(switch: int) -> int:
        while first[switch] != switch:
            first[switch] = switch = first[first[switch]]
        return switch

    for point in points:
        for pair in point:
            for end in pair:
                first[root(end.switch)] = root(point[0][0].switch)
    groups: dict[int, _Group] = {}
    for switch in range(len(sizes)):
        groups.setdefault(root(switch), ([], []))[0].append(switch)
    for point in points:
        if point:
            groups[root(point[0][0].switch)][1].append(point)
    return list(groups.values())


def _try_all(costs: Sequence[Sequence[int]], groups: Sequence[_Group]) -> tuple[int, ...]:
    """Try all choices for each group; the first of equally good ones stands."""
    settings = [0] * len(costs)
    for switches, here in groups:
        best, chosen = (-1, 0, 0), (0,) * len(switches)
        for tried in product(*(range(len(costs[switch])) for switch in switches)):
            for switch, setting in zip(switches, tried, strict=True):
                settings[switch] = setting
            cost = sum(costs[switch][setting] for switch, setting in zip(switches, tried, strict=True))
            merit = sum(_agrees(point, settings) for point in here), -cost, tried.count(0)
            if merit > best:
                best, chosen = merit, tried
        for switch, setting in zip(switches, chosen, strict=True):
            settings[switch] = setting
    return tuple(settings)


def _agrees(point: Sequence[Pair], settings: Sequence[int]) -> bool:
    return all(one.lies[settings[one.switch]] == other.lies[settings[other.switch]] for one, other in point)


def _settle_all(costs: Sequence[Sequence[int]], points: Sequence[Sequence[Pair]]) -> tuple[int, ...] | None:
    """Let all points agree by moving switches with two settings, opposite and equally good; None if they cannot."""
    pairs = [pair for point in points for pair in point]
    plain = [len(settings) == 2 and settings[0] == settings[1] for settings in costs]
    beside: list[list[tuple[int, int]]] = [[] for _ in costs]
    for one, other in pairs:
        swapped = int(one.lies[0] != other.lies[0])
        beside[one.switch].append((other.switch, swapped))
        beside[other.switch].append((one.switch, swapped))
        for end in (one, other):
            plain[end.switch] &= end.lies[0] != end.lies[-1]
    settings = {switch: 0 for switch, can_move in enumerate(plain) if not can_move}
    if not _spread(list(settings), beside, settings):
        return None
    for start in range(len(costs)):
        if start not in settings:
            before = len(settings)
            settings[start] = 0
            if not _spread([start], beside, settings):
                return None
            group = list(settings)[before:]
            if 2 * sum(settings[switch] for switch in group) > len(group):
                settings.update((switch, 1 - settings[switch]) for switch in group)
    return tuple(settings[switch] for switch in range(len(costs)))


def _spread(waiting: list[int], beside: Sequence[Sequence[tuple[int, int]]], settings: dict[int, int]) -> bool:
    """Set what follows from what is set; return whether it agrees."""
    while waiting:
        switch = waiting.pop()
        for other, swapped in beside[switch]:
            wanted = settings[switch] ^ swapped
            if other not in settings:
                settings[other] = wanted
                waiting.append(other)
            elif settings[other] != wanted:
                return False
    return True


def _solve(costs: Sequence[Sequence[int]], points: Sequence[Sequence[Pair]], effort: float) -> Choice:
    """Choose by a constraint model: one Boolean a setting, one a point."""
    model = new_model()
    chosen = [[model.new_bool_var(f"switch {n} is {k}") for k in range(len(own))] for n, own in enumerate(costs)]
    for options in chosen:
        model.add_exactly_one(options)
        model.add_hint(options[0], value=True)
    agree = []
    for n, point in enumerate(points):
        agree.append(model.new_bool_var(f"point {n}"))
        for one, other in point:
            model.add(_lie(chosen, one) == _lie(chosen, other)).only_enforce_if(agree[-1])
    # One point more outweighs all that settings can cost, and that all switches that could be left at 0.
    more = [[cost - own[0] for cost in own] for own in costs]
    most = 1 + sum(map(max, more))
    spent = sum(
        cost * literal
        for own, options in zip(more, chosen, strict=True)
        for cost, literal in zip(own, options, strict=True)
    )
    zeros = sum(options[0] for options in chosen)
    model.maximize((len(costs) + 1) * (most * sum(agree) - spent) + zeros)
    solution = solve_model(model, effort=effort)
    if not solution.found:
        return Choice((0,) * len(costs), proven=False)
    settings = (next(k for k, literal in enumerate(options) if solution[literal]) for options in chosen)
    return Choice(tuple(settings), proven=solution.optimal)


def _lie(chosen: Sequence[Sequence[Any]], end: End) -> Any:
    """Return 1 where an end lies one way and 0 where it lies the other, as the model has it."""
    return sum(setting for setting, lies in zip(chosen[end.switch], end.lies, strict=True) if lies)

"""The most patches that straight orders can add, by linear programming over rows, with sums of rows as proof.

The rows of `seamtree.search.rows.stretches` fall apart into components that share no choice; each is a linear program
of its own. Its best value bounds the patches added from above. Rows that are too many to write down at once (rings,
circles of waiting seams) are put in where they are broken. Where the program splits choices, one of them is tried
both ways. The multipliers of the rows at the end of each way are the proof.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterable, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any

from seamtree.proofs.claims import Added, Choice, Component, Row, Sum, Tried
from seamtree.search.effort import NEVER, Deadline
from seamtree.search.rows.guided import longest_cuts_first
from seamtree.search.rows.stretches import Stretches, meetings, ring_row, standing_rows
from seamtree.search.rows.waits import Waits

SCALE = 1 << 40
"""Multipliers of rows are whole numbers of this part, so that sums are exact."""

_SPLIT = 1e-6
"""A choice further than this from yes and no is split."""

_RING_STEPS = 14
"""Stretches in the longest ring looked for, one more at most."""

_RING_LACKS = 1 - 1e-3
"""What the steps of a ring may fall short in all, so that it is broken by more than rounding."""

_RINGS_AT_ONCE = 400
"""Rings put in at a time at most."""

_SHORTENING_ROUNDS = 20
"""How often broken rows are put in while shorter joins are looked for."""

_SECONDS_PER_STEP = 1.3e-8
"""Seconds that a step of the simplex method takes for each choice, about: effort is counted, not clocked."""

_SECONDS_PER_WALK = 5e-7
"""Seconds that it takes to look at one stretch beside another while rings are looked for, about."""

_SECONDS_PER_ENTRY = 6e-6
"""Seconds that it takes to hand a choice or a row to the solver and back, about."""


@dataclass(frozen=True, slots=True)
class Best:
    """The most patches added.

    Parameters
    ----------
    choices
        Those that are taken in the best order found; None if none was found.
    most
        No order adds more patches.
    proofs
        For every component.
    rows
        What the proofs refer to.
    """

    choices: frozenset[Choice] | None
    most: int
    proofs: tuple[Component, ...]
    rows: tuple[Row, ...]

    @property
    def proven(self) -> bool:
        """Whether the choices add as many patches as any order does."""
        return self.choices is not None and _count_added(self.choices) == self.most


class Spent(Exception):  # noqa: N818 - a signal, not an error
    """The effort is spent."""


@dataclass(slots=True)
class Effort:
    """Seconds left, counted and not clocked, and a deadline on the clock above them."""

    seconds: float
    deadline: Deadline = NEVER

    def spend(self, seconds: float) -> None:
        """Take off what something cost."""
        self.seconds -= seconds

    def check(self) -> None:
        """Raise an exception once all is spent."""
        if self.seconds < 0 or self.deadline.over:
            raise Spent


# ------------------------------------------------------------------------------------------------ linear programs


class _Program:
    """A linear program in the hands of the solver; the only place that meets it here.

    Every row has a slack in common, held at 0: where the choices that are fixed leave no solution, the least slack
    that would let one be comes with multipliers that prove so.
    """

    def __init__(self, choices: Sequence[Choice]) -> None:
        from ortools.linear_solver import pywraplp

        self._optimal = pywraplp.Solver.OPTIMAL
        self._solver: Any = pywraplp.Solver.CreateSolver("GLOP")
        self._variables = {choice: self._solver.NumVar(0.0, 1.0, "") for choice in choices}
        self._slack = self._solver.NumVar(0.0, 0.0, "")
        self._rows: list[Any] = []
        self._goal = self._solver.Objective()
        self._goal.SetMaximization()
        self.gain(lambda _: 1.0)

    def gain(self, worth: Callable[[Added], float]) -> None:
        """Say what it is worth to add each patch."""
        for choice, variable in self._variables.items():
            if isinstance(choice, Added):
                self._goal.SetCoefficient(variable, worth(choice))

    def keep(self, added: int) -> None:
        """Ask for so many patches from now on."""
        constraint = self._solver.RowConstraint(float(added), self._solver.infinity(), "")
        for choice, variable in self._variables.items():
            if isinstance(choice, Added):
                constraint.SetCoefficient(variable, 1.0)

    def add(self, row: Row) -> None:
        constraint = self._solver.RowConstraint(-self._solver.infinity(), float(row.most), "")
        for choice, factor in row.terms:
            constraint.SetCoefficient(self._variables[choice], float(factor))
        constraint.SetCoefficient(self._slack, -1.0)
        self._rows.append(constraint)

    def fix(self, choice: Choice, low: int, high: int) -> None:
        self._variables[choice].SetBounds(low, high)

    def solve(self, effort: Effort) -> dict[Choice, float] | None:
        """Return the best values of the choices; None if there is no solution."""
        status = self._solver.Solve()
        effort.spend(
            _SECONDS_PER_STEP * self._solver.iterations() * len(self._variables)
            + _SECONDS_PER_ENTRY * (len(self._variables) + len(self._rows))
        )
        if status != self._optimal:
            return None
        return {choice: variable.solution_value() for choice, variable in self._variables.items()}

    def multipliers(self) -> list[float]:
        return [row.dual_value() for row in self._rows]

    def refute(self, effort: Effort) -> list[float]:
        """Return multipliers of the rows that prove that there is no solution."""
        self.gain(lambda _: 0.0)
        self._slack.SetBounds(0.0, self._solver.infinity())
        self._goal.SetCoefficient(self._slack, -1.0)
        self.solve(effort)
        least = self._slack.solution_value()
        multipliers = self.multipliers()
        self._goal.SetCoefficient(self._slack, 0.0)
        self._slack.SetBounds(0.0, 0.0)
        self.gain(lambda _: 1.0)
        if least < _SPLIT:
            raise Spent
        # So often that all patches of the component that might be added are outweighed.
        return [multiplier * (len(self._variables) + 1) / least for multiplier in multipliers]


# ------------------------------------------------------------------------------------------------ components


@dataclass(slots=True)
class _Component:
    """Choices that rows tie together: the best of them, by trying both ways where the program splits one."""

    found: Stretches
    choices: tuple[Choice, ...]
    numbers: list[int]
    rows: list[Row]
    beside: Mapping[int, set[int]]
    effort: Effort
    best: frozenset[Choice]
    added: int = 0
    fixed: dict[Choice, int] = field(default_factory=dict)
    first_weights: Mapping[int, int] = field(default_factory=dict)
    _program: Any = None

    def solve(self) -> Component:
        """Find the most patches added; where the effort is spent before, what they do not exceed."""
        self.added = _count_added(self.best)
        try:
            tree = self._solve()
        except Spent:
            most = bound(self.choices, self.rows, self.first_weights, {})
            return Component(self.choices, most, _sum(self.first_weights))
        return Component(self.choices, self.added, tree)

    def _solve(self) -> Sum | Tried:
        self._program = _Program(self.choices)
        for n in self.numbers:
            self._program.add(self.rows[n])
        tree = self._try()
        with suppress(Spent):
            self._shorten()
        return tree

    def _shorten(self) -> None:
        """Look for choices that add as many patches with shorter joins, for as long as the program splits none."""
        block = self.found.block

        def length(choice: Added) -> float:
            run = range(choice.edge, self.found.last[choice.edge] + 1)
            return sum(map(block.edge_length, run))

        self._program.keep(self.added)
        self._program.gain(length)
        for _ in range(_SHORTENING_ROUNDS):
            values = self._program.solve(self.effort)
            self.effort.check()
            if values is None:
                return
            broken = self._broken(values)
            if not broken:
                taken = _taken(values)
                split = _split_choices(values)
                if not split and _count_added(taken) == self.added:
                    self.best = taken
                return
            self._put_in(broken)

    def _put_in(self, broken: Iterable[Row]) -> None:
        for row in broken:
            self.numbers.append(len(self.rows))
            self.rows.append(row)
            self._program.add(row)

    def _try(self) -> Sum | Tried:
        """Solve with what is fixed; put in broken rows; split if need be."""
        while True:
            values = self._program.solve(self.effort)
            weights = self._weights(
                self._program.multipliers() if values is not None else self._program.refute(self.effort)
            )
            if bound(self.choices, self.rows, weights, self.fixed) <= self.added:
                return _sum(weights)
            if values is None:
                raise Spent
            if not self.fixed:
                self.first_weights = weights
            self.effort.check()
            broken = self._broken(values)
            if not broken:
                split = _split_choices(values)
                if split:
                    return self._split(min(split, key=lambda c: (isinstance(c, Added), abs(values[c] - 0.5))), values)
                taken = _taken(values)
                count = _count_added(taken)
                if count > self.added:
                    self.best, self.added = taken, count
                if bound(self.choices, self.rows, weights, self.fixed) <= self.added:
                    return _sum(weights)
                raise Spent  # rounding has got the better of the program
            self._put_in(broken)

    def _split(self, choice: Choice, values: Mapping[Choice, float]) -> Tried:
        ways: dict[int, Sum | Tried] = {}
        for way in (1, 0) if values[choice] >= 0.5 else (0, 1):
            self.fixed[choice] = way
            self._program.fix(choice, way, way)
            ways[way] = self._try()
            del self.fixed[choice]
            self._program.fix(choice, 0, 1)
        return Tried(choice, ways[0], ways[1])

    def _weights(self, multipliers: Sequence[float]) -> dict[int, int]:
        whole = ((n, round(SCALE * m)) for n, m in zip(self.numbers, multipliers, strict=True))
        return {n: m for n, m in whole if m > 0}

    def _broken(self, values: Mapping[Choice, float]) -> list[Row]:
        rings, steps = broken_rings(self.found, values, self.beside)
        self.effort.spend(_SECONDS_PER_WALK * steps)
        if rings or _split_choices(values):
            return rings
        return Waits(self.found, _taken(values), self._near()).circles()

    def _near(self) -> set[int]:
        """Return the stretches that the choices are about."""
        near = set()
        for choice in self.choices:
            if isinstance(choice, Added):
                near.add(choice.edge)
            else:
                near.update(self.found.first[k] for k in self.found.around[choice.junction])
        return near


def _sum(weights: Mapping[int, int]) -> Sum:
    return Sum({n: Fraction(weight, SCALE) for n, weight in weights.items()})


def _count_added(choices: Iterable[Choice]) -> int:
    return sum(isinstance(choice, Added) for choice in choices)


def _taken(values: Mapping[Choice, float]) -> frozenset[Choice]:
    return frozenset(choice for choice, value in values.items() if value > 0.5)


def _split_choices(values: Mapping[Choice, float]) -> list[Choice]:
    """Return the choices that a program neither takes nor leaves out."""
    return [choice for choice, value in values.items() if _SPLIT < value < 1 - _SPLIT]


def bound(
    choices: Iterable[Choice], rows: Sequence[Row], weights: Mapping[int, int], fixed: Mapping[Choice, int]
) -> int:
    """Return how many patches can be added at most, by a weighted sum of rows.

    Every order keeps to every row, so the patches added are at most the weighted sum of the numbers on the right, and
    what is left of each choice after that. (Weak duality; all in whole numbers.)
    """
    left = {choice: SCALE if isinstance(choice, Added) else 0 for choice in choices}
    total = 0
    for n, weight in weights.items():
        total += weight * rows[n].most
        for choice, factor in rows[n].terms:
            left[choice] -= weight * factor
    for choice, worth in left.items():
        way = fixed.get(choice)
        total += max(0, worth) if way is None else worth * way
    return total // SCALE


def broken_rings(
    found: Stretches, values: Mapping[Choice, float], beside: Mapping[int, set[int]]
) -> tuple[list[Row], int]:
    """Find odd rings of stretches that add more than they can, and say how many stretches were looked at for them."""
    amount = {}
    for k in {choice.edge for choice in values if isinstance(choice, Added)}:
        total = sum(values.get(choice, 0.0) for choice in found.choices(k))
        if total > _SPLIT:
            amount[k] = total
    short: dict[int, list[tuple[int, float]]] = {}
    for k, total in amount.items():
        met = (other for other in sorted(beside.get(k, ())) if other in amount)
        steps = ((other, max(0.0, 1 - total - amount[other])) for other in met)
        short[k] = [(other, lacks) for other, lacks in steps if lacks <= _RING_LACKS]
    rows: dict[frozenset[int], Row] = {}
    looked_at = 0
    for start in sorted(k for k, total in amount.items() if total < 1 - _SPLIT):
        ring, steps_taken = _odd_ring(start, short)
        looked_at += steps_taken
        if ring and frozenset(ring) not in rows:
            rows[frozenset(ring)] = ring_row(found, ring)
            if len(rows) == _RINGS_AT_ONCE:
                break
    return list(rows.values()), looked_at


def _odd_ring(start: int, short: Mapping[int, Sequence[tuple[int, float]]]) -> tuple[tuple[int, ...] | None, int]:
    """Walk from a stretch over meeting stretches and back in an odd number of steps, while the ring stays broken.

    A ring of k stretches is broken when what each step falls short of one adds up to less than one.

    Parameters
    ----------
    start
        The stretch.
    short
        For each stretch those it meets, and what the step to each falls short.

    Returns
    -------
    tuple
        The ring, None if none is found, and how many stretches were looked at.
    """
    came: dict[tuple[int, int], tuple[int, float, int]] = {(start, 0): (-1, 0.0, 0)}
    waiting = deque([(start, 0)])
    looked_at = 0
    while waiting:
        at, odd = waiting.popleft()
        _, lacked, steps = came[at, odd]
        if steps >= _RING_STEPS:
            break
        looked_at += len(short[at])
        for other, lacks in short[at]:
            total = lacked + lacks
            if total > _RING_LACKS:
                continue
            if other == start and not odd:
                ring = [at]
                while at != start or odd:
                    at, odd = came[at, odd][0], 1 - odd
                    ring.append(at)
                return (tuple(ring) if len(set(ring)) == len(ring) else None), looked_at
            if (other, 1 - odd) not in came:
                came[other, 1 - odd] = (at, total, steps + 1)
                waiting.append((other, 1 - odd))
    return None, looked_at


def _components(rows: Sequence[Row], gains: Iterable[Choice]) -> list[tuple[tuple[Choice, ...], list[int]]]:
    """Group choices that rows tie together, with the numbers of the rows."""
    parent: dict[Choice, Choice] = {choice: choice for choice in gains}

    def root(choice: Choice) -> Choice:
        while parent[choice] != choice:
            parent[choice] = choice = parent[parent[choice]]
        return choice

    for row in rows:
        for choice, _ in row.terms:
            parent.setdefault(choice, choice)
        for choice, _ in row.terms[1:]:
            parent[root(choice)] = root(row.terms[0][0])
    members: dict[Choice, list[Choice]] = {}
    for choice in parent:
        members.setdefault(root(choice), []).append(choice)
    numbers: dict[Choice, list[int]] = {choice: [] for choice in members}
    for n, row in enumerate(rows):
        if row.terms:
            numbers[root(row.terms[0][0])].append(n)
    return [(tuple(choices), numbers[choice]) for choice, choices in members.items()]


def most_added(found: Stretches, *, seconds: float, deadline: Deadline = NEVER) -> Best | None:
    """Find the most patches that a straight order adds to units.

    Parameters
    ----------
    found
        The stretches of a block.
    seconds
        Effort in seconds of an ordinary machine; counted, not clocked.
    deadline
        When the clock ends it.

    Returns
    -------
    Best or None
        None where straight seams cannot sew the block.
    """
    start = longest_cuts_first(found)
    if start is None:
        return None
    rows = list(standing_rows(found))
    beside = meetings(found)
    effort = Effort(seconds, deadline)
    solved: dict[frozenset[Choice], tuple[int, _Component, Component]] = {}
    while True:
        components = []
        for choices, numbers in _components(rows, found.gains):
            known = solved.get(frozenset(choices))
            if known is None or len(numbers) > known[0]:
                component = _Component(found, choices, numbers, rows, beside, effort, start.intersection(choices))
                proof = component.solve()
                known = solved[frozenset(choices)] = len(component.numbers), component, proof
            components.append(known[1:])
        proofs = tuple(proof for _, proof in components)
        most = sum(proof.most for proof in proofs)
        taken = frozenset(choice for component, _ in components for choice in component.best)
        circles = Waits(found, taken).circles()
        if not circles:
            return Best(taken, most, proofs, tuple(rows))
        if any(component.added < proof.most for component, proof in components):
            return Best(start, most, proofs, tuple(rows))
        rows += circles

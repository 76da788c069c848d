"""All contact with the constraint solver.

One worker and counted time: the same answer on every machine, unless the clock has to cut it short.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from seamtree.search.effort import Deadline
from seamtree.search.view import bits

_MOST_WEIGHT = 1000.0
"""What a patch weighs at most where units bear a weight of one."""


@dataclass(frozen=True, slots=True)
class Solution:
    """What the solver came to.

    Parameters
    ----------
    found
        Whether it has a solution.
    optimal
        Whether nothing is better.
    impossible
        Whether there is no solution.
    bound
        What the goal is at least; meaningless without a goal.
    spent
        Deterministic seconds that it took.
    values
        The value of every variable by its index; empty without a solution.
    """

    found: bool
    optimal: bool
    impossible: bool
    bound: int
    spent: float
    values: tuple[int, ...]

    def __getitem__(self, literal: Any) -> int:
        """Return the value of a variable, of the negation of one, or of a constant."""
        index: int = literal.index
        return self.values[index] if index >= 0 else 1 - self.values[-index - 1]


def new_model() -> Any:
    """Return an empty model; the solver is loaded only then."""
    from ortools.sat.python import cp_model

    return cp_model.CpModel()


def solve_model(model: Any, *, effort: float, deadline: Deadline | None = None, relaxed: bool = True) -> Solution:
    """Solve a model.

    Parameters
    ----------
    model
        The model, with its goal and hints.
    effort
        Deterministic seconds that it may take.
    deadline
        What ends it in any case.
    relaxed
        Whether it works with linear relaxations: sums of joins decide, and implications alone bound them badly.
    """
    from ortools.sat.python import cp_model

    solver = cp_model.CpSolver()
    solver.parameters.max_deterministic_time = max(0.001, effort)
    if deadline is not None:
        solver.parameters.max_time_in_seconds = max(0.05, deadline.left())
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = 1
    solver.parameters.catch_sigint_signal = False  # else Ctrl-C would end the process unheard from then on
    solver.parameters.symmetry_level = 0
    solver.parameters.cp_model_probing_level = 0  # takes longer than it saves where times are
    solver.parameters.use_sat_inprocessing = False  # the same, where linear relaxations do the work
    solver.parameters.linearization_level = 2 if relaxed else 0
    status = solver.solve(model)
    found = status in (cp_model.OPTIMAL, cp_model.FEASIBLE)
    return Solution(
        found=found,
        optimal=status == cp_model.OPTIMAL,
        impossible=status == cp_model.INFEASIBLE,
        bound=math.ceil(solver.best_objective_bound - 1e-6) if math.isfinite(solver.best_objective_bound) else 0,
        spent=solver.response_proto.deterministic_time,
        values=tuple(solver.response_proto.solution) if found else (),
    )


def hint(model: Any, solution: Solution) -> None:
    """Start the next solve of a model from a solution of what it was; variables that have come since are open."""
    model.clear_hints()
    hints = model.proto.solution_hint
    hints.vars.extend(range(len(solution.values)))
    hints.values.extend(solution.values)


def heaviest(sets: Sequence[Sequence[int]], goals: Sequence[Sequence[float]]) -> list[list[float]]:
    """Give members weights of at most one so that no set weighs more than one and all together weigh most.

    Parameters
    ----------
    sets
        Members of each set, as numbers; every member is in some set.
    goals
        Several times, how much each member counts.

    Returns
    -------
    list of list of float
        For each goal the weights by member, within the tolerance of the linear program; no weight is below -1.
    """
    from ortools.linear_solver import pywraplp

    program = pywraplp.Solver.CreateSolver("GLOP")
    weights = [program.NumVar(-1.0, 1.0, "") for _ in goals[0]]
    for members in sets:
        row = program.Constraint(-program.infinity(), 1.0)
        for member in members:
            row.SetCoefficient(weights[member], 1.0)
    found = []
    for goal in goals:
        for weight, counts in zip(weights, goal, strict=True):
            program.Objective().SetCoefficient(weight, counts)
        program.Objective().SetMaximization()
        # Without a solution, which there always is, nothing weighs anything.
        solved = program.Solve() == pywraplp.Solver.OPTIMAL
        found.append([weight.solution_value() if solved else 0.0 for weight in weights])
    return found


def heaviest_heaps(
    foundations: Sequence[Sequence[Sequence[int]]], patches: int, *, units: int, few: int | None = None
) -> tuple[list[float], float]:
    """Weigh patches so that what lies on one foundation is light, and the block is heavy.

    What lies on one foundation is the heaviest unit of each of its heaps. It weighs no more than one; or, with a
    number of foundations, units bear a weight of one each, and the rest counts against the weight of the block as
    often as there are foundations.

    Parameters
    ----------
    foundations
        For each its heaps of units, as bit sets of patches; every patch is in some unit.
    patches
        How many patches there are.
    units
        How many units there are at least.
    few
        How many foundations there are; None to show how many there are at least.

    Returns
    -------
    tuple
        The weight of each patch and of each unit besides, within the tolerance of the linear program; nothing
        weighs anything where it has come to no end.
    """
    from ortools.linear_solver import pywraplp

    program = pywraplp.Solver.CreateSolver("GLOP")
    limit = 2.0 if few is None else _MOST_WEIGHT
    weights = [program.NumVar(-limit, limit, "") for _ in range(patches)]
    each = program.NumVar(0.0, limit, "")
    most = program.NumVar(*((1.0, 1.0) if few is None else (0.0, limit)), "")
    for heaps in foundations:
        all_heaps = program.Constraint(-program.infinity(), 0.0)
        all_heaps.SetCoefficient(most, -1.0)
        for heap in heaps:
            heaviest_unit = program.NumVar(0.0, limit, "")
            all_heaps.SetCoefficient(heaviest_unit, 1.0)
            for unit in heap:
                row = program.Constraint(-program.infinity(), 0.0 if few is None else 1.0)
                for p in bits(unit):
                    row.SetCoefficient(weights[p], 1.0)
                row.SetCoefficient(each, 1.0)
                row.SetCoefficient(heaviest_unit, -1.0)
    for weight in weights:
        program.Objective().SetCoefficient(weight, 1.0)
    program.Objective().SetCoefficient(each, units)
    program.Objective().SetCoefficient(most, -(few or 0))
    program.Objective().SetMaximization()
    if program.Solve() != pywraplp.Solver.OPTIMAL:
        return [0.0] * patches, 0.0
    return [weight.solution_value() for weight in weights], each.solution_value()

"""All contact with the constraint solver."""

from __future__ import annotations

from seamtree.search.effort import Deadline
from seamtree.search.solver import new_model, solve_model


def test_a_goal_is_reached_and_its_bound_told() -> None:
    model = new_model()
    x, y, b = model.NewIntVar(0, 9, "x"), model.NewIntVar(0, 9, "y"), model.NewBoolVar("b")
    model.Add(2 * x + 3 * y >= 7)
    model.Add(x >= 2).OnlyEnforceIf(b)
    model.AddBoolOr(b, b)
    model.Minimize(x + y)
    found = solve_model(model, effort=1.0)
    assert found.found
    assert found.optimal
    assert (found[x], found[y], found[b], found[b.Not()]) == (2, 1, 1, 0)
    assert found.bound == 3
    assert found.spent >= 0


def test_what_cannot_be_is_told() -> None:
    model = new_model()
    x = model.NewBoolVar("x")
    model.Add(x >= 1)
    model.Add(x <= 0)
    found = solve_model(model, effort=1.0)
    assert (found.found, found.values) == (False, ())


def test_a_clock_that_has_run_out_ends_it() -> None:
    model = new_model()
    pegs = [[model.NewBoolVar("") for _ in range(11)] for _ in range(12)]
    for row in pegs:
        model.AddExactlyOne(row)
    for column in zip(*pegs, strict=True):
        model.AddAtMostOne(column)
    found = solve_model(model, effort=100.0, deadline=Deadline(0.0))
    assert not found.found

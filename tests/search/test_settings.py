"""Settings of switches, against all of them."""

from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from seamtree.search import settings as settings_module
from seamtree.search.settings import Choice, End, choose_settings
from seamtree.search.solver import Solution
from tests.support.effort import times

Points = list[list[tuple[End, End]]]


def agreeing(points: Points, chosen: tuple[int, ...]) -> int:
    return sum(all(a.lies[chosen[a.switch]] == b.lies[chosen[b.switch]] for a, b in pairs) for pairs in points)


def ring_of_three() -> Points:
    return [[(End(k, (True, False)), End((k + 1) % 3, (False, True)))] for k in range(3)]


@st.composite
def tasks(draw: st.DrawFn) -> tuple[list[int], Points]:
    sizes = draw(st.lists(st.integers(1, 3), min_size=1, max_size=5))
    plain = draw(st.booleans())

    def end() -> End:
        switch = draw(st.integers(0, len(sizes) - 1))
        if plain and sizes[switch] == 2:
            first = draw(st.booleans())
            return End(switch, (first, not first))
        return End(switch, tuple(draw(st.booleans()) for _ in range(sizes[switch])))

    points = [[(end(), end()) for _ in range(draw(st.integers(1, 2)))] for _ in range(draw(st.integers(0, 6)))]
    return sizes, points


@settings(max_examples=times(60, 1000), deadline=None)
@given(tasks(), st.sampled_from([0, settings_module._TRIED]), st.booleans())
def test_as_many_points_as_can_be_agree_then_as_many_switches_as_can_be_stay(
    task: tuple[list[int], Points], tried: int, with_costs: bool
) -> None:
    sizes, points = task
    costs = (
        [[k * size % 3 + (k > 0) for k in range(size)] for size in sizes] if with_costs else [[0] * n for n in sizes]
    )
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(settings_module, "_TRIED", tried)  # with none, the constraint model chooses
        choice = choose_settings(costs, points, effort=1.0)
    assert choice.proven

    def spent(chosen: tuple[int, ...]) -> int:
        return sum(own[k] for own, k in zip(costs, chosen, strict=True))

    everything = product(*(range(size) for size in sizes))
    best = max((agreeing(points, chosen), -spent(chosen), chosen.count(0)) for chosen in everything)
    assert (agreeing(points, choice.settings), -spent(choice.settings)) == best[:2]
    if best[0] < len(points):
        assert choice.settings.count(0) == best[2]


def test_a_ring_of_three_that_cannot_agree_loses_one_point() -> None:
    choice = choose_settings([[0, 0]] * 3, ring_of_three(), effort=1.0)
    assert agreeing(ring_of_three(), choice.settings) == 2


@pytest.mark.parametrize("costs", [[[0, 2], [0, 1], [1, 0]], [[3, 0], [0, 3], [0, 1]], [[5, 6], [2, 1], [0, 0]]])
def test_of_orders_that_agree_as_much_the_model_chooses_the_cheapest(costs: list[list[int]], monkeypatch) -> None:
    """A ring of three can lose any of its points, so the costs decide."""
    points = ring_of_three()
    monkeypatch.setattr(settings_module, "_TRIED", 0)
    choice = choose_settings(costs, points, effort=1.0)
    ways = product(range(2), repeat=3)
    best = max((agreeing(points, way), -sum(own[k] for own, k in zip(costs, way, strict=True))) for way in ways)
    assert best == (2, -sum(own[k] for own, k in zip(costs, choice.settings, strict=True)))
    assert choice.proven


@pytest.mark.parametrize(("found", "expected"), [(False, (0, 0, 0)), (True, (0, 1, 1))])
def test_what_is_not_settled_in_time_is_not_proven(found: bool, expected: tuple[int, ...], monkeypatch) -> None:
    """A model that comes to no end leaves its best choice, or else every switch as it is."""
    values = (*(int(setting == wanted) for wanted in expected for setting in (0, 1)), 1, 1, 1)
    short = Solution(found, optimal=False, impossible=False, bound=0, spent=1.0, values=values if found else ())
    monkeypatch.setattr(settings_module, "solve_model", lambda model, effort: short)
    monkeypatch.setattr(settings_module, "_TRIED", 0)
    assert choose_settings([[0, 0]] * 3, ring_of_three(), effort=1.0) == Choice(expected, proven=False)


def test_few_choices_are_tried_without_the_solver(monkeypatch) -> None:
    monkeypatch.setattr(settings_module, "new_model", None)
    assert choose_settings([[0, 0]] * 3, ring_of_three(), effort=1.0).proven
    monkeypatch.setattr(settings_module, "_TRIED", 8)
    assert choose_settings([[0, 0]] * 3, ring_of_three(), effort=1.0).proven
    monkeypatch.setattr(settings_module, "_TRIED", 7)
    with pytest.raises(TypeError):
        choose_settings([[0, 0]] * 3, ring_of_three(), effort=1.0)


def test_nothing_to_choose() -> None:
    assert choose_settings([], [], effort=1.0) == Choice((), proven=True)

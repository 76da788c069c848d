"""Slots in outlines, as the readers' messages do not show them."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely

from seamtree.block import slots
from seamtree.block.slots import find_slots

WIDTH = 0.25


def outline(*corners: tuple[float, float]) -> np.ndarray:
    """Return an outline as the search for slots takes it, of corners that turn clockwise where y points up."""
    return np.array(corners)


def saw(teeth: int, *, length: float = 6.0, height: float = 0.02) -> list[tuple[float, float]]:
    """Return corners of a saw's edge from left to right."""
    return [(length * k / (2 * teeth), height * (k % 2)) for k in range(2 * teeth + 1)]


def jagged_slot(teeth: int) -> np.ndarray:
    """Return a square with a slot 0.1 in wide from above, whose sides are saws' edges."""
    left = [(2.95 + y, 5.5 - x) for x, y in saw(teeth, length=5.0)]
    right = [(3.05 + y, 0.5 + x) for x, y in saw(teeth, length=5.0)]
    return outline((0, 0), (0, 6), (2.95, 6), *left, *right, (3.05, 6), (6, 6), (6, 0))


@pytest.mark.parametrize("turned", range(0, 12, 3))
def test_each_slot_is_found_once_wherever_the_outline_begins(turned: int) -> None:
    comb = outline(
        (0, 0), (0, 4), (1, 4), (1, 1), (1.1, 1), (1.1, 4), (3, 4), (3, 2), (3.2, 2), (3.2, 4), (5, 4), (5, 0)
    )
    found = find_slots(np.roll(comb, turned, axis=0), width=WIDTH)
    assert [slot.bounds for slot in found] == [(3, 2, 3.2, 4), (1, 1, 1.1, 4)]


def test_what_widens_inside_is_no_slot() -> None:
    bottle = outline(
        (0, 0), (0, 6), (3, 6), (3, 4), (2, 4), (2, 1), (4, 1), (4, 4), (3.1, 4), (3.1, 6), (6, 6), (6, 0)
    )
    assert find_slots(bottle, width=WIDTH) == []


def test_a_slot_with_jagged_sides_is_one() -> None:
    found = find_slots(jagged_slot(40), width=WIDTH)
    assert shapely.area(found[0]) == pytest.approx(0.5, rel=0.1)
    assert not any(shapely.overlaps(a, b) for a in found for b in found)


def test_only_what_can_be_a_slot_is_made_a_shape(monkeypatch: pytest.MonkeyPatch) -> None:
    # Each tooth lies near many sides, most of which it has the whole block between.
    made: list[int] = []
    real = slots._slot

    def counted(corners: np.ndarray, mouth: float, width: float) -> shapely.Polygon | None:
        made.append(len(corners))
        return real(corners, mouth, width)

    monkeypatch.setattr(slots, "_slot", counted)
    edge = [(x, 6.0 - y) for x, y in saw(800, height=0.004)]
    assert find_slots(outline((0, 0), *edge, (6, 0)), width=WIDTH) == []
    assert sum(made) < 100_000
    made.clear()
    assert find_slots(jagged_slot(200), width=WIDTH)
    assert sum(made) < 100_000


def test_an_outline_far_away_has_the_same_slots() -> None:
    ring = jagged_slot(20)
    here, there = find_slots(ring, width=WIDTH), find_slots(ring + 65536.0, width=WIDTH)
    assert [slot.area for slot in there] == pytest.approx([slot.area for slot in here], abs=1e-5)


def test_a_round_outline_has_none() -> None:
    circle = [(math.cos(k * math.pi / 50), -math.sin(k * math.pi / 50)) for k in range(100)]
    assert find_slots(outline(*circle), width=WIDTH) == []

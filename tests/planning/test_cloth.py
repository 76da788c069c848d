"""How far points stray from a line, however many they are."""

from __future__ import annotations

import math
import random

import pytest

from seamtree.geometry.straight import straying
from seamtree.planning import cloth


@pytest.mark.parametrize("seed", range(5))
def test_straying_does_not_depend_on_how_many_are_looked_at_in_one_go(
    seed: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    rng = random.Random(seed)
    angles = sorted(rng.uniform(0, 6) for _ in range(60))
    arc = [(5 * math.cos(angle), 2 * math.sin(angle)) for angle in angles]
    whole = cloth.stray(arc)
    monkeypatch.setattr(cloth, "_AT_A_TIME", 10)
    assert cloth.stray(arc) == whole == pytest.approx(straying(arc))


@pytest.mark.parametrize("seed", range(20))
def test_what_is_far_off_strays(seed: int) -> None:
    rng = random.Random(seed)
    inside = [(float(x), rng.choice([0.1, 5.0]) * rng.random()) for x in range(1, rng.randint(2, 5))]
    points = [(0.0, 0.0), *inside, (len(inside) + 1.0, 0.0)]
    least = 2 * straying(points)
    assert not cloth._far_off(points, least * (1 + 1e-9) + 1e-12)
    flat = [(x, 0.0) for x, _ in points]
    assert not cloth._far_off(flat, 0.0)
    assert cloth._far_off([(0.0, 0.0), (50.0, 3.0), (100.0, 0.0)], 2.9)

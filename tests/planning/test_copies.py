"""Whether two units can be sewn on the same foundation, as the replay sees it."""

from __future__ import annotations

import cmath

import pytest

from seamtree.planning.copies import are_copies

HULL = [[(0.0, 0.0), (3.0, 0.0), (2.0, 1.0)], [(0.0, 0.0), (2.0, 1.0), (-0.5, 2.0)]]


def turned(
    rings: list[list[tuple[float, float]]], angle: float, *, mirrored: bool = False
) -> list[list[tuple[float, float]]]:
    """Turn rings (radians), and move them."""
    turn = cmath.rect(1.0, angle)
    places = [[complex(-x if mirrored else x, y) * turn + (5 + 2j) for x, y in ring] for ring in rings]
    return [[(z.real, z.imag) for z in ring] for ring in places]


@pytest.mark.parametrize("angle", [0.0, 0.3, 2.0, -1.5])
def test_a_unit_turned_is_a_copy(angle: float) -> None:
    assert are_copies(HULL, turned(HULL, angle), tolerance=0.02)


def test_a_unit_mirrored_is_none() -> None:
    assert not are_copies(HULL, turned(HULL, 0.3, mirrored=True), tolerance=0.02)


def test_patches_in_another_order_are_none() -> None:
    assert not are_copies(HULL, HULL[::-1], tolerance=0.02)


def test_splinters_of_next_to_no_area_are_copies_wherever_they_are_widest() -> None:
    """The middles of their areas are thousands of inches apart, their outlines less than the tolerance."""
    four = [(0.0, 0.0), (2500.0, 0.001), (7500.0, 0.0), (10000.0, 0.0)]
    three = [(0.0, 0.0), (7500.0, -0.002), (10000.0, 0.0)]
    assert are_copies([four], [three], tolerance=0.02)

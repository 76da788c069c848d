"""Which patches may lie on one foundation."""

from __future__ import annotations

from shapely import Polygon, box

from seamtree.block.build import block_from_polygons
from seamtree.block.largest import Largest
from tests.search.straight.test_parts import squares


def test_what_fits_stays_so_with_fewer_patches_and_a_patch_always_does():
    largest = Largest(squares(3, 1), (2, 1))
    masks = range(1, 8)
    held = [mask for mask in masks if largest.holds(mask)]
    assert held == [1, 2, 3, 4, 6]
    assert Largest(squares(3, 1), (0.5, 0.5)).holds(1)


def test_patches_that_are_too_large_are_units_by_themselves():
    block = block_from_polygons([box(0, 0, 3, 1), box(3, 0, 4, 1), box(4, 0, 5, 1)])
    largest = Largest(block, (2, 2))
    wide = next(p for p in range(3) if Polygon(block.polygon(p)).area > 2)
    assert largest.oversized == 1 << wide
    assert largest.is_too_large(wide)
    assert largest.least_units(7) == 2


def test_patches_far_apart_need_units_of_their_own():
    assert Largest(squares(10, 1), (2, 2)).least_units((1 << 10) - 1) >= 3


def test_what_reading_adds_to_a_size_is_allowed():
    assert Largest(squares(2, 1), (1.9995, 1)).holds(3)
    assert not Largest(squares(2, 1), (1.99, 1)).holds(3)

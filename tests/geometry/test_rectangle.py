"""Turning shapes into rectangles, against very many angles."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from seamtree.geometry.rectangle import fitting_turn

ANGLES = np.exp(1j * np.linspace(0, math.pi, 4001))


def box(wide, high):
    return [(0.0, 0.0), (wide, 0.0), (wide, high), (0.0, high)]


def extents(points, turns):
    turned = np.multiply.outer(turns, np.array(points) @ (1, 1j))
    return np.ptp(turned.real, axis=-1), np.ptp(turned.imag, axis=-1)


@pytest.mark.parametrize(
    ("shape", "rectangle", "fits"),
    [
        (box(1, 6), (5, 5), True),  # on the slant: (1 + 6) / √2 = 4.95
        (box(1, 6.08), (5, 5), False),
        (box(12, 4), (4, 12), True),
        (box(5, 5), (5, 5), True),
        (box(5.001, 5), (5, 5), False),
        (box(1, 5), (4, 4), False),
        ([(0.0, 0.0), (5.0, 5.0), (-5.0, 5.0)], (10, 5), True),
        ([(0.0, 0.0), (5.0, 5.0), (-5.0, 5.0)], (8, 8), True),
        ([(0.0, 0.0), (5.0, 5.0), (-5.0, 5.0)], (7, 7), False),
    ],
)
def test_shapes_with_a_known_answer(shape, rectangle, fits):
    assert (fitting_turn(shape, *rectangle) is not None) == fits
    assert (fitting_turn(shape, *rectangle[::-1]) is not None) == fits


@given(st.integers(0, 10**6))
def test_agrees_with_very_many_angles(seed):
    rng = np.random.default_rng(seed)
    points = [tuple(at) for at in (rng.normal(size=(rng.integers(3, 9), 2)) * rng.uniform(0.5, 2, 2)).tolist()]
    wide, high = rng.uniform(1, 4, 2)
    turn = fitting_turn(points, wide, high)
    across, along = extents(points, ANGLES)
    if turn is None:
        assert not ((across <= wide) & (along <= high)).any()
    else:
        across, along = extents(points, np.exp(1j * turn))
        assert across <= wide + 1e-6
        assert along <= high + 1e-6

"""Whether two units can be sewn on the same foundation, number for number.

Written for `seamtree.planning.replay` and used by nothing else, so that a plan is never judged by the code that
made it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
import shapely
from numpy.typing import NDArray

from seamtree.errors import Point
from seamtree.geometry.distinct import distinct

_SLACK = 3.0
"""Tolerances by which two copies may differ: corners are matched within one, and left out where a side bends less."""

Rings = Sequence[Sequence[Point]]


def are_copies(first: Rings, second: Rings, *, tolerance: float) -> bool:
    """Tell whether the patches of one unit, turned but not mirrored, are those of another, one by one.

    Parameters
    ----------
    first, second
        The corners of the patches of two units in sewing order, inches.
    tolerance
        What cloth cannot tell apart, inches.
    """
    if len(first) != len(second):
        return False
    shapes, others = _centred(first), _centred(second)
    return any(_coincide(shapes * turn, others, tolerance) for turn in _turns(shapes, others, tolerance))


class _Unit:
    """The patches of a unit about the centre of their outlines; corners are complex numbers, inches."""

    def __init__(self, rings: Sequence[NDArray[np.complex128]]) -> None:
        self.rings = rings

    def __mul__(self, turn: complex) -> _Unit:
        return _Unit([ring * turn for ring in self.rings])

    def corners(self) -> NDArray[np.complex128]:
        return np.concatenate(self.rings)

    def polygons(self) -> NDArray[np.object_]:
        return np.array([shapely.Polygon(np.column_stack((ring.real, ring.imag))) for ring in self.rings])


def _centred(rings: Rings) -> _Unit:
    # Not the centre of area: in a splinter of next to none, that lies anywhere.
    middle = shapely.GeometryCollection([shapely.LinearRing(ring) for ring in rings]).centroid
    return _Unit([np.array([complex(x - middle.x, y - middle.y) for x, y in ring]) for ring in rings])


def _turns(shapes: _Unit, others: _Unit, tolerance: float) -> Iterator[complex]:
    """Yield the turns that lay the outermost corner of one unit on a corner of the other."""
    corners = shapes.corners()
    far = corners[np.argmax(abs(corners))]
    for corner in distinct(others.corners()):
        if abs(abs(corner) - abs(far)) <= _SLACK * tolerance:
            turn = corner / far
            yield complex(turn / abs(turn))


def _coincide(shapes: _Unit, others: _Unit, tolerance: float) -> bool:
    apart = shapely.hausdorff_distance(shapes.polygons(), others.polygons())
    return bool((apart <= _SLACK * tolerance).all())

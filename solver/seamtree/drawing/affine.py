"""Affine maps of the plane as six numbers (a, b, c, d, e, f), in the order of SVG's ``matrix()``.

A point (x, y) goes to (a x + c y + e, b x + d y + f).
"""

from __future__ import annotations

import math
from collections.abc import Iterable

from seamtree.errors import Point

Affine = tuple[float, float, float, float, float, float]

IDENTITY: Affine = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)


def translation(x: float, y: float) -> Affine:
    """Return the map that moves every point by (x, y)."""
    return (1.0, 0.0, 0.0, 1.0, x, y)


def compose(outer: Affine, inner: Affine) -> Affine:
    """Return the map that applies `inner` first and `outer` to its result."""
    a, b, c, d, e, f = outer
    p, q, r, s, t, u = inner
    return (
        a * p + c * q,
        b * p + d * q,
        a * r + c * s,
        b * r + d * s,
        a * t + c * u + e,
        b * t + d * u + f,
    )


def inverse(matrix: Affine) -> Affine:
    """Return the map back; the map must be invertible."""
    a, b, c, d, e, f = matrix
    under = a * d - b * c
    return (d / under, -b / under, -c / under, a / under, (c * f - d * e) / under, (b * e - a * f) / under)


def apply(matrix: Affine, point: Point) -> Point:
    """Return where the map takes a point."""
    a, b, c, d, e, f = matrix
    x, y = point
    return (a * x + c * y + e, b * x + d * y + f)


def apply_all(matrix: Affine, points: Iterable[Point]) -> tuple[Point, ...]:
    """Return where the map takes points."""
    a, b, c, d, e, f = matrix
    return tuple([(a * x + c * y + e, b * x + d * y + f) for x, y in points])


def apply_vector(matrix: Affine, vector: Point) -> Point:
    """Return where the map takes a difference of two points."""
    a, b, c, d, _, _ = matrix
    x, y = vector
    return (a * x + c * y, b * x + d * y)


def is_invertible(matrix: Affine) -> bool:
    """Tell whether the map keeps areas: finite numbers, and nothing flattened to a line or a point."""
    if not all(map(math.isfinite, matrix)):
        return False
    a, b, c, d, _, _ = matrix
    return abs(a * d - b * c) > 1e-12 * math.hypot(a, b) * math.hypot(c, d)

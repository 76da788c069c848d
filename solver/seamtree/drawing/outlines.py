"""Outlines as SVG draws them: straight lines, cubic Béziers and elliptical arcs, not flattened yet.

An elliptical arc is kept as a centre and two conjugate half-axes, so that every affine map takes an arc to an arc.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import chain, pairwise
from typing import NamedTuple

from seamtree.drawing.affine import IDENTITY, Affine, apply, apply_all, apply_vector
from seamtree.errors import Point


class Cubic(NamedTuple):
    """A cubic Bézier curve to `end`."""

    first: Point
    second: Point
    end: Point


class Arc(NamedTuple):
    """An elliptical arc to `end`: centre + u cos(t) + v sin(t), for t from `start` through `sweep` (radians)."""

    centre: Point
    u: Point
    v: Point
    start: float
    sweep: float
    end: Point


Curve = Cubic | Arc


class Outline(NamedTuple):
    """One subpath.

    Parameters
    ----------
    points
        Where its pieces begin and end, from its start on.
    closed
        Whether a line leads back to its start.
    curves
        One a piece, None for a straight line; empty where all pieces are straight.
    """

    points: tuple[Point, ...]
    closed: bool
    curves: tuple[Curve | None, ...] = ()

    @property
    def pieces(self) -> int:
        """How many pieces it is made of; a line back to its start is none of them."""
        return len(self.points) - 1


Bounds = tuple[float, float, float, float]
"""Left, top, right, bottom."""


def ellipse(centre: Point, rx: float, ry: float) -> Outline:
    """Return a whole ellipse; it starts at its right end and runs clockwise as SVG's does."""
    start = (centre[0] + rx, centre[1])
    return Outline((start, start), True, (Arc(centre, (rx, 0.0), (0.0, ry), 0.0, 2 * math.pi, start),))


def rectangle(left: float, top: float, width: float, height: float, *, rx: float = 0.0, ry: float = 0.0) -> Outline:
    """Return a rectangle; with radii above zero its corners are rounded."""
    right, bottom = left + width, top + height
    if not (rx and ry):
        return Outline(((left, top), (right, top), (right, bottom), (left, bottom)), True)

    def corner(x: float, y: float, turn: int, end: Point) -> Arc:
        return Arc((x, y), (rx, 0.0), (0.0, ry), turn * math.pi / 2, math.pi / 2, end)

    sides = (
        ((left + rx, top), (right - rx, top)),
        ((right, top + ry), (right, bottom - ry)),
        ((right - rx, bottom), (left + rx, bottom)),
        ((left, bottom - ry), (left, top + ry)),
    )
    corners = (
        corner(right - rx, top + ry, -1, (right, top + ry)),
        corner(right - rx, bottom - ry, 0, (right - rx, bottom)),
        corner(left + rx, bottom - ry, 1, (left, bottom - ry)),
        corner(left + rx, top + ry, 2, (left + rx, top)),
    )
    points = (*chain.from_iterable(sides), sides[0][0])
    return Outline(points, True, tuple(chain.from_iterable((None, turn) for turn in corners)))


def moved(outline: Outline, matrix: Affine) -> Outline:
    """Return the outline under an affine map."""
    if matrix == IDENTITY:
        return outline
    points = apply_all(matrix, outline.points)
    if not outline.curves:
        return Outline(points, outline.closed)
    ends = zip(outline.curves, points[1:], strict=True)
    return Outline(points, outline.closed, tuple(curve and _moved(curve, end, matrix) for curve, end in ends))


def _moved(curve: Curve, end: Point, matrix: Affine) -> Curve:
    if isinstance(curve, Cubic):
        return Cubic(apply(matrix, curve.first), apply(matrix, curve.second), end)
    return Arc(
        apply(matrix, curve.centre),
        apply_vector(matrix, curve.u),
        apply_vector(matrix, curve.v),
        curve.start,
        curve.sweep,
        end,
    )


def placing(outline: Outline) -> tuple[Point, ...]:
    """Return everything that says where an outline lies: its points, and what its curves are given by."""
    if not outline.curves:
        return outline.points
    inner: list[Point] = []
    for curve in outline.curves:
        if isinstance(curve, Cubic):
            inner += (curve.first, curve.second)
        elif isinstance(curve, Arc):
            inner += (curve.centre, curve.u, curve.v)
    return (*outline.points, *inner)


def bounds_of(outlines: Sequence[Outline]) -> Bounds:
    """Return the exact bounding box of outlines (not of their control points)."""
    points = [point for outline in outlines for point in outline.points]
    for outline in outlines:
        if outline.curves:
            points.extend(_extremes(outline))
    xs, ys = zip(*points, strict=True)
    return min(xs), min(ys), max(xs), max(ys)


def united(boxes: Sequence[Bounds]) -> Bounds:
    """Return the bounding box of bounding boxes."""
    lefts, tops, rights, bottoms = zip(*boxes, strict=True)
    return min(lefts), min(tops), max(rights), max(bottoms)


def _extremes(outline: Outline) -> Iterator[Point]:
    """Yield points of curves, among which and the ends of curves are the outermost ones in both axes."""
    for start, curve in zip(outline.points[:-1], outline.curves, strict=True):
        if isinstance(curve, Cubic):
            yield from _cubic_extremes(start, curve)
        elif isinstance(curve, Arc):
            yield from _arc_extremes(curve)


def _cubic_extremes(start: Point, cubic: Cubic) -> Iterator[Point]:
    for axis in (0, 1):
        p0, p1, p2, p3 = (point[axis] for point in (start, cubic.first, cubic.second, cubic.end))
        # The derivative, divided by three, is a t² + b t + c.
        a = p3 - 3 * p2 + 3 * p1 - p0
        b = 2 * (p2 - 2 * p1 + p0)
        c = p1 - p0
        for t in _roots(a, b, c):
            if 0.0 < t < 1.0:
                yield cubic_point(start, cubic, t)


def _roots(a: float, b: float, c: float) -> tuple[float, ...]:
    """Return the real roots of a t² + b t + c, without cancellation."""
    root = b * b - 4 * a * c
    if root < 0.0:
        return ()
    half = -(b + math.copysign(math.sqrt(root), b)) / 2
    return tuple(over / under for over, under in ((half, a), (c, half)) if under != 0.0)


def _arc_extremes(arc: Arc) -> Iterator[Point]:
    for axis in (0, 1):
        angle = math.atan2(arc.v[axis], arc.u[axis])
        for turn in (angle, angle + math.pi):
            beyond = (turn - arc.start) % (2 * math.pi)
            if arc.sweep < 0.0:
                beyond -= 2 * math.pi
            if abs(beyond) <= abs(arc.sweep):
                yield arc_point(arc, turn)


def cubic_point(start: Point, cubic: Cubic, t: float) -> Point:
    """Return the point of a cubic Bézier at the parameter t from 0 to 1."""
    s = 1.0 - t
    w0, w1, w2, w3 = s * s * s, 3 * s * s * t, 3 * s * t * t, t * t * t
    return (
        w0 * start[0] + w1 * cubic.first[0] + w2 * cubic.second[0] + w3 * cubic.end[0],
        w0 * start[1] + w1 * cubic.first[1] + w2 * cubic.second[1] + w3 * cubic.end[1],
    )


def arc_point(arc: Arc, angle: float) -> Point:
    """Return the point of an arc's ellipse at an angle (radians)."""
    cosine, sine = math.cos(angle), math.sin(angle)
    return (
        arc.centre[0] + arc.u[0] * cosine + arc.v[0] * sine,
        arc.centre[1] + arc.u[1] * cosine + arc.v[1] * sine,
    )


def is_rectangle(outlines: Sequence[Outline]) -> bool:
    """Tell whether the outlines are one rectangle whose sides are level and upright."""
    if len(outlines) != 1 or outlines[0].curves:
        return False
    points = list(outlines[0].points)
    if points[-1] == points[0]:
        points.pop()
    left, top = (min(point[axis] for point in points) for axis in (0, 1))
    right, bottom = (max(point[axis] for point in points) for axis in (0, 1))
    slack = 1e-6 * max(right - left, bottom - top)
    corners = [(left, top), (right, top), (right, bottom), (left, bottom)]
    places = [
        next((index for index, corner in enumerate(corners) if _is_at(point, corner, slack)), -1) for point in points
    ]
    turns = {(after - before) % 4 for before, after in pairwise(places)}
    return len(points) == 4 and -1 not in places and turns in ({1}, {3})


def _is_at(point: Point, corner: Point, slack: float) -> bool:
    return abs(point[0] - corner[0]) <= slack and abs(point[1] - corner[1]) <= slack

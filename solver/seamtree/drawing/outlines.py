"""Outlines as SVG draws them: straight lines, cubic Béziers and elliptical arcs, not flattened yet.

An elliptical arc is kept as a centre and two conjugate half-axes, so that every affine map takes an arc to an arc.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import NamedTuple

from seamtree.drawing.affine import IDENTITY, Affine, apply, apply_vector
from seamtree.errors import Point


class Line(NamedTuple):
    """A straight line to `end`."""

    end: Point


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


Piece = Line | Cubic | Arc


class Outline(NamedTuple):
    """One subpath: where it starts, what it is made of, and whether a line leads back to its start."""

    start: Point
    pieces: tuple[Piece, ...]
    closed: bool


Bounds = tuple[float, float, float, float]
"""Left, top, right, bottom."""


def polygon(points: Sequence[Point], *, closed: bool) -> Outline:
    """Return the outline through the points."""
    return Outline(points[0], tuple(Line(point) for point in points[1:]), closed)


def ellipse(centre: Point, rx: float, ry: float) -> Outline:
    """Return a whole ellipse; it starts at its right end and runs clockwise as SVG's does."""
    start = (centre[0] + rx, centre[1])
    return Outline(start, (Arc(centre, (rx, 0.0), (0.0, ry), 0.0, 2 * math.pi, start),), True)


def rectangle(left: float, top: float, width: float, height: float, *, rx: float = 0.0, ry: float = 0.0) -> Outline:
    """Return a rectangle; with radii above zero its corners are rounded."""
    right, bottom = left + width, top + height
    if not (rx and ry):
        return polygon([(left, top), (right, top), (right, bottom), (left, bottom)], closed=True)

    def corner(x: float, y: float, turn: int, end: Point) -> Arc:
        return Arc((x, y), (rx, 0.0), (0.0, ry), turn * math.pi / 2, math.pi / 2, end)

    pieces = (
        Line((right - rx, top)),
        corner(right - rx, top + ry, -1, (right, top + ry)),
        Line((right, bottom - ry)),
        corner(right - rx, bottom - ry, 0, (right - rx, bottom)),
        Line((left + rx, bottom)),
        corner(left + rx, bottom - ry, 1, (left, bottom - ry)),
        Line((left, top + ry)),
        corner(left + rx, top + ry, 2, (left + rx, top)),
    )
    return Outline((left + rx, top), pieces, True)


def moved(outline: Outline, matrix: Affine) -> Outline:
    """Return the outline under an affine map."""
    if matrix == IDENTITY:
        return outline
    return Outline(
        apply(matrix, outline.start),
        tuple(_moved_piece(piece, matrix) for piece in outline.pieces),
        outline.closed,
    )


def _moved_piece(piece: Piece, matrix: Affine) -> Piece:
    end = apply(matrix, piece.end)
    if isinstance(piece, Line):
        return Line(end)
    if isinstance(piece, Cubic):
        return Cubic(apply(matrix, piece.first), apply(matrix, piece.second), end)
    return Arc(
        apply(matrix, piece.centre),
        apply_vector(matrix, piece.u),
        apply_vector(matrix, piece.v),
        piece.start,
        piece.sweep,
        end,
    )


def bounds_of(outlines: Sequence[Outline]) -> Bounds:
    """Return the exact bounding box of outlines (not of their control points)."""
    xs, ys = zip(*(point for outline in outlines for point in _extremes(outline)), strict=True)
    return min(xs), min(ys), max(xs), max(ys)


def united(boxes: Sequence[Bounds]) -> Bounds:
    """Return the bounding box of bounding boxes."""
    lefts, tops, rights, bottoms = zip(*boxes, strict=True)
    return min(lefts), min(tops), max(rights), max(bottoms)


def _extremes(outline: Outline) -> Iterator[Point]:
    """Yield points of the outline among which are its outermost ones in both axes."""
    here = outline.start
    yield here
    for piece in outline.pieces:
        if isinstance(piece, Cubic):
            yield from _cubic_extremes(here, piece)
        elif isinstance(piece, Arc):
            yield from _arc_extremes(piece)
        here = piece.end
        yield here


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
    if len(outlines) != 1 or not all(isinstance(piece, Line) for piece in outlines[0].pieces):
        return False
    points = [outlines[0].start, *(piece.end for piece in outlines[0].pieces)]
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

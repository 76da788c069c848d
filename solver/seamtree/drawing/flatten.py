"""Outlines as tracks of chords at finished size."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from functools import partial

from seamtree.drawing import limits
from seamtree.drawing.drawn import STRAIGHT, Track
from seamtree.drawing.outlines import Arc, Cubic, Curve, Outline, arc_point, cubic_point
from seamtree.errors import Point
from seamtree.geometry.straight import cross, is_straight
from seamtree.tolerances import FLATTEN_SHARE

_SAME = 1e-9
"""Points closer than this (inches) are one point."""

_FEWEST_CHORDS = 8
"""Chords of a whole turn, however small it is."""


class Flattener:
    """Turns outlines into tracks, numbers their curves and counts their points.

    Parameters
    ----------
    tolerance
        Inches; chords stay within `FLATTEN_SHARE` of it, and a curve that is straight within it becomes a line.
    source
        File name for messages.
    """

    def __init__(self, *, tolerance: float, source: str) -> None:
        self._tolerance = tolerance
        self._source = source
        self._curves = 0
        self._points = 0

    def tracks(self, outlines: Iterable[Outline], *, filled: bool = False) -> tuple[Track, ...]:
        """Return the tracks of outlines in inches.

        Parameters
        ----------
        outlines
            In inches.
        filled
            Whether outlines that enclose something are closed even if they were left open.

        Returns
        -------
        tuple of Track
            Without the outlines that are a single point.

        Raises
        ------
        LimitError
            When there are more than `limits.MAX_POINTS` points since this flattener was made.
        """
        tracks = [self._track(outline, filled=filled) for outline in outlines]
        return tuple([track for track in tracks if track is not None])

    def new_curve(self) -> int:
        """Return the number for a curve that is no curve of an outline."""
        self._curves += 1
        return self._curves

    def _track(self, outline: Outline, *, filled: bool) -> Track | None:
        if outline.curves:
            points, curves = self._chorded(outline)
        else:
            points = _apart(outline.points)
            curves = [STRAIGHT] * (len(points) - 1)
            self._count(len(curves))
        closed = outline.closed or (filled and encloses(points))
        if closed and len(points) > 1:
            if math.dist(points[0], points[-1]) <= _SAME:
                points.pop()
            else:
                curves.append(STRAIGHT)
        if len(points) < 2:
            return None
        return Track(tuple(points), closed, tuple(curves))

    def _chorded(self, outline: Outline) -> tuple[list[Point], list[int]]:
        """Return the points of an outline among whose pieces are curves, and a curve number for every segment."""
        points = [outline.points[0]]
        curves: list[int] = []
        for end, curve in zip(outline.points[1:], outline.curves, strict=True):
            if curve is not None:
                self._append(curve, points, curves)
            elif math.dist(points[-1], end) > _SAME:
                self._count(1)
                points.append(end)
                curves.append(STRAIGHT)
        return points, curves

    def _append(self, curve: Curve, points: list[Point], curves: list[int]) -> None:
        """Append the chords of a curve."""
        start, *kept = _apart([points[-1], *self._chords(points[-1], curve)])
        if not kept:
            return
        self._count(len(kept))
        if is_straight([start, *kept], tolerance=self._tolerance):
            line = self._line(start, kept)
            points.extend(line)
            curves.extend([STRAIGHT] * len(line))
            return
        self._curves += 1
        points.extend(kept)
        curves.extend([self._curves] * len(kept))

    def _line(self, start: Point, kept: list[Point]) -> list[Point]:
        """Return the ends of the straight segments that stand for a curve that is straight.

        One segment from end to end can stray twice as far as the line that fits best. Where that is more than the
        tolerance it goes by way of the farthest point, so that a neighbour who drew the same curve in two pieces
        still meets it.
        """
        end = kept[-1]
        length = math.dist(start, end)
        farthest = max(kept, key=lambda point: abs(cross(start, end, point)))
        if abs(cross(start, end, farthest)) <= self._tolerance * length:
            return [end]
        return [farthest, end]

    def _chords(self, start: Point, curve: Curve) -> list[Point]:
        """Return the ends of the chords of a curve, the last of them its end."""
        reach = FLATTEN_SHARE * self._tolerance
        if isinstance(curve, Cubic):
            number = cubic_chords(start, curve, reach)
            self._check(number)
            inner = [cubic_point(start, curve, index / number) for index in range(1, number)]
        else:
            number = arc_chords(curve, reach)
            self._check(number)
            step = curve.sweep / number
            inner = [arc_point(curve, curve.start + index * step) for index in range(1, number)]
        return [*inner, curve.end]

    def _check(self, more: int) -> None:
        if self._points + more > limits.MAX_POINTS:
            limits.refuse(
                f"{self._source} has more than {limits.MAX_POINTS:,} points at finished size. "
                "Simplify its curves, raise the tolerance, or check its size.",
                source=self._source,
            )

    def _count(self, more: int) -> None:
        self._check(more)
        self._points += more


def cubic_chords(start: Point, cubic: Cubic, reach: float) -> int:
    """Return how many chords, equal in the parameter, keep a cubic Bézier within `reach` of them.

    The distance of a curve from a chord over a step h of its parameter is at most h²/8 times its largest second
    derivative, here 6 times the larger second difference of the control points (Wang, Shen, Tiwari & Ohya 1984).
    """
    bend = max(
        math.hypot(a[0] - 2 * b[0] + c[0], a[1] - 2 * b[1] + c[1])
        for a, b, c in ((start, cubic.first, cubic.second), (cubic.first, cubic.second, cubic.end))
    )
    return _chords_needed(math.sqrt(0.75 * bend / reach))


def arc_chords(arc: Arc, reach: float) -> int:
    """Return how many chords, equal in the angle, keep an elliptical arc within `reach` of them.

    The ellipse is a circle of radius 1 under a linear map that stretches nothing more than by its largest singular
    value, so the distance is at most that value times 1 - cos(half the step). Arcs of whole quarters get a vertex
    after each quarter, so that the bounding box of a circle is exact.
    """
    stretch = _largest_stretch(arc.u, arc.v)
    number = max(1, math.ceil(_FEWEST_CHORDS * abs(arc.sweep) / (2 * math.pi)))
    if stretch > reach:
        # acos loses digits near 1; 1 - cos(s / 2) = 2 sin²(s / 4) does not.
        step = 4 * math.asin(math.sqrt(reach / (2 * stretch)))
        number = max(number, _chords_needed(abs(arc.sweep) / step))
    quarters = round(abs(arc.sweep) / (math.pi / 2))
    if quarters and abs(abs(arc.sweep) - quarters * math.pi / 2) < 1e-9:
        number = quarters * math.ceil(number / quarters)
    return number


def _largest_stretch(u: Point, v: Point) -> float:
    p, q, r = u[0] * u[0] + u[1] * u[1], v[0] * v[0] + v[1] * v[1], u[0] * v[0] + u[1] * v[1]
    return math.sqrt((p + q) / 2 + math.hypot((p - q) / 2, r))


def _chords_needed(number: float) -> int:
    # Beyond the limit the exact number no longer matters, and it may be infinite.
    return max(1, math.ceil(min(number, limits.MAX_POINTS + 1)))


def _apart(points: Sequence[Point]) -> list[Point]:
    """Return the points without those that are one with the point before."""
    kept = [points[0]]
    for point in points:
        if math.dist(kept[-1], point) > _SAME:
            kept.append(point)
    return kept


def encloses(points: Sequence[Point]) -> bool:
    """Tell whether points that are joined to a ring enclose any area, that is, do not all lie on one line."""
    left, top = points[0]
    x, y = max(points, key=partial(math.dist, points[0]))
    dx, dy = x - left, y - top
    least = _SAME * math.hypot(dx, dy)
    return any(abs((x - left) * dy - (y - top) * dx) > least for x, y in points)

"""Whether a shape can be turned so that it is no larger than a rectangle."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from seamtree.errors import Point
from seamtree.geometry.straight import convex_hull

_DUST = 1e-9
"""Inches by which arithmetic may be off."""

_QUARTER = np.pi / 2

Floats = npt.NDArray[np.float64]


def fitting_turn(points: Sequence[Point], width: float, height: float) -> float | None:
    """Return an angle by which some points have to be turned to lie in an upright rectangle; None if none does.

    As the points are turned, the corners of their hull that touch an upright box change only where a side of the hull
    lies along the box (rotating calipers: Shamos 1978; Toussaint 1983, 'Solving geometric problems with the rotating
    calipers', from memory). Between two such angles both extents are the lengths of fixed chords times a cosine. So
    if any angle will do, one of these will, or one at which an extent is just the side of the rectangle.

    Parameters
    ----------
    points
        Inches.
    width, height
        Of the rectangle, inches; either may be the longer one.

    Returns
    -------
    float or None
        Radians, from x to y, 0 if the points fit as they lie.
    """
    hull = np.array(convex_hull(points)) @ (1, 1j)
    sides = np.angle(np.roll(hull, -1) - hull) % _QUARTER
    starts = np.array(sorted({0.0, *sides.tolist()}))  # `numpy.unique` loads masked arrays
    stops = np.append(starts[1:], _QUARTER)
    across, along = _chords(hull, (starts + stops) / 2)
    angles = [starts, stops]
    for chord in (across, along):
        for side in (width, height):
            angles += _where(chord, side, starts)
    for wide, high in ((width, height), (height, width)):
        best: float | None = None
        for angle in angles:
            inside = (angle >= starts - _DUST) & (angle <= stops + _DUST)  # a number that is none is not inside
            fits = inside & (_extent(across, angle) <= wide + _DUST) & (_extent(along, angle) <= high + _DUST)
            if fits.any():
                best = min(float(angle[fits].min()), _QUARTER if best is None else best)
        if best is not None:
            return -best if (wide, high) == (width, height) else _QUARTER - best
    return None


def _chords(hull: npt.NDArray[np.complex128], angles: Floats) -> tuple[npt.NDArray[np.complex128], ...]:
    """Return for each angle the chords of a hull whose extents, turned back by it, are its width and its height."""
    turned = hull[None, :] * np.exp(-1j * angles)[:, None]
    across = hull[turned.real.argmax(axis=1)] - hull[turned.real.argmin(axis=1)]
    along = hull[turned.imag.argmax(axis=1)] - hull[turned.imag.argmin(axis=1)]
    return across, along * -1j


def _extent(chord: npt.NDArray[np.complex128], angle: Floats) -> Floats:
    extent: Floats = (chord * np.exp(-1j * np.where(np.isfinite(angle), angle, 0.0))).real
    return extent


def _where(chord: npt.NDArray[np.complex128], side: float, starts: Floats) -> list[Floats]:
    """Return the angles, from each start on, at which chords are as wide as a side; not a number where none is."""
    share = side / np.abs(chord)
    away = np.arccos(np.where(share <= 1, share, np.nan))
    angles = (np.angle(chord) - away, np.angle(chord) + away)
    return [starts + (angle - starts + _DUST) % (2 * np.pi) - _DUST for angle in angles]

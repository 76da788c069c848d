"""Shapes with holes as single closed lines: cut open along a slit from the outside to each hole."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import shapely

from seamtree.block.noding import Floats
from seamtree.drawing.drawn import STRAIGHT, Track
from seamtree.errors import Point

_SLIT = 5e-4
"""Width of a slit in inches: so narrow that nobody sees it, and no line of the ring lies on another one."""


def with_slits(tracks: Sequence[Track]) -> list[Track]:
    """Return the closed lines of a filled shape, those round its holes led into by slits.

    What lies inside of one line is a hole, what lies inside of that is not, and so on: for shapes that are filled by
    the other rule (SVG 2, section 13.4.2) too, as editors draw letters the same for both.
    """
    rings = [shapely.Polygon(track.points) for track in tracks]
    areas = shapely.area(rings)
    starts = shapely.points([track.points[0] for track in tracks])
    inner, outer = shapely.STRtree(rings).query(starts, predicate="within")
    around: dict[int, list[int]] = {}
    for a, b in zip(inner.tolist(), outer.tolist(), strict=True):
        if areas[b] > areas[a]:
            around.setdefault(a, []).append(b)
    made = {k: track for k, track in enumerate(tracks) if len(around.get(k, ())) % 2 == 0}
    for k, those in around.items():
        home = min(those, key=lambda b: float(areas[b]))
        if home in made and k not in made:
            made[home] = _led_into(made[home], tracks[k])
    return list(made.values())


def _led_into(outside: Track, hole: Track) -> Track:
    """Return a closed line with another one inside of it as a hole."""
    if _turns(outside.points) == _turns(hole.points):
        hole = replace(hole, points=hole.points[::-1], curves=(*hole.curves[-2::-1], hole.curves[-1]))
    out, inside = np.array(outside.points), np.array(hole.points)
    far = np.hypot(*(out[:, None, :] - inside[None, :, :]).transpose(2, 0, 1))
    i, j = (int(n) for n in np.unravel_index(np.argmin(far), far.shape))
    around = (*hole.points[j:], *hole.points[:j])
    curves = (*hole.curves[j:], *hole.curves[:j])
    back = _beside(out[i], out[(i + 1) % len(out)])
    return replace(
        outside,
        points=(*outside.points[: i + 1], *around, _beside(inside[j], inside[j - 1]), back, *outside.points[i + 1 :]),
        curves=(*outside.curves[:i], STRAIGHT, *curves, STRAIGHT, *outside.curves[i:]),
    )


def _turns(points: Sequence[Point]) -> bool:
    return bool(shapely.LinearRing(points).is_ccw)


def _beside(at: Floats, towards: Floats) -> Point:
    """Return the place a slit's width from one point towards another."""
    step = towards - at
    share = min(0.5, _SLIT / max(float(np.hypot(*step)), 1e-12))
    x, y = (at + share * step).tolist()
    return x, y

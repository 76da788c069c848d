"""Whether clips would really cut the shapes that they hold for.

Clips are not applied: a designer's clip mostly is the edge of the page or of a group, around everything. A shape that
reaches out of its clip is the exception that must be told. What lies outside of the page is not seen anyway, so a
clip that cuts off nothing inside of it counts as the page.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from seamtree.drawing.drawn import Track
from seamtree.drawing.flatten import Flattener
from seamtree.drawing.outlines import Bounds, Outline, bounds_of, is_rectangle

_MAX_WORK = 50_000_000
"""Most products of faces and edges for which the inside of a clip is worked out."""


ClipPart = tuple[tuple[Outline, ...], bool]
"""Outlines in px, and whether their rule is even-odd."""

ClipParts = tuple[ClipPart, ...]


@dataclass(frozen=True, slots=True)
class Clip:
    """A clip that holds for some shapes.

    Parameters
    ----------
    parts
        The shapes that it lets through, united; None where they are not known.
    """

    parts: ClipParts | None


class ClipChecker:
    """Decides which shapes are cut, and keeps the regions of clips that it has worked out.

    Parameters
    ----------
    tolerance
        What reaches out by less is not cut; in px as the outlines are.
    source
        File name for messages.
    page
        The page as the file declares it, px.
    """

    def __init__(self, *, tolerance: float, source: str, page: Bounds) -> None:
        self._tolerance = tolerance
        self._page = page
        self._flattener = Flattener(tolerance=tolerance, source=source)
        self._regions: dict[int, Any] = {}

    def cuts(
        self,
        clips: Sequence[Clip],
        outlines: Sequence[Outline],
        bounds: Bounds,
        *,
        filled: bool,
        evenodd: bool,
    ) -> bool:
        """Tell whether any of the clips cuts a shape, or may cut it as far as is known."""
        return any(self._cuts(clip, outlines, bounds, filled=filled, evenodd=evenodd) for clip in clips)

    def _cuts(self, clip: Clip, outlines: Sequence[Outline], bounds: Bounds, *, filled: bool, evenodd: bool) -> bool:
        if clip.parts is None:
            return True
        if not any(drawn for drawn, _ in clip.parts):
            return True
        within = _common(bounds, self._page)
        if within is None:  # nothing of it is seen, and that is told otherwise
            within = bounds
        if any(is_rectangle(drawn) and self._holds(bounds_of(drawn), within) for drawn, _ in clip.parts):
            return False
        region = self._region(clip)
        if region is None:
            return True
        tracks = self._flattener.tracks(outlines, filled=filled)
        shape = _area(tracks, evenodd=evenodd) if filled else _lines(tracks)
        return shape is None or not (region.covers(shape) or region.covers(_cut_off(shape, within)))

    def _holds(self, outer: Bounds, inner: Bounds) -> bool:
        return (
            inner[0] >= outer[0] - self._tolerance
            and inner[1] >= outer[1] - self._tolerance
            and inner[2] <= outer[2] + self._tolerance
            and inner[3] <= outer[3] + self._tolerance
        )

    def _region(self, clip: Clip) -> Any:
        """Return the area that a clip lets through, grown by the tolerance; None where it is not worked out."""
        key = id(clip)
        if key not in self._regions:
            areas = [
                _area(self._flattener.tracks(drawn, filled=True), evenodd=evenodd)
                for drawn, evenodd in clip.parts or ()
            ]
            self._regions[key] = None if None in areas else _grown(areas, self._tolerance)
        return self._regions[key]


def _common(one: Bounds, other: Bounds) -> Bounds | None:
    """Return what two rectangles have in common, None if that is nothing."""
    left, top = max(one[0], other[0]), max(one[1], other[1])
    right, bottom = min(one[2], other[2]), min(one[3], other[3])
    return (left, top, right, bottom) if left <= right and top <= bottom else None


def _cut_off(shape: Any, rectangle: Bounds) -> Any:
    import shapely

    return shapely.intersection(shape, shapely.box(*rectangle))


def _grown(areas: list[Any], distance: float) -> Any:
    import shapely

    region = shapely.union_all(areas).buffer(distance)
    shapely.prepare(region)
    return region


def _lines(tracks: Sequence[Track]) -> Any:
    import shapely

    return shapely.MultiLineString([track.path for track in tracks])


def _area(tracks: Sequence[Track], *, evenodd: bool) -> Any:
    """Return the area inside closed tracks by a fill rule, None when that would take too long."""
    import shapely

    rings = [track.path for track in tracks if track.closed and len(track.points) > 2]
    if not rings:
        return shapely.Polygon()
    single = shapely.Polygon(rings[0])
    if len(rings) == 1 and single.is_valid:
        return single
    noded = shapely.union_all([shapely.LineString(ring) for ring in rings])
    faces = shapely.get_parts(shapely.polygonize([noded]))
    if len(faces) * sum(map(len, rings)) > _MAX_WORK:
        return None
    wanted = []
    for face in faces:
        inside = face.representative_point()
        turns = _winding(rings, inside.x, inside.y)
        if turns % 2 if evenodd else turns:
            wanted.append(face)
    return shapely.union_all(wanted)


def _winding(rings: Sequence[Sequence[tuple[float, float]]], x: float, y: float) -> int:
    """Return how often the rings turn round a point that is on none of them (Hormann & Agathos 2001)."""
    import numpy as np

    turns = 0
    for ring in rings:
        points = np.asarray(ring) - (x, y)
        above = points[:, 1] > 0
        start, end = points[:-1], points[1:]
        side = start[:, 0] * end[:, 1] - start[:, 1] * end[:, 0]
        turns += int(np.count_nonzero(~above[:-1] & above[1:] & (side > 0)))
        turns -= int(np.count_nonzero(above[:-1] & ~above[1:] & (side < 0)))
    return turns

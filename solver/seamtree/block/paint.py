"""What of a drawing is seen: the painter's rule.

Strokes give their centre lines, filled shapes the boundary of what they fill, and every fill hides what was painted
before it. Lines and fills that are hidden must not have any say in what follows, so hiding comes before snapping.
Everything here is exact but for the rounding of the arithmetic.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely

from seamtree.drawing import limits
from seamtree.drawing.drawn import STRAIGHT, Drawing, Shape, Track
from seamtree.errors import Point

EXACT = 1e-9
"""Distances below this (inches) are noise of the arithmetic."""

_MANY = 200
"""Corners of a region, as a flattened curve may have, from which it pays to prepare it for distances."""

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
Bools = npt.NDArray[np.bool_]
Complexes = npt.NDArray[np.complex128]
"""Places in the plane, x + iy."""


@dataclass(frozen=True, slots=True)
class Segments:
    """Straight pieces of drawn lines.

    Parameters
    ----------
    start, end
        Coordinates, shape (n, 2), inches.
    curve
        Number of the drawn curve, `STRAIGHT` for none; shape (n,).
    shape
        Index of the shape that draws it; shape (n,).
    inner, cut
        Whether the start and the end lie inside a drawn curve, and whether they are where a fill begins to hide what
        was drawn; nobody drew such points as ends. Shape (n, 2) each.
    """

    start: Floats
    end: Floats
    curve: Ints
    shape: Ints
    inner: Bools
    cut: Bools

    def __len__(self) -> int:
        return len(self.curve)

    def chosen(self, which: Bools | Ints) -> Segments:
        """Return some of the segments."""
        return Segments(
            self.start[which],
            self.end[which],
            self.curve[which],
            self.shape[which],
            self.inner[which],
            self.cut[which],
        )


@dataclass(frozen=True, slots=True)
class Fills:
    """What the filled shapes fill.

    Parameters
    ----------
    regions
        Polygons and multipolygons, in paint order; an array of geometries.
    shape
        Index of the shape of each region, ascending.
    plain
        Whether a region is bounded by its shape's one and only track, which does not cross itself.
    """

    regions: npt.NDArray[np.object_]
    shape: Ints
    plain: Bools

    def __len__(self) -> int:
        return len(self.shape)


@dataclass(frozen=True, slots=True)
class Painting:
    """What is seen of a drawing.

    Parameters
    ----------
    drawing
        The drawing.
    corner
        Top left corner of the bounding box of its shapes, in the drawing's frame; all else has it at (0, 0).
    seen
        The lines that are seen.
    fills
        What is filled, hidden or not.
    """

    drawing: Drawing
    corner: Point
    seen: Segments
    fills: Fills


def drawn_points(drawing: Drawing) -> Floats:
    """Return the points of all tracks of all shapes in turn, in the drawing's frame; shape (n, 2)."""
    return np.array([point for shape in drawing.shapes for track in shape.tracks for point in track.points])


def paint(drawing: Drawing, points: Floats, *, tolerance: float) -> Painting:
    """Find out what is seen of a drawing that has at least one shape; `points` are all of its points."""
    corner = points.min(axis=0)
    at = points - corner
    at[np.abs(at) < limits.LEAST_INCHES] = 0.0
    segments = _drawn_segments(drawing.shapes, at, tolerance=tolerance)
    fills = filled_regions(drawing.shapes, at)
    seen = _visible_segments(segments, fills, drawing.shapes, stacked=drawing.kind == "painted", tolerance=tolerance)
    left, top = corner.tolist()
    return Painting(drawing, (left, top), seen, fills)


def _drawn_segments(shapes: Sequence[Shape], at: Floats, *, tolerance: float) -> Segments:
    """Return all segments of all tracks, seen or not; `at` are all of their points.

    Points inside a curve that are nearer than the tolerance to the point before or to the end of the curve are left
    out: the curve does not need them, and snapping could take them for ends.
    """
    curves: list[int] = []
    inner: list[int] = []
    starts: list[int] = []
    stops: list[int] = []
    owners: list[int] = []
    first = 0
    for index, shape in enumerate(shapes):
        for track in shape.tracks:
            stop = first + len(track.points)
            kept: Sequence[int] = range(first, stop)
            numbers: Sequence[int] = track.curves
            if any(numbers):
                kept, numbers, inside = _thinned(track, at[first:stop], first, tolerance)
                inner += inside
            curves += numbers
            owners += [index] * len(numbers)
            starts += kept[: len(numbers)]
            stops += kept[1:]
            if track.closed:
                stops.append(kept[0])
            first = stop
    within = np.zeros(len(at), dtype=bool)
    within[inner] = True
    a, b = np.array(starts, dtype=np.int64), np.array(stops, dtype=np.int64)
    ends = np.column_stack([within[a], within[b]])
    return Segments(at[a], at[b], np.array(curves), np.array(owners), ends, np.zeros_like(ends))


def _thinned(
    track: Track, at: Floats, first: int, tolerance: float
) -> tuple[Sequence[int], Sequence[int], Sequence[int]]:
    """Return the points that do not lie too close, their curve numbers, and the points inside a curve.

    Points are numbered from `first` on; `at` is where they are.
    """
    curves = track.curves
    before = (curves[-1] if track.closed else STRAIGHT, *curves)
    after = curves if track.closed else (*curves, STRAIGHT)
    inside = [a == b != STRAIGHT for a, b in zip(before, after, strict=False)]
    if all(inside):
        inside[0] = False  # a circle has no end; it is held at the point where it starts
    which = _apart(at, len(curves), inside, tolerance, closed=track.closed)
    numbers = [curves[k] for k in which[: None if track.closed else -1]]
    return [first + k for k in which], numbers, [first + k for k in which if inside[k]]


def _apart(at: Floats, count: int, inside: list[bool], tolerance: float, *, closed: bool) -> Sequence[int]:
    """Choose the points of a track that stay: those inside a curve only where they are not too close to others."""
    steps = np.hypot(*(np.roll(at, -1, axis=0) - at).T)
    if (steps[:count] > tolerance).all():
        return range(len(at))
    firm = [k for k, within in enumerate(inside) if not within]
    kept = set(firm)
    last = firm[0]
    ahead = dict(zip(firm, (*firm[1:], firm[0]), strict=True))
    stop = ahead[last]
    for k in (*range(last + 1, len(at)), *(range(last) if closed else ())):
        if not inside[k]:
            last, stop = k, ahead[k]
        elif min(_distance(at, k, last), _distance(at, k, stop)) > tolerance:
            kept.add(k)
            last = k
    return sorted(kept)


def _distance(at: Floats, a: int, b: int) -> float:
    return float(np.hypot(*(at[a] - at[b])))


def filled_regions(shapes: Sequence[Shape], at: Floats) -> Fills:
    """Return what each filled shape fills by its fill rule; `at` are the points of all tracks."""
    which: list[int] = []
    counts: list[int] = []
    sizes: list[int] = []
    used: list[int] = []
    first = 0
    for k, shape in enumerate(shapes):
        before = len(sizes)
        for track in shape.tracks:
            stop = first + len(track.points)
            if shape.fill is not None and _is_ring(track):
                sizes.append(stop - first)
                used += range(first, stop)
            first = stop
        if len(sizes) > before:
            which.append(k)
            counts.append(len(sizes) - before)
    if not which:
        return Fills(np.empty(0, dtype=object), np.empty(0, dtype=np.int64), np.empty(0, dtype=bool))
    outlines = shapely.linearrings(at[used], indices=np.repeat(np.arange(len(sizes)), sizes))
    polygons = shapely.polygons(outlines)
    valid = shapely.is_valid(polygons)
    regions = np.empty(len(which), dtype=object)
    plain = np.zeros(len(which), dtype=bool)
    first = 0
    for k, (shape_index, count) in enumerate(zip(which, counts, strict=True)):
        stop = first + count
        if count == 1 and valid[first]:
            regions[k] = polygons[first]
            plain[k] = len(shapes[shape_index].tracks) == 1
        else:
            regions[k] = _ruled(outlines[first:stop], evenodd=shapes[shape_index].evenodd)
        first = stop
    some = ~shapely.is_empty(regions)
    return Fills(regions[some], np.array(which, dtype=np.int64)[some], plain[some])


def _is_ring(track: Track) -> bool:
    return track.closed and len(track.points) > 2


def _ruled(rings: npt.NDArray[np.object_], *, evenodd: bool) -> shapely.Geometry:
    """Return what rings fill that cross themselves or each other."""
    faces = shapely.get_parts(shapely.polygonize([shapely.union_all(rings)]))
    if not len(faces):
        return shapely.Polygon()
    turns = _winding_numbers(shapely.get_coordinates(shapely.point_on_surface(faces)), rings)
    return shapely.union_all(faces[turns % 2 != 0 if evenodd else turns != 0])


def _winding_numbers(points: Floats, rings: npt.NDArray[np.object_]) -> Ints:
    """Count how often the rings wind round each point, by the segments that a ray to the right crosses."""
    coordinates, owner = shapely.get_coordinates(rings, return_index=True)
    same = owner[1:] == owner[:-1]
    a, b = coordinates[:-1][same], coordinates[1:][same]
    far = coordinates[:, 0].max() + 1.0
    rays = np.stack([points, np.column_stack([np.full(len(points), far), points[:, 1]])], axis=1)
    ray, hit = shapely.STRtree(_linestrings(a, b)).query(shapely.linestrings(rays))
    p, a, b = points[ray], a[hit], b[hit]
    side = (b[:, 0] - a[:, 0]) * (p[:, 1] - a[:, 1]) - (b[:, 1] - a[:, 1]) * (p[:, 0] - a[:, 0])
    down = (a[:, 1] <= p[:, 1]) & (b[:, 1] > p[:, 1]) & (side > 0)
    up = (a[:, 1] > p[:, 1]) & (b[:, 1] <= p[:, 1]) & (side < 0)
    return np.bincount(ray, weights=down.astype(float) - up, minlength=len(points)).astype(np.int64)


def as_complex(at: Floats) -> Complexes:
    """Return places (n, 2) as numbers x + iy."""
    places: Complexes = at[:, 0] + 1j * at[:, 1]
    return places


def _linestrings(a: Floats, b: Floats) -> npt.NDArray[np.object_]:
    made: npt.NDArray[np.object_] = shapely.linestrings(np.stack([a, b], axis=1))
    return made


def _visible_segments(
    segments: Segments, fills: Fills, shapes: Sequence[Shape], *, stacked: bool, tolerance: float
) -> Segments:
    """Return what is seen of the segments.

    Parameters
    ----------
    segments
        All that is drawn.
    fills
        What is filled, in the same frame.
    shapes
        In paint order.
    stacked
        Whether a fill hides what was painted before it; polygons of a map lie side by side and hide nothing.
    tolerance
        Inches.
    """
    is_fill = np.zeros(len(shapes), dtype=bool)
    is_fill[fills.shape] = True
    stroked = np.array([shape.stroked for shape in shapes])
    # The inside of a shape that crosses itself shows its lines only where they are stroked; a filled shape
    # without any area shows nothing.
    segments = segments.chosen((is_fill | stroked)[segments.shape])
    unclear = fills.shape[~fills.plain & ~stroked[fills.shape]]
    if not len(fills) or not (stacked or len(unclear)):
        return segments
    pieces, parent = _cut(segments, _edges_that_cut(segments, is_fill, unclear, stacked=stacked))
    hidden = _hidden(pieces, fills, tolerance) if stacked else np.zeros(len(pieces), dtype=bool)
    hidden |= _inside_own(pieces, fills, unclear)
    return _rejoined(pieces.chosen(~hidden), parent[~hidden])


def _edges_that_cut(segments: Segments, is_fill: Bools, unclear: Ints, *, stacked: bool) -> tuple[Ints, Ints]:
    """Return pairs of segments of which the second may cut the first into a seen and a hidden piece."""
    lines = _linestrings(segments.start, segments.end)
    s, t = shapely.STRtree(lines).query(lines)
    below, above = segments.shape[s], segments.shape[t]
    counts = (below < above) & is_fill[above] & stacked
    if len(unclear):
        counts |= (below == above) & np.isin(below, unclear) & (s != t)
    return s[counts], t[counts]


def _cut(segments: Segments, pairs: tuple[Ints, Ints]) -> tuple[Segments, Ints]:
    """Cut segments where others cross or touch them.

    Returns
    -------
    Segments, array of int
        The pieces along each segment, and the segment that each comes from.
    """
    cut_one, at = _where_cut(segments, pairs)
    parent = np.concatenate([np.arange(len(segments)), cut_one])
    low = np.concatenate([np.zeros(len(segments)), at])
    order = np.lexsort((low, parent))
    parent, low = parent[order], low[order]
    high = np.where(np.append(parent[1:] == parent[:-1], False), np.append(low[1:], 1.0), 1.0)
    whole = segments.chosen(parent)
    step = whole.end - whole.start
    long_enough = (high - low) * np.hypot(*step.T) > EXACT
    cut = np.column_stack([low != 0.0, high != 1.0])
    start = np.where((low == 0.0)[:, None], whole.start, whole.start + low[:, None] * step)
    end = np.where((high == 1.0)[:, None], whole.end, whole.start + high[:, None] * step)
    pieces = Segments(start, end, whole.curve, whole.shape, whole.inner & ~cut, cut)
    return pieces.chosen(long_enough), parent[long_enough]


def _where_cut(segments: Segments, pairs: tuple[Ints, Ints]) -> tuple[Ints, Floats]:
    """Return the segments that others cut, and where along them (0 to 1)."""
    one, other = pairs
    start = as_complex(segments.start)
    step = as_complex(segments.end) - start
    # The imaginary part of a product with a conjugate is twice the area between the two.
    mine, its, gap = step[one], step[other], (start[other] - start[one]).conjugate()
    area = (mine.conjugate() * its).imag
    length, its_length = np.abs(mine), np.abs(its)
    with np.errstate(divide="ignore", invalid="ignore"):
        along, across = (gap * its).imag / area, (gap * mine).imag / area
        margin, slack = EXACT / length, EXACT / its_length
        cuts = (
            (np.abs(area) > 1e-12 * length * its_length)
            & (along > margin)
            & (along < 1 - margin)
            & (across > -slack)
            & (across < 1 + slack)
        )
    return one[cuts], along[cuts]


def _hidden(pieces: Segments, fills: Fills, tolerance: float) -> Bools:
    """Tell which pieces lie under a fill that was painted later.

    What lies under its edge by less than the tolerance all along is left: it was meant to lie on the edge. Cutting it
    off there would leave ends that nobody drew.
    """
    dots = np.stack([pieces.start, (pieces.start + pieces.end) / 2, pieces.end])
    region, piece = shapely.STRtree(shapely.points(dots[1])).query(fills.regions, predicate="contains")
    later = fills.shape[region] > pieces.shape[piece]
    piece, region = piece[later], region[later]
    over, region = np.unique(region, return_inverse=True)
    edges = shapely.boundary(fills.regions[over])
    shapely.prepare(edges[shapely.get_num_coordinates(edges) > _MANY])
    at_edge = shapely.dwithin(edges[region], shapely.points(dots[:, piece]), tolerance).all(axis=0)
    hidden = np.zeros(len(pieces), dtype=bool)
    hidden[piece[~at_edge]] = True
    return hidden


def _inside_own(pieces: Segments, fills: Fills, unclear: Ints) -> Bools:
    """Tell which pieces of shapes that cross themselves are no boundary of what the shape fills."""
    inside = np.zeros(len(pieces), dtype=bool)
    for k in np.flatnonzero(np.isin(fills.shape, unclear)):
        own = np.flatnonzero(pieces.shape == fills.shape[k])
        middles = shapely.points((pieces.start[own] + pieces.end[own]) / 2)
        boundary = shapely.boundary(fills.regions[k])
        shapely.prepare(boundary)
        inside[own] = ~shapely.dwithin(boundary, middles, 1e3 * EXACT)
    return inside


def _rejoined(pieces: Segments, parent: Ints) -> Segments:
    """Join neighbouring pieces of the same segment, so that no point is left that nobody drew."""
    if not len(pieces):
        return pieces
    goes_on = (parent[1:] == parent[:-1]) & (np.abs(pieces.end[:-1] - pieces.start[1:]) <= EXACT).all(axis=1)
    first = np.flatnonzero(np.append(True, ~goes_on))
    last = np.append(first[1:], len(pieces)) - 1
    return Segments(
        pieces.start[first],
        pieces.end[last],
        pieces.curve[first],
        pieces.shape[first],
        np.column_stack([pieces.inner[first, 0], pieces.inner[last, 1]]),
        np.column_stack([pieces.cut[first, 0], pieces.cut[last, 1]]),
    )

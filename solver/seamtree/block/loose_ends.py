"""Ends of lines that meet nothing: an outline that was not closed, a frame that was not drawn, or single ends.

Places are inches from the top left corner of the drawing's bounding box, x to the right and y down.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations, product
from typing import NamedTuple

import numpy as np
import shapely

from seamtree.block.faces import Faces, dangling_chains
from seamtree.block.noding import Bools, Floats, Geometries, Network
from seamtree.block.paint import Painting
from seamtree.block.places import as_point, place
from seamtree.drawing.drawn import Track
from seamtree.errors import Finding, Point

OUTLINE_FAULTS = frozenset({"open-outline", "missing-frame"})
"""Codes of what is wrong with an outline as a whole."""

_OPENING = 0.25
"""A line that comes back to where it began but for this share of its length was meant to be closed."""

_STUB = 0.1
"""An end that is no longer than this share of the drawing may stick out of an outline; longer ones end at one."""

_LEAST_BLOCK = 1.0
"""A part of a drawing that is narrower than this (inches) may be a cross or a tick beside the block, and no block."""

_SIDE = 3
"""So many ends of lines and corners on one straight line outside of all patches show where a side is missing."""

_MOSTLY = 0.9
"""Of an outline of which more than this share is missing, nothing was drawn."""


class _End(NamedTuple):
    """A loose end: where it is, the edges back to the next junction, and whether there is one."""

    at: Point
    chain: list[int]
    attached: bool


def find_loose_ends(painting: Painting, faces: Faces, *, tolerance: float, most: int) -> list[Finding]:
    """Name the ends of lines that meet nothing, and what to do about them.

    An open outline or a missing frame is told once, in place of the ends that it leaves.

    Parameters
    ----------
    painting
        What is seen of the drawing.
    faces
        What its lines enclose.
    tolerance
        Inches.
    most
        From how many ends on they are only counted, for the search for the next line takes time.
    """
    if not len(faces.dangling):
        return []
    network = faces.network
    degrees = network.degrees()
    ends = [
        _End(as_point(network.points[end]), chain, bool(degrees[stop] > 1))
        for end, chain, stop in dangling_chains(faces)
    ]
    name = _Namer(painting)
    found = []
    for finding, its in _open_tracks(painting, ends, network, tolerance):
        found.append(finding)
        ends = [end for end in ends if end not in its]
    lines = network.linestrings()
    for finding, its in _missing_outlines(faces, lines, ends, tolerance, most=most):
        found.append(finding)
        ends = [end for end in ends if end not in its]
    outer = _outer_ends(faces, lines, ends)
    for number, end in enumerate(ends):
        if number >= most:
            message = f"The end of {name(end.at)} at {place(end.at)} meets nothing."
            found.append(Finding("loose-end", message, end.at))
            continue
        found.append(_loose_end(end, name(end.at), network, _without(lines, end), outer=end in outer))
    return found


class _Namer:
    """Tells which shape drew the line at a place."""

    def __init__(self, painting: Painting) -> None:
        self._seen = painting.seen
        self._shapes = painting.drawing.shapes
        self._tree: shapely.STRtree | None = None

    def __call__(self, at: Point) -> str:
        if self._tree is None:
            lines = shapely.linestrings(np.stack([self._seen.start, self._seen.end], axis=1))
            self._tree = shapely.STRtree(lines)
        return self._shapes[int(self._seen.shape[self._tree.nearest(shapely.Point(at))])].name


# -- outlines -------------------------------------------------------------------------------------------------


def _open_tracks(
    painting: Painting, ends: Sequence[_End], network: Network, tolerance: float
) -> Iterator[tuple[Finding, list[_End]]]:
    """Yield what was drawn in one go and should have been closed, with its two ends.

    It is the outline if everything lies within it once it is closed, however long the stretch is that is missing;
    anything else counts if it comes back to where it began nearly. Lines that end between its ends are told with it.
    """
    tracks = [
        (shape.name, track)
        for shape in painting.drawing.shapes
        for track in shape.tracks
        if not track.closed and len(track.points) > 2
    ]
    if not tracks:
        return
    tree = shapely.STRtree(shapely.points([end.at for end in ends]))
    for name, track in tracks:
        path = np.array(track.points) - painting.corner
        near = tree.query(shapely.points(path[[0, -1]]), predicate="dwithin", distance=2 * tolerance)
        its = [ends[k] for k in dict.fromkeys(near[1].tolist())]
        start, stop, miss = as_point(path[0]), as_point(path[-1]), float(np.hypot(*(path[-1] - path[0])))
        came_back = len(its) == 2 and miss <= _OPENING * _length(track)
        if not its or _comes_upon_itself(path, tolerance) or not (came_back or _is_outline(path, network, tolerance)):
            continue
        message = (
            f"The outline of {name} is open: it begins at {place(start)} and ends at {place(stop)}. "
            f"Close {name}: {miss:.2f} in are missing between these."
        )
        way = shapely.LineString(path[[0, -1]])
        between = tree.query(way, predicate="dwithin", distance=2 * tolerance)
        yield Finding("open-outline", message, its[0].at), [*its, *(ends[k] for k in sorted(between.tolist()))]


def _comes_upon_itself(path: Floats, tolerance: float) -> bool:
    """Tell whether an end of a line touches another place of it, so that nothing is missing."""
    for along in (path, path[::-1]):
        if shapely.dwithin(shapely.Point(along[0]), shapely.LineString(along[1:]), tolerance):
            return True
    return False


def _length(track: Track) -> float:
    return float(shapely.length(shapely.LineString(track.points)))


def _is_outline(path: Floats, network: Network, tolerance: float) -> bool:
    """Tell whether all that is drawn lies within a line once it is closed."""
    inside = shapely.buffer(shapely.make_valid(shapely.Polygon(path)), 2 * tolerance)
    shapely.prepare(inside)
    return bool(shapely.contains(inside, shapely.points(network.points)).all())


def _missing_outlines(
    faces: Faces, lines: Geometries, ends: Sequence[_End], tolerance: float, *, most: int
) -> Iterator[tuple[Finding, list[_End]]]:
    """Yield outlines that were not drawn, or only in part, with the ends that they leave.

    Each part of the drawing that stands apart is looked at by itself if the drawing has several that may be blocks.
    """
    left = list(ends)
    groups = _apart(lines, tolerance) if len(ends) > 1 else []
    for box in groups if len(groups) > 1 else [None]:
        inside = left if box is None else [end for end in left if shapely.contains_xy(box, *end.at)]
        frame = _missing_frame(faces.network, lines, inside, tolerance, box, most=most)
        if frame is not None:
            yield frame
            left = [end for end in left if end not in frame[1]]
    yield from _missing_sides(faces, lines, left, tolerance, most=most)


def _apart(lines: Geometries, tolerance: float) -> list[shapely.Geometry]:
    """Return the boxes of the parts of a drawing that stand apart and are as large as a block, from the left."""
    grown = np.array([-1, -1, 1, 1]) * 2 * tolerance
    boxes = shapely.box(*(shapely.bounds(lines) + grown).T)
    while True:
        joined = shapely.envelope(shapely.get_parts(shapely.union_all(boxes)))
        if len(joined) == len(boxes):
            break
        boxes = joined
    bounds = shapely.bounds(boxes)
    large = np.minimum(bounds[:, 2] - bounds[:, 0], bounds[:, 3] - bounds[:, 1]) > _LEAST_BLOCK
    return [boxes[k] for k in np.lexsort((bounds[:, 1], bounds[:, 0])).tolist() if large[k]]


def _missing_frame(
    network: Network,
    lines: Geometries,
    ends: Sequence[_End],
    tolerance: float,
    box: shapely.Geometry | None,
    *,
    most: int,
) -> tuple[Finding, list[_End]] | None:
    """Tell whether lines end where the outline of the block should be, and which of the ends these are.

    They do if most of the loose ends lie on the bounding box of the drawing (or of the part of it in a box) or on its
    convex hull, and are no stubs. Then ends from which it goes on to nothing belong to the outline too.
    """
    points = network.points if box is None else network.points[shapely.contains_xy(box, network.points)]
    size = float(np.ptp(points, axis=0).max())
    if len(ends) < 2 or float(np.ptp(points, axis=0).min()) <= 2 * tolerance:
        return None
    is_long = _are_long(ends, lines, size)
    dots = shapely.points([end.at for end in ends])
    hull = shapely.convex_hull(shapely.multipoints(points))
    for ring in (shapely.boundary(shapely.envelope(hull)), shapely.boundary(hull)):
        there = shapely.dwithin(dots, ring, 2 * tolerance) & is_long
        if 2 * int(there.sum()) > len(ends) and int(there.sum()) > 1:
            others = np.flatnonzero(~there & is_long).tolist()
            for k in others if len(others) <= most else ():
                there[k] = _ahead(ends[k].at, network, ends[k].chain[0], _without(lines, ends[k])) is None
            its = [end for end, at_edge in zip(ends, there.tolist(), strict=True) if at_edge]
            return _frame_fault(ring, network, its, tolerance, alone=box is None), its
    return None


def _missing_sides(
    faces: Faces, lines: Geometries, ends: Sequence[_End], tolerance: float, *, most: int
) -> Iterator[tuple[Finding, list[_End]]]:
    """Yield straight stretches outside of all patches on which several lines end: sides of an outline, not drawn."""
    left = _outer_ends(faces, lines, ends)
    while 1 < len(left) <= most:
        side = max(_sides_between(left, faces.network, lines, tolerance), key=lambda side: side.rank, default=None)
        if side is None:
            return
        at = side.ends[0].at
        start, stop = map(as_point, shapely.get_coordinates(side.way))
        message = (
            f"The outline of the block is open: {len(side.ends)} ends of lines, the first at {place(at)}, meet "
            f"nothing. Draw the {side.way.length:.2f} in of it that are missing between {place(start)} and "
            f"{place(stop)}."
        )
        yield Finding("missing-frame", message, at), list(side.ends)
        left = [end for end in left if end not in side.ends]


def _outer_ends(faces: Faces, lines: Geometries, ends: Sequence[_End]) -> list[_End]:
    """Return the ends outside of all patches that are no stubs."""
    if not ends:
        return []
    size = float(np.ptp(faces.network.points, axis=0).max())
    inside = shapely.intersects(shapely.union_all(faces.polygons), shapely.points([end.at for end in ends]))
    outer = ~inside & _are_long(ends, lines, size)
    return [end for end, out in zip(ends, outer.tolist(), strict=True) if out]


class _Side(NamedTuple):
    """A straight stretch that may be a missing side of an outline: the loose ends on it, and how likely it is."""

    way: shapely.LineString
    ends: list[_End]
    rank: tuple[int, float]


def _sides_between(ends: Sequence[_End], network: Network, lines: Geometries, tolerance: float) -> Iterator[_Side]:
    """Yield straight stretches on which several lines end, and which no line crosses.

    They begin and end at a loose end or at a corner of what is drawn; with these, at least `_SIDE` places are on one.
    """
    dots = np.array([end.at for end in ends])
    corners = network.points[network.degrees() > 1]
    tree = shapely.STRtree(lines)
    for first, second in combinations(range(len(ends)), 2):
        start, step = dots[first], dots[second] - dots[first]
        length = float(np.hypot(*step))
        step = step / length
        loose, corner = (_along(places, start, step, tolerance) for places in (dots, corners))
        on = [k for k in np.argsort(loose).tolist() if 0.0 <= loose[k] <= length]
        corner = np.sort(corner[~np.isnan(corner)])
        for low, high in product((0.0, *corner[corner < 0.0][-1:]), (length, *corner[corner > length][:1])):
            number = len(on) + (low < 0.0) + (high > length)
            if number < _SIDE:
                continue
            way = shapely.LineString([start + low * step, start + high * step])
            met = shapely.intersection(lines[tree.query(way, predicate="intersects")], way)
            here = shapely.buffer(shapely.multipoints([*dots[on], *way.coords]), 4 * tolerance)
            if bool(shapely.covers(here, met).all()):
                yield _Side(way, [ends[k] for k in on], (number, float(way.length)))


def _along(places: Floats, start: Floats, step: Floats, tolerance: float) -> Floats:
    """Return how far along a straight line places lie, NaN for those beside it; shape (n,)."""
    away = places - start
    beside = np.abs(away[:, 0] * step[1] - away[:, 1] * step[0]) > 2 * tolerance
    along: Floats = np.where(beside, np.nan, away @ step)
    return along


def _are_long(ends: Sequence[_End], lines: Geometries, size: float) -> Bools:
    """Tell which ends are no stubs that may stick out of an outline; shape (n,)."""
    return np.array([float(shapely.length(lines[end.chain]).sum()) > _STUB * size for end in ends], dtype=bool)


def _without(lines: Geometries, end: _End) -> Geometries:
    others = np.ones(len(lines), dtype=bool)
    others[end.chain] = False
    kept: Geometries = lines[others]
    return kept


def _frame_fault(
    ring: shapely.Geometry, network: Network, ends: Sequence[_End], tolerance: float, *, alone: bool
) -> Finding:
    """Say what of an outline is missing."""
    reach = 2 * tolerance
    missing = shapely.difference(ring, shapely.buffer(shapely.union_all(network.linestrings()), reach))
    # Lines that only end at the outline do not divide what is missing of it.
    missing = shapely.intersection(ring, shapely.buffer(missing, 2 * reach))
    at = ends[0].at
    edge, whole = ("the drawing", "the whole drawing") if alone else ("this part of the drawing", "this part")
    where = f"{len(ends)} ends of lines, the first at {place(at)}, meet nothing at the edge of {edge}"
    if shapely.length(missing) > _MOSTLY * shapely.length(ring):
        left, top, right, bottom = shapely.bounds(ring).tolist()
        message = (
            f"The outline of the block is missing: {where}. Draw it through these ends; {whole} reaches "
            f"from {place((left, top))} to {place((right, bottom))}."
        )
        return Finding("missing-frame", message, at)
    parts = shapely.get_parts(shapely.line_merge(missing)).tolist()
    near = min(parts, key=lambda part: float(part.distance(shapely.Point(at))), default=ring)
    vertices = shapely.STRtree(shapely.points(network.points))
    stops = vertices.nearest(shapely.points(shapely.get_coordinates(near)[[0, -1]]))
    start, stop = sorted(as_point(network.points[vertex]) for vertex in stops.tolist())
    along = abs(float(ring.project(shapely.Point(start)) - ring.project(shapely.Point(stop))))
    length = min((along, float(ring.length) - along), key=lambda length: abs(length - near.length))
    others = f" It is open in {len(parts)} places." if len(parts) > 1 else ""
    message = (
        f"The outline of the block is open: {where}. Draw the {length:.2f} in of it that are missing between "
        f"{place(start)} and {place(stop)}.{others}"
    )
    return Finding("missing-frame", message, at)


# -- single ends ----------------------------------------------------------------------------------------------


def _loose_end(end: _End, name: str, network: Network, others: Geometries, *, outer: bool) -> Finding:
    at, chain = end.at, end.chain
    message = f"The end of {name} at {place(at)} meets nothing"
    length = float(
        np.hypot(*(network.points[network.edges[chain, 1]] - network.points[network.edges[chain, 0]]).T).sum()
    )
    remedy = f"cut off its last {length:.2f} in" if end.attached else "remove it"
    if len(others):
        miss = float(shapely.distance(others, shapely.Point(at)).min())
        ahead = _ahead(at, network, chain[0], others)
        message += f"; the nearest line is {miss:.2f} in away."
        way = "Draw the outline on from there" if outer else "Move its end onto a line"
        remedy = f"{f'Carry it on by {ahead:.2f} in' if ahead else way}, or {remedy}."
    else:
        message += "."
        remedy = "Join it to other lines, or remove it."
    return Finding("loose-end", f"{message} {remedy}", at)


def _ahead(at: Point, network: Network, edge: int, others: Geometries) -> float | None:
    """Return how far it is, straight on, from a loose end to the next line; None where there is none."""
    ends = network.points[network.edges[edge]]
    before = ends[0] if np.hypot(*(ends[1] - at)) < np.hypot(*(ends[0] - at)) else ends[1]
    step = np.array(at) - before
    span = shapely.total_bounds(others)
    far = np.array(at) + step / np.hypot(*step) * (np.hypot(span[2] - span[0], span[3] - span[1]) * 2 + 1)
    hits = shapely.intersection(others, shapely.LineString([at, far]))
    hits = hits[~shapely.is_empty(hits)]
    return float(shapely.distance(hits, shapely.Point(at)).min()) if len(hits) else None

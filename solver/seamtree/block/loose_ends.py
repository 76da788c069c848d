"""Ends of lines that meet nothing: an outline that was not closed, a frame that was not drawn, or single ends.

Places are inches from the top left corner of the drawing's bounding box, x to the right and y down.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple

import numpy as np
import shapely

from seamtree.block.faces import Faces, dangling_chains
from seamtree.block.noding import Floats, Geometries, Network
from seamtree.block.paint import Painting
from seamtree.block.places import as_point, place
from seamtree.drawing.model import Track
from seamtree.errors import Finding, Point

OUTLINE_FAULTS = frozenset({"open-outline", "missing-frame"})
"""Codes of what is wrong with an outline as a whole."""

_OPENING = 0.25
"""A line that comes back to where it began but for this share of its length was meant to be closed."""

_STUB = 0.1
"""An end that is no longer than this share of the drawing may stick out of an outline; longer ones end at one."""

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
    frame, its = _missing_frame(faces, ends, tolerance)
    if frame is not None:
        found.append(frame)
        ends = [end for end in ends if end not in its]
    lines = network.linestrings()
    for number, end in enumerate(ends):
        if number >= most:
            message = f"The end of {name(end.at)} at {place(end.at)} meets nothing."
            found.append(Finding("loose-end", message, end.at))
            continue
        others = np.ones(len(lines), dtype=bool)
        others[end.chain] = False
        found.append(_loose_end(end, name(end.at), network, lines[others]))
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
    anything else counts if it comes back to where it began nearly.
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
        yield Finding("open-outline", message, its[0].at), its


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


def _missing_frame(faces: Faces, ends: Sequence[_End], tolerance: float) -> tuple[Finding | None, list[_End]]:
    """Tell whether lines end where the outline of the block should be, and which of the ends these are.

    They do if most of the loose ends lie on the bounding box of the drawing or on its convex hull, and are no stubs.
    """
    points = faces.network.points
    size = float(np.ptp(points, axis=0).max())
    if len(ends) < 2 or float(np.ptp(points, axis=0).min()) <= 2 * tolerance:
        return None, []
    lines = faces.network.linestrings()
    is_long = np.array([float(shapely.length(lines[end.chain]).sum()) > _STUB * size for end in ends])
    dots = shapely.points([end.at for end in ends])
    hull = shapely.convex_hull(shapely.multipoints(points))
    for ring in (shapely.boundary(shapely.envelope(hull)), shapely.boundary(hull)):
        there = shapely.dwithin(dots, ring, 2 * tolerance) & is_long
        if 2 * int(there.sum()) > len(ends) and int(there.sum()) > 1:
            its = [end for end, at_edge in zip(ends, there.tolist(), strict=True) if at_edge]
            return _frame_fault(ring, faces.network, its, tolerance), its
    return None, []


def _frame_fault(ring: shapely.Geometry, network: Network, ends: Sequence[_End], tolerance: float) -> Finding:
    """Say what of an outline is missing."""
    reach = 2 * tolerance
    missing = shapely.difference(ring, shapely.buffer(shapely.union_all(network.linestrings()), reach))
    # Lines that only end at the outline do not divide what is missing of it.
    missing = shapely.intersection(ring, shapely.buffer(missing, 2 * reach))
    at = ends[0].at
    where = f"{len(ends)} ends of lines, the first at {place(at)}, meet nothing at the edge of the drawing"
    if shapely.length(missing) > _MOSTLY * shapely.length(ring):
        left, top, right, bottom = shapely.bounds(ring).tolist()
        message = (
            f"The outline of the block is missing: {where}. Draw it through these ends; the whole drawing reaches "
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


def _loose_end(end: _End, name: str, network: Network, others: Geometries) -> Finding:
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
        remedy = (
            f"Carry it on by {ahead:.2f} in, or {remedy}." if ahead else f"Move its end onto a line, or {remedy}."
        )
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

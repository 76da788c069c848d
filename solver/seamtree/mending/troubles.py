"""Places of a drawing where the hand may have slipped: its faults, and what is too small to be meant.

What is too small to be meant is narrower or shorter than the reach that the designer names: slivers, short edges, and
lines that bend by so little. A slip shows as several of these beside each other.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from seamtree.block.build import map_drawing
from seamtree.block.faces import Faces
from seamtree.block.heal import slivers
from seamtree.block.sketch import FLOATING
from seamtree.drawing.drawn import STRAIGHT, Drawing
from seamtree.errors import DrawingError, Finding, Point
from seamtree.tolerances import GAP_WIDTH

SLIVER, STEP, BEND = "sliver", "step", "bend"
"""What is no fault, but too small to be meant: a narrow patch, a short edge, a line that is nearly straight."""

NARROW = ("gap", "overlap", "tiny", "doubled")
"""Faults that are narrow areas."""

NO_OUTLINE = ("missing-frame", "no-block")
"""Faults that hide others."""

_NO_OUTLINE = 10_000

_LEAST_ANGLE = math.radians(150.0)
"""Two edges at a junction with others that turn by more than 30 degrees are two lines."""

_ALIKE = 0.003
"""Short edges whose lengths differ by less are equally long, inches."""

_ACROSS = 0.25
"""Least sine of the angle between a short edge and a side that leads across its end."""

_STEPS = 12
"""Junctions that are passed to see where a line comes from."""


@dataclass(frozen=True, slots=True)
class Trouble:
    """A place where the hand may have slipped.

    Parameters
    ----------
    code
        That of the fault; `SLIVER`, `STEP` or `BEND` for what is none.
    where
        Its place in the drawing's frame, inches.
    fault
        What the reader says about it.
    """

    code: str
    where: shapely.Geometry
    fault: Finding | None = None


@dataclass(frozen=True, slots=True)
class Diagnosis:
    """All troubles of a drawing.

    Parameters
    ----------
    troubles
        From place to place.
    floating
        How many patches no seam reaches, which is no slip.
    patches
        How many areas the lines enclose.
    meant
        Lengths of short edges that were meant.
    """

    troubles: tuple[Trouble, ...]
    floating: int
    patches: int
    meant: tuple[float, ...] = ()

    @property
    def wrong(self) -> int:
        """How many faults there are; without an outline, more than any number of them."""
        return len(self.faults) + sum(_NO_OUTLINE for fault in self.faults if fault.code in NO_OUTLINE)

    @property
    def narrow(self) -> int:
        """How many areas are too narrow to be meant, some counted twice."""
        return sum(trouble.code in (SLIVER, *NARROW) for trouble in self.troubles)

    @property
    def extent(self) -> float:
        """How much cloth the troubles concern, square inches."""
        return float(shapely.area([trouble.where for trouble in self.troubles]).sum())

    @property
    def faults(self) -> list[Finding]:
        """The faults among the troubles."""
        return [trouble.fault for trouble in self.troubles if trouble.fault is not None]


def diagnose(
    drawing: Drawing, *, within: float, tolerance: float, meant: tuple[float, ...] | None = None
) -> Diagnosis:
    """Find the places of a drawing where the hand may have slipped.

    Parameters
    ----------
    drawing
        What a reader made of a file.
    within
        How large slips may be, inches.
    tolerance
        What cloth cannot tell apart, inches.
    meant
        Lengths of short edges that were meant, where that is known from the drawing as it was.

    Raises
    ------
    DrawingError
        If nothing can be made of the drawing at all.
    """
    faces, corner, faults = map_drawing(drawing, tolerance=tolerance)
    places = faces.network.points + np.array(corner)
    found = [
        Trouble(fault.code, _whereabouts(fault, faces, corner), fault)
        for fault in faults
        if fault.code not in FLOATING
    ]
    small = list(_small(faces, places.tolist(), within, tolerance))
    narrow = [faces.polygons[face] for face in slivers(faces, within / 2)]
    found += [Trouble(SLIVER, shapely.transform(shape, lambda at: at + np.array(corner))) for shape in narrow]
    lengths = _meant(small, found, drawing, tolerance) if meant is None else meant
    found += [t for t in small if t.code != STEP or all(abs(t.where.length - length) >= _ALIKE for length in lengths)]
    return Diagnosis(tuple(found), len(faults) - sum(t.fault is not None for t in found), len(faces.rings), lengths)


def _meant(
    small: Sequence[Trouble], others: Sequence[Trouble], drawing: Drawing, tolerance: float
) -> tuple[float, ...]:
    """Return the lengths of short edges that are there twice, as what was meant is.

    A side or a patch that slipped leaves two of them as well: there sides of one shape are off to the same side, or
    they lie at something else that is wrong.
    """
    wrong = [t.where for t in others]
    steps = [t for t in small if t.code == STEP and not shapely.dwithin(wrong, t.where, tolerance).any()]
    offs = _offs(steps, drawing, tolerance) if len(steps) > 1 else []
    alike: dict[tuple[int, int], bool] = {
        (n, m): _is_one_slip(offs[n], offs[m])
        for n, one in enumerate(steps)
        for m, other in enumerate(steps)
        if n < m and abs(one.where.length - other.where.length) < _ALIKE
    }
    slipped = {k for pair, is_slip in alike.items() if is_slip for k in pair}
    slipped |= {k for pair in alike if slipped & set(pair) for k in pair}
    return tuple(steps[n].where.length for n, m in alike if not slipped & {n, m})


def _offs(steps: Sequence[Trouble], drawing: Drawing, tolerance: float) -> list[list[tuple[int, Point]]]:
    """Return for short edges which shapes have a side that leads across one end of it, and how far off that is."""
    sides: list[tuple[Point, Point, int]] = []
    for k, shape in enumerate(drawing.shapes):
        for track in shape.tracks:
            ahead = track.points[1:] + track.points[:1] if track.closed else track.points[1:]
            sides += [(a, b, k) for a, b in zip(track.points, ahead, strict=False) if math.dist(a, b) > tolerance]
    tree = shapely.STRtree(shapely.linestrings([(a, b) for a, b, _ in sides]))
    corners = shapely.STRtree(shapely.points([at for a, b, _ in sides for at in (a, b)]))
    found: list[list[tuple[int, Point]]] = []
    for step in steps:
        (ax, ay), (bx, by) = shapely.get_coordinates(step.where).tolist()
        across: list[set[int]] = []
        for at in ((ax, ay), (bx, by)):
            near = tree.query(shapely.Point(at), predicate="dwithin", distance=tolerance).tolist()
            across.append({sides[n][2] for n in near if _leads_across(sides[n], (bx - ax, by - ay))})
        first, last = across
        # Where a shape is off by less than the tolerance across its side as well, only its corner tells.
        one, other = (
            {
                sides[n // 2][2]
                for n in corners.query(shapely.Point(at), predicate="dwithin", distance=tolerance).tolist()
            }
            for at in ((ax, ay), (bx, by))
        )
        ahead_of, behind = (last - first) | (other - one), (first - last) | (one - other)
        found.append([(k, (bx - ax, by - ay)) for k in ahead_of] + [(k, (ax - bx, ay - by)) for k in behind])
    return found


def _leads_across(side: tuple[Point, Point, int], way: Point) -> bool:
    (ax, ay), (bx, by), _ = side
    turn = (bx - ax) * way[1] - (by - ay) * way[0]
    return abs(turn) > _ACROSS * math.hypot(bx - ax, by - ay) * math.hypot(*way)


def _is_one_slip(one: list[tuple[int, Point]], other: list[tuple[int, Point]]) -> bool:
    """Tell whether sides of one shape are off at two short edges, and not to opposite sides."""
    return any(k == n and math.hypot(x + u, y + v) > 2 * _ALIKE for k, (x, y) in one for n, (u, v) in other)


def _whereabouts(fault: Finding, faces: Faces, corner: Point) -> shapely.Geometry:
    """Return the area that a fault concerns."""
    if fault.at is None:
        return shapely.transform(shapely.multipoints(faces.network.points), lambda at: at + np.array(corner))
    at = shapely.Point(fault.at)
    found: shapely.Geometry = at
    lines = faces.network.linestrings()
    if fault.code == "cut-edge" and len(faces.parting_nothing):
        cuts = lines[faces.parting_nothing]
        found = cuts[int(np.argmin(shapely.distance(cuts, at)))]
    elif fault.code in NARROW:
        held = shapely.STRtree(faces.polygons).query(at, predicate="intersects").tolist()
        found = faces.polygons[min(held, key=lambda f: faces.areas[f])] if held else _slot(faces, at)
    return shapely.transform(found, lambda place: place + np.array(corner))


def _slot(faces: Faces, at: shapely.Point) -> shapely.Geometry:
    """Return the narrow space outside of all patches that a place lies in."""
    cloth = shapely.union_all(faces.polygons)
    narrow = shapely.difference(shapely.buffer(shapely.buffer(cloth, GAP_WIDTH), -GAP_WIDTH), cloth)
    return min(shapely.get_parts(narrow).tolist(), key=lambda part: float(part.distance(at)), default=at)


def _small(faces: Faces, at: list[list[float]], within: float, tolerance: float) -> Iterator[Trouble]:
    """Yield short edges, and junctions at which a line is nearly straight."""
    network = faces.network
    dangling = set(faces.dangling.tolist())
    around: dict[int, list[int]] = {}
    loose: dict[int, list[int]] = {}
    curved: set[int] = set()
    for k, (a, b) in enumerate(network.edges.tolist()):
        if network.curve[k] != STRAIGHT:
            curved |= {a, b}
            continue
        for some in (loose, *([] if k in dangling else [around])):
            some.setdefault(a, []).append(b)
            some.setdefault(b, []).append(a)
        if k not in dangling and a not in curved and b not in curved and math.dist(at[a], at[b]) <= within:
            yield Trouble(STEP, shapely.LineString([at[a], at[b]]))
    # A line whose ends are loose may be bent as well.
    around |= {v: others for v, others in loose.items() if len(others) == 2}
    for v in sorted(around):
        if v not in curved and _is_bent(v, at, around, within=within, tolerance=tolerance):
            yield Trouble(BEND, shapely.Point(at[v]))


def _is_bent(v: int, at: list[list[float]], around: dict[int, list[int]], *, within: float, tolerance: float) -> bool:
    """Tell whether two of the edges at a junction were meant to lie in line."""
    others = around[v]
    far = {other: _far_end(v, other, at, around, tolerance) for other in others}
    in_line: set[int] = set()
    bent: list[tuple[int, int]] = []
    for n, a in enumerate(others):
        for b in others[n + 1 :]:
            wide = _angle(at[a], at[v], at[b])
            if len(others) > 2 and wide < _LEAST_ANGLE:
                continue
            off = distance_to_line(at[v], at[far[a]], at[far[b]])
            if off <= tolerance / 2 and wide > math.pi / 2:
                in_line |= {a, b}
            elif off <= within and (wide > math.pi / 2 or len(others) == 2):
                bent.append((a, b))
    return any(a not in in_line and b not in in_line for a, b in bent)


def _far_end(v: int, first: int, at: list[list[float]], around: dict[int, list[int]], tolerance: float) -> int:
    """Return where a line that leaves a junction ends, as far as it is straight."""
    before, here = v, first
    for _ in range(_STEPS):
        onwards = [n for n in around.get(here, ()) if n != before]
        ahead = max(onwards, key=lambda n: _angle(at[before], at[here], at[n]), default=None)
        if ahead is None or ahead == v or _angle(at[before], at[here], at[ahead]) < _LEAST_ANGLE:
            break
        if distance_to_line(at[here], at[v], at[ahead]) > tolerance / 2:
            break
        before, here = here, ahead
    return here


def _angle(a: list[float], v: list[float], b: list[float]) -> float:
    """Return the angle at `v` between two directions, 0 to pi."""
    ax, ay, bx, by = a[0] - v[0], a[1] - v[1], b[0] - v[0], b[1] - v[1]
    return abs(math.atan2(ax * by - ay * bx, ax * bx + ay * by))


def distance_to_line(at: list[float], a: list[float], b: list[float]) -> float:
    """Return how far a place lies from the line through two others (inches)."""
    length = math.dist(a, b)
    if length < 1e-9:
        return math.dist(at, a)
    return abs((b[0] - a[0]) * (at[1] - a[1]) - (b[1] - a[1]) * (at[0] - a[0])) / length


def diagnose_again(drawing: Drawing, before: Diagnosis, *, within: float, tolerance: float) -> Diagnosis | None:
    """Return the diagnosis of a drawing after a repair, None if nothing can be made of it at all."""
    try:
        return diagnose(drawing, within=within, tolerance=tolerance, meant=before.meant)
    except DrawingError:
        return None

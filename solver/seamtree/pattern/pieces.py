"""Pieces of cloth for patches, sized as they are laid: with the raw edge along the line that they are sewn on.

Common practice: pieces for paper piecing are cut 1/2 in larger than the patch all round; a right-angled triangle with
two equal sides comes from a square, halved on its diagonal or, where its long side lies on the outline and so
ought to be
on the straight grain, quartered on both. Without the margin, with an allowance of 1/4 in, these squares are
(2+√2)/4 and (1+√2)/2 in larger than the finished short and long side: the 7/8 and 1 1/4 in of the trade.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import shapely

from seamtree.errors import Point
from seamtree.pattern.lengths import rounded_up
from seamtree.pattern.offset import offset_outline
from seamtree.planning.model import Plan

TIP = 2.0
"""Mitred tips are covered as far as this many allowances from their corner: whole from 60 degrees on."""

Shape = Literal["rectangle", "exact", "half", "quarter"]
"""A rectangle with a margin; one that is cut exactly; half or quarter of a square, cut on its diagonals."""

Segment = tuple[Point, Point]


@dataclass(frozen=True, slots=True)
class Piece:
    """The piece of cloth for one patch.

    Parameters
    ----------
    patch
        Printed number of the patch.
    along, deep
        Inches along the line that it is sewn on, and square to it; of a triangle its side there, and its height.
    shape
        What it is.
    side
        Of the square that a triangle is cut from, inches; else 0.
    clipped
        Whether the allowance has a tip that is sharper than the piece covers.
    """

    patch: str
    along: float
    deep: float
    shape: Shape = "rectangle"
    side: float = 0.0
    clipped: bool = False

    def __post_init__(self) -> None:
        if not (self.along > 0 and self.deep > 0):
            raise ValueError("a piece has two sides")


@dataclass(frozen=True, slots=True)
class Site:
    """A patch as it is laid.

    Parameters
    ----------
    name
        Printed number.
    corners
        Of the patch, straight ones left out, inches.
    line
        What it is sewn on; for the first patch of a unit its longest side.
    outer
        Whether its longest side lies on the outline of the unit.
    alone
        Whether it is a unit by itself.
    """

    name: str
    corners: tuple[Point, ...]
    line: Segment
    outer: bool
    alone: bool


def build_sites(plan: Plan) -> dict[int, Site]:
    """Return every patch of a plan as it is laid on its foundation, in sewing order."""
    block = plan.block
    sites = {}
    for unit in plan.units():
        sewn: set[int] = set()
        whole = set(unit.patches)
        for number, p in enumerate(unit.patches, 1):
            patch, corners = block.patches[p], corners_of(block.polygon(p), block.tolerance)
            longest = max(zip(corners, (*corners[1:], corners[0]), strict=True), key=_rounded_length)
            line, outer = longest, True
            seam: list[Point] = []
            for k in patch.edges:
                edge = block.edges[k]
                other = edge.left if edge.right == p else edge.right
                ends = [block.junctions[edge.start], block.junctions[edge.end]]
                if other in sewn:
                    seam += ends
                if other in whole and _lies_along(ends, longest, block.tolerance):
                    outer = False
            if seam:
                line = max(((a, b) for a in seam for b in seam), key=_rounded_length)
            sites[p] = Site(f"{unit.name}{number}", corners, line, outer, len(whole) == 1)
            sewn.add(p)
    return sites


def _rounded_length(segment: Segment) -> float:
    return round(math.dist(*segment), 6)


def _lies_along(points: Sequence[Point], side: Segment, tolerance: float) -> bool:
    line = shapely.LineString(side)
    return all(line.distance(shapely.Point(at)) <= tolerance for at in points)


def corners_of(ring: Sequence[Point], tolerance: float) -> tuple[Point, ...]:
    """Return the corners of a polygon without those that stray less than the tolerance from a straight side."""
    middle = shapely.Polygon(ring).centroid
    first = max(range(len(ring)), key=lambda n: (round(math.dist(ring[n], (middle.x, middle.y)), 9), -n))
    turned = [*ring[first:], *ring[: first + 1]]
    simple = list(shapely.LineString(turned).simplify(tolerance, preserve_topology=False).coords)[:-1]
    return tuple(simple) if len(simple) >= 3 else tuple(ring)


def size_piece(
    site: Site, *, margin: float, allowance: float, step: float, tolerance: float, quarters: bool = True
) -> Piece:
    """Return the piece of cloth for a patch.

    Parameters
    ----------
    site
        The patch as it is laid.
    margin
        Inches that the piece is larger all round; the allowance is part of it.
    allowance
        Seam allowance, inches.
    step
        Inches that sides are rounded up to a multiple of.
    tolerance
        Inches that a corner may be off for the patch to count as a rectangle or as half a square.
    quarters
        Whether quarters of a square may be used.

    Returns
    -------
    Piece
        Laid with its edge one allowance beyond the line, the middle where the patch has its own, it covers the patch,
        its allowances and their mitred tips up to `TIP` allowances from the corner.
    """
    box = _rectangle(site.corners, tolerance) if site.alone else None
    if box is not None:
        long, short = box
        return Piece(site.name, long + 2 * allowance, short + 2 * allowance, "exact")
    half = _half_square(site.corners, tolerance)
    if half is not None:
        long, side = half
        on_long = _lies_along(site.line, side, 2 * tolerance)
        return _triangle(site.name, long, margin, step, on_long=on_long, quarter=quarters and site.outer)
    return _laid_rectangle(site, margin, allowance, step)


def _laid_rectangle(site: Site, margin: float, allowance: float, step: float) -> Piece:
    grown = offset_outline(site.corners, allowance, blunt=TIP)
    sides = []
    for axis in (0, 1):
        patch, whole = ([_framed(at, site.line)[axis] for at in points] for points in (site.corners, grown))
        least = max(max(patch) - min(patch) + 2 * margin, max(whole) - min(whole))
        sides.append(rounded_up(least, step))
    return Piece(site.name, sides[0], sides[1], clipped=_sharpest(site.corners) < math.radians(60) - 1e-6)


def lay_piece(site: Site, piece: Piece, *, allowance: float) -> tuple[Point, ...]:
    """Return the corners of a piece where it lies once it is sewn on its line and flipped open (inches).

    Its edge is one allowance beyond the line and its middle at that of the patch with its allowances; half a square
    with a short side on the line lies where it covers more.
    """
    grown = [_framed(at, site.line) for at in offset_outline(site.corners, allowance, blunt=TIP)]
    up = 1.0 if math.fsum(_framed(at, site.line)[1] for at in site.corners) > 0 else -1.0
    need = shapely.Polygon([(x, up * y) for x, y in grown])
    left, low, right, _ = need.bounds
    along, deep, middle = piece.along, piece.deep, (left + right) / 2
    start, end = middle - along / 2, middle + along / 2
    if piece.shape in ("rectangle", "exact"):
        ways = [[(start, low), (end, low), (end, low + deep), (start, low + deep)]]
    elif along > 1.5 * deep:
        ways = [[(start, low), (end, low), (middle, low + deep)]]
    else:
        ways = [
            [(left, low), (left + along, low), (left, low + deep)],
            [(right - along, low), (right, low), (right, low + deep)],
        ]
    best = min(ways, key=lambda way: round(need.difference(shapely.Polygon(way)).area, 6))
    return tuple(_unframed((x, up * y), site.line) for x, y in best)


def _unframed(at: Point, line: Segment) -> Point:
    """Return the place that `_framed` leads from."""
    (x, y), (fx, fy) = line
    length = math.dist(*line)
    ux, uy = (fx - x) / length, (fy - y) / length
    return x + at[0] * ux - at[1] * uy, y + at[0] * uy + at[1] * ux


def _framed(at: Point, line: Segment) -> Point:
    """Return a place along a line and square to it."""
    (x, y), (fx, fy) = line
    length = math.dist(*line)
    ux, uy = (fx - x) / length, (fy - y) / length
    return (at[0] - x) * ux + (at[1] - y) * uy, (at[1] - y) * ux - (at[0] - x) * uy


def _triangle(name: str, long: float, margin: float, step: float, *, on_long: bool, quarter: bool) -> Piece:
    """Return half or a quarter of a square for a right-angled triangle with two equal sides, by its long side."""
    if quarter:
        side = rounded_up(long + 2 * (1 + math.sqrt(2)) * margin, step)
        along, deep = (side, side / 2) if on_long else (side / math.sqrt(2), side / math.sqrt(2))
        return Piece(name, along, deep, "quarter", side)
    side = rounded_up(long / math.sqrt(2) + (2 + math.sqrt(2)) * margin, step)
    along, deep = (side * math.sqrt(2), side / math.sqrt(2)) if on_long else (side, side)
    return Piece(name, along, deep, "half", side)


def _rectangle(corners: Sequence[Point], tolerance: float) -> tuple[float, float] | None:
    """Return the sides of a rectangle, the longer first; None if it is none."""
    if len(corners) != 4:
        return None
    area = shapely.Polygon(corners)
    box = shapely.minimum_rotated_rectangle(area)
    if area.hausdorff_distance(box) > tolerance:
        return None
    a, b, c, *_ = box.exterior.coords
    short, long = sorted((math.dist(a, b), math.dist(b, c)))
    return long, short


def _half_square(corners: Sequence[Point], tolerance: float) -> tuple[float, Segment] | None:
    """Return the long side of the least half square round a triangle that is one within the tolerance, and where."""
    if len(corners) != 3:
        return None
    a, b, apex = max(
        ((corners[n], corners[n - 1], corners[n - 2]) for n in range(3)), key=lambda turn: math.dist(turn[0], turn[1])
    )
    middle = (a[0] + b[0]) / 2, (a[1] + b[1]) / 2
    along, across = _framed(apex, (middle, b))
    long = math.dist(a, b)
    if abs(along) > tolerance or abs(abs(across) - long / 2) > tolerance:
        return None
    return max(long, 2 * (abs(across) + abs(along))), (a, b)


def _sharpest(corners: Sequence[Point]) -> float:
    """Return the least angle of a polygon, radians."""
    least = math.pi
    for n, (x, y) in enumerate(corners):
        (px, py), (nx, ny) = corners[n - 1], corners[(n + 1) % len(corners)]
        turn = abs(math.atan2(py - y, px - x) - math.atan2(ny - y, nx - x)) % math.tau
        least = min(least, turn, math.tau - turn)
    return least

"""Families of layouts to measure with: the same for the same arguments, in inches, as large as they come.

Every function returns the patches of one block as polygons. They lie side by side; a corner that ends on the side of
a neighbour is not a corner of the neighbour, as in most drawings.
"""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import shapely

Polygons = list[shapely.Polygon]
Place = tuple[float, float]
Corners = list[Place]

LEAST_GAP = 0.12
"""Inches that random seams keep from each other's ends: six times what is snapped together by default."""

_TRIES = 10_000


# -- straight cuts --------------------------------------------------------------------------------------------


def straight_cuts(patches: int, seed: int) -> Polygons:
    """Cut a square, then its larger parts, with slanted straight cuts until there are so many patches."""
    rng = np.random.default_rng(seed)
    return [shapely.Polygon(face) for face in _cut_up(_square(1.5 * math.sqrt(patches)), patches, rng)]


def _square(side: float) -> Corners:
    return [(0.0, 0.0), (side, 0.0), (side, side), (0.0, side)]


def _cut_up(start: Corners, patches: int, rng: np.random.Generator) -> list[Corners]:
    faces = [start]
    ends = list(start)
    for _ in range(_TRIES):
        if len(faces) >= patches:
            return faces
        face = max((faces[k] for k in rng.integers(0, len(faces), 3)), key=_area)
        angle = rng.uniform(0, math.pi)
        x, y = _middle(face)
        reach = 0.25 * math.sqrt(_area(face))
        through = (x + rng.uniform(-reach, reach), y + rng.uniform(-reach, reach))
        halves = _split(face, through, angle)
        new = [corner for corner in halves[0] if corner not in face] if halves else []
        near = any(math.dist(a, b) < LEAST_GAP for a in new for b in ends)
        if halves and not near and all(_roomy(half) for half in halves):
            faces.remove(face)
            faces += halves
            ends += new
    raise ValueError(f"{patches} patches do not fit")


def _split(face: Corners, through: Place, angle: float) -> list[Corners]:
    """Cut a convex face along a line; both halves, or nothing when the line misses it."""
    nx, ny = -math.sin(angle), math.cos(angle)
    offset = nx * through[0] + ny * through[1]
    halves: list[Corners] = [[], []]
    for (ax, ay), (bx, by) in pairwise([*face, face[0]]):
        a, b = nx * ax + ny * ay - offset, nx * bx + ny * by - offset
        halves[a < 0].append((ax, ay))
        if (a < 0) != (b < 0):
            share = a / (a - b)
            crossing = (ax + share * (bx - ax), ay + share * (by - ay))
            halves[0].append(crossing)
            halves[1].append(crossing)
    return halves if all(len(half) >= 3 for half in halves) else []


def _area(face: Corners) -> float:
    return abs(sum(ax * by - bx * ay for (ax, ay), (bx, by) in pairwise([*face, face[0]]))) / 2


def _middle(face: Corners) -> Place:
    return sum(x for x, _ in face) / len(face), sum(y for _, y in face) / len(face)


def _roomy(face: Corners) -> bool:
    """Tell whether a face has no tiny side and is no splinter."""
    lengths = [math.dist(a, b) for a, b in pairwise([*face, face[0]])]
    return min(lengths) > LEAST_GAP and 2 * _area(face) / max(lengths) > 2 * LEAST_GAP


def lines_across(lines: int, seed: int) -> Polygons:
    """Draw lines across a square from one side to another.

    A line that would leave a tiny patch is drawn elsewhere: such patches say nothing about the search and everything
    about rounding.
    """
    rng = np.random.default_rng(seed)
    side = 4.0 * math.sqrt(lines)
    frame = shapely.box(0, 0, side, side).exterior
    faces = [_square(side)]
    drawn = 0
    for _ in range(_TRIES):
        if drawn == lines:
            return [shapely.Polygon(face) for face in faces]
        a, b = rng.uniform(0, 4 * side), rng.uniform(0, 4 * side)
        if a // side == b // side:
            continue
        start, end = frame.interpolate(a), frame.interpolate(b)
        cut: list[Corners] = []
        for face in faces:
            cut += _split(face, (start.x, start.y), math.atan2(end.y - start.y, end.x - start.x)) or [face]
        if all(_broad(face) for face in cut):
            faces, drawn = cut, drawn + 1
    raise ValueError(f"{lines} lines do not fit")


def _broad(face: Corners) -> bool:
    """Tell whether a face is more than what is snapped together or closed up as a sliver.

    The largest circle in a convex shape has a radius of at least its area divided by its perimeter.
    """
    lengths = [math.dist(a, b) for a, b in pairwise([*face, face[0]])]
    return min(lengths) > LEAST_GAP / 3 and _area(face) / sum(lengths) > LEAST_GAP / 5


# -- grids ----------------------------------------------------------------------------------------------------


def square_grid(columns: int, rows: int) -> Polygons:
    """Squares of one inch in columns and rows."""
    return [shapely.box(x, y, x + 1, y + 1) for y in range(rows) for x in range(columns)]


def split_squares(columns: int, rows: int, seed: int) -> Polygons:
    """Squares of two inches, each split along one of its diagonals."""
    rng = np.random.default_rng(seed)
    triangles: list[Corners] = []
    for y in range(0, 2 * rows, 2):
        for x in range(0, 2 * columns, 2):
            triangles += _halves(_rectangle(x, y, 2, 2), falling=rng.random() < 0.5)
    return [shapely.Polygon(half) for half in triangles]


def partly_split_squares(columns: int, rows: int, patches: int, seed: int) -> Polygons:
    """Squares of two inches, as many of them split along a diagonal as it takes to get so many patches."""
    rng = np.random.default_rng(seed)
    split = set(rng.permutation(columns * rows)[: patches - columns * rows].tolist())
    faces: list[Corners] = []
    for n in range(columns * rows):
        square = _rectangle(2 * (n % columns), 2 * (n // columns), 2, 2)
        falling = rng.random() < 0.5
        faces += _halves(square, falling=falling) if n in split else [square]
    return [shapely.Polygon(face) for face in faces]


def _halves(square: Corners, *, falling: bool) -> list[Corners]:
    """Split a square along the diagonal that falls to the right, as seen, or along the other one."""
    a, b, c, d = square
    return [[a, b, c], [a, c, d]] if falling else [[a, b, d], [b, c, d]]


# -- quilt tops -----------------------------------------------------------------------------------------------

_BLOCK = 12.0
"""Side of a block of a quilt top."""

_SASH = 2.0
"""Width of the sashing between the blocks of a quilt top."""


def quilt_top(columns: int, rows: int, patches: int, seed: int) -> Polygons:
    """Blocks of so many patches by random straight cuts in columns and rows, with sashing and corner squares.

    Blocks are all alike, turned by quarter turns.
    """
    rng = np.random.default_rng(seed)
    pitch = _BLOCK + _SASH
    first = _cut_block(patches, rng)
    faces = []
    for n in range(columns * rows):
        x, y = n % columns * pitch, n // columns * pitch
        faces += [[(x + a, y + b) for a, b in _turned(face, n)] for face in first]
    for n in range(columns * rows):
        x, y = n % columns * pitch, n // columns * pitch
        right, below = n % columns < columns - 1, n // columns < rows - 1
        if right:
            faces.append(_rectangle(x + _BLOCK, y, _SASH, _BLOCK))
        if below:
            faces.append(_rectangle(x, y + _BLOCK, _BLOCK, _SASH))
        if right and below:
            faces.append(_rectangle(x + _BLOCK, y + _BLOCK, _SASH, _SASH))
    return [shapely.Polygon(face) for face in faces]


def _cut_block(patches: int, rng: np.random.Generator) -> list[Corners]:
    """Cut a block, larger than it is to be, and bring it to size."""
    side = 1.5 * math.sqrt(patches)
    while True:
        try:
            cut = _cut_up(_square(side), patches, rng)
        except ValueError:  # the random cuts have painted themselves into a corner
            continue
        return [[(x * _BLOCK / side, y * _BLOCK / side) for x, y in face] for face in cut]


def _turned(face: Corners, quarters: int) -> Corners:
    for _ in range(quarters % 4):
        face = [(_BLOCK - y, x) for x, y in face]
    return face


def _rectangle(x: float, y: float, width: float, height: float) -> Corners:
    return [(x, y), (x + width, y), (x + width, y + height), (x, y + height)]


def star_top(columns: int, rows: int) -> Polygons:
    """Star blocks of 28 patches set edge to edge, so that the seams of every block run on into its neighbours.

    A block has four by four squares: whole ones in its corners and two by two split squares everywhere else.
    """
    faces: list[Corners] = []
    for y in range(0, 4 * rows, 4):
        for x in range(0, 4 * columns, 4):
            for n in range(16):
                faces += _star_square(x, y, n % 4, n // 4)
    return [shapely.Polygon(face) for face in faces]


def _star_square(x: float, y: float, column: int, row: int) -> list[Corners]:
    """Return the square, or the two triangles, at a place of a star."""
    square = _rectangle(x + column, y + row, 1.0, 1.0)
    if column in (0, 3) and row in (0, 3):
        return [square]
    # The split runs outwards in the points of the star and round in its middle.
    falling = (column < 2) == (row < 2)
    if column in (1, 2) and row in (1, 2):
        falling = not falling
    return _halves(square, falling=falling)


# -- layouts that straight seams cannot sew -------------------------------------------------------------------


def voronoi(cells: int, seed: int) -> Polygons:
    """Voronoi cells of random points in a square, about two square inches each."""
    from scipy.spatial import Voronoi

    side = math.sqrt(2.0 * cells)
    points = np.random.default_rng(seed).uniform(0, side, (cells, 2))
    # With the mirror images of all points on the four sides, every cell ends at the square.
    mirrored = [points]
    for axis in (0, 1):
        for at in (0.0, side):
            image = points.copy()
            image[:, axis] = 2 * at - image[:, axis]
            mirrored.append(image)
    diagram = Voronoi(np.concatenate(mirrored))
    corners = np.clip(diagram.vertices, 0.0, side)
    return [shapely.Polygon(corners[diagram.regions[diagram.point_region[k]]]) for k in range(cells)]


def honeycomb(columns: int, rows: int) -> Polygons:
    """Hexagons with sides of one inch, every other row moved by half a hexagon."""
    half, patches = math.sqrt(0.75), []
    for row in range(rows):
        for column in range(columns):
            x, y = (2 * column + row % 2) * half, 1.5 * row
            corners = ((0, -1), (1, -0.5), (1, 0.5), (0, 1), (-1, 0.5), (-1, -0.5))
            patches.append(shapely.Polygon([(x + half * a, y + b) for a, b in corners]))
    return patches


def spun_rings(count: int) -> Polygons:
    """Squares with four rectangles spun round each, in rows, with sashing between them."""
    columns = math.ceil(math.sqrt(count))
    sash, size = 1.0, 6.0
    pitch = size + sash
    patches = []
    for k in range(count):
        x, y = k % columns * pitch, k // columns * pitch
        patches += [
            shapely.box(x + 2, y + 2, x + 4, y + 4),
            shapely.box(x, y, x + 4, y + 2),
            shapely.box(x + 4, y, x + 6, y + 4),
            shapely.box(x + 2, y + 4, x + 6, y + 6),
            shapely.box(x, y + 2, x + 2, y + 6),
        ]
        last_of_row = k % columns == columns - 1 or k == count - 1
        right = columns * pitch - sash if last_of_row else x + pitch
        if right > x + size:
            patches.append(shapely.box(x + size, y, right, y + size))
        if k % columns == 0 and k:
            patches.append(shapely.box(0, y - sash, columns * pitch - sash, y))
    return patches


def picture_with_locked_parts(seed: int) -> Polygons:
    """A picture of about 60 patches by straight cuts, six of which have become rings of seams that wait."""
    rng = np.random.default_rng(seed)
    faces = _cut_up(_square(12.0), 32, rng)
    large = sorted(faces, key=_area, reverse=True)[:6]
    patches = [face for face in faces if face not in large]
    for face in large:
        patches += _spin(face)
    return [shapely.Polygon(patch) for patch in patches]


def lines_with_locked_part(lines: int, seed: int) -> Polygons:
    """Lines across a square (see `lines_across`); the largest patch has become a ring of seams that wait."""
    faces = [_corners(patch) for patch in lines_across(lines, seed)]
    largest = max(range(len(faces)), key=lambda n: _area(faces[n]))
    return [shapely.Polygon(face) for face in (*faces[:largest], *faces[largest + 1 :], *_spin(faces[largest]))]


def _corners(patch: shapely.Polygon) -> Corners:
    return [(x, y) for x, y in patch.exterior.coords[:-1]]


def _spin(face: Corners) -> list[Corners]:
    """Divide a convex face into a smaller copy of itself and one patch for each side, each leaning on the next."""
    ring = shapely.LinearRing(face)
    face = face if ring.is_ccw else face[::-1]
    ring = shapely.LinearRing(face)
    middle = _middle(face)
    inner = [(x + 0.6 * (middle[0] - x), y + 0.6 * (middle[1] - y)) for x, y in face]
    hits = []
    for a, b in pairwise([*inner, inner[0]]):
        far = (b[0] + 100 * (b[0] - a[0]), b[1] + 100 * (b[1] - a[1]))
        hit = shapely.LineString([b, far]).intersection(ring)
        hits.append((hit.x, hit.y))
    patches = [inner]
    for k, start in enumerate(inner):
        patches.append([start, hits[k - 1], *_between(face, ring, hits[k - 1], hits[k]), hits[k]])
    return patches


def _between(face: Corners, ring: shapely.LinearRing, start: Place, end: Place) -> Corners:
    """Return the corners of a face on the way from one point of its boundary to another."""
    first, last = ring.project(shapely.Point(start)), ring.project(shapely.Point(end))
    passed = []
    for corner in face:
        at = ring.project(shapely.Point(corner))
        ahead = (at - first) % ring.length
        if ahead < (last - first) % ring.length:
            passed.append((ahead, corner))
    return [corner for _, corner in sorted(passed)]


def locked_cells(
    columns: int, rows: int, *, share: float, seed: int, curved: bool = False, symmetric: bool = False
) -> Polygons:
    """Square cells edge to edge, so that the seams of every cell run on into its neighbours.

    A share of the cells turns hard corners: spun rings, which need a partial seam, and three patches round a Y, which
    need a set-in one. The others are whole, halved, in quarters, or eight wedges round their middle. With `curved`,
    every other cell with hard corners is a quarter of a disc (24 chords) and what is round it. With `symmetric`, the
    right half mirrors the left one.
    """
    rng = np.random.default_rng(seed)
    count = columns * rows
    hard = set(rng.permutation(count)[: max(1, round(share * count))].tolist())
    cells: dict[int, list[Corners]] = {}
    for n in range(count):
        kinds = ("spun", "set-in") if n in hard else ("plain", "plain", "star")
        kind = kinds[int(rng.integers(0, len(kinds)))]
        if curved and n in hard and n % 2:
            kind = "disc"
        cells[n] = _cell(kind, rng)
        if symmetric and n % columns >= (columns + 1) // 2:
            mirrored = cells[n - n % columns + columns - 1 - n % columns]
            cells[n] = [[(3.0 - x, y) for x, y in reversed(face)] for face in mirrored]
    return [
        shapely.Polygon([(x + n % columns * 3.0, y + n // columns * 3.0) for x, y in face])
        for n, faces in cells.items()
        for face in faces
    ]


def _cell(kind: str, rng: np.random.Generator) -> list[Corners]:
    """Return the patches of a cell of three inches."""
    square = _rectangle(0.0, 0.0, 3.0, 3.0)
    if kind == "spun":
        ring = [
            _rectangle(1.0, 1.0, 1.0, 1.0),
            [(0.0, 0.0), (2.0, 0.0), (2.0, 1.0), (1.0, 1.0), (0.0, 1.0)],
            [(2.0, 0.0), (3.0, 0.0), (3.0, 2.0), (2.0, 2.0), (2.0, 1.0)],
            [(1.0, 2.0), (2.0, 2.0), (3.0, 2.0), (3.0, 3.0), (1.0, 3.0)],
            [(0.0, 1.0), (1.0, 1.0), (1.0, 2.0), (1.0, 3.0), (0.0, 3.0)],
        ]
        return [[(3.0 - x, y) for x, y in reversed(face)] for face in ring] if rng.random() < 0.5 else ring
    turn = int(rng.integers(0, 4))
    a, b, c, d = (square[(turn + k) % 4] for k in range(4))
    if kind == "set-in":
        middle = _along(a, c, 0.35)
        return [
            [a, b, _along(b, c, 0.5), middle],
            [middle, _along(b, c, 0.5), c, _along(d, c, 0.5)],
            [a, middle, _along(d, c, 0.5), d],
        ]
    if kind == "disc":
        quarter = [_along(a, b, 0.5), *_arc(a, b, d), _along(a, d, 0.5)]
        return [[a, *quarter], [*reversed(quarter), b, c, d]]
    if kind == "star":
        rim = [corner for k in range(4) for corner in (square[k], _along(square[k], square[(k + 1) % 4], 0.5))]
        return [[(1.5, 1.5), rim[k], rim[(k + 1) % 8]] for k in range(8)]
    pieces = (
        [square],
        [[a, b, c], [a, c, d]],
        [_rectangle(x, y, 1.5, 1.5) for x in (0.0, 1.5) for y in (0.0, 1.5)],
        [[square[k], square[(k + 1) % 4], (1.5, 1.5)] for k in range(4)],
    )
    return pieces[int(rng.integers(0, len(pieces)))]


def _along(a: Place, b: Place, share: float) -> Place:
    return a[0] + share * (b[0] - a[0]), a[1] + share * (b[1] - a[1])


def _arc(centre: Place, first: Place, last: Place) -> Corners:
    """Return the inner points of a quarter circle of half a cell round a corner, from one side to the other."""
    (x, y), chords = centre, 24
    u, v = ((p[0] - x, p[1] - y) for p in (first, last))
    turns = (k * math.pi / 2 / chords for k in range(1, chords))
    return [
        (x + 0.5 * (u[0] * math.cos(t) + v[0] * math.sin(t)), y + 0.5 * (u[1] * math.cos(t) + v[1] * math.sin(t)))
        for t in turns
    ]


def nested_locks(depth: int, *, patches: int, seed: int) -> Polygons:
    """A square spun into a smaller copy of itself so many times; then its larger patches are cut or spun as well."""
    rng = np.random.default_rng(seed)
    inner, faces = _square(4.0 * math.sqrt(patches)), list[Corners]()
    for _ in range(depth):
        inner, *arms = _spin(inner)
        faces += arms
    faces.append(inner)
    for _ in range(_TRIES):
        if len(faces) >= patches:
            break
        large = sorted(range(len(faces)), key=lambda k: -_area(faces[k]))[:6]
        k = large[int(rng.integers(0, len(large)))]
        if rng.random() < 0.4 and len(faces) + 4 <= patches:
            outline = shapely.Polygon(faces[k]).normalize().simplify(1e-9).exterior.coords[:-1]
            new = _spin([(x, y) for x, y in outline])
            new = new if all(_broad(face) for face in new) else []
        else:
            new = _split(faces[k], _middle(faces[k]), rng.uniform(0, math.pi))
            new = new if all(_roomy(face) for face in new) else []
        if new:
            faces[k : k + 1] = new
    return [shapely.Polygon(face) for face in faces]

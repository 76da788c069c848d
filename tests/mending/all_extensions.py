"""All ways to carry seams on, tried one by one: the yardstick for the search.

Written with shapely and nothing of the program but the block: a seam that stops inside the block is carried on to the
outline or to the seam in line with it; each set of such extensions, each cut off at any seam or extension that it
meets, is drawn in, and the faces are looked at with the plain recursion over all cuts. For convex blocks without
curves, with few seams that stop.
"""

from __future__ import annotations

import math
from itertools import combinations, product

import shapely
import shapely.ops
from benchmarks.alternatives import UNSEWABLE, plain_recursion

from seamtree.block.build import block_from_polygons
from seamtree.block.model import Block

EPS = 1e-7


def stopped_seams(block: Block):
    """Yield the place where a seam stops and the direction in which it would go on."""
    outline = block.boundary_junctions()
    arms = {}
    for k in block.interior_edges:
        edge = block.edges[k]
        arms.setdefault(edge.start, []).append(edge.end)
        arms.setdefault(edge.end, []).append(edge.start)
    for j, ends in sorted(arms.items()):
        if j in outline:
            continue
        here = block.junctions[j]
        headings = [_heading(block.junctions[e], here) for e in ends]
        for heading in headings:
            if not any(_alike(heading, (-x, -y)) for x, y in headings):
                yield here, heading


def _heading(start, end):
    length = math.dist(start, end)
    return (end[0] - start[0]) / length, (end[1] - start[1]) / length


def _alike(a, b):
    return math.dist(a, b) < 1e-6


def extensions(block: Block) -> list[shapely.LineString]:
    seams = _seams(block)
    found = []
    for (x, y), (dx, dy) in stopped_seams(block):
        reach = 2 * (block.width + block.height)
        ray = shapely.LineString([(x, y), (x + reach * dx, y + reach * dy)])
        ray = shapely.intersection(
            ray, shapely.union_all([shapely.Polygon(block.polygon(p)) for p in range(_n(block))])
        )
        along = shapely.get_parts(shapely.intersection(ray.buffer(EPS), seams))
        onto = [shapely.Point(x, y).distance(part) for part in along if part.length > 1e3 * EPS]
        stop = min([d for d in onto if d > 10 * EPS], default=ray.length)
        if not any(d <= 10 * EPS for d in onto):
            found.append(shapely.LineString([(x, y), (x + stop * dx, y + stop * dy)]))
    return found


def _n(block: Block) -> int:
    return len(block.patches)


def _seams(block: Block):
    return shapely.union_all(
        [shapely.LineString([block.junctions[e.start], block.junctions[e.end]]) for e in block.edges]
    )


def stops(ray: shapely.LineString, seams, rays) -> list[float]:
    """Return how far along a ray it may stop: at every seam and every other extension that it meets."""
    found = {ray.length}
    for other in [seams, *(r for r in rays if r is not ray)]:
        for part in shapely.get_parts(shapely.intersection(ray, other)):
            for place in part.coords:
                found.add(ray.project(shapely.Point(place)))
    lengths = sorted(d for d in found if d > 1e3 * EPS)
    return [d for n, d in enumerate(lengths) if n == 0 or d - lengths[n - 1] > 1e3 * EPS]


def smallest_mends(block: Block, *, most: int) -> tuple[int, set[tuple[tuple[float, float], ...]]]:
    """Return the fewest added patches and all blocks that come of them, each as the middles of its patches.

    Nothing beyond `most` added patches is tried; the sets are then empty.
    """
    seams = _seams(block)
    rays = extensions(block)
    where = [stops(ray, seams, rays) for ray in rays]
    best = most + 1
    found: set[tuple[tuple[float, float], ...]] = set()
    for size in range(1, most + 1):
        for chosen in combinations(range(len(rays)), size):
            for lengths in product(*(where[r] for r in chosen)):
                used = [shapely.ops.substring(rays[r], 0, d) for r, d in zip(chosen, lengths, strict=True)]
                if not all(_ends_well(line, seams, used) for line in used):
                    continue
                faces = _faces(seams, used)
                added = len(faces) - _n(block)
                if added > best or added > most:
                    continue
                if plain_recursion(block_from_polygons(faces, tolerance=block.tolerance))[0] >= UNSEWABLE:
                    continue
                if added < best:
                    best = added
                    found = set()
                found.add(middles(faces))
    return best, found


def _ends_well(line, seams, used) -> bool:
    end = shapely.Point(line.coords[-1])
    return any(end.distance(other) < EPS for other in [seams, *(u for u in used if u is not line)])


def _faces(seams, used):
    drawn = shapely.union_all([seams, *(_longer(line) for line in used)], grid_size=1e-9)
    faces = shapely.get_parts(shapely.polygonize([shapely.node(drawn)]))
    return [face for face in faces if face.area > 1e-6]


def _longer(line):
    """Let a line overshoot by a hair, so that it meets what it ends on whatever rounding does."""
    (ax, ay), (bx, by) = line.coords[0], line.coords[-1]
    dx, dy = _heading((ax, ay), (bx, by))
    return shapely.LineString([(ax - EPS * dx, ay - EPS * dy), (bx + EPS * dx, by + EPS * dy)])


def middles(faces) -> tuple[tuple[float, float], ...]:
    return tuple(sorted((round(f.centroid.x, 3) + 0.0, round(f.centroid.y, 3) + 0.0) for f in faces))

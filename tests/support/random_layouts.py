"""Layouts in which seams cross, end on each other and wait for each other, at random but the same for a seed."""

from __future__ import annotations

import random

import shapely

Polygons = list[shapely.Polygon]


def random_layout(seed: int) -> Polygons:
    """Return a small layout: squares, split squares or crossing lines, some neighbours merged, some hollowed out."""
    rng = random.Random(seed)
    make = rng.choice([_squares, _split_squares, _crossing_lines])
    polygons = _merge(rng, make(rng), rng.randint(0, 24))
    if rng.random() < 0.4:
        polygons = _hollow_out(rng, polygons, rng.randint(1, 5))
    return polygons


def _squares(rng: random.Random) -> Polygons:
    columns, rows = rng.randint(2, 6), rng.randint(2, 6)
    return [shapely.box(x, y, x + 1, y + 1) for x in range(columns) for y in range(rows)]


def _split_squares(rng: random.Random) -> Polygons:
    triangles = []
    for x in range(rng.randint(2, 4)):
        for y in range(rng.randint(2, 4)):
            a, b, c, d = (x, y), (x + 1, y), (x + 1, y + 1), (x, y + 1)
            halves = ((a, b, c), (a, c, d)) if rng.random() < 0.5 else ((a, b, d), (b, c, d))
            triangles += [shapely.Polygon(half) for half in halves]
    return triangles


def _crossing_lines(rng: random.Random) -> Polygons:
    frame = shapely.box(0, 0, 20, 20).exterior
    lines = [frame]
    while len(lines) < rng.randint(4, 8):
        a, b = rng.uniform(0, 80), rng.uniform(0, 80)
        if int(a // 20) != int(b // 20):
            lines.append(shapely.LineString([frame.interpolate(a), frame.interpolate(b)]))
    faces = list(shapely.get_parts(shapely.polygonize([shapely.union_all(lines, grid_size=1e-9)])))
    # Faces that are hardly there say nothing about the search and everything about rounding.
    return faces if min(face.area for face in faces) > 0.01 else _crossing_lines(rng)


def _merge(rng: random.Random, polygons: Polygons, times: int) -> Polygons:
    """Merge neighbours to convex patches."""
    for _ in range(times):
        k = rng.randrange(len(polygons))
        others = [n for n, other in enumerate(polygons) if n != k and polygons[k].intersection(other).length > 1e-9]
        rng.shuffle(others)
        for n in others:
            union = polygons[k].union(polygons[n])
            if abs(union.convex_hull.area - union.area) < 1e-9:
                kept = [p for m, p in enumerate(polygons) if m not in (k, n)]
                polygons = [*kept, shapely.Polygon(union.exterior).simplify(1e-9)]
                break
    return polygons


def _hollow_out(rng: random.Random, polygons: Polygons, times: int) -> Polygons:
    """Take patches away as long as the rest is one piece of cloth without a hole."""
    for _ in range(times):
        k = rng.randrange(len(polygons))
        if polygons[k].buffer(-0.15).is_empty:
            continue  # what it would leave is too narrow to be anything but a gap
        rest = polygons[:k] + polygons[k + 1 :]
        union = shapely.union_all(rest)
        if len(rest) > 1 and union.geom_type == "Polygon" and not union.interiors:
            inner = union.buffer(-1e-6)
            if inner.geom_type == "Polygon":
                polygons = rest
    return polygons

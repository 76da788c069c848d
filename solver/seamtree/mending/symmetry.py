"""The turns and mirrors that map a drawing to itself, and what they do to the seams that may be added."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from itertools import combinations

import numpy as np
import shapely
import shapely.affinity

from seamtree.block.noding import Floats
from seamtree.mending.arrangement import Arrangement

_TURNS = sorted({k * 360 / n for n in (2, 3, 4, 5, 6, 8, 10, 12) for k in range(n)})
"""Degrees."""

_MOST_GROUPS = 12

Permutation = tuple[int, ...]
"""For every edge of an arrangement the one that it becomes."""


def symmetries(arrangement: Arrangement) -> list[Permutation]:
    """Return what turns and mirrors do that map outline, seams and fabrics to themselves; standing still first."""
    found: list[Permutation] = []
    points = np.array(arrangement.points)
    outline = shapely.union_all([area.shape for area in arrangement.sketch.areas])
    middle = np.array(outline.centroid.coords[0])
    for mirror in (False, True):
        for angle in _TURNS:
            turn = math.radians(angle)
            way = np.array([[math.cos(turn), -math.sin(turn)], [math.sin(turn), math.cos(turn)]])
            if mirror:
                way = way @ np.array([[1.0, 0.0], [0.0, -1.0]])
            moved = _permute(arrangement, (points - middle) @ way.T + middle)
            if moved is not None and moved not in found and _same_fabrics(arrangement, way, middle):
                found.append(moved)
    return found


def _permute(arrangement: Arrangement, moved: Floats) -> Permutation | None:
    tree = shapely.STRtree(shapely.points(np.array(arrangement.points)))
    here, there = tree.query_nearest(shapely.points(moved), max_distance=arrangement.sketch.tolerance)
    onto = dict(zip(here.tolist(), there.tolist(), strict=True))
    if len(onto) < len(moved) or len(set(onto.values())) < len(moved):
        return None
    ends = arrangement.by_ends()
    permutation = []
    for k, (a, b) in enumerate(arrangement.edges):
        image = ends.get((min(onto[a], onto[b]), max(onto[a], onto[b])))
        if image is None or arrangement.drawn[image] != arrangement.drawn[k]:
            return None
        permutation.append(image)
    return tuple(permutation)


def _same_fabrics(arrangement: Arrangement, way: Floats, middle: Floats) -> bool:
    areas = arrangement.sketch.areas
    at = np.array([area.shape.point_on_surface().coords[0] for area in areas])
    moved = shapely.points((at - middle) @ way.T + middle)
    nearest = shapely.STRtree([area.shape for area in areas]).nearest(moved)
    return all(areas[k].fabric == areas[n].fabric for k, n in enumerate(nearest.tolist()))


def groups(elements: list[Permutation]) -> Iterator[list[Permutation]]:
    """Yield all symmetries, then groups of some of them, the larger first; never standing still alone."""
    whole = list(elements)
    if len(whole) > 1:
        yield whole
    smaller: dict[frozenset[Permutation], None] = {}
    for made in (*((e,) for e in whole[1:]), *combinations(whole[1:], 2)):
        group = frozenset(_generated(made, whole[0]))
        if 1 < len(group) < len(whole):
            smaller[group] = None
        if len(smaller) > _MOST_GROUPS:
            break
    for group in sorted(smaller, key=lambda g: (-len(g), sorted(g))):
        yield sorted(group)


def _generated(made: Iterable[Permutation], still: Permutation) -> set[Permutation]:
    found, fresh = {still}, [still]
    while fresh:
        here = fresh.pop()
        for step in made:
            after = tuple(step[k] for k in here)
            if after not in found:
                found.add(after)
                fresh.append(after)
    return found


def orbits(group: Iterable[Permutation], edges: Iterable[int]) -> list[tuple[int, ...]]:
    """Return the sets of edges that symmetries map to each other, of more than one edge."""
    group = list(group)
    found = {tuple(sorted({move[k] for move in group})) for k in edges}
    return sorted(orbit for orbit in found if len(orbit) > 1)


def kept(elements: Iterable[Permutation], edges: frozenset[int]) -> int:
    """Return how many symmetries map chosen edges to themselves."""
    return sum(frozenset(move[k] for k in edges) == edges for move in elements)

"""Which units have the same foundation: the same shapes and fabrics, turned but not mirrored."""

from __future__ import annotations

import cmath
import math
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from seamtree.block.model import Block


@dataclass(frozen=True, slots=True)
class Foundation:
    """The shape of a unit about its middle.

    Parameters
    ----------
    patches
        Per patch its fabric and corners as complex numbers (inches) from the middle of the unit's corners.
    kinds
        Fabrics and numbers of corners of its patches, sorted.
    radii
        Distances of all corners from the middle, sorted, inches: no turn changes them.
    """

    patches: tuple[tuple[str, tuple[complex, ...]], ...]
    kinds: tuple[tuple[str, int], ...]
    radii: tuple[float, ...]


def build_foundation(block: Block, patches: Iterable[int], corners: dict[int, list[int]]) -> Foundation:
    """Return the shape of a unit; `corners` keeps where patches turn, for the next units that have them."""
    members = sorted(patches)
    for p in members:
        if p not in corners:
            corners[p] = _corners(block, p)
    points = {j: complex(*block.junctions[j]) for p in members for j in corners[p]}
    middle = sum(points.values()) / len(points)
    shapes = tuple((block.patches[p].fabric or "", tuple(points[j] - middle for j in corners[p])) for p in members)
    return Foundation(
        patches=shapes,
        kinds=tuple(sorted((fabric, len(ring)) for fabric, ring in shapes)),
        radii=tuple(sorted(abs(z) for _, ring in shapes for z in ring)),
    )


def _corners(block: Block, patch: int) -> list[int]:
    """Return the junctions at which a patch really turns: what its neighbours do along a side does not matter.

    Junctions are left out only where all that lie between two that are kept lie on one side within the tolerance, so
    that many slight turns are not mistaken for none.
    """
    ring = block.patches[patch].ring
    points = [complex(*block.junctions[j]) for j in ring]
    count = len(ring)
    sharpest = max(range(count), key=lambda k: _away(points[k], points[k - 1], points[(k + 1) % count]))
    kept = [sharpest]
    course = _Course(points[sharpest], block.tolerance)
    for k in range(sharpest + 1, sharpest + count):
        course.pass_by(points[k % count])
        if not course.leads_to(points[(k + 1) % count]):
            kept.append(k)
            course = _Course(points[k % count], block.tolerance)
    return [ring[k % count] for k in kept] if len(kept) > 2 else list(ring)


class _Course:
    """The directions in which a straight side may go on from a corner, past all points so far within a tolerance."""

    def __init__(self, start: complex, tolerance: float) -> None:
        self._start = start
        self._tolerance = tolerance
        self._middle = 0j
        self._least, self._most = -math.pi, math.pi

    def pass_by(self, point: complex) -> None:
        """Narrow the directions down to those that pass near a point."""
        way = point - self._start
        if abs(way) <= self._tolerance:
            return
        self._middle = self._middle or way
        angle, spare = cmath.phase(way / self._middle), math.asin(self._tolerance / abs(way))
        self._least, self._most = max(self._least, angle - spare), min(self._most, angle + spare)

    def leads_to(self, point: complex) -> bool:
        """Tell whether the side may end at a point."""
        way = point - self._start
        if not self._middle or not way:
            return not self._middle
        return self._least <= cmath.phase(way / self._middle) <= self._most


def _away(point: complex, start: complex, end: complex) -> float:
    """Return how far a point lies from the line through two others (inches)."""
    if start == end:
        return abs(point - start)
    return abs(((point - start) * (end - start).conjugate()).imag) / abs(end - start)


def match(first: Foundation, second: Foundation, *, tolerance: float) -> tuple[int, ...] | None:
    """Lay one foundation, turned but not mirrored, on another.

    Parameters
    ----------
    first, second
        Two foundations.
    tolerance
        How far corners may lie apart, inches.

    Returns
    -------
    tuple of int or None
        For each patch of the first its place among the patches of the second; None if one foundation cannot serve
        for both.
    """
    if first.kinds != second.kinds:
        return None
    if any(abs(a - b) > tolerance for a, b in zip(first.radii, second.radii, strict=True)):
        return None
    far = max((z for _, corners in first.patches for z in corners), key=abs)
    for _, corners in second.patches:
        for z in corners:
            if abs(abs(z) - abs(far)) <= tolerance:
                places = _lay(first, second, cmath.rect(1, cmath.phase(z / far)), tolerance)
                if places is not None:
                    return places
    return None


def find_symmetries(block: Block, patches: Sequence[int]) -> list[dict[int, int]]:
    """Return how a unit can be laid on its own foundation, turned but not mirrored: for each patch the one it covers.

    That without a turn comes first.
    """
    members = sorted(patches)
    shape = build_foundation(block, members, {})
    far = max((z for _, corners in shape.patches for z in corners), key=abs)
    found = [tuple(range(len(members)))]
    for z in (z for _, corners in shape.patches for z in corners):
        if abs(abs(z) - abs(far)) <= block.tolerance:
            places = _lay(shape, shape, cmath.rect(1, cmath.phase(z / far)), block.tolerance)
            if places is not None and places not in found:
                found.append(places)
    return [{members[k]: members[place] for k, place in enumerate(places)} for places in found]


def _lay(first: Foundation, second: Foundation, turn: complex, tolerance: float) -> tuple[int, ...] | None:
    left = dict(enumerate(second.patches))
    places = []
    for fabric, corners in first.patches:
        turned = [z * turn for z in corners]
        middle = sum(turned) / len(turned)
        place = next(
            (
                k
                for k, (f, c) in left.items()
                # Middles are compared first because they are cheap: no corner is farther off than the tolerance.
                if f == fabric and abs(middle - sum(c) / len(c)) <= tolerance and _same_ring(turned, c, tolerance)
            ),
            None,
        )
        if place is None:
            return None
        del left[place]
        places.append(place)
    return tuple(places)


def _same_ring(first: Sequence[complex], second: Sequence[complex], tolerance: float) -> bool:
    """Tell whether two rings in the same direction have the same corners, wherever they start."""
    if len(first) != len(second):
        return False
    return any(
        all(abs(a - b) <= tolerance for a, b in zip(first, (*second[k:], *second[:k]), strict=True))
        for k in range(len(second))
    )


def match_in_order(block: Block, one: Sequence[int], other: Sequence[int]) -> bool:
    """Tell whether a unit, turned but not mirrored, lies on another one patch by patch."""
    rings = []
    for patches in (one, other):
        shapes = [[complex(*block.junctions[j]) for j in _corners(block, p)] for p in patches]
        points = {z for ring in shapes for z in ring}
        middle = sum(points) / len(points)
        rings.append([[z - middle for z in ring] for ring in shapes])
    far = max((z for ring in rings[0] for z in ring), key=abs)
    turns = [cmath.rect(1, cmath.phase(z / far)) for ring in rings[1] for z in ring]
    return any(
        all(
            _same_ring([z * turn for z in ring], laid, block.tolerance)
            for ring, laid in zip(rings[0], rings[1], strict=True)
        )
        for turn in turns
    )


@dataclass(frozen=True, slots=True)
class Copy:
    """A unit as a copy of the first unit that has its foundation.

    Parameters
    ----------
    kind
        Units with the same foundation have the same number, from 0 in order of first appearance.
    patches
        Its patches, each in the place of its twin among the patches of the first unit in rising order.
    """

    kind: int
    patches: tuple[int, ...]


def find_copies(block: Block, units: Iterable[Iterable[int]]) -> list[Copy]:
    """Compare units, each given by its patches, and find out which have the same foundation."""
    sets = [sorted(unit) for unit in units]
    # Shapes take time, and units of different fabrics never have the same.
    fabrics = [tuple(sorted(block.patches[p].fabric or "" for p in members)) for members in sets]
    alike_in_fabric = Counter(fabrics)
    known: dict[tuple[tuple[str, int], ...], list[tuple[int, Foundation]]] = {}
    corners: dict[int, list[int]] = {}
    copies = []
    number = 0
    for members, worn in zip(sets, fabrics, strict=True):
        copy = Copy(number, tuple(members))
        if alike_in_fabric[worn] > 1:
            shape = build_foundation(block, members, corners)
            alike = known.setdefault(shape.kinds, [])
            copy = _copy_of(alike, shape, members, block.tolerance) or copy
            if copy.kind == number:
                alike.append((number, shape))
        number += copy.kind == number
        copies.append(copy)
    return copies


def _copy_of(
    alike: Sequence[tuple[int, Foundation]], shape: Foundation, members: Sequence[int], tolerance: float
) -> Copy | None:
    for kind, first in alike:
        places = match(first, shape, tolerance=tolerance)
        if places is not None:
            return Copy(kind, tuple(members[k] for k in places))
    return None


def classify(block: Block, units: Iterable[Iterable[int]]) -> list[int]:
    """Give units with the same foundation the same number, from 0 in order of first appearance."""
    return [copy.kind for copy in find_copies(block, units)]

"""What of a block makes it hard to sew, counted or measured.

Only what stays the same when a drawing is turned, mirrored or listed in another order is used: counts that are in the
order of merit of plans, the geometry of the block, and how many fabrics it has.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, fields, replace
from typing import Any, Literal

import shapely

from seamtree.block.model import Block
from seamtree.errors import Point
from seamtree.planning.model import Plan, id_order
from seamtree.rating.stretches import Stretch, angles_of, find_stretches, is_matched
from seamtree.rating.widths import width_of

DECIMALS = 4
"""Features are rounded to so many decimals, so that the noise of the arithmetic cannot move a score."""

_WIDTH_DECIMALS = 3
"""Widths of patches with inward corners are found less exactly."""


@dataclass(frozen=True, slots=True)
class FeatureKind:
    """One kind of feature.

    Parameters
    ----------
    key
        Its name in `Features`, in scales and in data.
    title
        Its name in print.
    unit
        What stands behind the value: ``in``, ``°`` or nothing for a count.
    smaller_is_harder
        Whether a smaller value is harder to sew.
    scaling
        Power of the size with which it grows: 1 for lengths, 0 for counts and angles, −1 for lengths to an area.
    """

    key: str
    title: str
    unit: Literal["", "in", "°"] = ""
    smaller_is_harder: bool = False
    scaling: Literal[-1, 0, 1] = 0


KINDS = (
    FeatureKind("patches", "patches"),
    FeatureKind("units", "units"),
    FeatureKind("matched_points", "matched points"),
    FeatureKind("set_in", "set-in corners"),
    FeatureKind("partial", "partial seams"),
    FeatureKind("curved", "curved seams"),
    FeatureKind("excess_pivots", "pivots beyond two in a seam"),
    FeatureKind("meeting_seams", "most seams meeting at a point"),
    FeatureKind("matched_seams", "most seams at a matched point"),
    FeatureKind("sharpest_angle", "sharpest angle", "°", smaller_is_harder=True),
    FeatureKind("narrowest_patch", "narrowest patch", "in", smaller_is_harder=True, scaling=1),
    FeatureKind("shortest_seam", "shortest seam", "in", smaller_is_harder=True, scaling=1),
    FeatureKind("seam_length", "closest seams, in to a square inch", scaling=-1),
    FeatureKind("fabrics", "fabrics"),
)

KIND_OF = {kind.key: kind for kind in KINDS}


@dataclass(frozen=True, slots=True)
class Features:
    """The features of a block; a length or an angle that a block does not have (no seams, no corners) is infinite.

    Parameters
    ----------
    patches, units
        Counts of the plan.
    matched_points
        Points inside the block where seams arrive from both sides of every seam that runs through: however the block
        is sewn, they have to meet there. For straight seams this is the count of the plan.
    set_in, partial, curved, excess_pivots
        Hard corners by kind, and those beyond two in one join.
    meeting_seams
        Most seams that meet at one point inside the block: how thick the cloth gets there. Thickness is all that it
        tells, for the blades of a fan that are sewn in one unit meet by themselves.
    matched_seams
        Most seams that meet at a matched point, where two hands of seams have to be brought together.
    sharpest_angle
        Of all corners of patches, degrees; a curve counts with its direction where it ends.
    narrowest_patch
        Least width of all patches, inches. The width of a patch is that of the largest circle in it.
    shortest_seam
        Shortest stretch of seam that is sewn in one go, inches (see `seamtree.rating.stretches`).
    seam_length
        How close seams lie where they are closest, inches of seam to a square inch: the seams round a patch over its
        area, half of each because the patch on its other side has the other half. It is not the mean over the block,
        for a plain border would lower that and make nothing easier.
    fabrics
        Different fabrics that the drawing names.
    """

    patches: int
    units: int
    matched_points: int
    set_in: int
    partial: int
    curved: int
    excess_pivots: int
    meeting_seams: int
    matched_seams: int
    sharpest_angle: float
    narrowest_patch: float
    shortest_seam: float
    seam_length: float
    fabrics: int

    def __post_init__(self) -> None:
        for field in fields(self):
            if not getattr(self, field.name) >= 0:
                raise ValueError(f"{field.name} is never below zero")

    def value(self, key: str) -> float:
        """Return a feature by its key."""
        return float(getattr(self, key))

    def with_value(self, key: str, value: float) -> Features:
        """Return the same features but for one."""
        change: dict[str, Any] = {key: value}
        return replace(self, **change)

    def scaled(self, factor: float) -> Features:
        """Return the features of the block made larger, or smaller with a factor below 1."""
        sized: dict[str, Any] = {
            kind.key: round(self.value(kind.key) * factor**kind.scaling, DECIMALS) for kind in KINDS if kind.scaling
        }
        return replace(self, **sized)


@dataclass(frozen=True, slots=True)
class Spot:
    """A place where something was measured.

    Parameters
    ----------
    value
        What was measured there.
    at
        Place in the block, inches.
    patches
        Ids of the patches concerned.
    """

    value: float
    at: Point
    patches: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Measured:
    """The features of a block, and where they were found.

    Parameters
    ----------
    features
        The features.
    spots
        For the features that are found at places, all places, the hardest first.
    """

    features: Features
    spots: dict[str, tuple[Spot, ...]]

    def worst(self, key: str) -> Spot | None:
        """Return the place where a feature is hardest, None for one without places."""
        found = self.spots.get(key)
        return found[0] if found else None


def measure(plan: Plan) -> Measured:
    """Measure the features of a planned block at the size that it has.

    Parameters
    ----------
    plan
        The plan; its block has its finished size.
    """
    block, counts = plan.block, plan.counts
    ids = plan.patch_ids()
    stretches = find_stretches(block)
    around = _around(block, ids)
    outline = block.boundary_junctions()
    inside = {j: arms for j, arms in enumerate(block.interior_arms()) if j not in outline}
    shapes = [_Shape.of(block, p) for p in range(len(block.patches))]
    corners = [corner for join in plan.joins() for corner in join.seam.corners]
    matched = _matched(block, inside, around)
    spots = {
        "matched_points": matched,
        **{
            name: _corners(block, [corner.junction for corner in corners if corner.kind == kind], around)
            for name, kind in (("set_in", "set-in"), ("partial", "partial"), ("curved", "curved"))
        },
        "meeting_seams": _meetings(block, inside, around),
        "matched_seams": matched,
        "sharpest_angle": _angles(block, ids),
        "narrowest_patch": _widths(block, shapes, ids),
        "shortest_seam": _lengths(stretches, ids),
        "seam_length": _closeness(block, shapes, ids),
    }
    features = Features(
        patches=counts.patches,
        units=counts.units,
        matched_points=len(matched),
        set_in=counts.set_in,
        partial=counts.partial,
        curved=counts.curved,
        excess_pivots=counts.excess_pivots,
        meeting_seams=int(spots["meeting_seams"][0].value) if spots["meeting_seams"] else 0,
        matched_seams=int(matched[0].value) if matched else 0,
        sharpest_angle=spots["sharpest_angle"][0].value if spots["sharpest_angle"] else math.inf,
        narrowest_patch=spots["narrowest_patch"][0].value,
        shortest_seam=spots["shortest_seam"][0].value if stretches else math.inf,
        seam_length=spots["seam_length"][0].value,
        fabrics=len({patch.fabric for patch in block.patches if patch.fabric is not None}),
    )
    return Measured(features, spots)


def _sorted(spots: Iterator[Spot], *, falling: bool = False) -> tuple[Spot, ...]:
    """Put the hardest place first; the places decide between equals."""
    return tuple(sorted(spots, key=lambda s: (-s.value if falling else s.value, s.at[1], s.at[0], s.patches)))


def _named(ids: dict[int, str], patches: set[int]) -> tuple[str, ...]:
    return tuple(sorted((ids[p] for p in patches), key=id_order))


def _around(block: Block, ids: dict[int, str]) -> list[tuple[str, ...]]:
    """Return the patches that meet at every junction."""
    around: list[set[int]] = [set() for _ in block.junctions]
    for p, patch in enumerate(block.patches):
        for j in patch.ring:
            around[j].add(p)
    return [_named(ids, patches) for patches in around]


@dataclass(frozen=True, slots=True)
class _Shape:
    """The area of a patch (square inches), and a place well inside it."""

    area: float
    inside: Point

    @classmethod
    def of(cls, block: Block, p: int) -> _Shape:
        polygon = shapely.Polygon(block.polygon(p))
        x, y = shapely.point_on_surface(polygon).coords[0]
        return cls(polygon.area, (x, y))


Arms = Mapping[int, Sequence[int]]


def _matched(block: Block, inside: Arms, around: Sequence[tuple[str, ...]]) -> tuple[Spot, ...]:
    return _sorted(
        (Spot(len(arms), block.junctions[j], around[j]) for j, arms in inside.items() if is_matched(block, j, arms)),
        falling=True,
    )


def _corners(block: Block, junctions: Iterable[int], around: Sequence[tuple[str, ...]]) -> tuple[Spot, ...]:
    return _sorted(Spot(1, block.junctions[j], around[j]) for j in junctions)


def _meetings(block: Block, inside: Arms, around: Sequence[tuple[str, ...]]) -> tuple[Spot, ...]:
    return _sorted((Spot(len(arms), block.junctions[j], around[j]) for j, arms in inside.items()), falling=True)


def _angles(block: Block, ids: dict[int, str]) -> tuple[Spot, ...]:
    return _sorted(
        Spot(round(angle, DECIMALS), block.junctions[j], (ids[p],))
        for p in range(len(block.patches))
        for j, angle in angles_of(block, p)
    )


def _widths(block: Block, shapes: Sequence[_Shape], ids: dict[int, str]) -> tuple[Spot, ...]:
    return _sorted(
        Spot(round(width_of(block.polygon(p)), _WIDTH_DECIMALS), shape.inside, (ids[p],))
        for p, shape in enumerate(shapes)
    )


def _closeness(block: Block, shapes: Sequence[_Shape], ids: dict[int, str]) -> tuple[Spot, ...]:
    seams = block.interior_edges
    return _sorted(
        (
            Spot(
                round(
                    sum(block.edge_length(k) for k in block.patches[p].edges if k in seams) / 2 / shape.area, DECIMALS
                ),
                shape.inside,
                (ids[p],),
            )
            for p, shape in enumerate(shapes)
        ),
        falling=True,
    )


def _lengths(stretches: tuple[Stretch, ...], ids: dict[int, str]) -> tuple[Spot, ...]:
    return _sorted(
        Spot(round(stretch.length, DECIMALS), stretch.middle, _named(ids, set(stretch.patches)))
        for stretch in stretches
    )

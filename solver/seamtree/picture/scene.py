"""What of a plan is drawn, in points of the picture: patches, seams and joins of the block or of a part of it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import shapely

from seamtree.errors import OptionError, Point
from seamtree.geometry.clipping import pieces_inside
from seamtree.picture.placing import foot_in
from seamtree.planning.model import Join, Node, Plan, Unit, joins_of, units_of

if TYPE_CHECKING:
    from seamtree.drawing.drawn import Track


@dataclass(frozen=True, slots=True)
class Measures:
    """Sizes of everything that is drawn (points); all of them grow with the picture, the type within limits."""

    unit: float

    @property
    def seam(self) -> float:
        """Weight of a seam within a unit."""
        return 0.6 * self.unit

    @property
    def outline(self) -> float:
        """Weight of the outline."""
        return 1.5 * self.unit

    @property
    def joins(self) -> tuple[float, float]:
        """Weights of the first and of the last join."""
        return 1.5 * self.unit, 4.2 * self.unit

    @property
    def mark(self) -> float:
        """Radius of the signs for hard corners."""
        return 6.0 * self.unit

    @property
    def number_sizes(self) -> tuple[float, ...]:
        """Sizes of type for patch numbers, the preferred first."""
        return tuple(max(share * self.unit, LEAST_TYPE) for share in (11.0, 10.0, 9.0, 8.0, 7.0, 6.2))

    @property
    def text(self) -> float:
        """Size of type of the caption and the legend."""
        return max(9.0 * self.unit, LEAST_TYPE)


LEAST_TYPE = 5.0
"""Smaller type (points) is not legible in print."""


class Common:
    """What is the same in every picture of a plan, in inches: worked out once for many pictures."""

    def __init__(self, plan: Plan) -> None:
        self._plan = plan
        self.ids = plan.patch_ids()
        self.fabric_words = plan.block.fabric_words()
        self._largest: dict[str, int] = {}
        self._outlines: dict[str, tuple[Point, ...]] = {}
        self._feet: dict[str, Point] = {}

    def largest(self, unit: Unit) -> int:
        """Return the largest patch of a unit, the first of equal ones."""
        if unit.name not in self._largest:
            polygons = {p: shapely.Polygon(self._plan.block.polygon(p)) for p in unit.patches}
            self._largest[unit.name] = max(unit.patches, key=lambda p: round(polygons[p].area, 6))
        return self._largest[unit.name]

    def outline(self, unit: Unit) -> tuple[Point, ...]:
        """Return the outline of a unit."""
        if unit.name not in self._outlines:
            block = self._plan.block
            whole = shapely.union_all([shapely.Polygon(block.polygon(p)) for p in unit.patches])
            self._outlines[unit.name] = tuple((x, y) for x, y in whole.exterior.coords[:-1])
        return self._outlines[unit.name]

    def foot(self, unit: Unit) -> Point:
        """Return where in its largest patch a line to the name of a unit ends (see `foot_in`)."""
        if unit.name not in self._feet:
            self._feet[unit.name] = foot_in(self._plan.block.polygon(self.largest(unit)))
        return self._feet[unit.name]


class Scene:
    """The block, or the part of it that a node of the tree stands for.

    Parameters
    ----------
    plan
        The plan.
    node
        Which part; None for the whole block.
    scale
        Points to the inch.
    common
        What is the same in all pictures of the plan, where there are several.

    Attributes
    ----------
    patches
        The patches that are drawn.
    units, joins
        The units and joins that are drawn, in sewing order.
    polygons
        Their corners in points; the top left corner of what is drawn is the origin.
    width, height
        Of what is drawn (points).
    """

    def __init__(self, plan: Plan, node: Node | None, scale: float, common: Common | None = None) -> None:
        self.plan = plan
        self.common = common or Common(plan)
        self.node = plan.tree if node is None else node
        self.units, self.joins = tuple(units_of(self.node)), tuple(joins_of(self.node))
        self.patches = tuple(sorted(p for unit in self.units for p in unit.patches))
        if not set(self.patches) <= set(range(len(plan.block.patches))):
            raise OptionError("the part to draw is no part of this plan")
        places = [plan.block.junctions[j] for p in self.patches for j in plan.block.patches[p].ring]
        self._left, self._top = (min(at[axis] for at in places) for axis in (0, 1))
        self.width, self.height = (
            scale * (max(at[axis] for at in places) - low) for axis, low in enumerate((self._left, self._top))
        )
        self._scale = scale
        self.polygons = {p: tuple(map(self.place, plan.block.patches[p].ring)) for p in self.patches}

    def place(self, junction: int) -> Point:
        """Return where a junction is in the picture."""
        return self.scaled(self.plan.block.junctions[junction])

    def scaled(self, at: Point) -> Point:
        """Return where a place of the block is in the picture."""
        return (at[0] - self._left) * self._scale, (at[1] - self._top) * self._scale

    def path(self, join: Join) -> tuple[Point, ...]:
        """Return the seam of a join."""
        return tuple(map(self.place, join.seam.path))

    @cached_property
    def seams(self) -> tuple[tuple[Point, Point], ...]:
        """The edges within units."""
        unit_of = {p: unit.name for unit in self.units for p in unit.patches}
        return tuple(
            (self.place(edge.start), self.place(edge.end))
            for edge in self.plan.block.edges
            if edge.interior and edge.left in unit_of and unit_of[edge.left] == unit_of.get(edge.right)
        )

    @cached_property
    def painted(self) -> tuple[tuple[tuple[tuple[Point, ...], ...], Track], ...]:
        """The markings that lie on the patches: the pieces of each, and the marking itself."""
        if not self.plan.block.markings:
            return ()
        area = shapely.union_all([shapely.Polygon(polygon) for polygon in self.polygons.values()])
        found = []
        for track in self.plan.block.markings:
            pieces = pieces_inside([self.scaled(at) for at in track.path], area)
            found.append((tuple(tuple(piece) for piece in pieces), track))
        return tuple((pieces, track) for pieces, track in found if pieces)

    @cached_property
    def markings(self) -> tuple[tuple[Point, ...], ...]:
        """What lies on the patches of the lines that are drawn on the block and are no seams."""
        return tuple(piece for pieces, _ in self.painted for piece in pieces)

    @cached_property
    def outline(self) -> tuple[tuple[Point, Point], ...]:
        """The edges with only one of the patches beside them."""
        inside = set(self.patches)
        return tuple(
            (self.place(edge.start), self.place(edge.end))
            for edge in self.plan.block.edges
            if (edge.left in inside) != (edge.right in inside)
        )

"""A block as it is drawn, sewable or not: what seams may still have to be added to.

A planar map needs every patch to be reached by a seam. Designers draw a motif and leave out the seams of its
background: then a patch, or a group of them, floats in another, or a patch goes round others and touches itself. A
`Sketch` holds such a drawing as well. It is noded and healed like any other, and its only faults are those that added
seams mend.

Coordinates are inches, x to the right and y down, from the top left corner of the block's bounding box.
"""

from __future__ import annotations

from dataclasses import dataclass

import shapely

from seamtree.block.model import Block
from seamtree.drawing.drawn import Track
from seamtree.errors import Finding, Point

FLOATING = ("patch-in-patch", "touches-itself")
"""Codes of the faults that added seams mend."""


@dataclass(frozen=True, slots=True)
class Area:
    """One piece of fabric as drawn, perhaps with holes in which others float.

    Parameters
    ----------
    shape
        The polygon, inches.
    fabric, label
        As for `seamtree.block.model.Patch`.
    """

    shape: shapely.Polygon
    fabric: str | None = None
    label: str | None = None


@dataclass(frozen=True, slots=True)
class Slip:
    """A slip of the hand that was mended before the drawing was made into patches.

    Parameters
    ----------
    at
        Where, after mending: in the frame of the sketch that holds it, inches.
    kind
        ``gap``, ``overlap``, ``overshoot``, ``loose end``, ``bend``, ``doubled line``, ``open outline`` or
        ``missing frame``.
    distance
        How far something moved, inches; nought where a line was drawn instead.
    shape
        What it belongs to: a name that the drawing gives.
    """

    at: Point
    kind: str
    distance: float
    shape: str


@dataclass(frozen=True, slots=True)
class Sketch:
    """A drawn block whose patches may float in others.

    Parameters
    ----------
    name, tolerance
        As for `seamtree.block.model.Block`.
    points
        Where drawn lines meet, end or bend.
    edges
        Pairs of points.
    curves
        For each edge the number of the smooth curve that it is a chord of; None for a straight one.
    outline
        Whether an edge has the outside of the block on one side.
    areas
        What the edges enclose.
    corner
        Where the top left corner of the block lies in the drawing's frame, inches.
    faults
        What keeps the drawing from being a planar map.
    notes, markings, fabric_names
        As for `seamtree.block.model.Block`.
    slips
        What was mended in the drawing first.
    """

    name: str
    tolerance: float
    points: tuple[Point, ...]
    edges: tuple[tuple[int, int], ...]
    curves: tuple[int | None, ...]
    outline: tuple[bool, ...]
    areas: tuple[Area, ...]
    corner: Point = (0.0, 0.0)
    faults: tuple[Finding, ...] = ()
    notes: tuple[Finding, ...] = ()
    markings: tuple[Track, ...] = ()
    fabric_names: tuple[tuple[str, str], ...] = ()
    slips: tuple[Slip, ...] = ()

    @property
    def bounds(self) -> tuple[float, float, float, float]:
        """Left, top, right and bottom of all that is drawn, inches."""
        xs, ys = zip(*self.points, strict=True)
        return min(xs), min(ys), max(xs), max(ys)


def sketch_of(block: Block) -> Sketch:
    """Return a block as a sketch."""
    return Sketch(
        block.name,
        block.tolerance,
        block.junctions,
        tuple((edge.start, edge.end) for edge in block.edges),
        tuple(edge.curve for edge in block.edges),
        tuple(not edge.interior for edge in block.edges),
        tuple(
            Area(shapely.Polygon(block.polygon(p)), patch.fabric, patch.label)
            for p, patch in enumerate(block.patches)
        ),
        notes=block.notes,
        markings=block.markings,
        fabric_names=block.fabric_names,
    )

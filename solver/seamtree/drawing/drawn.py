"""What a drawing says before anything is made of it.

Coordinates are inches at finished size, x to the right and y down, in the drawing's own frame.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from seamtree.errors import Finding, Point

STRAIGHT = 0
"""Curve number of a segment that was drawn straight."""


@dataclass(frozen=True, slots=True)
class Track:
    """One flattened subpath.

    Parameters
    ----------
    points
        At least two points; a closed track does not repeat its first point at the end.
    closed
        Whether a segment leads from the last point back to the first.
    curves
        One number a segment: `STRAIGHT`, or a number > 0, unique in the drawing, of the drawn curve (one path
        command, one circle, one ellipse, one rounded corner) that the chord was flattened from.
    line, fill
        Of a marking: what its line and its inside are painted with, as the drawing says it; None for nothing.
    """

    points: tuple[Point, ...]
    closed: bool
    curves: tuple[int, ...]
    line: str | None = None
    fill: str | None = None

    def __post_init__(self) -> None:
        if len(self.points) < 2:
            raise ValueError("a track needs two points")
        if len(self.curves) != len(self.points) - (not self.closed):
            raise ValueError("a track needs one curve number for every segment")

    @property
    def path(self) -> tuple[Point, ...]:
        """The points from end to end; those of a closed track end with the first one."""
        return (*self.points, self.points[0]) if self.closed else self.points


@dataclass(frozen=True, slots=True)
class Shape:
    """One painted element, in paint order.

    Parameters
    ----------
    tracks
        Its subpaths.
    fill
        ``#rrggbb``, or the id of a gradient or pattern; None when it hides nothing.
    evenodd
        Whether the fill rule is even-odd (else non-zero).
    stroked
        Whether its tracks are painted as lines; a filled shape's boundary counts as well, stroked or not.
    name
        What messages call it: its id, or its kind and number in the file (``path 12``).
    """

    tracks: tuple[Track, ...]
    fill: str | None
    evenodd: bool
    stroked: bool
    name: str


@dataclass(frozen=True, slots=True)
class Shading:
    """Paint that is no patch, for what lies under it shows through.

    Parameters
    ----------
    shape
        The filled shape.
    veil
        Why it is see-through, for messages: ``40% opaque``.
    above
        How many of the drawing's shapes were painted before it.
    """

    shape: Shape
    veil: str
    above: int


@dataclass(frozen=True, slots=True)
class Label:
    """Text of the drawing and the place (middle of the text) that it labels."""

    text: str
    at: Point


@dataclass(frozen=True, slots=True)
class Drawing:
    """A drawing as it was read.

    Parameters
    ----------
    source
        File name for messages, ``-`` for standard input.
    kind
        ``painted`` (SVG: the painter's rule applies) or ``polygons`` (GeoJSON, WKT: overlaps and uncovered
        enclosed areas are errors; shapes with fill are the polygons, the others are lines).
    shapes
        In paint order. Polygons' fill is the property ``fabric``, or an empty string where it has none.
    labels, markings
        Text; dashed lines that are never seams.
    notes
        Findings that do not make the drawing unusable (``page-left-out``, ``clip-ignored``, …).
    shadings
        See-through fills, which are left out.
    fabric_names
        Fabrics of which the drawing says how they are called, with their names.
    """

    source: str
    kind: Literal["painted", "polygons"]
    shapes: tuple[Shape, ...]
    labels: tuple[Label, ...] = ()
    markings: tuple[Track, ...] = ()
    notes: tuple[Finding, ...] = field(default=())
    shadings: tuple[Shading, ...] = ()
    fabric_names: tuple[tuple[str, str], ...] = ()

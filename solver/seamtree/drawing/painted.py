"""What a file paints, before it is judged what of it is cloth.

Coordinates are px, x to the right and y down; nothing is scaled to finished size or flattened.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

from seamtree.drawing.affine import Affine
from seamtree.drawing.clips import Clip
from seamtree.drawing.drawn import Label
from seamtree.drawing.fabric_names import NAMELESS, Called
from seamtree.drawing.outlines import Bounds, Outline
from seamtree.errors import Finding
from seamtree.tolerances import PX_PER_INCH


class Stroke(NamedTuple):
    """How the line of a shape is painted.

    Parameters
    ----------
    fabric
        What with.
    veil
        Why what lies under it shows through, empty where it does not.
    width
        In the units of `matrix`.
    cap, join
        ``butt``, ``round`` or ``square``; ``miter``, ``round`` or ``bevel``.
    mitre_limit
        Longest mitre in widths of the line, as SVG defines it; a longer one is cut off to a bevel.
    matrix
        From the units in which the width is the same in all directions to px.
    """

    fabric: str
    veil: str
    width: float
    cap: str
    join: str
    mitre_limit: float
    matrix: Affine


class PaintedShape(NamedTuple):
    """A shape that is painted.

    Parameters
    ----------
    name
        What messages call it.
    outlines, bounds
        Where it is; the bounds are those of its outlines, without the width of its line.
    fill
        Its fabric, None where it has none or no area.
    evenodd
        Whether its fill rule is even-odd.
    veil
        Why what lies under its fill shows through, empty where it does not.
    stroke
        Its line, None where it has none; a `dashed` line is a marking.
    dashed
        Whether it has a dashed line.
    clips
        The clips that hold for it.
    marked
        Whether it was said to be a marking.
    called
        What may be a name of its fabric.
    """

    name: str
    outlines: tuple[Outline, ...]
    bounds: Bounds
    fill: str | None
    evenodd: bool
    veil: str
    stroke: Stroke | None
    dashed: bool
    clips: tuple[Clip, ...]
    marked: bool = False
    called: Called = NAMELESS

    @property
    def stroked(self) -> bool:
        """Whether its outlines are painted as a line that is no marking."""
        return self.stroke is not None and not self.dashed and not self.marked

    @property
    def makes_seams(self) -> bool:
        """Whether it counts; one that is only a dashed line is a marking, one that is only shading is nothing."""
        return self.stroked or self.covers

    @property
    def covers(self) -> bool:
        """Whether its fill hides what lies under it."""
        return self.fill is not None and not self.veil and not self.marked


class Resolution(NamedTuple):
    """What a px is worth.

    Parameters
    ----------
    px_per_inch
        How many px are an inch.
    told_by
        ``stated`` if the file states its size in a physical unit; else the editor that is known to count so; empty if
        nobody tells.
    """

    px_per_inch: float = PX_PER_INCH
    told_by: str = "stated"


CSS_PX = Resolution()
"""A px of CSS in a file that states its size in inches or the like."""


@dataclass(frozen=True, slots=True)
class Sheet:
    """Everything that a file paints, in paint order.

    Parameters
    ----------
    source
        File name for messages.
    shapes
        What is painted.
    labels
        Texts, with their places in px.
    page
        The rectangle that the file declares as its page.
    has_page
        Whether it really does; else the page is what a program would show for want of anything better.
    notes
        Findings of the reader.
    left_out
        How many shapes and texts were left out as asked.
    resolution
        What a px is worth.
    """

    source: str
    shapes: tuple[PaintedShape, ...]
    labels: tuple[Label, ...]
    page: Bounds
    has_page: bool = True
    notes: tuple[Finding, ...] = ()
    left_out: int = 0
    resolution: Resolution = CSS_PX

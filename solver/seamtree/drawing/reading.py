"""How a drawing is to be read: the options that all readers share."""

from __future__ import annotations

from typing import Literal, NamedTuple

from seamtree.tolerances import TOLERANCE

White = Literal["paper", "fabric"]
"""What a white rectangle under everything is."""


class Reading(NamedTuple):
    """How a drawing is to be read.

    Parameters
    ----------
    width
        Inches that the bounding box of the whole drawing is made wide; None keeps the size that the file states.
    tolerance
        What cloth cannot tell apart, inches.
    skip_layers
        Labels, ids or classes of what to leave out; only SVG drawings have such names.
    marks
        Such names of what is sewn on afterwards.
    lines
        Whether strokes are lines however thick they are.
    white
        What a white rectangle under everything is; None lets the drawing decide.
    """

    width: float | None = None
    tolerance: float = TOLERANCE
    skip_layers: tuple[str, ...] = ()
    marks: tuple[str, ...] = ()
    lines: bool = False
    white: White | None = None

"""The graphics state of a PDF page (ISO 32000-1, section 8.4)."""

from __future__ import annotations

import copy
import math
from dataclasses import dataclass

from seamtree.drawing.affine import Affine
from seamtree.drawing.canvas import Frame
from seamtree.drawing.pdf.colours import Space
from seamtree.drawing.pdf.lettering import Font

_HAIRLINE = 0.05
"""Points that the thinnest line is wide; PDF paints lines of width nought, SVG does not."""

_CAPS = ("butt", "round", "square")
_JOINS = ("miter", "round", "bevel")
NOT_BLENDED = frozenset({"/Normal", "/Compatible"})

BLEND_MODES = NOT_BLENDED | {
    f"/{name}"
    for name in (
        *("Multiply", "Screen", "Overlay", "Darken", "Lighten", "ColorDodge", "ColorBurn", "HardLight", "SoftLight"),
        *("Difference", "Exclusion", "Hue", "Saturation", "Color", "Luminosity"),
    )
}
"""Names of blend modes (ISO 32000-1, tables 136 and 137); of several the first of these counts, Normal if none is."""


@dataclass(slots=True)
class Ink:
    """Paint of fills or strokes."""

    space: Space
    paint: str
    opacity: float = 1.0


@dataclass(slots=True)
class State:
    """The graphics state, as far as a drawing can tell."""

    matrix: Affine
    fill: Ink
    stroke: Ink
    frames: tuple[Frame, ...] = ()
    clip: tuple[str, bool] | None = None
    width: float = 1.0
    dashes: tuple[float, ...] = ()
    cap: int = 0
    join: int = 0
    miter: float = 10.0
    blend: str = "/Normal"
    masked: bool = False
    font: Font | None = None
    size: float = 0.0
    letter_space: float = 0.0
    word_space: float = 0.0
    stretch: float = 1.0
    leading: float = 0.0
    mode: int = 0
    rise: float = 0.0

    def copy(self) -> State:
        """Return the state as it is now."""
        own = copy.copy(self)
        own.fill, own.stroke = copy.copy(self.fill), copy.copy(self.stroke)
        return own

    @property
    def blends(self) -> bool:
        """Whether what is painted shows what lies under it by a mask or a blend mode."""
        return self.masked or self.blend not in NOT_BLENDED

    def line_look(self) -> dict[str, str]:
        """Return the attributes of a line, with lengths on the canvas."""
        a, b, c, d, _, _ = self.matrix
        scale = math.sqrt(abs(a * d - b * c))
        look = {
            "stroke": self.stroke.paint,
            "stroke-width": repr(max(round(self.width * scale, 6), _HAIRLINE)),
            "stroke-linecap": _CAPS[self.cap] if 0 <= self.cap < 3 else "butt",
            "stroke-linejoin": _JOINS[self.join] if 0 <= self.join < 3 else "miter",
            "stroke-miterlimit": repr(max(self.miter, 1.0)),
        }
        set_opacity(look, "stroke-opacity", self.stroke.opacity)
        if self.dashes:
            look["stroke-dasharray"] = " ".join(repr(round(max(each, 0.0) * scale, 6)) for each in self.dashes)
        return look


def set_opacity(attributes: dict[str, str], name: str, opacity: float) -> None:
    """Set an attribute for what is not opaque."""
    if opacity < 1.0:
        attributes[name] = repr(opacity)

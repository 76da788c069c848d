"""A painted page of another format, drawn anew as the elements of an SVG document.

What PDF and DXF files paint is written as the tree of SVG elements that paints the same, so that all rules for
painted drawings (stacks, see-through paint, the page, markings, layers) hold for it, and are kept in one place.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from typing import NamedTuple

from seamtree.drawing import limits
from seamtree.drawing.affine import Affine
from seamtree.drawing.outlines import Bounds
from seamtree.drawing.svg.xml import Element
from seamtree.errors import DrawingError, Finding, Point

_FARTHEST = 1e9
"""Units from the origin beyond which no seam can be meant."""


class Frame(NamedTuple):
    """A group that elements are painted inside of; groups in a row with an equal frame are one.

    Parameters
    ----------
    kind, name
        What the group stands for; together they tell it from others.
    attributes
        Of the element.
    """

    kind: str
    name: str
    attributes: tuple[tuple[str, str], ...]


class Canvas:
    """Takes what is painted, in paint order.

    Parameters
    ----------
    page
        Left, top, right and bottom of the page in its units, y down.
    inches
        Inches to the unit.
    source
        File name for messages.
    """

    def __init__(self, page: Bounds, *, inches: float, source: str) -> None:
        left, top, right, bottom = page
        across, down = right - left, bottom - top
        self._source = source
        self._elements = self._pieces = 0
        self.root = Element(
            "svg",
            {
                "width": f"{across * inches!r}in",
                "height": f"{down * inches!r}in",
                "viewBox": f"{left!r} {top!r} {across!r} {down!r}",
            },
            None,
            1,
        )
        self._definitions = self._add("defs", {}, self.root)
        self._open: list[tuple[Frame, Element]] = []
        self._clips: dict[tuple[str, bool], str] = {}
        self._fabrics: set[str] = set()
        self._mask: str | None = None

    def path(self, outline: str, pieces: int, attributes: Mapping[str, str], frames: Sequence[Frame]) -> None:
        """Paint a path: its data as SVG writes it, and of how many pieces it is made."""
        self._pieces += pieces
        if self._pieces > limits.MAX_POINTS:
            self._refuse(f"more than {limits.MAX_POINTS:,} lines and curves")
        self._add("path", {"d": outline, **attributes}, self._inside(frames))

    def text(self, runs: Iterable[tuple[str, Point]], size: float, matrix: Affine, frames: Sequence[Frame]) -> None:
        """Write a text: runs with the middles of their base lines in a frame that the matrix leads to the page."""
        attributes = {
            "transform": f"matrix({' '.join(map(repr, matrix))})",
            "font-size": repr(size),
            "text-anchor": "middle",
        }
        element = self._add("text", attributes, self._inside(frames))
        for text, (x, y) in runs:
            self._add("tspan", {"x": repr(x), "y": repr(y)}, element).text = text

    def image(self, frames: Sequence[Frame]) -> None:
        """Note an image where it stands."""
        self._add("image", {}, self._inside(frames))

    def clip(self, outline: str, *, evenodd: bool) -> Frame:
        """Return the frame that shows only what lies inside a path."""
        key = (outline, evenodd)
        if key not in self._clips:
            self._clips[key] = name = f"clip-{len(self._clips) + 1}"
            clip = self._add("clipPath", {"id": name}, self._definitions)
            self._add("path", {"d": outline, "clip-rule": "evenodd" if evenodd else "nonzero"}, clip)
        return Frame("clip", self._clips[key], (("clip-path", f"url(#{self._clips[key]})"),))

    def fabric(self, name: str) -> str:
        """Return the paint that stands for a gradient, a pattern or an ink by name."""
        if name not in self._fabrics:
            self._fabrics.add(name)
            self._add("stop", {}, self._add("linearGradient", {"id": name}, self._definitions))
        return f"url(#{name})"

    def mask(self) -> str:
        """Return the name of a mask of which no more is known."""
        if self._mask is None:
            self._mask = "mask"
            self._add("mask", {"id": self._mask}, self._definitions)
        return self._mask

    def _inside(self, frames: Sequence[Frame]) -> Element:
        """Return the group inside of these frames that is still open, or a new one."""
        same = 0
        while same < min(len(frames), len(self._open)) and self._open[same][0] == frames[same]:
            same += 1
        del self._open[same:]
        for frame in frames[same:]:
            element = self._add("g", dict(frame.attributes), self._open[-1][1] if self._open else self.root)
            self._open.append((frame, element))
        return self._open[-1][1] if self._open else self.root

    def _add(self, tag: str, attributes: dict[str, str], parent: Element) -> Element:
        element = Element(tag, attributes, parent, 1)
        parent.children.append(element)
        self._elements += 1
        if self._elements > limits.MAX_ELEMENTS:
            self._refuse(f"more than {limits.MAX_ELEMENTS:,} elements")
        return element

    def _refuse(self, what: str) -> None:
        limits.refuse(f"{self._source} has {what}. Simplify or split the drawing.", source=self._source)


def layer(name: str, *, shown: bool = True) -> Frame:
    """Return the frame of a layer with a name."""
    hidden = () if shown else (("display", "none"),)
    return Frame("layer", name, (("data-name", name), *hidden))


def coordinate(value: float, source: str) -> str:
    """Return a coordinate as SVG writes it.

    Raises
    ------
    DrawingError
        ``bad-number`` when it is not finite or no seam can be meant so far out.
    """
    if not math.isfinite(value) or abs(value) > _FARTHEST:
        message = f"{source} draws at a place that is no number or so far out that no seam can be meant."
        raise DrawingError(Finding("bad-number", message), source=source)
    return repr(round(value, 6) + 0.0)

"""Operators that draw paths, paint them and clip with them (ISO 32000-1, section 8.5)."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from seamtree.drawing import limits
from seamtree.drawing.affine import apply
from seamtree.drawing.canvas import coordinate
from seamtree.drawing.outlines import Bounds
from seamtree.drawing.pdf.faults import damaged
from seamtree.drawing.pdf.machine import Machine, Table
from seamtree.drawing.pdf.settings import Inks
from seamtree.drawing.pdf.state import set_opacity
from seamtree.errors import Point


class Outliner:
    """Has a method for every operator of paths.

    Parameters
    ----------
    machine
        How is painted, and what on.
    inks
        Where gradients come from.
    page
        The visible page on the canvas.
    """

    def __init__(self, machine: Machine, inks: Inks, page: Bounds) -> None:
        self._machine = machine
        self._inks = inks
        self._page = page
        self.start()

    @property
    def begun(self) -> bool:
        """Whether there is a path that was not painted."""
        return bool(self._outline)

    def start(self) -> None:
        """Begin a path anew."""
        self._outline: list[str] = []
        self._pieces = 0
        self._box: tuple[Point, Point] | None = None
        self._current: Point | None = None
        self._start: Point | None = None
        self._clip_rule: str | None = None

    def _placed(self, x: float, y: float) -> str:
        right, down = apply(self._machine.state.matrix, (x, y))
        return f"{coordinate(right, self._machine.source)} {coordinate(down, self._machine.source)}"

    def move(self, x: float, y: float) -> None:
        """Begin a subpath."""
        self._outline.append(f"M{self._placed(x, y)}")
        self._current = self._start = (x, y)
        self._box = None

    def _from(self) -> Point:
        if self._current is None:
            raise damaged(self._machine.source, "a path does not begin with a place")
        return self._current

    def draw_line(self, x: float, y: float) -> None:
        """Draw a line."""
        self._from()
        self._add_piece(f"L{self._placed(x, y)}", (x, y))

    def draw_curve(self, *numbers: float) -> None:
        """Draw a Bézier curve."""
        self._from()
        x1, y1, x2, y2, x, y = numbers
        self._add_piece(f"C{self._placed(x1, y1)} {self._placed(x2, y2)} {self._placed(x, y)}", (x, y))

    def draw_curve_from_here(self, *numbers: float) -> None:
        """Draw a curve whose first control point is its start."""
        self.draw_curve(*self._from(), *numbers)

    def draw_curve_to_end(self, x1: float, y1: float, x: float, y: float) -> None:
        """Draw a curve whose second control point is its end."""
        self.draw_curve(x1, y1, x, y, x, y)

    def _add_piece(self, text: str, end: Point) -> None:
        self._outline.append(text)
        self._pieces += 1
        self._current, self._box = end, None
        if self._pieces > limits.MAX_POINTS:
            limits.refuse(
                f"{self._machine.source} has more than {limits.MAX_POINTS:,} lines and curves in one path. "
                "Simplify it.",
                source=self._machine.source,
            )

    def close_path(self) -> None:
        """Close the subpath."""
        if self._start is not None:
            self._outline.append("Z")
            self._current = self._start

    def rectangle(self, x: float, y: float, width: float, height: float) -> None:
        """Draw a rectangle."""
        alone = not self._outline
        self.move(x, y)
        for corner in ((x + width, y), (x + width, y + height), (x, y + height)):
            self.draw_line(*corner)
        self.close_path()
        if alone:
            matrix = self._machine.state.matrix
            self._box = apply(matrix, (x, y)), apply(matrix, (x + width, y + height))

    def paint(self, *, fill: bool = False, stroke: bool = False, evenodd: bool = False, close: bool = False) -> None:
        """Paint the path, and clip with it if that was asked for."""
        if close:
            self.close_path()
        outline, state = "".join(self._outline), self._machine.state
        if self._pieces and (fill or stroke):
            attributes = {"fill": "none"}
            if fill:
                attributes = {"fill": state.fill.paint, "fill-rule": "evenodd" if evenodd else "nonzero"}
                set_opacity(attributes, "fill-opacity", state.fill.opacity)
            if stroke:
                attributes |= state.line_look()
            self._machine.canvas.path(outline, self._pieces, attributes, self._machine.frames())
        if self._clip_rule is not None:
            self._clip(outline, evenodd=self._clip_rule == "W*")
        self.start()

    def set_clip(self, rule: str) -> None:
        """Have the path clip once it is painted."""
        self._clip_rule = rule

    def _clip(self, outline: str, *, evenodd: bool) -> None:
        if self._box is not None and _covers(self._box, self._page):
            return
        state = self._machine.state
        if state.clip == (outline, evenodd):
            return
        state.clip = (outline, evenodd)
        state.frames = (*state.frames, self._machine.canvas.clip(outline or "M0 0", evenodd=evenodd))

    def shade(self, operands: Sequence[Any]) -> None:
        """Fill the clip with a gradient."""
        paint = self._inks.gradient(self._machine.needed("/Shading", operands))
        left, top, right, bottom = self._page
        whole = f"M{left!r} {top!r}L{right!r} {top!r}L{right!r} {bottom!r}L{left!r} {bottom!r}Z"
        outline, evenodd = self._machine.state.clip or (whole, False)
        attributes = {"fill": paint, "fill-rule": "evenodd" if evenodd else "nonzero"}
        set_opacity(attributes, "fill-opacity", self._machine.state.fill.opacity)
        self._machine.canvas.path(
            outline, outline.count("L") + outline.count("C"), attributes, self._machine.frames()
        )

    def clip_box(self, left: float, bottom: float, right: float, top: float) -> None:
        """Clip with a rectangle."""
        self.start()
        self.rectangle(left, bottom, right - left, top - bottom)
        self._clip_rule = "W"
        self.paint()


def _covers(box: tuple[Point, Point], page: Bounds) -> bool:
    """Tell whether a box, given by two corners, holds the page."""
    (x1, y1), (x2, y2) = box
    slack = 1e-3
    return (
        min(x1, x2) <= page[0] + slack
        and min(y1, y2) <= page[1] + slack
        and max(x1, x2) >= page[2] - slack
        and max(y1, y2) >= page[3] - slack
    )


def _painting(**how: bool) -> Callable[[Outliner], None]:
    return lambda outliner: outliner.paint(**how)


_O = Outliner

OPERATORS: Table = {
    "m": (2, _O.move),
    "l": (2, _O.draw_line),
    "c": (6, _O.draw_curve),
    "v": (4, _O.draw_curve_from_here),
    "y": (4, _O.draw_curve_to_end),
    "h": (0, _O.close_path),
    "re": (4, _O.rectangle),
    "S": (0, _painting(stroke=True)),
    "s": (0, _painting(stroke=True, close=True)),
    "f": (0, _painting(fill=True)),
    "F": (0, _painting(fill=True)),
    "f*": (0, _painting(fill=True, evenodd=True)),
    "B": (0, _painting(fill=True, stroke=True)),
    "B*": (0, _painting(fill=True, stroke=True, evenodd=True)),
    "b": (0, _painting(fill=True, stroke=True, close=True)),
    "b*": (0, _painting(fill=True, stroke=True, close=True, evenodd=True)),
    "n": (0, _painting()),
    "W": (0, lambda outliner: outliner.set_clip("W")),
    "W*": (0, lambda outliner: outliner.set_clip("W*")),
    "sh": (None, _O.shade),
}

"""Path data of SVG as outlines.

The data is checked strictly: a part of a seam must not vanish because something after it cannot be understood.
"""

from __future__ import annotations

import math
import re
from typing import TYPE_CHECKING

from seamtree.drawing.outlines import Arc, Cubic, Curve, Outline
from seamtree.drawing.svg.values import GAP, NUMBER, SEPARATOR
from seamtree.errors import Point

if TYPE_CHECKING:
    from collections.abc import Iterator

COMMANDS = "MmZzLlHhVvCcSsQqTtAa"
"""Letters of the commands."""

_SPACE = r"[ \t\n\r\f]*"
_COMMAND = re.compile(rf"([{COMMANDS}])([^{COMMANDS}]*)")
_NUMBER = re.compile(NUMBER)
_NUMBERS = re.compile(rf"{_SPACE}(?:{NUMBER}(?:{GAP}{NUMBER})*+)?+{_SPACE}")
# The two flags of an arc are one digit each and need nothing between them and what follows.
_ARC = (
    rf"(?>{NUMBER}){SEPARATOR}?(?>{NUMBER}){SEPARATOR}?(?>{NUMBER}){SEPARATOR}"
    rf"[01]{SEPARATOR}?[01]{SEPARATOR}?(?>{NUMBER}){SEPARATOR}?(?>{NUMBER})"
)
# Compiled (and kept by `re`) once there is an arc: that takes as long as reading a small drawing.
_ARC_NUMBERS = _ARC.replace("(?>", "(").replace("[01]", "([01])")
_ARCS = rf"{_SPACE}(?>{_ARC})(?>{SEPARATOR}?(?>{_ARC}))*{_SPACE}"
_SIZES = {"M": 2, "L": 2, "T": 2, "H": 1, "V": 1, "S": 4, "Q": 4, "C": 6, "A": 7}


def parse_path(data: str) -> tuple[Outline, ...]:
    """Return the outlines of path data.

    Parameters
    ----------
    data
        The attribute ``d``.

    Raises
    ------
    ValueError
        With the reason and the place in the data.
    """
    text = data.strip(" \t\n\r\f")
    if not text or text == "none":
        return ()
    pen = _Pen()
    for letter, numbers in _commands(text):
        _draw(pen, letter, numbers)
    return pen.finish()


def _commands(text: str) -> Iterator[tuple[str, tuple[float, ...]]]:
    """Yield every command letter with its numbers, after checking them."""
    position = 0
    while position < len(text):
        match = _COMMAND.match(text, position)
        if not match:
            raise ValueError(f"cannot be read from {_place(text, position)} on")
        letter, arguments = match.groups()
        if position == 0 and letter not in "Mm":
            raise ValueError("does not begin with a move (M)")
        yield letter, _numbers(text, letter, arguments, match.start(2))
        position = match.end()


def _numbers(text: str, letter: str, arguments: str, start: int) -> tuple[float, ...]:
    kind = letter.upper()
    if kind == "Z":
        if arguments.strip(" \t\n\r\f"):
            raise ValueError(f"cannot be read from {_place(text, start)} on")
        return ()
    grammar = re.compile(_ARCS) if kind == "A" else _NUMBERS
    match = grammar.fullmatch(arguments)
    if not match:
        # `match` finds how far the grammar holds.
        partial = grammar.match(arguments)
        raise ValueError(f"cannot be read from {_place(text, start + (partial.end() if partial else 0))} on")
    if kind == "A":
        texts = [text for arc in re.findall(_ARC_NUMBERS, arguments) for text in arc]
    else:
        texts = _NUMBER.findall(arguments)
    numbers = tuple(map(float, texts))
    if not all(map(math.isfinite, numbers)):
        raise ValueError(f"has a number that is not finite after {_place(text, start - 1)}")
    if not numbers or len(numbers) % _SIZES[kind]:
        raise ValueError(f"has {len(numbers)} numbers after {_place(text, start - 1)}")
    return numbers


def _place(text: str, position: int) -> str:
    rest = text[position : position + 20]
    return f"character {position + 1} ('{rest}{'...' if position + 20 < len(text) else ''}')"


def _draw(pen: _Pen, letter: str, numbers: tuple[float, ...]) -> None:
    kind = letter.upper()
    if kind == "Z":
        pen.close()
    elif kind == "M":
        pen.move(*_targets(letter, numbers[:2], pen))
        for point in _targets(letter, numbers[2:], pen):  # further pairs are lines
            pen.draw_line(point)
    elif kind in "LHV":
        for point in _targets(letter, numbers, pen):
            pen.draw_line(point)
    else:
        for index in range(0, len(numbers), _SIZES[kind]):
            _draw_curve(pen, letter, numbers[index : index + _SIZES[kind]])


def _draw_curve(pen: _Pen, letter: str, numbers: tuple[float, ...]) -> None:
    """Draw one curve.

    Raises
    ------
    ValueError
        If it comes to numbers that are not finite.
    """
    here = pen.here
    x, y = here if letter.islower() else (0.0, 0.0)
    kind = letter.upper()
    if kind == "A":
        end = (x + numbers[5], y + numbers[6])
        curve = _arc(here, numbers, end)
        if curve is None:
            pen.draw_line(end)
        else:
            pen.draw_curve(curve)
        return
    *controls, end = [(x + numbers[k], y + numbers[k + 1]) for k in range(0, len(numbers), 2)]
    degree = 3 if kind in "CS" else 2
    if kind in "ST":
        controls.insert(0, pen.reflected(degree))
    pen.draw_curve(Cubic(controls[0], controls[1], end) if degree == 3 else _raised(here, controls[0], end))
    pen.control = (degree, controls[-1])


def _targets(letter: str, numbers: tuple[float, ...], pen: _Pen) -> Iterator[Point]:
    """Yield the points that a straight command leads to; the pen follows in between."""
    relative = letter.islower()
    kind = letter.upper()
    if kind in "HV":
        for number in numbers:
            x, y = pen.here
            if kind == "H":
                yield (x + number if relative else number, y)
            else:
                yield (x, y + number if relative else number)
        return
    for index in range(0, len(numbers), 2):
        x, y = pen.here if relative else (0.0, 0.0)
        yield (x + numbers[index], y + numbers[index + 1])


class _Pen:
    """Collects outlines as a pen that moves, draws and closes."""

    def __init__(self) -> None:
        self._points: list[Point] = [(0.0, 0.0)]
        self._curves: list[Curve | None] = []
        self._done: list[Outline] = []
        self.control: tuple[int, Point] | None = None
        """Degree and last control point of the Bézier curve that was drawn last, if one was."""

    @property
    def here(self) -> Point:
        return self._points[-1]

    def reflected(self, degree: int) -> Point:
        """Return the first control point of a smooth curve (SVG 1.1, sections 8.3.6 and 8.3.7)."""
        if self.control is None or self.control[0] != degree:
            return self.here
        x, y = self.control[1]
        return (2 * self.here[0] - x, 2 * self.here[1] - y)

    def move(self, point: Point) -> None:
        self._store(closed=False)
        self._points = [point]

    def draw_line(self, end: Point) -> None:
        self._points.append(end)
        self._curves.append(None)
        self.control = None

    def draw_curve(self, curve: Curve) -> None:
        self._points.append(curve.end)
        self._curves.append(curve)
        self.control = None

    def close(self) -> None:
        self._store(closed=True)

    def finish(self) -> tuple[Outline, ...]:
        self._store(closed=False)
        return tuple(self._done)

    def _store(self, *, closed: bool) -> None:
        """Store what was drawn, if anything was, and go back to where it began."""
        self.control = None
        if self._curves:
            curves = tuple(self._curves) if any(self._curves) else ()
            self._done.append(Outline(tuple(self._points), closed, curves))
            self._points, self._curves = self._points[:1], []


def _raised(start: Point, middle: Point, end: Point) -> Cubic:
    """Return a quadratic Bézier as the same curve of degree three."""
    first = (start[0] + 2 / 3 * (middle[0] - start[0]), start[1] + 2 / 3 * (middle[1] - start[1]))
    second = (end[0] + 2 / 3 * (middle[0] - end[0]), end[1] + 2 / 3 * (middle[1] - end[1]))
    return Cubic(first, second, end)


def _arc(start: Point, numbers: tuple[float, ...], end: Point) -> Arc | None:
    """Return an elliptical arc (SVG 1.1, appendix F.6), None where it is a straight line or nothing.

    Raises
    ------
    ValueError
        If its numbers are too large or too small for its centre to be found.
    """
    rx, ry, angle, large, clockwise = abs(numbers[0]), abs(numbers[1]), math.radians(numbers[2]), *numbers[3:5]
    if not rx or not ry or start == end:
        return None
    cos, sin = math.cos(angle), math.sin(angle)
    half_x, half_y = (start[0] - end[0]) / 2, (start[1] - end[1]) / 2
    # Turned and scaled so that the ellipse is a circle of radius 1, with its middle between start and end.
    x, y = (cos * half_x + sin * half_y) / rx, (cos * half_y - sin * half_x) / ry
    reach = math.hypot(x, y)
    if reach > 1.0:
        rx, ry, x, y, reach = rx * reach, ry * reach, x / reach, y / reach, 1.0
    if not (reach and math.isfinite(rx + ry + x + y)):
        raise ValueError("has numbers too large or too small to draw")
    away = math.sqrt(1.0 - reach * reach) / reach * (1.0 if large != clockwise else -1.0)
    middle_x, middle_y = away * y, -away * x
    first = math.atan2(y - middle_y, x - middle_x)
    sweep = (math.atan2(-y - middle_y, -x - middle_x) - first) % (2 * math.pi)
    u, v = (rx * cos, rx * sin), (-ry * sin, ry * cos)
    centre = (
        (start[0] + end[0]) / 2 + middle_x * u[0] + middle_y * v[0],
        (start[1] + end[1]) / 2 + middle_x * u[1] + middle_y * v[1],
    )
    return Arc(centre, u, v, first, sweep if clockwise else sweep - 2 * math.pi, end)

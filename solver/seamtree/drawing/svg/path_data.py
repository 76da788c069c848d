"""Path data of SVG as outlines.

svgelements reads the data, but only after a strict check, because it stops without a word at the first thing that it
does not understand, and a part of a seam must not vanish. Two things it reads otherwise than SVG are put right here:
the first control point of a smooth curve after a curve of the other degree (SVG: the current point), and an arc
without radius (SVG: a straight line). Data of straight lines alone is most of what is drawn and is read directly.
"""

from __future__ import annotations

import math
import re
from typing import TYPE_CHECKING, Any

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
    commands = list(_commands(text))
    if all(letter in "MmLlHhVvZz" for letter, _ in commands):
        return _lines(commands)
    return _curves(text, commands)


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


def _lines(commands: list[tuple[str, tuple[float, ...]]]) -> tuple[Outline, ...]:
    """Return the outlines of commands that draw straight lines only."""
    pen = _Pen()
    for letter, numbers in commands:
        if letter in "Zz":
            pen.close()
            continue
        move = letter in "Mm"
        for point in _targets(letter, numbers, pen):
            if move:
                pen.move(point)
                move = False  # further pairs are lines
            else:
                pen.draw_line(point)
    return pen.finish()


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

    @property
    def here(self) -> Point:
        return self._points[-1]

    def move(self, point: Point) -> None:
        self._store(closed=False)
        self._points = [point]

    def draw_line(self, end: Point) -> None:
        self._points.append(end)
        self._curves.append(None)

    def draw_curve(self, curve: Curve) -> None:
        self._points.append(curve.end)
        self._curves.append(curve)

    def close(self) -> None:
        self._store(closed=True)

    def finish(self) -> tuple[Outline, ...]:
        self._store(closed=False)
        return tuple(self._done)

    def _store(self, *, closed: bool) -> None:
        """Store what was drawn, if anything was, and go back to where it began."""
        if self._curves:
            curves = tuple(self._curves) if any(self._curves) else ()
            self._done.append(Outline(tuple(self._points), closed, curves))
            self._points, self._curves = self._points[:1], []


def _curves(text: str, commands: list[tuple[str, tuple[float, ...]]]) -> tuple[Outline, ...]:
    """Return the outlines of commands among which are curves."""
    from svgelements import Path

    try:
        path = Path(text)
        outlines = _converted(path)
    except (ArithmeticError, IndexError, TypeError, ValueError) as error:
        raise ValueError("has numbers too large or too small to draw") from error
    expected = sum(_segments(letter, numbers) for letter, numbers in commands)
    if len(path) != expected:
        raise ValueError(f"was read as {len(path)} instead of {expected} pieces")
    return outlines


def _segments(letter: str, numbers: tuple[float, ...]) -> int:
    kind = letter.upper()
    return 1 if kind == "Z" else len(numbers) // _SIZES[kind]


def _converted(path: Any) -> tuple[Outline, ...]:
    from svgelements import Arc as PathArc
    from svgelements import Close, CubicBezier, Move, QuadraticBezier

    pen = _Pen()
    control: Point | None = None
    degree = 0
    for segment in path:
        if isinstance(segment, Move):
            pen.move(_point(segment.end))
        elif isinstance(segment, Close):
            pen.close()
        elif isinstance(segment, CubicBezier):
            first = _point(segment.control1)
            if segment.smooth:
                first = _reflected(control if degree == 3 else None, pen.here)
            control, degree = _point(segment.control2), 3
            pen.draw_curve(Cubic(first, control, _point(segment.end)))
            continue
        elif isinstance(segment, QuadraticBezier):
            middle = _point(segment.control)
            if segment.smooth:
                middle = _reflected(control if degree == 2 else None, pen.here)
            control, degree = middle, 2
            pen.draw_curve(_raised(pen.here, middle, _point(segment.end)))
            continue
        elif isinstance(segment, PathArc) and segment.sweep:
            pen.draw_curve(_arc(segment))
        else:
            pen.draw_line(_point(segment.end))
        control, degree = None, 0
    return pen.finish()


def _point(point: Any) -> Point:
    return (float(point.x), float(point.y))


def _reflected(control: Point | None, here: Point) -> Point:
    return here if control is None else (2 * here[0] - control[0], 2 * here[1] - control[1])


def _raised(start: Point, middle: Point, end: Point) -> Cubic:
    """Return a quadratic Bézier as the same curve of degree three."""
    first = (start[0] + 2 / 3 * (middle[0] - start[0]), start[1] + 2 / 3 * (middle[1] - start[1]))
    second = (end[0] + 2 / 3 * (middle[0] - end[0]), end[1] + 2 / 3 * (middle[1] - end[1]))
    return Cubic(first, second, end)


def _arc(segment: Any) -> Arc:
    centre = _point(segment.center)
    first, second = _point(segment.prx), _point(segment.pry)
    return Arc(
        centre,
        (first[0] - centre[0], first[1] - centre[1]),
        (second[0] - centre[0], second[1] - centre[1]),
        float(segment.get_start_t()),
        float(segment.sweep),
        _point(segment.end),
    )

"""Text of an SVG drawing as labels.

There is no font here, so the width of a text is estimated from its number of characters and the font size. A label
sits in the middle of its text; lines and letters that were placed one by one but stand together are one label.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from itertools import pairwise

from seamtree.drawing.svg.shapes import Viewport, read_length
from seamtree.drawing.svg.style import Style, font_size
from seamtree.drawing.svg.xml import Element
from seamtree.errors import Point

ADVANCE = 0.55
"""Width of a letter as a share of the font size: a usual mean of letters and digits (from memory)."""

RISE = 0.7
"""Height of capitals and digits above the base line as a share of the font size (from memory)."""

_CONTAINERS = frozenset({"text", "tspan", "a", "tref"})
_LIFTS = {"middle": RISE / 2, "central": RISE / 2, "hanging": RISE, "text-before-edge": RISE, "text-top": RISE}
_ANCHORS = {"middle": 0.5, "end": 1.0}


@dataclass(slots=True)
class _Address:
    """The position lists of one element; every letter inside it takes the next place."""

    lists: dict[str, list[float]]
    index: int = 0

    def value(self, name: str) -> float | None:
        places = self.lists[name]
        return places[self.index] if self.index < len(places) else None


@dataclass(slots=True)
class _Chunk:
    """Letters from one absolute position on."""

    x: float
    y: float
    size: float
    anchor: float
    end: float
    letters: list[str] = field(default_factory=list)

    @property
    def left(self) -> float:
        return self.x - self.anchor * (self.end - self.x)

    @property
    def right(self) -> float:
        return self.end - self.anchor * (self.end - self.x)


@dataclass(frozen=True, slots=True)
class Lettering:
    """A label in user units: its text and the middle of the text."""

    text: str
    at: Point


def _innermost(name: str, addresses: tuple[_Address, ...]) -> float | None:
    """Return what the innermost element that says anything says about the next letter."""
    values = [address.value(name) for address in addresses]
    return next((value for value in reversed(values) if value is not None), None)


class _Setter:
    """Sets letters one after the other."""

    def __init__(
        self,
        style_of: Callable[[Element, Style], Style | None],
        is_readable: Callable[[Style], bool],
        viewport: Viewport,
    ) -> None:
        self._style_of = style_of
        self._is_readable = is_readable
        self._viewport = viewport
        self._x = 0.0
        self._y = 0.0
        self._after_space = True
        self.chunks: list[_Chunk] = []

    def set_element(self, element: Element, style: Style, outer: tuple[_Address, ...]) -> None:
        addresses = (*outer, self._address(element, style))
        self._set(element.text, style, addresses)
        for child in element.children:
            if child.tag in _CONTAINERS:
                inner = self._style_of(child, style)
                if inner is not None:
                    self.set_element(child, inner, addresses)
            self._set(child.tail, style, addresses)

    def _address(self, element: Element, style: Style) -> _Address:
        lists = {}
        for name in ("x", "y", "dx", "dy"):
            text = element.get(name) or ""
            parts = text.replace(",", " ").split()
            lists[name] = [read_length(name, part, style, self._viewport) for part in parts]
        return _Address(lists)

    def _set(self, text: str, style: Style, addresses: tuple[_Address, ...]) -> None:
        size = font_size(style)
        lift = _LIFTS.get(style["dominant-baseline"].lower(), 0.0) * size
        readable = self._is_readable(style)
        for character in text:
            letter = " " if character.isspace() else character
            if letter == " " and self._after_space:
                continue
            self._after_space = letter == " "
            self._step(letter if readable else " ", size, lift, style, addresses)

    def _step(self, letter: str, size: float, lift: float, style: Style, addresses: tuple[_Address, ...]) -> None:
        x, y, dx, dy = (_innermost(name, addresses) for name in ("x", "y", "dx", "dy"))
        for address in addresses:
            address.index += 1
        self._x = (self._x if x is None else x) + (dx or 0.0)
        self._y = (self._y if y is None else y) + (dy or 0.0)
        moved = x is not None or y is not None or bool(dy)
        if moved or not self.chunks:
            anchor = _ANCHORS.get(style["text-anchor"].lower(), 0.0)
            self.chunks.append(_Chunk(self._x, self._y + lift, size, anchor, end=self._x))
        self._x += ADVANCE * size
        chunk = self.chunks[-1]
        chunk.letters.append(letter)
        if letter != " ":
            chunk.end = self._x


def read_lettering(
    element: Element,
    style: Style,
    viewport: Viewport,
    style_of: Callable[[Element, Style], Style | None],
    is_readable: Callable[[Style], bool],
) -> list[Lettering]:
    """Return the labels that a ``text`` element comes to.

    Parameters
    ----------
    element
        The element.
    style
        Its computed style.
    viewport
        What percentages refer to.
    style_of
        Gives the computed style of an element inside it from its parent's, None when it does not show.
    is_readable
        Tells whether letters of a style are painted.

    Raises
    ------
    BadValueError
        ``bad-number`` when a position is none.
    """
    setter = _Setter(style_of, is_readable, viewport)
    setter.set_element(element, style, ())
    return [_label(group) for group in _grouped(setter.chunks)]


def _grouped(chunks: list[_Chunk]) -> Iterator[list[_Chunk]]:
    """Yield the chunks that stand together."""
    group: list[_Chunk] = []
    for chunk in chunks:
        if not "".join(chunk.letters).strip():
            continue
        if group and not (_goes_on(group[-1], chunk) or _is_next_line(group[-1], chunk)):
            yield group
            group = []
        group.append(chunk)
    if group:
        yield group


def _goes_on(before: _Chunk, after: _Chunk) -> bool:
    """Tell whether a chunk goes on in the line of the one before it."""
    return abs(after.y - before.y) <= before.size / 2 and abs(after.left - before.right) <= before.size


def _is_next_line(before: _Chunk, after: _Chunk) -> bool:
    below = after.y - before.y
    return before.size / 2 < below <= 2 * before.size and after.left < before.right and before.left < after.right


def _label(group: list[_Chunk]) -> Lettering:
    text = "".join(group[0].letters)
    for before, after in pairwise(group):
        close = _goes_on(before, after) and after.left - before.right < before.size / 4
        text += ("" if close else " ") + "".join(after.letters)
    left, right = min(chunk.left for chunk in group), max(chunk.right for chunk in group)
    top = min(chunk.y - RISE * chunk.size for chunk in group)
    bottom = max(chunk.y for chunk in group)
    return Lettering(" ".join(text.split()), ((left + right) / 2, (top + bottom) / 2))

"""The caption above a block and the legend below it."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

import shapely

from seamtree.errors import Point
from seamtree.picture.dashes import DASH, dashed
from seamtree.picture.hatching import hatch
from seamtree.picture.lettering import CAP_HEIGHT, LINE_HEIGHT, shortened, text_width
from seamtree.picture.marks import BLACK, MARK_WORDS, MarkKind, draw_mark
from seamtree.picture.scene import Measures
from seamtree.picture.shapes import Lines, Polygon, Shape, Text
from seamtree.picture.tints import Tint
from seamtree.words import wrapped

Drawn = Callable[[Point], Sequence[Shape]]


@dataclass(frozen=True, slots=True)
class Entry:
    """A line of the legend: what draws its sample round a point, and its words."""

    sample: Drawn
    words: str


def line_entry(weight: float, words: str, measures: Measures) -> Entry:
    """Return an entry for a line of some weight."""
    reach = 9 * measures.unit

    def sample(at: Point) -> Sequence[Shape]:
        x, y = at
        return (Lines((((x - reach, y), (x + reach, y)),), BLACK, weight),)

    return Entry(sample, words)


def dashes_entry(words: str, measures: Measures) -> Entry:
    """Return an entry for a dashed line."""
    reach = 9 * measures.unit

    def sample(at: Point) -> Sequence[Shape]:
        x, y = at
        dashes = dashed(shapely.LineString([(x - reach, y), (x + reach, y)]), DASH * measures.unit)
        return (Lines(tuple(dashes), BLACK, measures.seam),)

    return Entry(sample, words)


def mark_entry(kind: MarkKind, measures: Measures) -> Entry:
    """Return an entry for a sign."""
    return Entry(lambda at: draw_mark(kind, at, measures.mark), MARK_WORDS[kind])


def tint_entry(tint: Tint, words: str, measures: Measures) -> Entry:
    """Return an entry for a tint or fabric."""

    def sample(at: Point) -> Sequence[Shape]:
        x, y = at
        w, h = 9 * measures.unit, 4.5 * measures.unit
        box = ((x - w, y - h), (x + w, y - h), (x + w, y + h), (x - w, y + h))
        lines = hatch(shapely.Polygon(box), tint, spacing=5 * measures.unit, weight=0.5 * measures.unit, leave=())
        return (Polygon(box, tint.fill), *lines, Polygon(box, None, BLACK, 0.6 * measures.unit))

    return Entry(sample, words)


def draw_legend(
    entries: Sequence[Entry], *, top: float, width: float, measures: Measures
) -> tuple[list[Shape], float]:
    """Lay out a legend row by row.

    Parameters
    ----------
    entries
        In order.
    top, width
        Where it begins, and how wide it may be (points).
    measures
        Sizes.

    Returns
    -------
    tuple
        Its shapes, and where it ends.
    """
    size, unit = measures.text, measures.unit
    sample, gap, row = 22 * unit, 14 * unit, 16 * unit
    shapes: list[Shape] = []
    if not entries:
        return shapes, top
    x, y = 0.0, top + row / 2
    for entry in entries:
        words = shortened(entry.words, max(width - sample - 4 * unit, 10 * unit), size)
        need = sample + 4 * unit + text_width(words, size)
        if x and x + need > width:
            x, y = 0.0, y + row
        shapes += entry.sample((x + sample / 2, y))
        shapes.append(Text((x + sample + 4 * unit, y + size * CAP_HEIGHT / 2), words, size))
        x += need + gap
    return shapes, y + row / 2


def draw_caption(title: str, lines: Sequence[str], *, width: float, measures: Measures) -> tuple[list[Shape], float]:
    """Lay out a caption from y = 0 on: a bold title and lines below it; return its shapes and where it ends."""
    size = 1.5 * measures.text
    y = size
    shapes: list[Shape] = [Text((0.0, y), shortened(title, width, size, bold=True), size, bold=True)]
    for line in _broken(lines, width, measures.text):
        y += LINE_HEIGHT * measures.text if len(shapes) > 1 else 1.2 * size
        shapes.append(Text((0.0, y), line, measures.text))
    return shapes, y + 0.4 * size


def _broken(lines: Sequence[str], width: float, size: float) -> Iterator[str]:
    for line in lines:
        yield from wrapped(line, lambda text: text_width(text, size) <= width)

"""Labels of an SVG file moved into the largest pieces of their patches, and nothing else changed.

A seam that is carried through a patch may leave its label in a smaller piece. Which element of the file that is, and
which way it goes when it is moved, is found by moving one after the other and reading the file again.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import shapely

from seamtree.drawing.drawn import Label
from seamtree.drawing.svg.read import read_svg
from seamtree.errors import Point, SeamtreeError
from seamtree.mending.model import Mending
from seamtree.mending.svg_points import Tag, start_tags, with_attributes
from seamtree.svg_words import number

_STILL = 1e-7
"""A label that goes no farther than this has not moved, inches."""


@dataclass(frozen=True, slots=True)
class _Astray:
    """A label, by its number in the drawing, and the piece that it belongs to, in the drawing's frame."""

    label: int
    home: shapely.Polygon


def move_labels(text: str, mendings: Sequence[Mending], *, width: float | None) -> str:
    """Return the text of an SVG file with labels moved that would lie in a smaller piece of their patch.

    Parameters
    ----------
    text
        The file with its added seams.
    mendings
        Of all blocks of the drawing.
    width
        The width it was read with.
    """
    labels = _labels(text, width)
    for stray in _astray(labels, mendings):
        for tag in start_tags(text, ("text",)) or ():
            moved = _moved(text, tag, stray, labels, width)
            if moved is not None:
                text = moved
                labels = _labels(text, width)
                break
    return text


def _labels(text: str, width: float | None) -> tuple[Label, ...]:
    try:
        return read_svg(text.encode(), source="labels.svg", width=width).labels
    except SeamtreeError:
        return ()


def _astray(labels: Sequence[Label], mendings: Sequence[Mending]) -> Iterator[_Astray]:
    """Yield the labels that lie in another piece than the one that has them."""
    pieces: list[tuple[shapely.Polygon, str]] = []
    for mending in mendings:
        if mending.alternatives:
            block = mending.alternatives[0].block
            x, y = mending.sketch.corner
            for p, patch in enumerate(block.patches):
                corners = [(x + at[0], y + at[1]) for at in block.polygon(p)]
                pieces.append((shapely.Polygon(corners), patch.label or ""))
    for k, label in enumerate(labels):
        here = [own for shape, own in pieces if shape.covers(shapely.Point(label.at))]
        homes = [shape for shape, own in pieces if label.text in own]
        if homes and here and not any(label.text in own for own in here):
            yield _Astray(k, min(homes, key=lambda shape: shape.distance(shapely.Point(label.at))))


def _moved(text: str, tag: Tag, stray: _Astray, labels: Sequence[Label], width: float | None) -> str | None:
    """Return the file with an element moved so that a label comes to its piece; None if it is none of its own."""
    ways: list[Point] = []
    for step in ((1.0, 0.0), (0.0, 1.0)):
        tried = _labels(_shifted(text, tag, step), width)
        if len(tried) != len(labels):
            return None
        offs = [(b.at[0] - a.at[0], b.at[1] - a.at[1]) for a, b in zip(labels, tried, strict=True)]
        alone = [k for k, off in enumerate(offs) if max(map(abs, off)) > _STILL]
        if alone != [stray.label]:
            return None
        ways.append(offs[stray.label])
    (ax, ay), (bx, by) = ways
    across = ax * by - ay * bx
    if abs(across) < _STILL**2:
        return None
    target = shapely.maximum_inscribed_circle(stray.home, 0.01).coords[0]
    x, y = (there - here for there, here in zip(target, labels[stray.label].at, strict=True))
    return _shifted(text, tag, ((x * by - y * bx) / across, (ax * y - ay * x) / across))


def _shifted(text: str, tag: Tag, by: Point) -> str:
    old = tag.attributes.get("transform", "")
    written = with_attributes(
        text[tag.start : tag.end], {"transform": f"translate({number(by[0])} {number(by[1])}) {old}".strip()}
    )
    return text[: tag.start] + written + text[tag.end :]

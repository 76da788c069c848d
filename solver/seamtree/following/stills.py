"""The pictures of a list of steps: a few shapes each, so that a page of hundreds of patches stays small.

A unit is drawn once; joins and the whole block show it again by its id. Coordinates are hundredths of an inch, seen
from the fabric side.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import groupby
from typing import Any

from seamtree.colour import ink_on
from seamtree.svg_words import LETTER, run
from seamtree.words import decimal

_PIXELS = 230
"""Longest side of a picture, CSS pixels."""

_SCALE = 100

_SEAM, _INK = "#b00020", "#1c2429"

_LEGIBLE = 0.035
"""Share of the picture's longest side; smaller numbers are left out."""

Shapes = dict[str, Any]


class Stills:
    """Writes the pictures of a block.

    Parameters
    ----------
    shapes
        Of the block, see `seamtree.following.screens.Screens`.
    number
        Of the block on the page.
    """

    def __init__(self, shapes: Shapes, number: int) -> None:
        self._palette: list[str] = shapes["palette"]
        self._patches: list[Shapes] = shapes["patches"]
        self._units: list[Shapes] = shapes["units"]
        self._number = number

    def unit(self, n: int) -> str:
        """Return the picture of a unit with its numbers; it must stand on the page once."""
        patches = [self._patches[p] for p in self._units[n]["patches"]]
        box = _box(patch["ring"] for patch in patches)
        by_colour = sorted(patches, key=lambda patch: int(patch["colour"]))
        paths = "".join(
            f'<path d="{"".join(_path(patch["ring"], "Z") for patch in alike)}" fill="{self._palette[colour]}"/>'
            for colour, alike in groupby(by_colour, key=lambda patch: int(patch["colour"]))
        )
        group = f'<g id="{self._id(n)}" stroke="{_INK}" stroke-width="2" stroke-linejoin="round">{paths}</g>'
        return _svg(box, group + "".join(self._label(patch, max(box[2:])) for patch in patches))

    def join(self, parts: Sequence[Sequence[int]], path: Sequence[float]) -> str:
        """Return the picture of a join: both parts, and its seam."""
        units = [n for part in parts for n in part]
        box = _box(self._patches[p]["ring"] for n in units for p in self._units[n]["patches"])
        wide = max(box[2:])
        seam = "".join(
            f'<path d="{_path(path)}" fill="none" stroke="{colour}" stroke-width="{round(share * wide)}"/>'
            for colour, share in (("#ffffff", 0.03), (_SEAM, 0.018))
        )
        return _svg(box, self._shown(units) + seam)

    def block(self) -> str:
        """Return the picture of the whole block."""
        return _svg(_box(patch["ring"] for patch in self._patches), self._shown(range(len(self._units))))

    def _shown(self, units: Iterable[int]) -> str:
        return "".join(f'<use href="#{self._id(n)}"/>' for n in units)

    def _id(self, n: int) -> str:
        return f"cloth-{self._number}-{n}"

    def _label(self, patch: Shapes, wide: float) -> str:
        """Return the number of a patch, where it has room for it."""
        x, y, radius = (_SCALE * value for value in patch["middle"])
        size = min(0.075 * wide, 1.1 * radius, 2 * radius / (LETTER * len(patch["name"])))
        if size < _LEGIBLE * wide:
            return ""
        ink = ink_on(self._palette[patch["colour"]])
        at = f'x="{round(x)}" y="{round(y + 0.36 * size)}" font-size="{round(size)}"'
        return f'<text {at} fill="{ink}" text-anchor="middle">{patch["name"]}</text>'


def _svg(box: tuple[float, float, float, float], inside: str) -> str:
    scale = _PIXELS / max(box[2:])
    width, height = (max(1, round(side * scale)) for side in box[2:])
    view = " ".join(decimal(value, 1) for value in box)
    return f'<svg width="{width}" height="{height}" viewBox="{view}">{inside}</svg>'


def _box(rings: Iterable[Sequence[float]]) -> tuple[float, float, float, float]:
    """Return left, top, width and height of some shapes with a little room round them."""
    flat = [_SCALE * value for ring in rings for value in ring]
    xs, ys = flat[::2], flat[1::2]
    edge = 0.03 * max(max(xs) - min(xs), max(ys) - min(ys))
    left, top = min(xs) - edge, min(ys) - edge
    return left, top, max(xs) + edge - left, max(ys) + edge - top


def _path(flat: Sequence[float], end: str = "") -> str:
    points = [(round(_SCALE * x), round(_SCALE * y)) for x, y in zip(flat[::2], flat[1::2], strict=True)]
    return f"M{run(points, 1, gap='')}{end}"

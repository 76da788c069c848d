"""Panels: what is printed in one place of a sheet, a foundation or a tile of one with its labels and its names."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from seamtree.errors import Point
from seamtree.pattern.foundation import Foundation, Path
from seamtree.pattern.labels import Label, Measure, place_label
from seamtree.pattern.lengths import POINTS
from seamtree.pattern.names import Name
from seamtree.words import wrapped

CAPTION_SIZE = 8.0
"""Size of type of captions, points."""

CAPTION_LEADING = 10.0 / POINTS
"""Inches from line to line of a caption."""

LEAST_CAPTION = 1.7
"""Inches; captions of narrow panels may be this wide."""

_BOLDER = 0.94
"""Share of its room that the first line of a caption may take by its plain letters: the unit's is bold, so wider."""

Window = tuple[float, float, float, float]


@dataclass(frozen=True, slots=True)
class Mark:
    """An alignment mark: a letter and where it lies on the foundation, inches."""

    name: str
    at: Point


@dataclass(frozen=True, slots=True)
class Panel:
    """What is printed in one place.

    Parameters
    ----------
    foundation
        The foundation, turned as it is printed.
    window
        Left, top, right and bottom of what of it is printed, inches in the frame of the foundation.
    labels
        Of the patches whose text stands in this panel.
    marks
        Alignment marks.
    glue
        Lines in the middle of the overlaps with the neighbouring tiles.
    tile, tiles
        Number of the tile, from 1, and how many there are.
    caption
        Lines below the panel: which tile it is, and the codes for which there is no room in the patches.
    caption_width
        Of the widest of them, inches.
    names
        What stands between outline and trim line.
    """

    foundation: Foundation
    window: Window
    labels: tuple[Label, ...]
    marks: tuple[Mark, ...]
    glue: tuple[tuple[Point, Point], ...]
    tile: int
    tiles: int
    caption: tuple[str, ...]
    caption_width: float
    names: tuple[Name, ...] = ()

    @property
    def width(self) -> float:
        """Of what is printed, without its caption, inches."""
        return self.window[2] - self.window[0]

    @property
    def height(self) -> float:
        """Of what is printed, without its caption, inches."""
        return self.window[3] - self.window[1]

    @property
    def whole(self) -> bool:
        """Whether it is a whole foundation."""
        return self.tiles == 1


def turn(foundation: Foundation, degrees: float) -> Foundation:
    """Return a foundation turned on the paper, clockwise as seen."""
    quarter = degrees / 90
    if quarter == round(quarter):
        cos, sin = ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))[round(quarter) % 4]
    else:
        cos, sin = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))

    def about_origin(at: Point) -> Point:
        return cos * at[0] - sin * at[1], sin * at[0] + cos * at[1]

    trim = [about_origin(at) for at in foundation.trim]
    left, top = min(x for x, _ in trim), min(y for _, y in trim)

    def turned(at: Point) -> Point:
        x, y = about_origin(at)
        return x - left, y - top

    def path(points: Path) -> Path:
        return tuple(map(turned, points))

    # The new origin as it lay before.
    back = cos * left + sin * top, -sin * left + cos * top
    return replace(
        foundation,
        patches=tuple(replace(patch, polygon=path(patch.polygon)) for patch in foundation.patches),
        outline=path(foundation.outline),
        trim=path(foundation.trim),
        ticks=tuple((turned(a), turned(b)) for a, b in foundation.ticks),
        markings=tuple(map(path, foundation.markings)),
        openings=tuple((path(ring), path(cut)) for ring, cut in foundation.openings),
        corner=(foundation.corner[0] - back[0], foundation.corner[1] + back[1]),
        turned=(foundation.turned + degrees) % 360,
        width=max(x for x, _ in trim) - left,
        height=max(y for _, y in trim) - top,
    )


def whole_panel(foundation: Foundation, measure: Measure) -> Panel:
    """Return a foundation as one panel, without its names."""
    labels = tuple(place_label(p.polygon, p.name, p.code, measure) for p in foundation.patches)
    window = (0.0, 0.0, foundation.width, foundation.height)
    caption = caption_lines("", foundation, labels, foundation.width, measure)
    return Panel(foundation, window, labels, (), (), 1, 1, caption, caption_width(caption, measure))


def caption_lines(
    head: str, foundation: Foundation, labels: Sequence[Label], width: float, measure: Measure
) -> tuple[str, ...]:
    """Return the lines of a caption: what it is, and the codes of patches that have no room for them."""
    codes = {patch.name: patch.code for patch in foundation.patches}
    # The unit's letter is left out, so that the whole number stands on the foundation only.
    numbers = {label.patch: label.patch.removeprefix(foundation.unit) for label in labels if not label.complete}
    key = ", ".join(f"{number} {codes[name]}" for name, number in numbers.items())
    wide = max(width, LEAST_CAPTION) * POINTS

    def fits(line: str) -> bool:
        return measure(line, CAPTION_SIZE) <= wide

    def head_fits(line: str) -> bool:
        return measure(line, CAPTION_SIZE) <= _BOLDER * wide

    return (*(wrapped(head, head_fits) if head else ()), *(wrapped(f"Codes: {key}", fits) if key else ()))


def caption_width(caption: Sequence[str], measure: Measure) -> float:
    """Return how wide the lines of a caption are, inches."""
    if not caption:
        return 0.0
    head, *key = (measure(line, CAPTION_SIZE) for line in caption)
    return max([head / _BOLDER + 4.0, *key]) / POINTS  # the unit's letter stands a little apart


def caption_height(panel: Panel) -> float:
    """Return the height of a panel's caption, inches, with the space above it; nothing without one."""
    return CAPTION_LEADING * (len(panel.caption) + 0.4) if panel.caption else 0.0

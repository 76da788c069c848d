"""What a picture consists of, whatever it is written as: SVG, PNG or a page of a PDF file.

Lengths are points (CSS and PostScript: 72 to the inch) of the picture, x to the right and y down from its top left
corner. Colours are ``#rrggbb``. Shapes are painted in turn, later ones on top. A picture is plain data: everything
that takes thought (where a number fits, where a hatch line stops) is settled in it, so whoever writes it only has to
know polygons, lines, discs and text.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Literal

from seamtree.errors import Point

Anchor = Literal["start", "middle", "end"]

BEFORE_ANCHOR: dict[Anchor, float] = {"start": 0.0, "middle": 0.5, "end": 1.0}
"""The share of a line of text that stands before its anchor."""

_COLOUR = re.compile(r"#[0-9a-f]{6}")


@dataclass(frozen=True, slots=True)
class Polygon:
    """A filled polygon, a bordered one, or both.

    Parameters
    ----------
    points
        Corners in turn; the last is joined to the first.
    fill, border
        Colours, None for none.
    weight
        Width of the border (points), half of it on either side.
    name
        What the polygon stands for, as a reader of the screen is told; empty where it stands for nothing by itself.
    """

    points: tuple[Point, ...]
    fill: str | None = None
    border: str | None = None
    weight: float = 0.0
    name: str = ""

    def __post_init__(self) -> None:
        if len(self.points) < 3:
            raise ValueError("a polygon has three corners or more")
        _check_text(self.name)
        _check_colours(self.fill, self.border)

    def moved(self, dx: float, dy: float) -> Polygon:
        """Return the shape moved to the right and down."""
        return replace(self, points=_moved(self.points, dx, dy))


@dataclass(frozen=True, slots=True)
class Lines:
    """Lines of one weight and colour with round ends and corners: seams, hatching, leaders.

    Parameters
    ----------
    paths
        The lines; each has two points or more.
    colour, weight
        Of all of them; the weight in points.
    """

    paths: tuple[tuple[Point, ...], ...]
    colour: str
    weight: float

    def __post_init__(self) -> None:
        if not self.paths or any(len(path) < 2 for path in self.paths):
            raise ValueError("a line has two points or more")
        _check_colours(self.colour)

    def moved(self, dx: float, dy: float) -> Lines:
        """Return the shape moved to the right and down."""
        return replace(self, paths=tuple(_moved(path, dx, dy) for path in self.paths))


@dataclass(frozen=True, slots=True)
class Disc:
    """A disc; parameters as for `Polygon`, the radius in points."""

    centre: Point
    radius: float
    fill: str | None = None
    border: str | None = None
    weight: float = 0.0

    def __post_init__(self) -> None:
        if self.radius <= 0:
            raise ValueError("a disc has a radius")
        _check_colours(self.fill, self.border)

    def moved(self, dx: float, dy: float) -> Disc:
        """Return the shape moved to the right and down."""
        return replace(self, centre=(self.centre[0] + dx, self.centre[1] + dy))


@dataclass(frozen=True, slots=True)
class Text:
    """One line of text.

    Parameters
    ----------
    at
        Where the base line begins, has its middle or ends, as `anchor` says.
    text
        Printable characters.
    size
        Of the type, points.
    anchor
        ``start``, ``middle`` or ``end``.
    bold
        Whether the type is bold.
    colour
        Of the letters.
    """

    at: Point
    text: str
    size: float
    anchor: Anchor = "start"
    bold: bool = False
    colour: str = "#000000"

    def __post_init__(self) -> None:
        _check_text(self.text)
        _check_colours(self.colour)

    def moved(self, dx: float, dy: float) -> Text:
        """Return the shape moved to the right and down."""
        return replace(self, at=(self.at[0] + dx, self.at[1] + dy))


Shape = Polygon | Lines | Disc | Text


@dataclass(frozen=True, slots=True)
class Layer:
    """Shapes that belong together, for example all seams; `name` is a word for programs: ``units``, ``seams``."""

    name: str
    shapes: tuple[Shape, ...]

    def moved(self, dx: float, dy: float) -> Layer:
        """Return the layer moved to the right and down."""
        return replace(self, shapes=tuple(shape.moved(dx, dy) for shape in self.shapes))


@dataclass(frozen=True, slots=True)
class Picture:
    """A picture.

    Parameters
    ----------
    width, height
        Points.
    title
        One short line.
    description
        What there is to see, in sentences, for readers who do not see it.
    layers
        From bottom to top.
    """

    width: float
    height: float
    title: str
    description: str
    layers: tuple[Layer, ...]

    def __post_init__(self) -> None:
        _check_text(self.title, self.description)

    def shapes(self) -> Iterator[Shape]:
        """Yield all shapes from bottom to top."""
        for layer in self.layers:
            yield from layer.shapes


def _moved(points: tuple[Point, ...], dx: float, dy: float) -> tuple[Point, ...]:
    return tuple([(x + dx, y + dy) for x, y in points])


def _check_text(*texts: str) -> None:
    """Refuse what no typeface and no XML file has: line breaks, control codes, surrogates."""
    if not all(text.isprintable() for text in texts):
        raise ValueError("text of a picture is printable")


def _check_colours(*colours: str | None) -> None:
    for colour in colours:
        if colour is not None and not _COLOUR.fullmatch(colour):
            raise ValueError(f"{colour!r} is no colour of the form #rrggbb")

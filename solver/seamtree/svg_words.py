"""Drawings written as SVG so that they read back as what they were: numbers, lines, and paints that keep names."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from xml.sax.saxutils import quoteattr

from seamtree.errors import Point
from seamtree.fabric import fabric_rgb
from seamtree.words import decimal

LETTER = 0.6
"""Width of a letter by its height, roughly: it only decides how large texts are that other programs set in a typeface
of their own. Pictures and pages know their typefaces (`picture.lettering`, `pattern.fonts`)."""

_DECIMALS = 6
"""What is written to be read again keeps millionths."""

_UNFIT = re.compile(r"[^A-Za-z0-9_.-]")


class Paints:
    """Fills for fabrics; one that is not a plain colour becomes a paint of its name, so that the name is kept."""

    def __init__(self) -> None:
        self._names: dict[str, str] = {}

    def fill(self, fabric: str | None) -> str:
        """Return the value of ``fill`` for a fabric."""
        if not fabric:
            return "none"
        if fabric_rgb(fabric):
            return fabric
        if fabric not in self._names:
            name = _UNFIT.sub("-", fabric)
            taken = set(self._names.values())
            name = name if name[:1].isalpha() else f"fabric-{name}"
            while name in taken:
                name += "-"
            self._names[fabric] = name
        return f"url(#{self._names[fabric]})"

    def read_again(self, fabric: str | None) -> str:
        """Return the name of a fabric as it is read again; what no id can hold has become hyphens."""
        paint = self.fill(fabric)
        rgb = fabric_rgb(paint)
        if rgb is not None:
            return "#{:02x}{:02x}{:02x}".format(*rgb)
        return self._names.get(fabric or "", "")

    def definitions(self) -> Iterator[str]:
        """Yield the definitions of the paints asked for so far."""
        if self._names:
            yield "  <defs>"
            for n, name in enumerate(sorted(self._names.values())):
                grey = 120 + 97 * n % 120
                colour = f"#{grey:02x}{grey:02x}{grey:02x}"
                yield (
                    f'    <linearGradient id={quoteattr(name)}><stop offset="0" stop-color="{colour}"/>'
                    "</linearGradient>"
                )
            yield "  </defs>"


def run(points: Sequence[Point], decimals: int = _DECIMALS, *, gap: str = " ") -> str:
    """Return points as path data, to follow a ``M``; `gap` is what stands round a command."""
    return f"{gap}L{gap}".join([place(at, decimals) for at in points])


def place(at: Point, decimals: int = _DECIMALS) -> str:
    """Return a point as path data."""
    return f"{number(at[0], decimals)} {number(at[1], decimals)}"


def number(value: float, decimals: int = _DECIMALS) -> str:
    """Return a number as it stands in the file: with at most so many decimals, one or more."""
    return decimal(value, decimals)

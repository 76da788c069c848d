"""Emblems on a background: how many `mend` gives seams, with how few patches, and how soon.

An emblem is what a harbour town paints on its boats: triangles, squares and rhombs on a lattice, on one background
colour, with no seam of the background drawn. Fixed seeds.

    python -m benchmarks.emblems --count 100 --units
"""

from __future__ import annotations

import random
from collections.abc import Sequence

Point = tuple[float, float]
Corners = Sequence[Point]

COLOURS = ("#335577", "#aa3344", "#ddcc99", "#446644")
BACKGROUND = "#eef2f4"
SIZE = 12.0


def buoy(x: float, y: float, a: float) -> list[Corners]:
    """Return a rhomb in a cell."""
    return [[(x + a / 2, y), (x + a, y + a / 2), (x + a / 2, y + a), (x, y + a / 2)]]


def flag(x: float, y: float, a: float) -> list[Corners]:
    """Return a square that fills its cell."""
    return [[(x, y), (x + a, y), (x + a, y + a), (x, y + a)]]


def sail(x: float, y: float, a: float) -> list[Corners]:
    """Return half a square."""
    return [[(x, y), (x, y + a), (x + a, y + a)]]


def jib(x: float, y: float, a: float) -> list[Corners]:
    """Return the other half of a square."""
    return [[(x + a, y), (x, y + a), (x + a, y + a)]]


def gull(x: float, y: float, a: float) -> list[Corners]:
    """Return a triangle on its side, as high as its cell."""
    return [[(x, y + a), (x + a / 2, y), (x + a, y + a)]]


def pennant(x: float, y: float, a: float) -> list[Corners]:
    """Return two halves of a square in two colours."""
    return [[(x, y), (x + a, y), (x + a, y + a)], [(x, y), (x + a, y + a), (x, y + a)]]


def lantern(x: float, y: float, a: float) -> list[Corners]:
    """Return a rhomb of two triangles."""
    return [
        [(x + a / 2, y), (x + a, y + a / 2), (x, y + a / 2)],
        [(x + a, y + a / 2), (x + a / 2, y + a), (x, y + a / 2)],
    ]


KINDS = (buoy, flag, sail, jib, gull, pennant, lantern)


def emblem(seed: int) -> list[Corners]:
    """Return the shapes of an emblem, without its background."""
    choose = random.Random(seed)  # noqa: S311 - drawings, no secrets
    cells = choose.choice((4, 5, 6))
    a = SIZE / cells
    mirrored = choose.random() < 0.5
    inner = [(i, j) for i in range(1, cells - 1) for j in range(1, cells - 1)]
    if mirrored:
        inner = [(i, j) for i, j in inner if 2 * i < cells - 1]
    count = min(len(inner), choose.randint(2, 4) if mirrored else choose.randint(2, 6))
    shapes: list[Corners] = []
    for i, j in choose.sample(inner, count):
        made = choose.choice(KINDS)(i * a, j * a, a)
        shapes += made
        if mirrored:
            shapes += [[(SIZE - x, y) for x, y in shape] for shape in made]
    return shapes


def drawing(seed: int) -> bytes:
    """Return an emblem as SVG."""
    shapes = [
        f'<path fill="{COLOURS[n % len(COLOURS)]}" d="M {" L ".join(f"{x:.4f} {y:.4f}" for x, y in shape)} Z"/>'
        for n, shape in enumerate(emblem(seed))
    ]
    size = f'width="{SIZE:g}in" height="{SIZE:g}in" viewBox="0 0 {SIZE:g} {SIZE:g}"'
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" {size}>'
        f'<rect width="{SIZE:g}" height="{SIZE:g}" fill="{BACKGROUND}"/>{"".join(shapes)}</svg>'
    ).encode()

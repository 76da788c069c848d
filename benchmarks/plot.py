"""A plot with logarithmic axes as an SVG file."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from xml.sax.saxutils import escape

WIDTH, HEIGHT = 900, 560
LEFT, RIGHT, TOP, BOTTOM = 80, 250, 50, 60
COLOURS = ("#0072b2", "#d55e00", "#009e73", "#cc79a7", "#8a6d00", "#56b4e9", "#444444")
"""Colours that colour-blind readers can tell apart (Okabe & Ito 2008, from memory; the yellow darkened)."""

DASHES = ("", "7 3", "2 3")


@dataclass(frozen=True, slots=True)
class Series:
    """Points (x, y) under one name, both positive."""

    name: str
    points: tuple[tuple[float, float], ...]


def log_plot(series: Sequence[Series], *, title: str, across: str, up: str) -> str:
    """Draw series of points, in order of x, with both axes logarithmic and a line at every power of ten.

    Parameters
    ----------
    series
        What to draw.
    title, across, up
        What stands above the plot and along its axes.

    Returns
    -------
    str
        An SVG document.
    """
    xs = [x for one in series for x, _ in one.points]
    ys = [y for one in series for _, y in one.points]
    frame = _Frame(*_decades(xs), *_decades(ys))
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{WIDTH}" height="{HEIGHT}" viewBox="0 0 {WIDTH} {HEIGHT}" '
        'font-family="Bitstream Vera Sans, DejaVu Sans, Verdana, sans-serif" font-size="13">',
        f'<rect width="{WIDTH}" height="{HEIGHT}" fill="#ffffff"/>',
        f'<text x="{LEFT}" y="28" font-size="17">{escape(title)}</text>',
        *frame.grid(),
        f'<text x="{(LEFT + WIDTH - RIGHT) / 2}" y="{HEIGHT - 15}" text-anchor="middle">{escape(across)}</text>',
        f'<text transform="translate(20 {(TOP + HEIGHT - BOTTOM) / 2}) rotate(-90)" text-anchor="middle">'
        f"{escape(up)}</text>",
    ]
    for n, one in enumerate(series):
        parts += _draw(one, frame, n)
    return "\n".join([*parts, "</svg>", ""])


def _decades(values: Sequence[float]) -> tuple[int, int]:
    return math.floor(math.log10(min(values))), math.ceil(math.log10(max(values)))


@dataclass(frozen=True, slots=True)
class _Frame:
    """The axes: the powers of ten where they begin and end."""

    first_x: int
    last_x: int
    first_y: int
    last_y: int

    def x(self, value: float) -> float:
        share = (math.log10(value) - self.first_x) / (self.last_x - self.first_x)
        return round(LEFT + share * (WIDTH - LEFT - RIGHT), 1)

    def y(self, value: float) -> float:
        share = (math.log10(value) - self.first_y) / (self.last_y - self.first_y)
        return round(HEIGHT - BOTTOM - share * (HEIGHT - BOTTOM - TOP), 1)

    def grid(self) -> Iterator[str]:
        for power in range(self.first_x, self.last_x + 1):
            x = self.x(10.0**power)
            yield f'<path d="M{x} {TOP}V{HEIGHT - BOTTOM}" stroke="#cccccc"/>'
            yield f'<text x="{x}" y="{HEIGHT - BOTTOM + 20}" text-anchor="middle">{10**power:,}</text>'
        for power in range(self.first_y, self.last_y + 1):
            y = self.y(10.0**power)
            yield f'<path d="M{LEFT} {y}H{WIDTH - RIGHT}" stroke="#cccccc"/>'
            yield f'<text x="{LEFT - 8}" y="{y + 4}" text-anchor="end">{10.0**power:g}</text>'


def _draw(one: Series, frame: _Frame, n: int) -> Iterator[str]:
    colour, dash = COLOURS[n % len(COLOURS)], DASHES[n % len(DASHES)]
    at = [(frame.x(x), frame.y(y)) for x, y in one.points]
    line = " ".join(f"{x},{y}" for x, y in at)
    key = TOP + 20 + 24 * n
    start = WIDTH - RIGHT + 20
    style = f'fill="none" stroke="{colour}" stroke-width="2" stroke-dasharray="{dash or "none"}"'
    yield f'<polyline points="{line}" {style}/>'
    yield from (f'<circle cx="{x}" cy="{y}" r="3.5" fill="{colour}"/>' for x, y in at)
    yield f'<path d="M{start} {key - 4}h28" {style}/>'
    yield f'<text x="{start + 36}" y="{key}">{escape(one.name)}</text>'

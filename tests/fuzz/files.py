"""Layouts written as files in every format, and ways to damage the text."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import dataclass
from random import Random
from typing import Literal

from tests.fuzz.layouts import Outlines, Ring, damage, make_layout
from tests.support.files import Format

FABRICS = ("#aa3344", "#335577", "#ddcc99", "none", "white", "url(#p)", "currentColor")
UNITS = ("", "px", "in", "mm", "cm", "pt", "pc", "Q", "%", "em", "furlong")
NUMBERS = (
    "0",
    "-0",
    "1e308",
    "-1e308",
    "1e-320",
    "1e400",
    "nan",
    "inf",
    "1e5",
    "-1",
    "0.1e",
    "1.",
    ".5",
    "999999999999999999999",
)
HOSTILE = (
    b"\x00",
    b"\xff\xfe",
    b"\xef\xbb\xbf",
    b"<",
    b"&",
    b"&a;",
    b'"',
    b"<!--",
    b"]]>",
    b"<![CDATA[",
    b"</svg>",
    b"[",
    b"{",
    b"null",
    b"()",
    b"EMPTY",
    b"Z M",
    b"a1,1,0,1,1,0,0",
    b"C0,0 8,8 0,8",
    b"transform='matrix(0 0 0 0 0 0)'",
    b"\xf0\x9f\xa7\xb5",
    b"SRID=4326;",
    b"<use href='#g'/>",
    b"<text x='96' y='96'>A1</text>",
    b"stroke-dasharray='3'",
    b"style='display:none'",
)
TRANSFORMS = (
    "rotate({a})",
    "scale({b})",
    "translate({a} {b})",
    "skewX({a})",
    "skewY({b})",
    "matrix(1 0 {b} 1 0 0)",
    "scale(-1 1)",
    "rotate({a} 300 300)",
    "matrix(0 1 -1 0 0 0)",
    "scale(0)",
    "rotate(45",
    "scale(1e300)",
)


@dataclass(frozen=True)
class Input:
    """A file, and how it is to be read.

    Parameters
    ----------
    data
        The whole file.
    form
        The reader that gets it.
    tolerance, width
        Options, inches.
    """

    data: bytes
    form: Format | Literal["pdf", "dxf"]
    tolerance: float
    width: float | None


def make_input(rng: Random) -> Input:
    """Make a file of a layout; damage the layout, the text, both or neither."""
    outlines = damage(rng, make_layout(rng))
    form: Format = rng.choice(["svg", "svg", "geojson", "wkt"])
    data = {"svg": _svg, "geojson": _geojson, "wkt": _wkt}[form](rng, outlines).encode()
    return Input(damage_text(rng, data, rng.choice([0, 0, 0, 1, 1, 2, 5])), form, *options(rng))


def options(rng: Random) -> tuple[float, float | None]:
    """Return a tolerance and a width, as a rule the usual ones."""
    return rng.choice([0.02, 0.02, 0.02, 0.1, 1e-5, 1.0]), rng.choice([None, None, None, 8.0, 0.5, 80.0, 1e5])


def damage_text(rng: Random, data: bytes, times: int) -> bytes:
    """Damage the bytes of a file a number of times."""
    for _ in range(times):
        if data:
            data = rng.choice(TEXT_WAYS)(rng, data)
    return data


def _cut(rng: Random, data: bytes) -> bytes:
    return data[: rng.randrange(len(data))]


def _change_byte(rng: Random, data: bytes) -> bytes:
    k = rng.randrange(len(data))
    return data[:k] + bytes([rng.randrange(256)]) + data[k + 1 :]


def _insert(rng: Random, data: bytes) -> bytes:
    k = rng.randrange(len(data))
    return data[:k] + rng.choice(HOSTILE) + data[k:]


def _leave_out(rng: Random, data: bytes) -> bytes:
    k = rng.randrange(len(data))
    return data[:k] + data[k + rng.randint(1, 40) :]


def _repeat(rng: Random, data: bytes) -> bytes:
    k = rng.randrange(len(data))
    end = k + rng.randint(1, 80)
    return data[:end] + data[k:]


def _change_number(rng: Random, data: bytes) -> bytes:
    places = [k for k in range(1, len(data)) if data[k : k + 1].isdigit() and not data[k - 1 : k].isdigit()]
    if not places:
        return data
    start = end = rng.choice(places)
    while data[end : end + 1].isdigit() or data[end : end + 1] == b".":
        end += 1
    return data[:start] + rng.choice(NUMBERS).encode() + data[end:]


TEXT_WAYS: list[Callable[[Random, bytes], bytes]] = [
    _cut,
    _change_byte,
    _change_byte,
    _insert,
    _insert,
    _leave_out,
    _repeat,
    _change_number,
    _change_number,
]
"""The ways to damage a text."""


def _number(rng: Random, value: float) -> str:
    return f"{value:.{rng.choice([1, 3, 6, 15])}f}" if rng.random() < 0.2 else f"{value:.6g}"


def _svg(rng: Random, outlines: Outlines) -> str:
    filled = rng.random() < 0.7
    shapes = [_shape(rng, [(96 * x, 96 * y) for x, y in ring], filled=filled) for ring in outlines if ring]
    if rng.random() < 0.2:
        shapes.append(_curve(rng, filled=filled))
    rng.shuffle(shapes)
    body = "".join(shapes)
    for _ in range(rng.choice([0, 0, 0, 1, 1, 2, 6])):
        change = rng.choice(TRANSFORMS).format(a=rng.choice([0, 7, 45, 90, 1e9]), b=rng.choice([0.5, 1, 2, 1e-9, 30]))
        body = f'<g id="g" transform="{change}">{body}</g>'
    size = ""
    if rng.random() < 0.4:
        size = f' width="{rng.choice(["8", "100", "0", "1e9"])}{rng.choice(UNITS)}" height="8in"'
    if rng.random() < 0.4:
        size += f' viewBox="0 0 {rng.choice(["768 768", "768 3", "8 8", "0 0", "1e9 1e9"])}"'
    return f'<svg xmlns="http://www.w3.org/2000/svg"{size}>{body}</svg>'


def _shape(rng: Random, ring: Ring, *, filled: bool) -> str:
    fabric = rng.choice(FABRICS[:3] if rng.random() < 0.9 else FABRICS)
    look = f'fill="{fabric}"' if filled else 'fill="none" stroke="#000"'
    numbers = [(_number(rng, x), _number(rng, y)) for x, y in ring]
    if rng.random() < 0.5:
        return f'<polygon {look} points="{" ".join(f"{x},{y}" for x, y in numbers)}"/>'
    return f'<path {look} d="M{"L".join(f"{x} {y}" for x, y in numbers)}{rng.choice(["Z", "Z", ""])}"/>'


def _curve(rng: Random, *, filled: bool) -> str:
    look = 'fill="#123456"' if filled else 'fill="none" stroke="#000"'
    a, b, c = (rng.choice([rng.uniform(0, 768), 0, 384, 768]) for _ in range(3))
    return rng.choice(
        [
            f'<circle {look} cx="{a:.4g}" cy="{b:.4g}" r="{c / 3:.4g}"/>',
            f'<rect {look} x="{a:.4g}" y="{b:.4g}" width="{c:.4g}" height="90" rx="30"/>',
            f'<path {look} d="M0 {a:.4g} C{b:.4g} {c:.4g} {c:.4g} {b:.4g} 768 {a:.4g}"/>',
            f'<path {look} d="M{a:.4g} 0 A{b:.4g} {c:.4g} 30 0 1 0 {a:.4g}z"/>',
            f'<path {look} d="M{a:.4g} 0 Q{b:.4g} {c:.4g} 0 {a:.4g} T768 768"/>',
        ]
    )


def _geojson(rng: Random, outlines: Outlines) -> str:
    features = [
        {
            "type": "Feature",
            "properties": rng.choice([None, {"fabric": rng.choice(FABRICS), "label": "A1"}]),
            "geometry": {
                "type": kind,
                "coordinates": [list(map(list, [*ring, *ring[:1]]))] if kind == "Polygon" else list(map(list, ring)),
            },
        }
        for ring in outlines
        for kind in [rng.choice(["Polygon"] * 9 + ["LineString"])]
    ]
    return json.dumps({"type": "FeatureCollection", "features": features})


def _wkt(rng: Random, outlines: Outlines) -> str:
    rings = ["(" + ", ".join(f"{_number(rng, x)} {_number(rng, y)}" for x, y in [*r, *r[:1]]) + ")" for r in outlines]
    if rng.random() < 0.2:
        return f"MULTILINESTRING ({', '.join(rings)})"
    return f"MULTIPOLYGON ({', '.join(f'({ring})' for ring in rings)})"

"""A foundation as an SVG file at true scale, as it is printed: mirrored.

Every patch is a closed shape in the colour of its fabric with its number and the word for its fabric inside. Trim
line, ticks and markings are dashed, so that whoever reads the file takes them for no seams: reading it gives the
unit's mirrored layout.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from xml.sax.saxutils import escape

import shapely

from seamtree.errors import Point
from seamtree.pattern.foundation import Foundation, PaperPatch
from seamtree.svg_words import LETTER, Paints, number, run
from seamtree.words import one_line

_LINE = 0.01
"""Width of lines, inches."""

_LARGEST_TEXT = 0.2
"""Height of letters, inches; less where a patch has no room for them."""


def render_foundation_svg(foundation: Foundation) -> str:
    """Return a foundation as text of an SVG file, in inches."""
    paints = Paints()
    patches = [
        f'    <path fill="{paints.fill(patch.fabric)}" d="M {run(patch.polygon)} Z"/>' for patch in foundation.patches
    ]
    width, height = number(foundation.width), number(foundation.height)
    return "\n".join(
        [
            '<?xml version="1.0" encoding="UTF-8"?>',
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}in" height="{height}in" '
            f'viewBox="0 0 {width} {height}" font-family="sans-serif">',
            f"  <title>unit {escape(foundation.unit)}, printed side</title>",
            *paints.definitions(),
            f'  <g id="patches" stroke="#000000" stroke-width="{_LINE}" stroke-linejoin="round">',
            *patches,
            "  </g>",
            '  <g id="numbers" text-anchor="middle">',
            *(line for patch in foundation.patches for line in _texts(patch)),
            "  </g>",
            _dashed("trim-line", [(*foundation.trim, foundation.trim[0])], dashes="0.12 0.06", colour="#000000"),
            # A dash longer than the tick: the whole tick shows.
            _dashed("ticks", foundation.ticks, dashes="9 9", colour="#000000"),
            _dashed("markings", foundation.markings, dashes="0.03 0.05", colour="#666666"),
            "</svg>",
            "",
        ]
    )


def _texts(patch: PaperPatch) -> Iterator[str]:
    """Yield the number above the word, both centred in the roomiest place of the patch."""
    room = shapely.maximum_inscribed_circle(shapely.Polygon(patch.polygon), 0.01)
    x, y = room.coords[0]
    word = one_line(patch.word)
    for text, row in ((patch.name, -0.5), (word, 0.5)):
        size = max(0.01, min(_LARGEST_TEXT, 0.6 * room.length, 1.6 * room.length / (LETTER * max(1, len(text)))))
        apart = min(_LARGEST_TEXT, 0.6 * room.length)
        # Letters stand on the line; their middle is about a third of their height above it.
        yield (
            f'    <text x="{number(x)}" y="{number(y + row * apart + size / 3)}" font-size="{number(size)}">'
            f"{escape(text)}</text>"
        )


def _dashed(name: str, paths: Sequence[Sequence[Point]], *, dashes: str, colour: str) -> str:
    """Return a group of dashed lines."""
    lines = "".join(f'<path d="M {run(path)}"/>' for path in paths)
    return (
        f'  <g id="{name}" fill="none" stroke="{colour}" stroke-width="{_LINE}" stroke-dasharray="{dashes}">'
        f"{lines}</g>"
    )

"""A mended drawing as SVG, in inches, so that any editor opens it and reading it again finds the same patches.

Every patch is a closed shape with its fabric, labels are text inside their patches, markings are dashed. Added seams
are drawn once more as lines in a group of their own, in a colour of their own; they lie on boundaries of patches, so
they change nothing when the drawing is read.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from xml.sax.saxutils import escape, quoteattr

import shapely

from seamtree.block.model import Block
from seamtree.mending.cubics import Span, fit_curves
from seamtree.mending.model import Mending
from seamtree.svg_words import LETTER, Paints, number, place, run
from seamtree.words import one_line

_APART = 1.0
"""Inches between blocks."""

_LINE, ADDED_LINE = 0.01, 0.04
"""Widths of lines, inches."""

ADDED_COLOUR = "#d1006c"

_LARGEST_TEXT = 0.3
"""Height of letters, inches; less where a patch has no room for them."""


def render_svg(mendings: Sequence[Mending]) -> str:
    """Return the drawing of the best alternatives of all blocks, side by side, as text of an SVG file."""
    blocks = [(m, m.best.block) for m in mendings if m.best is not None]
    width = sum(block.width for _, block in blocks) + _APART * (len(blocks) - 1)
    height = max(block.height for _, block in blocks)
    body: list[str] = []
    left = 0.0
    paints = Paints()
    for mending, block in blocks:
        body += _block(mending, block, left, paints)
        left += block.width + _APART
    return "\n".join(
        [
            '<?xml version="1.0" encoding="UTF-8"?>',
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{number(width)}in" height="{number(height)}in" '
            f'viewBox="0 0 {number(width)} {number(height)}" font-family="sans-serif">',
            *paints.definitions(),
            *body,
            "</svg>",
            "",
        ]
    )


def _block(mending: Mending, block: Block, left: float, paints: Paints) -> Iterator[str]:
    yield f'  <g id={quoteattr(one_line(block.name))} transform="translate({number(left)} 0)">'
    yield f'    <g stroke="#000000" stroke-width="{_LINE}" stroke-linejoin="round">'
    spans = fit_curves(block)
    for p, patch in enumerate(block.patches):
        yield f'      <path fill="{paints.fill(patch.fabric)}" d="{_outline(block, p, spans)}"/>'
    yield "    </g>"
    for p, patch in enumerate(block.patches):
        if patch.label:
            yield _label(block, p, patch.label)
    for track in block.markings:
        yield (
            f'    <path fill="none" stroke="#666666" stroke-width="{_LINE}" stroke-dasharray="0.08 0.06" '
            f'd="M {run(track.path)}"/>'
        )
    added = mending.alternatives[0].added if mending.alternatives else ()
    if added:
        yield f'    <g id="added-seams" fill="none" stroke="{ADDED_COLOUR}" stroke-width="{ADDED_LINE}">'
        for seam in added:
            yield f'      <path d="M {run(seam.path)}"/>'
        yield "    </g>"
    yield "  </g>"


def _outline(block: Block, patch: int, spans: dict[int, Span]) -> str:
    """Return the boundary of a patch as path data; its curves are curves."""
    shape = block.patches[patch]
    count = len(shape.ring)
    # Begin where no cubic is under way.
    begins = [n for n in range(count) if shape.edges[n] not in spans or shape.ring[n] in spans[shape.edges[n]].ends]
    n = begins[0]
    commands = [f"M {place(block.junctions[shape.ring[n]])}"]
    left = count
    while left:
        span = spans.get(shape.edges[n % count])
        if span is None:
            passed, handles = 1, ""
        else:
            span = span if span.ends[0] == shape.ring[n % count] else span.reversed()
            passed, handles = len(span.edges), " ".join(map(place, span.handles)) + " "
        n += passed
        left -= passed
        commands.append(f"{'C' if handles else 'L'} {handles}{place(block.junctions[shape.ring[n % count]])}")
    return " ".join(commands) + " Z"


def _label(block: Block, patch: int, label: str) -> str:
    inside = shapely.Polygon(block.polygon(patch))
    room = shapely.maximum_inscribed_circle(inside, 0.01)
    x, y = room.coords[0]
    text = one_line(label)
    size = max(0.02, min(_LARGEST_TEXT, room.length, 2 * room.length / (LETTER * max(1, len(text)))))
    # Letters stand on the line; their middle is about a third of their height above it.
    return (
        f'    <text x="{number(x)}" y="{number(y + size / 3)}" font-size="{number(size)}" '
        f'text-anchor="middle">{escape(text)}</text>'
    )

"""A block without a plan: its patches in their fabrics, and the seams between them."""

from __future__ import annotations

from seamtree.block.model import Block
from seamtree.errors import Point
from seamtree.picture.draw import fabric_tints
from seamtree.picture.marks import BLACK
from seamtree.picture.shapes import Layer, Lines, Picture, Polygon
from seamtree.words import count, cut_short, dimensions, one_line

_SIDE = 360.0
"""Longest side of the block (points)."""

_ROOM = 2.0
"""White around the block (points), so that the outline is not cut off."""

_SEAM, _OUTLINE = 0.8, 1.6
"""Weights of lines (points)."""


def draw_block(block: Block) -> Picture:
    """Draw a block as it is read: every patch filled with its fabric, numbered for the readers of a screen only.

    Returns
    -------
    Picture
        The longest side of the block is 5 in long (360 points).
    """
    scale = _SIDE / max(block.width, block.height)
    left, top = (min(at[axis] for at in block.junctions) for axis in (0, 1))
    wide, high = (max(at[axis] for at in block.junctions) for axis in (0, 1))

    def place(junction: int) -> Point:
        x, y = block.place(junction)
        return _ROOM + (x - left) * scale, _ROOM + (y - top) * scale

    tints = fabric_tints([patch.fabric for patch in block.patches])
    patches = tuple(
        Polygon(tuple(map(place, patch.ring)), fill=tints[patch.fabric].fill, name=f"patch {p}")
        for p, patch in enumerate(block.patches)
    )
    seams = block.interior_edges
    lines = tuple((place(edge.start), place(edge.end)) for edge in block.edges)
    layers = [Layer("patches", patches)]
    if seams:
        layers.append(Layer("seams", (Lines(lines[: seams.stop], BLACK, _SEAM),)))
    layers.append(Layer("outline", (Lines(lines[seams.stop :], BLACK, _OUTLINE),)))
    name = cut_short(one_line(block.name) or "block", lambda text: len(text) <= 80)
    size = f"{count(len(block.patches), 'patch', 'patches')}, {dimensions(block.width, block.height)}"
    return Picture(
        (wide - left) * scale + 2 * _ROOM,
        (high - top) * scale + 2 * _ROOM,
        name,
        f"Block {name}: {size}, seen from the fabric side.",
        tuple(layers),
    )

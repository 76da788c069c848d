"""Texts of DXF drawings and where their middle is.

There is no font here, so lengths are estimated from the number of letters, as for texts of SVG drawings.
"""

from __future__ import annotations

import math
from typing import Any, NamedTuple

from seamtree.drawing.svg.lettering import ADVANCE, RISE
from seamtree.errors import Point

_LINE_STEP = 5 / 3
"""Distance of base lines in heights of capitals (DXF reference, MTEXT)."""

_LEFTWARD = {0: 0.5, 1: 0.0, 2: -0.5, 4: 0.0}
_UPWARD = {0: 0.5, 1: 0.5, 2: 0.0, 3: -0.5}


class Writing(NamedTuple):
    """A text: what it says, its middle (y up), the height of its capitals, and its direction in radians."""

    text: str
    middle: Point
    height: float
    turn: float


def read_line(thing: Any) -> Writing | None:
    """Return what a TEXT or ATTRIB says."""
    dxf = thing.dxf
    text = thing.plain_text().strip()
    height = abs(float(dxf.get("height", 1.0)))
    if not text or not height:
        return None
    across, up = int(dxf.get("halign", 0)), int(dxf.get("valign", 0))
    turn = math.radians(float(dxf.get("rotation", 0.0)))
    start = dxf.get("insert")
    if across in {3, 5} and dxf.hasattr("align_point"):
        start = (start + dxf.align_point) / 2
        shift = (0.0, 0.5)
    else:
        if (across or up) and dxf.hasattr("align_point"):
            start = dxf.align_point
        shift = (_LEFTWARD.get(across, 0.0), 0.0 if across == 4 else _UPWARD.get(up, 0.5))
    ocs = thing.ocs()
    right, above = _turned((shift[0] * _length(text, height), shift[1] * height), turn)
    middle = ocs.to_wcs((start.x + right, start.y + above, start.z))
    direction = ocs.to_wcs((math.cos(turn), math.sin(turn), 0.0))
    return Writing(text, (middle.x, middle.y), height, math.atan2(direction.y, direction.x))


def read_paragraph(thing: Any) -> Writing | None:
    """Return what an MTEXT says."""
    dxf = thing.dxf
    lines = [line.strip() for line in thing.plain_text(split=True)]
    height = abs(float(dxf.get("char_height", 1.0)))
    if not any(lines) or not height:
        return None
    turn = math.radians(float(thing.get_rotation()))
    place = min(max(int(dxf.get("attachment_point", 1)), 1), 9) - 1
    long = max(_length(line, height) for line in lines)
    deep = height * (1 + _LINE_STEP * (len(lines) - 1))
    shift = ((1 - place % 3) * long / 2, (place // 3 - 1) * deep / 2)
    right, above = _turned(shift, turn)
    start = dxf.insert
    return Writing(" ".join(filter(None, lines)), (start.x + right, start.y + above), height, turn)


def _length(text: str, height: float) -> float:
    return ADVANCE / RISE * height * len(text)


def _turned(shift: Point, turn: float) -> Point:
    cosine, sine = math.cos(turn), math.sin(turn)
    return (shift[0] * cosine - shift[1] * sine, shift[0] * sine + shift[1] * cosine)

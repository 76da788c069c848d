"""Drawings against a renderer: the topmost fill over a place is the colour that is seen there.

The colours in ``files/rendered/samples.json`` were taken from pictures that resvg made of the drawings (Python
package resvg-py 0.5.0, 96 px to the inch, white background), at places where the seven by seven pixels around are of
one colour. The drawings were put together at random from groups, transforms, shapes, path commands, symbols, nested
drawings and style rules.
"""

import json

import pytest

from seamtree.drawing.svg.read import read_svg
from tests.drawing.svg.helps import FILES

RENDERED = FILES / "rendered"
SAMPLES = json.loads((RENDERED / "samples.json").read_text())


def winding(track, x, y):
    """How often a closed track turns round a point (crossings of the ray to the right)."""
    turns = 0
    for (ax, ay), (bx, by) in zip(track.points, track.points[1:] + track.points[:1], strict=True):
        if (ay > y) != (by > y) and x < ax + (y - ay) * (bx - ax) / (by - ay):
            turns += 1 if by > ay else -1
    return turns


def topmost(drawing, x, y):
    for shape in reversed(drawing.shapes):
        if shape.fill is not None:
            turns = sum(winding(track, x, y) for track in shape.tracks if track.closed)
            if turns % 2 if shape.evenodd else turns:
                return shape.fill
    return "#ffffff"


@pytest.mark.parametrize("name", sorted(SAMPLES))
def test_the_topmost_fill_is_what_is_seen(name):
    drawing = read_svg((RENDERED / name).read_bytes(), source=name)
    compared = 0
    for x, y, colour in SAMPLES[name]:
        fill = topmost(drawing, (x + 0.5) / 96, (y + 0.5) / 96)
        if fill.startswith("#"):  # the picture of a gradient has many colours
            assert (x, y, fill) == (x, y, colour)
            compared += 1
    assert compared > 30

"""Pictures of a drawing before and after it is mended."""

from __future__ import annotations

import seamtree
from seamtree.block.sketch import sketch_of
from seamtree.drawing.read import parse_drawing
from seamtree.mending import mend
from seamtree.mending.slips import mend_slips
from seamtree.picture import Disc, Lines, Polygon, Text, write_png, write_svg
from seamtree.picture.before_after import ADDED, draw_before_after
from tests.support.emblems import CROSS, SQUARE, sketch
from tests.support.layouts import squares

HEAD = '<svg xmlns="http://www.w3.org/2000/svg" width="8in" height="8in" viewBox="0 0 8 8">'


def captions(picture):
    return [shape.text for shape in picture.shapes() if isinstance(shape, Text)]


def test_what_is_added_is_marked_on_the_right_only():
    picture = draw_before_after([mend(sketch(CROSS))])
    assert sum(isinstance(shape, Polygon) for shape in picture.shapes()) == 2 + 11
    (added,) = (shape for shape in picture.shapes() if isinstance(shape, Lines) and shape.colour == ADDED)
    assert min(x for path in added.paths for x, _ in path) > picture.width / 2
    assert captions(picture) == ["as drawn", "mended: 11 patches, 2 units"]
    assert write_svg(picture) == write_svg(draw_before_after([mend(sketch(CROSS))]))


def test_a_hole_is_left_open():
    """The background of a floating square is painted round it, whatever is painted first."""
    picture = draw_before_after([mend(sketch(SQUARE))])
    background = next(shape for shape in picture.shapes() if isinstance(shape, Polygon))
    assert len(background.points) == 4 + 4 + 2


def test_slips_are_shown_as_they_were_drawn():
    lines = '<path d="M0 0H8V8H0Z"/><path d="M3 0V8"/><path d="M3.1 4H8"/>'
    drawn = parse_drawing(
        f'{HEAD}<g fill="none" stroke="#000">{lines}</g></svg>'.encode(),
        source="quay.svg",
    )
    (block,) = seamtree.sketch(f'{HEAD}<g fill="none" stroke="#000">{lines}</g></svg>'.encode(), within=0.15)
    picture = draw_before_after([mend(block)], drawn=drawn)
    assert mend_slips(drawn, within=0.15).slips
    rings = [shape for shape in picture.shapes() if isinstance(shape, Disc)]
    assert len(rings) == 2
    lines_drawn = [path for shape in picture.shapes() if isinstance(shape, Lines) for path in shape.paths]
    scale = 360 / 8
    loose = [path for path in lines_drawn if abs(abs(path[0][0] - path[-1][0]) - 4.9 * scale) < 1e-6]
    assert len(loose) == 1
    assert captions(picture) == ["as drawn", "mended"]


def test_nothing_to_mend_is_said():
    block = seamtree.block_from_polygons([[(0, 0), (4, 0), (4, 4), (0, 4)]])
    assert captions(draw_before_after([mend(sketch_of(block))])) == ["as drawn", "nothing to mend"]
    four = seamtree.block_from_polygons(squares(2, 2))
    assert captions(draw_before_after([mend(four, goal="merged")])) == ["as drawn", "unchanged"]


def test_it_can_be_painted():
    assert write_png(draw_before_after([mend(sketch(CROSS))]), resolution=72)[:4] == b"\x89PNG"

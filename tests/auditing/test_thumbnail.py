"""Small pictures show what the picture of a file shows, in far fewer bytes."""

from __future__ import annotations

import io
from xml.etree import ElementTree as ET

import numpy as np
import pytest
import resvg_py
from benchmarks.families import straight_cuts
from PIL import Image

import seamtree
from seamtree.auditing.thumbnail import SCALE, write_thumbnail
from seamtree.picture import SMALL, Disc, Layer, Lines, Picture, Polygon, Text, draw_plan, write_svg
from tests.support.wkt import RING

NAMESPACE = '<svg xmlns="http://www.w3.org/2000/svg" stroke-linecap="round" stroke-linejoin="round"'


def parsed(text):
    return ET.fromstring(text)  # noqa: S314, our own


def painted(svg):
    image = Image.open(io.BytesIO(bytes(resvg_py.svg_to_bytes(svg_string=svg, dpi=96)))).convert("RGBA")
    paper = Image.new("RGBA", image.size, "white")
    return np.asarray(Image.alpha_composite(paper, image).convert("L"), dtype=float)


@pytest.fixture(params=["ring", "cuts"])
def picture(request, tmp_path):
    if request.param == "ring":
        path = tmp_path / "ring.wkt"
        path.write_text(RING)
        (block,) = seamtree.read(path)
    else:
        block = seamtree.block_from_polygons(straight_cuts(40, 1))
    return draw_plan(seamtree.plan(block), look=SMALL, size=180.0)


def test_it_shows_what_a_file_shows(picture):
    small, whole = write_thumbnail(picture), write_svg(picture, declaration=False)
    here, there = painted(small.replace("<svg", NAMESPACE, 1)), painted(whole)
    apart = abs(here - there).mean()
    assert apart < 10  # of 255: thin lines may fall on the next pixel
    assert abs(here[:, ::-1] - there).mean() > 3 * apart  # it is not any picture
    assert len(small) < 0.6 * len(whole)
    assert "\n" not in small


def test_shapes_that_are_painted_alike_are_one_element():
    square = ((0.0, 0.0), (1.0, 0.0), (1.0, 1.0))
    shapes = (Polygon(square, "#ff0000"), Polygon(square, "#00fe00"), Polygon(square, "#ff0000"))
    text = write_thumbnail(Picture(10, 20, "a", "b", (Layer("units", shapes),)))
    paths = parsed(text).findall("path")
    assert [path.get("fill") for path in paths] == ["#00fe00", "#f00"]
    assert paths[1].get("d") == f"M0 0l{SCALE} 0 0 {SCALE}z" * 2
    assert parsed(text).get("viewBox") == f"0 0 {10 * SCALE} {20 * SCALE}"


def test_what_lies_on_top_stays_there():
    shapes = (
        Disc((2.0, 2.0), 1.0, "#000000", "#ffffff", 0.5),
        Lines((((0.0, 0.0), (4.0, 4.0)),), "#112233", 1.0),
        Disc((3.0, 3.0), 1.0, "#000000", "#ffffff", 0.5),
        Text((1.0, 2.0), "A<B", 3.0, "middle", True),
    )
    found = list(parsed(write_thumbnail(Picture(4, 4, "a", "b", (Layer("marks", shapes),)))))
    assert [element.tag for element in found] == ["path", "path", "path", "g"]
    assert found[0].get("d").count("a4 4 0 1 0") == 2
    assert found[1].get("stroke") == "#123"
    assert found[3][0].text == "A<B"
    assert found[3].get("text-anchor") == "middle"

from __future__ import annotations

import re
import xml.etree.ElementTree as ET

import pytest

from seamtree.block.build import block_from_polygons
from seamtree.errors import OptionError
from seamtree.picture import Disc, Layer, Lines, Look, Picture, Polygon, Text, render_svg
from seamtree.picture.svg import write_svg
from seamtree.planning.build import plan as plan_block
from tests.cli.hand_made import buoy, dinghy, net, rope_ring

SVG = "{http://www.w3.org/2000/svg}"


def picture_of(*shapes, title="gull", description="A gull."):
    return Picture(100.0, 50.0, title, description, (Layer("marks", shapes),))


def read(text):
    return ET.fromstring(text.encode())  # noqa: S314 -- our own file


@pytest.mark.parametrize("plan", [buoy(), dinghy(), rope_ring(), net(5, 4)])
def test_picture_is_named_and_described_for_readers_who_do_not_see_it(plan):
    root = read(render_svg(plan, prefix="pier"))
    assert root.tag == f"{SVG}svg"
    assert root.get("role") == "img"
    title, description = root[0], root[1]
    assert (title.tag, description.tag) == (f"{SVG}title", f"{SVG}desc")
    assert root.get("aria-labelledby") == f"{title.get('id')} {description.get('id')}" == "pier-title pier-desc"
    assert title.text == plan.block.name
    for unit in plan.units():
        assert f"Unit {unit.name}: patch" in description.text


def test_ids_all_begin_with_the_prefix():
    text = render_svg(rope_ring(), prefix="jetty-2", declaration=False)
    assert text.startswith("<svg ")
    assert all(name.startswith("jetty-2-") for name in re.findall(r' id="([^"]*)"', text))


@pytest.mark.parametrize("prefix", ["", "2", "a b", 'x"onload="', "é"])
def test_prefix_that_is_no_id_is_refused(prefix):
    with pytest.raises(OptionError, match="cannot begin an id"):
        render_svg(buoy(), prefix=prefix)


def test_every_shape_is_written():
    text = write_svg(
        picture_of(
            Polygon(((0, 0), (10, 0), (10, 10.126)), "#aabbcc", "#000000", 0.5, name="A1"),
            Lines((((0, 0), (5, 5)), ((1, 1), (2, 2), (3, 1))), "#123456", 2),
            Disc((4, 5), 6, None, "#000000", 1),
            Text((7, 8), "B2", 9, "middle", True, "#ffffff"),
        )
    )
    polygon, lines, disc, label = read(text).find(f"{SVG}g")
    assert polygon.attrib == {
        "d": "M0 0L10 0L10 10.13Z",
        "fill": "#aabbcc",
        "stroke": "#000000",
        "stroke-width": "0.5",
        "stroke-linejoin": "round",
    }
    assert polygon[0].text == "A1"
    assert lines.get("d") == "M0 0L5 5M1 1L2 2L3 1"
    assert (lines.get("stroke"), lines.get("stroke-width"), lines.get("fill")) == ("#123456", "2", "none")
    assert disc.attrib == {"cx": "4", "cy": "5", "r": "6", "fill": "none", "stroke": "#000000"} | {
        "stroke-width": "1",
        "stroke-linejoin": "round",
    }
    assert label.text == "B2"
    assert label.attrib == {"x": "7", "y": "8", "font-size": "9", "fill": "#ffffff"} | {
        "font-weight": "bold",
        "text-anchor": "middle",
    }


HOSTILE = '</title><script>alert(1)</script> & "quoted" ]]> \N{MUSIC FLAT SIGN}'


def test_text_of_a_drawing_is_only_text():
    polygon = Polygon(((0, 0), (1, 0), (0, 1)), "#ffffff", name=HOSTILE)
    root = read(write_svg(picture_of(polygon, Text((1, 1), HOSTILE, 8), title=HOSTILE, description=HOSTILE)))
    assert [element.tag for element in root.iter()] == [
        f"{SVG}{tag}" for tag in ("svg", "title", "desc", "g", "path", "title", "text")
    ]
    assert [element.text for element in root.iter(f"{SVG}title")] == [HOSTILE, HOSTILE]
    assert root.find(f"{SVG}g/{SVG}text").text == root.find(f"{SVG}desc").text == HOSTILE


def test_names_and_labels_of_a_drawing_come_through_without_what_xml_forbids():
    spoilt = f"{HOSTILE}\x00\x1b[31m\n\ud800\uffff end"
    block = block_from_polygons(
        [[(0, 0), (4, 0), (4, 4), (0, 4)], [(4, 0), (8, 0), (8, 4), (4, 4)]],
        fabrics=[spoilt, None],
        labels=[spoilt, None],
        name=spoilt,
    )
    root = read(render_svg(plan_block(block), look=Look(fabrics=True)))
    assert root[0].text.startswith("</title><script>")
    named = [element for element in root.iter(f"{SVG}title") if element.text.startswith("A")]
    assert sorted(title.text for title in named) == [f"A1, {HOSTILE} [31m end, {HOSTILE} [31m end", "A2"]
    assert not {"script", "b"} & {element.tag.removeprefix(SVG) for element in root.iter()}


def test_same_picture_gives_same_bytes():
    assert render_svg(net(6, 5)) == render_svg(net(6, 5))
    assert render_svg(dinghy(), look=Look(fabrics=True)) == render_svg(dinghy(), look=Look(fabrics=True))

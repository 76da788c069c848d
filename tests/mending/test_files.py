"""Mended drawings in the designer's own files."""

from __future__ import annotations

import json

import pytest
import shapely

import seamtree
from seamtree.mending import mend
from seamtree.mending.files import mended_file
from tests.support.emblems import SQUARE, svg
from tests.support.layouts import spun_rectangles
from tests.support.wkt import RING, TWO_RINGS

LAYERED = """<?xml version="1.0"?>
<svg xmlns="http://www.w3.org/2000/svg" width="160mm" height="160mm" viewBox="10 -20 320 320">
<style>.sea { fill: #87ceeb }</style>
<g id="ground" transform="translate(10 -20)"><rect class="sea" width="320" height="320"/></g>
<g transform="translate(170 140) rotate(45)"><path id="buoy" d="M-60 -60H60V60H-60Z" fill="#c8102e"/></g>
</svg>
"""


def written(path, text, *, kind=None, width=None, **options):
    path.write_text(text, encoding="utf-8")
    mendings = [mend(s, **options) for s in seamtree.sketch(path, width=width)]
    return mended_file(mendings, str(path), kind=kind or path.suffix, tolerance=0.02, width=width), mendings


@pytest.mark.parametrize("text", [svg(SQUARE), LAYERED], ids=["plain", "moved, turned and scaled"])
@pytest.mark.parametrize("width", [None, 10.0])
def test_an_svg_stays_as_it_is_but_for_a_layer(tmp_path, text, width):
    (made, note), (mending,) = written(tmp_path / "buoy.svg", text, width=width)
    assert note == ""
    start = made.index('<g id="added-seams"')
    assert made[:start] + made[made.index("</g>\n", start) + 5 :] == text
    (block,) = seamtree.read(made.encode(), width=width)
    promised = mending.best.block
    assert (block.width, len(block.patches)) == (pytest.approx(promised.width), len(promised.patches))
    shapes = [shapely.Polygon(block.polygon(p)) for p in range(len(block.patches))]
    for p in range(len(promised.patches)):
        here = shapely.Polygon(promised.polygon(p))
        assert any(here.symmetric_difference(shape).area < 1e-3 for shape in shapes)


def test_curves_that_became_straight_are_drawn_anew(tmp_path):
    text = svg(more='<circle cx="4" cy="4" r="2.5" fill="#c8102e"/>')
    (made, note), (mending,) = written(tmp_path / "buoy.svg", text, curve_tolerance=0.3)
    assert note.startswith("drawn anew")
    (block,) = seamtree.read(made.encode())
    assert len(block.patches) == mending.best.counts.patches


def test_geojson_keeps_fabrics_labels_and_places(tmp_path):
    fabrics, labels = ["sky", "crimson", "sail", "sand", "rope"], [None, "buoy", None, None, "gull"]
    features = [
        {
            "type": "Feature",
            "properties": {"fabric": fabric} | ({"label": label} if label else {}),
            "geometry": {"type": "Polygon", "coordinates": [[[x + 3, y - 2] for x, y in shape.exterior.coords]]},
        }
        for fabric, label, shape in zip(fabrics, labels, spun_rectangles(), strict=True)
    ]
    text = json.dumps({"type": "FeatureCollection", "features": features})
    (made, note), (mending,) = written(tmp_path / "buoy.geojson", text)
    assert note == ""
    answer = json.loads(made)
    corners = [at for f in answer["features"] for at in f["geometry"]["coordinates"][0]]
    assert (min(corners), max(corners)) == ([3, -2], [9, 4])
    assert {f["properties"]["fabric"] for f in answer["features"]} == set(fabrics)
    assert sorted(f["properties"]["label"] for f in answer["features"] if "label" in f["properties"]) == [
        "buoy",
        "gull",
    ]
    (block,) = seamtree.read(made.encode(), name="buoy.geojson")
    assert len(block.patches) == mending.best.counts.patches == 6


@pytest.mark.parametrize(("text", "blocks"), [(RING, 1), (TWO_RINGS, 2)])
def test_wkt_comes_back_as_wkt(tmp_path, text, blocks):
    (made, _), _ = written(tmp_path / "ring.wkt", text)
    again = seamtree.read(made.encode(), name="ring.wkt")
    assert [len(block.patches) for block in again] == [6] * blocks


@pytest.mark.parametrize("fabric", ["sea linen", "crimson", "#AA3344", "sail", ""])
def test_fabrics_are_kept_in_an_svg_that_is_drawn_anew(tmp_path, fabric):
    features = [
        {
            "type": "Feature",
            "properties": {"fabric": fabric if n else "#335577", "label": f"piece {n}"},
            "geometry": {"type": "Polygon", "coordinates": [[list(at) for at in shape.exterior.coords]]},
        }
        for n, shape in enumerate(spun_rectangles())
    ]
    source = tmp_path / "buoy.geojson"
    source.write_text(json.dumps({"type": "FeatureCollection", "features": features}), encoding="utf-8")
    mendings = [mend(block) for block in seamtree.read(str(source))]
    made, _ = mended_file(mendings, str(source), kind=".svg", tolerance=0.02, width=None)
    (block,) = seamtree.read(made.encode(), name="buoy.svg")
    kept = {patch.fabric or "" for patch in block.patches}
    assert kept == {"#335577", fabric.lower().replace(" ", "-")}
    assert {patch.label for patch in block.patches if patch.label} == {f"piece {n}" for n in range(5)}

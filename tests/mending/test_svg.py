"""Mended drawings as SVG: read again, they have the same patches."""

from __future__ import annotations

import math
from dataclasses import replace
from xml.etree import ElementTree as ET

import pytest
import shapely

import seamtree
from seamtree.block.build import block_from_polygons
from seamtree.drawing.drawn import Track
from seamtree.mending import mend
from seamtree.mending.cubics import fit_curves
from seamtree.mending.svg import render_svg
from tests.support.layouts import hexagon_flower, quarter_circle, spun_rectangles, tumbling_block

SVG = "{http://www.w3.org/2000/svg}"


def read_again(tmp_path, *mendings):
    path = tmp_path / "mended.svg"
    path.write_text(render_svg(mendings), encoding="utf-8")
    return seamtree.read(path)


@pytest.mark.parametrize("layout", [spun_rectangles, tumbling_block, hexagon_flower], ids=lambda f: f.__name__)
def test_what_was_mended_checks_clean(tmp_path, layout):
    mending = mend(block_from_polygons(layout(), fabrics=["#87ceeb"] * len(layout())))
    (again,) = read_again(tmp_path, mending)
    assert (again.width, again.height) == pytest.approx((mending.best.block.width, mending.best.block.height))
    plan = seamtree.plan(again)
    assert plan.counts.patches == mending.best.counts.patches
    assert plan.counts.hard_corners == 0
    assert plan.counts.units == mending.best.counts.units
    for p in range(len(again.patches)):
        shape = shapely.Polygon(again.polygon(p))
        assert any(
            shape.symmetric_difference(shapely.Polygon(mending.best.block.polygon(q))).area < 1e-3
            for q in range(len(again.patches))
        )


def test_fabrics_labels_and_markings_come_back(tmp_path):
    block = block_from_polygons(
        spun_rectangles(),
        fabrics=["#1f3a5f", "#C8102E", "sail cloth", "sail-cloth", "3rd bolt"],
        labels=["gull & <rope>", None, "tide pool", None, "lighthouse of the harbour"],
    )
    block = replace(block, markings=(Track(((1.0, 1.0), (5.0, 1.5)), closed=False, curves=(0,)),))
    mending = mend(block)
    (again,) = read_again(tmp_path, mending)
    assert sorted(p.label for p in again.patches if p.label) == sorted(p.label for p in block.patches if p.label)
    assert len({p.fabric for p in again.patches}) == 5
    assert {"#1f3a5f", "#c8102e"} <= {p.fabric for p in again.patches}
    (marking,) = again.markings
    for drawn, read in zip(block.markings[0].points, marking.points, strict=True):
        assert read == pytest.approx(drawn, abs=1e-5)


def test_added_seams_are_a_group_of_their_own():
    mending = mend(block_from_polygons(spun_rectangles()))
    root = ET.fromstring(render_svg([mending]))  # noqa: S314 - our own text
    (group,) = [g for g in root.iter(f"{SVG}g") if g.get("id") == "added-seams"]
    (line,) = group.iter(f"{SVG}path")
    start, end = mending.alternatives[0].added[0].path
    assert line.get("d") == f"M {start[0]:g} {start[1]:g} L {end[0]:g} {end[1]:g}"
    patches = [p for p in root.iter(f"{SVG}path") if p.get("d", "").endswith("Z")]
    assert len(patches) == 6
    assert root.get("width") == "6in"


def test_several_blocks_stand_side_by_side(tmp_path):
    blocks = [block_from_polygons(spun_rectangles()), block_from_polygons([shapely.box(0, 0, 2, 9)])]
    again = read_again(tmp_path, *(mend(block) for block in blocks))
    assert [len(block.patches) for block in again] == [6, 1]


@pytest.mark.parametrize("chords", [6, 12, 40])
def test_curves_that_stay_are_curves_again(tmp_path, chords):
    mending = mend(quarter_circle(chords))
    (again,) = read_again(tmp_path, mending)
    plan = seamtree.plan(again)
    assert (plan.counts.curved, plan.counts.hard_corners) == (1, 1)
    for j in again.junctions:
        if 0 < j[0] < 4 and 0 < j[1] < 4:
            assert math.hypot(*j) == pytest.approx(4, abs=0.05)


def test_a_cubic_passes_near_the_junctions_of_its_span():
    block = quarter_circle(40)
    spans = set(fit_curves(block).values())
    assert len(spans) == 2
    assert sum(len(span.edges) for span in spans) == 40
    for span in spans:
        ends = [block.junctions[j] for j in span.ends]
        for t in (0.25, 0.5, 0.75):
            shares = ((1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t * t * (1 - t), t**3)
            controls = (ends[0], *span.handles, ends[1])
            x, y = (
                sum(share * control[axis] for share, control in zip(shares, controls, strict=True)) for axis in (0, 1)
            )
            assert math.hypot(x, y) == pytest.approx(4, abs=0.002)

from __future__ import annotations

from pathlib import Path

import pytest
import shapely

import seamtree
from seamtree.block.model import Block
from seamtree.mending import mend
from seamtree.planning.build import plan
from seamtree.rating import default_scale, default_scale_text, rate
from seamtree.rating.scale import parse_scale
from tests.support import layouts

SAMPLES = Path(__file__).parents[2] / "samples"


def rated(layout, width=8.0, **words):
    return rate(plan(layouts.at_width(layout, width)), **words)


def scale_with(**rows):
    """Return a scale on which nothing counts but these features."""
    lines = []
    for line in default_scale_text().splitlines():
        key = line.partition(" = [")[0]
        lines.append(f"{key} = {rows.get(key, [])}" if " = [[" in line else line)
    return parse_scale("\n".join(lines), source="test.toml")


def by_kind(rating):
    return {change.kind: change for change in rating.changes}


def test_changes_come_from_the_best_on_and_are_at_most_three():
    for layout in (layouts.split_square_star(), layouts.attic_window()):
        changes = rated(layout, 4.0).changes
        assert 2 <= len(changes) <= 3
        assert [c.tenths for c in changes] == sorted((c.tenths for c in changes), reverse=True)
        assert all(c.tenths > 0 for c in changes)


def test_nothing_lowers_a_block_without_points():
    assert rated([shapely.box(0, 0, 4, 4)]).changes == ()
    assert rated(layouts.kaleidoscope(), changes=False).changes == ()


def test_a_larger_size_saves_what_the_larger_block_saves():
    narrow = [shapely.box(0, y, 6, y + 0.6) for y in (0, 0.6, 1.2, 1.8)]
    rating = rate(plan(Block.from_polygons(narrow)))
    change = by_kind(rating)["size"]
    assert change.text == "make the block 7.5 in wide instead of 6"
    larger = rated(narrow, 7.5)
    assert change.points == pytest.approx(rating.score - larger.score)
    assert change.level == larger.level


def test_mending_saves_what_the_mended_block_saves():
    block = layouts.at_width(layouts.spun_rectangles(), 8.0)
    rating = rate(plan(block))
    change = by_kind(rating)["mend"]
    mended = rate(mend(block).best)
    assert mended.features.partial == 0
    assert change.points == pytest.approx(rating.score - mended.score)
    assert change.level == mended.level
    assert change.text.startswith("carry the seam between ")


def test_merging_saves_what_the_merged_block_saves():
    block = Block.from_polygons(layouts.squares(2, 2), fabrics=["#112233", "#112233", "#ffffff", "#aa0000"])
    change = by_kind(rate(plan(block)))["merge"]
    assert change.text.startswith("drop the seam between ")
    assert change.points == pytest.approx(rate(plan(block)).score - rate(mend(block, goal="merged").best).score)


def test_a_curve_is_replaced_if_that_is_easier():
    scale = scale_with(curved=[[0, 0], [1, 6]])
    (change,) = (c for c in rate(plan(layouts.quarter_circle()), scale=scale).changes if c.kind == "straighten")
    assert change.text.startswith("replace the curve between ")
    assert change.points == 6.0


def test_a_narrow_patch_is_named_with_its_width_and_place():
    scale = scale_with(narrowest_patch=[[1, 0], [0.5, 2], [0.25, 4]])
    strips = [shapely.box(0, 0, 6, 0.3), shapely.box(0, 0.3, 6, 3), shapely.box(0, 3, 6, 5)]
    (size, widen) = sorted(rate(plan(Block.from_polygons(strips)), scale=scale).changes, key=lambda c: c.kind)
    assert (size.kind, widen.kind) == ("size", "widen")
    # It may be made twice as wide; half an inch more would be another drawing.
    assert "0.3 in wide at 3.00, 0.15" in widen.text
    assert widen.text.endswith(") to 0.5 in")
    assert widen.points == pytest.approx(3.6 - 2.0)


def test_many_narrow_patches_are_left_alone():
    scale = scale_with(narrowest_patch=[[1, 0], [0.5, 2]])
    strips = [shapely.box(0, 0.5 * k, 6, 0.5 * k + 0.5) for k in range(9)]
    assert [change.kind for change in rate(plan(Block.from_polygons(strips)), scale=scale).changes] == ["size"]


def test_several_narrow_patches_are_summed_up():
    scale = scale_with(narrowest_patch=[[1, 0], [0.5, 2]])
    strips = [shapely.box(0, 0.5 * k, 6, 0.5 * k + 0.5) for k in range(4)]
    change = by_kind(rate(plan(Block.from_polygons(strips)), scale=scale))["widen"]
    assert change.text == "widen the 4 patches narrower than 1 in, A1, A2, A3 and A4, to 1 in"
    assert change.points == 2.0


def test_a_sharp_point_is_opened():
    scale = scale_with(sharpest_angle=[[45, 0], [15, 3]])
    wedge = [shapely.Polygon([(0, 0), (6, 0), (6, 2)]), shapely.Polygon([(0, 0), (6, 2), (6, 6), (0, 6)])]
    (change,) = rate(plan(Block.from_polygons(wedge)), scale=scale).changes
    assert change.kind == "open"
    assert "18° at 0.00, 0.00" in change.text
    assert change.text.endswith(" to 30°")  # 18.4° and no more than 15° beyond
    assert change.points == pytest.approx(2.7 - 1.5)


def test_a_short_seam_is_lengthened():
    scale = scale_with(shortest_seam=[[1, 0], [0.25, 3]])
    block = [shapely.box(0, 0, 2, 0.4), shapely.box(2, 0, 6, 0.4), shapely.box(0, 0.4, 6, 4)]
    changes = by_kind(rate(plan(Block.from_polygons(block)), scale=scale))
    assert "0.4 in long at 2.00, 0.20" in changes["lengthen"].text
    assert changes["lengthen"].text.endswith(" to 0.75 in")


def test_seams_that_meet_are_parted():
    rating = rated(layouts.kaleidoscope())
    assert rating.changes[0].text == (
        "let no more than 4 seams meet at 4.00, 4.00, where 8 do: end the others on seams beside it"
    )
    assert (rating.changes[0].points, rating.changes[0].level) == (5.0, 1)


def test_fabrics_are_spared():
    scale = scale_with(fabrics=[[1, 0], [9, 4]])
    strips = [shapely.box(0, k, 6, k + 1) for k in range(9)]
    fabrics = [f"#{k}{k}{k}{k}{k}{k}" for k in range(9)]
    (change,) = rate(plan(Block.from_polygons(strips, fabrics=fabrics)), scale=scale).changes
    assert (change.kind, change.text, change.points) == ("fabrics", "use 6 fabrics instead of 9", 1.5)


def test_a_small_block_has_no_size_between():
    scale = scale_with(narrowest_patch=[[1, 0], [0.05, 2]])
    tiny = [shapely.box(0, 0, 0.3, 0.3), shapely.box(0, 0.3, 0.3, 0.6)]
    assert "size" not in by_kind(rate(plan(Block.from_polygons(tiny)), scale=scale))


def test_samples_get_the_same_changes_every_time():
    (block,) = seamtree.read(SAMPLES / "gull.svg")
    first, second = (rate(seamtree.plan(block)).changes for _ in range(2))
    assert first == second
    assert [change.kind for change in first] == ["size", "open", "widen"]


def test_changes_keep_to_the_scale():
    # A teacher for whom only patches count gets no advice about anything else.
    scale = scale_with(patches=[[1, 0], [40, 20]])
    rating = rated(layouts.split_square_star(), scale=scale)
    assert rating.score > 0
    assert {change.kind for change in rating.changes} <= {"merge"}
    assert default_scale() != scale

from __future__ import annotations

import math
from itertools import pairwise
from pathlib import Path

import pytest
import shapely

import seamtree
from seamtree.block.build import block_from_polygons
from seamtree.mending import mend
from seamtree.planning.build import plan
from seamtree.rating import default_scale, rate, scale_text
from seamtree.rating.changes import _can_open
from seamtree.rating.features import Spot
from seamtree.rating.scale import parse_scale
from tests.support import layouts

SAMPLES = Path(__file__).parents[2] / "samples"


def rated(layout, width=8.0, **words):
    return rate(plan(layouts.at_width(layout, width)), **words)


def scale_with(**rows):
    """Return a scale on which nothing counts but these features."""
    lines = []
    for line in scale_text("machine").splitlines():
        key = line.partition(" = [")[0]
        lines.append(f"{key} = {rows.get(key, [])}" if " = [[" in line else line)
    return parse_scale("\n".join(lines), source="test.toml")


def by_kind(rating):
    return {change.kind: change for change in rating.changes}


def test_changes_come_from_the_best_on_and_are_at_most_three():
    for name in ("gull.svg", "mussel.svg"):
        (block,) = seamtree.read(SAMPLES / name)
        changes = rate(plan(block)).changes
        assert 2 <= len(changes) <= 3
        assert [c.tenths for c in changes] == sorted((c.tenths for c in changes), reverse=True)
        assert all(c.tenths > 0 for c in changes)


def test_nothing_lowers_a_block_without_points():
    assert rated([shapely.box(0, 0, 4, 4)]).changes == ()
    assert rated(layouts.kaleidoscope(), changes=False).changes == ()


def test_a_larger_size_saves_what_the_larger_block_saves():
    narrow = [shapely.box(0, y, 6, y + 0.6) for y in (0, 0.6, 1.2, 1.8)]
    rating = rate(plan(block_from_polygons(narrow)))
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
    block = block_from_polygons(layouts.squares(2, 2), fabrics=["#112233", "#112233", "#ffffff", "#aa0000"])
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
    (size, widen) = sorted(rate(plan(block_from_polygons(strips)), scale=scale).changes, key=lambda c: c.kind)
    assert (size.kind, widen.kind) == ("size", "widen")
    # It may be made twice as wide; half an inch more would be another drawing.
    assert "0.3 in wide at 3.00, 0.15" in widen.text
    assert widen.text.endswith(") to 0.5 in")
    assert widen.points == pytest.approx(3.6 - 2.0)


def test_many_narrow_patches_are_left_alone():
    scale = scale_with(narrowest_patch=[[1, 0], [0.5, 2]])
    strips = [shapely.box(0, 0.5 * k, 6, 0.5 * k + 0.5) for k in range(9)]
    assert [change.kind for change in rate(plan(block_from_polygons(strips)), scale=scale).changes] == ["size"]


def test_several_narrow_patches_are_summed_up():
    scale = scale_with(narrowest_patch=[[1, 0], [0.5, 2]])
    strips = [shapely.box(0, 0.5 * k, 6, 0.5 * k + 0.5) for k in range(4)]
    strips += [shapely.box(0, k, 6, k + 1) for k in range(2, 7)]
    change = by_kind(rate(plan(block_from_polygons(strips)), scale=scale))["widen"]
    assert change.text == "widen the 4 patches narrower than 1 in, A1, A2, A3 and A4, to 1 in"
    assert change.points == 2.0


def test_a_sharp_point_is_opened():
    scale = scale_with(sharpest_angle=[[45, 0], [15, 3]])
    wedge = [shapely.Polygon([(0, 0), (6, 0), (6, 2)]), shapely.Polygon([(0, 0), (6, 2), (6, 6), (0, 6)])]
    (change,) = rate(plan(block_from_polygons(wedge)), scale=scale).changes
    assert change.kind == "open"
    assert "18° at 0.00, 0.00" in change.text
    assert change.text.endswith(" to 30°")  # 18.4° and no more than 15° beyond
    assert change.points == pytest.approx(2.7 - 1.5)


def test_a_short_seam_is_lengthened():
    scale = scale_with(shortest_seam=[[1, 0], [0.25, 3]])
    block = [
        shapely.box(0, 0, 2, 0.4),
        shapely.box(2, 0, 6, 0.4),
        *(shapely.box(0, y, 6, y + 3) for y in (0.4, 3.4, 6.4)),
    ]
    changes = by_kind(rate(plan(block_from_polygons(block)), scale=scale))
    assert "0.4 in long at 2.00, 0.20" in changes["lengthen"].text
    assert changes["lengthen"].text.endswith(" to 0.75 in")


def fan(blades: int, rails: int):
    """Return blades that meet in the middle of a straight seam, sewn in one unit, over rails."""
    rim = [(6 + 20 * math.cos(a), -20 * math.sin(a)) for a in (k * math.pi / blades for k in range(blades + 1))]
    wedges = [shapely.Polygon([(6, 0), a, b]) for a, b in pairwise(rim)]
    return [w.intersection(shapely.box(0, -6, 12, 0)) for w in wedges] + [
        shapely.box(0, 2 * k, 12, 2 * k + 2) for k in range(rails)
    ]


def test_seams_that_end_at_a_point_are_parted():
    scale = scale_with(meeting_seams=[[4, 0], [8, 2]])
    rating = rate(plan(block_from_polygons(fan(7, 20), tolerance=1e-5)), scale=scale)
    assert (rating.features.meeting_seams, rating.features.matched_seams) == (8, 0)
    change = by_kind(rating)["part"]
    assert change.text == (
        "let no more than 4 seams meet at 6.00, 6.00, where 8 do: end the others on seams beside it"
    )
    assert (change.points, change.changes_design) == (2.0, True)


def test_a_fan_in_one_unit_is_bulk_and_no_skill():
    rating = rate(plan(block_from_polygons(fan(10, 1), tolerance=1e-5)), changes=False)
    assert rating.features.units == 1
    assert (rating.features.meeting_seams, rating.features.matched_seams) == (11, 0)
    points = {part.key: part.points for part in rating.contributions}
    assert 0 < points["meeting_seams"] < 2
    assert not any("at a matched point" in skill for skill in rating.skills)
    wheel = rate(plan(block_from_polygons(layouts.kaleidoscope())), changes=False)
    assert any("at a matched point" in skill for skill in wheel.skills)


# Each of these was told before to give up what it is: its star, its strips, its points.
@pytest.mark.parametrize(
    "layout",
    [layouts.kaleidoscope(), layouts.diamond_star(), layouts.flying_geese(3), layouts.pineapple(3)],
    ids=["wheel", "star", "geese", "pineapple"],
)
def test_what_makes_the_design_stays(layout):
    changes = rated(layout, 6.0).changes
    assert {change.kind for change in changes} & {"part", "open", "lengthen"} == set()
    assert [change.kind for change in changes if change.changes_design] in ([], ["widen"])


def test_changes_say_whether_the_design_changes():
    (block,) = seamtree.read(SAMPLES / "gull.svg")
    told = {change.kind: change.changes_design for change in rate(plan(block)).changes}
    assert told == {"size": False, "widen": True, "open": True}


def test_points_that_fill_a_turn_cannot_all_be_opened():
    # Twelve wedges of 30 degrees, six of them of one sharper kind: opening those closes the others.
    spots = [Spot(value, (1.0, 1.0), (f"A{k}",)) for k, value in enumerate([25.0] * 6 + [35.0] * 6)]
    assert _can_open(spots, 30.0)
    assert not _can_open(spots, 31.0)


def test_fabrics_are_spared():
    scale = scale_with(fabrics=[[1, 0], [9, 4]])
    strips = [shapely.box(0, k, 6, k + 1) for k in range(9)]
    fabrics = [f"#{k}{k}{k}{k}{k}{k}" for k in range(9)]
    (change,) = rate(plan(block_from_polygons(strips, fabrics=fabrics)), scale=scale).changes
    assert (change.kind, change.text, change.points) == ("fabrics", "use 6 fabrics instead of 9", 1.5)


def test_a_small_block_has_no_size_between():
    scale = scale_with(narrowest_patch=[[1, 0], [0.05, 2]])
    tiny = [shapely.box(0, 0, 0.3, 0.3), shapely.box(0, 0.3, 0.3, 0.6)]
    assert "size" not in by_kind(rate(plan(block_from_polygons(tiny)), scale=scale))


def test_samples_get_the_same_changes_every_time():
    (block,) = seamtree.read(SAMPLES / "gull.svg")
    first, second = (rate(seamtree.plan(block)).changes for _ in range(2))
    assert first == second
    assert [change.kind for change in first] == ["size", "widen", "open"]


def test_changes_keep_to_the_scale():
    # A teacher for whom only patches count gets no advice about anything else.
    scale = scale_with(patches=[[1, 0], [40, 20]])
    rating = rated(layouts.split_square_star(), scale=scale)
    assert rating.score > 0
    assert {change.kind for change in rating.changes} <= {"merge"}
    assert default_scale() != scale

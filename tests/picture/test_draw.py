from __future__ import annotations

import math
import re
from dataclasses import replace
from itertools import combinations, pairwise

import pytest
import shapely

from seamtree.block.build import block_from_polygons
from seamtree.drawing.drawn import STRAIGHT, Track
from seamtree.errors import OptionError
from seamtree.picture import JOINING, SMALL, Disc, Lines, Look, Polygon, Text, draw_parts, draw_plan, draw_plans
from seamtree.picture.draw import SIZES, fabric_tints
from seamtree.picture.lettering import CAP_HEIGHT, text_width
from seamtree.planning.build import plan as plan_block
from tests.cli.hand_made import buoy, dinghy, net, patch_at, rectangle, rope_ring

BARE = Look(caption=False, legend=False)

NARROW = block_from_polygons(
    [rectangle(0, 0, 5, 4), rectangle(5, 0, 5.03, 4), rectangle(5.03, 0, 10, 4)], name="mast", tolerance=0.005
)


def layer(picture, name):
    return next((found.shapes for found in picture.layers if found.name == name), ())


def texts(picture, name):
    return [shape for shape in layer(picture, name) if isinstance(shape, Text)]


def box(text):
    width, height = text_width(text.text, text.size, bold=text.bold), text.size * CAP_HEIGHT
    left = text.at[0] - {"start": 0.0, "middle": width / 2, "end": width}[text.anchor]
    return shapely.box(left, text.at[1] - height, left + width, text.at[1])


def patches_of(picture):
    return {shape.name.split(",")[0]: shapely.Polygon(shape.points) for shape in layer(picture, "units")}


def black_paths(picture, name):
    return [(s.weight, path) for s in layer(picture, name) if isinstance(s, Lines) for path in s.paths]


@pytest.mark.parametrize("plan", [buoy(), dinghy(), rope_ring(), net(7, 5), net(9, 8, "halves")])
@pytest.mark.parametrize("fabrics", [False, True])
def test_every_number_lies_inside_its_patch_and_touches_nothing(plan, fabrics):
    picture = draw_plan(plan, look=Look(fabrics=fabrics))
    patches, numbers = patches_of(picture), texts(picture, "numbers")
    assert sorted(number.text for number in numbers) == sorted(patches) == sorted(plan.patch_ids().values())
    for number in numbers:
        assert patches[number.text].contains(box(number))
        assert not any(
            shapely.LineString(path).buffer(weight / 2).intersects(box(number))
            for name in ("seams", "joins")
            for weight, path in black_paths(picture, name)
        )
    for sign in layer(picture, "marks"):
        outline = shapely.Point(sign.centre).buffer(sign.radius) if isinstance(sign, Disc) else None
        outline = shapely.Polygon(sign.points) if isinstance(sign, Polygon) else outline
        assert outline is None or not any(outline.intersects(box(number)) for number in numbers)
    steps = texts(picture, "steps")
    assert not any(box(a).intersects(box(b)) for a, b in combinations([*numbers, *steps], 2))


def test_sizes_are_true_to_scale():
    picture = draw_plan(dinghy(), look=BARE, scale=36.0)
    for patch, name in dinghy().patch_ids().items():
        inches = shapely.Polygon(dinghy().block.polygon(patch)).area
        assert patches_of(picture)[name].area == pytest.approx(inches * 36**2)
    bounds = shapely.union_all(list(patches_of(picture).values())).bounds
    assert bounds[2] - bounds[0] == pytest.approx(8 * 36)
    assert bounds[0] < 5
    assert picture.width < 8 * 36 + 10


@pytest.mark.parametrize("size", [100.0, 480.0, 900.0])
def test_longest_side_is_as_asked_for(size):
    left, top, right, bottom = shapely.union_all(list(patches_of(draw_plan(net(7, 5), size=size)).values())).bounds
    assert max(right - left, bottom - top) == pytest.approx(size)


@pytest.mark.parametrize("wrong", [{"size": 0}, {"size": -1.0}, {"scale": math.nan}, {"scale": math.inf}])
def test_sizes_that_make_no_sense(wrong):
    with pytest.raises(OptionError, match="above 0"):
        draw_plan(buoy(), **wrong)


def test_part_of_another_plan():
    with pytest.raises(OptionError, match="no part of this plan"):
        draw_plan(buoy(), node=dinghy().tree)


def test_nothing_is_cut_off():
    for plan in (dinghy(), rope_ring(), plan_block(NARROW)):
        picture = draw_plan(plan, look=Look(fabrics=True))
        page = shapely.box(0, 0, picture.width, picture.height)
        assert all(page.contains(box(shape)) for shape in picture.shapes() if isinstance(shape, Text))
        points = [p for shape in picture.shapes() if isinstance(shape, Polygon) for p in shape.points]
        assert all(page.contains(shapely.Point(point)) for point in points)


# -- joins ----------------------------------------------------------------------------------------------------


def test_later_joins_are_heavier():
    plan = net(3, 8)
    picture = draw_plan(plan)
    weights = [shape.weight for shape in layer(picture, "joins")][:-1]  # the last is the outline
    (seams,) = layer(picture, "seams")
    assert len(weights) == plan.counts.joins == 7
    assert weights == sorted(weights)
    assert len(set(weights)) == 5
    assert seams.weight < 0.5 * weights[0] < 0.25 * weights[-1]
    assert min(b - a for a, b in pairwise(sorted(set(weights)))) > 0.4


def test_legend_says_which_joins_a_weight_stands_for():
    picture = draw_plan(net(3, 8))
    words = [text.text for text in texts(picture, "legend")]
    assert words[:-1] == ["seam within a unit", "joins 1–2", "join 3", "joins 4–5", "join 6", "join 7"]
    assert words[-1] == "matched point: seams must meet"
    samples = [shape.weight for shape in layer(picture, "legend") if isinstance(shape, Lines)]
    assert samples[1:] == sorted({shape.weight for shape in layer(picture, "joins")[:-1]})


def test_joins_bear_their_numbers():
    plan = net(4, 4)
    picture = draw_plan(plan, look=BARE)
    steps = {text.text: text for text in texts(picture, "steps")}
    assert list(steps) == ["1", "2", "3"]
    for join in plan.joins():
        x, y = (sum(plan.block.junctions[j][k] for j in join.seam.path) / len(join.seam.path) for k in (0, 1))
        scale = SIZES[0] / 4
        middle = box(steps[str(join.step)]).centroid
        assert abs(middle.y - y * scale) < 3  # on the seam, which is level
        assert abs(middle.x - x * scale) < 0.4 * SIZES[0]


def test_numbers_of_joins_that_do_not_fit_are_told():
    strips = [rectangle(x / 10, y, (x + 1) / 10, y + 10) for y in (0, 10) for x in range(10)]
    plan = plan_block(block_from_polygons(strips, name="pier"))
    assert plan.counts.joins == 1
    words = " ".join(text.text for text in texts(draw_plan(plan, size=60.0), "caption"))
    assert "1 join is too short for a number." in words


# -- signs ----------------------------------------------------------------------------------------------------


def test_hard_corners_and_matched_points_are_marked_where_they_are():
    plan = rope_ring()
    picture = draw_plan(plan, look=BARE, scale=60.0)
    square = next(shape for shape in layer(picture, "marks") if isinstance(shape, Polygon))
    centre = shapely.Polygon(square.points).centroid
    origin = shapely.union_all(list(patches_of(picture).values())).bounds
    corner = next(plan.joins()).seam.corners[0]
    x, y = plan.block.junctions[corner.junction]
    assert (centre.x - origin[0], centre.y - origin[1]) == pytest.approx((60 * x, 60 * y))


def test_legend_explains_the_signs_that_are_there_and_no_others():
    words = [text.text for text in texts(draw_plan(rope_ring()), "legend")]
    assert "partial seam: sewn in two goes" in words
    assert not any("set-in" in word or "curved" in word or "matched" in word for word in words)
    assert not layer(draw_plan(rope_ring(), look=replace(BARE, marks=False)), "marks")


# -- numbers that do not fit ----------------------------------------------------------------------------------


def test_number_of_a_narrow_patch_stands_outside_with_a_line():
    plan = plan_block(NARROW)
    picture = draw_plan(plan, size=SIZES[0])
    narrow = plan.patch_ids()[patch_at(plan.block, 5.015, 2)]
    block = shapely.union_all(list(patches_of(picture).values()))
    (number,) = (text for text in texts(picture, "numbers") if text.text == narrow)
    assert not block.intersects(box(number))
    leader = next(shape for shape in layer(picture, "numbers") if isinstance(shape, Lines))
    foot, head = leader.paths[0]
    assert patches_of(picture)[narrow].contains(shapely.Point(foot))
    assert shapely.Point(head).distance(box(number)) < 3
    assert texts(draw_plan(plan, size=SIZES[0], look=SMALL), "numbers") == [
        text for text in texts(draw_plan(plan, size=SIZES[0], look=SMALL), "numbers") if text.text != narrow
    ]


def test_numbers_left_out_are_told():
    picture = draw_plan(net(30, 20), size=120.0)
    words = " ".join(text.text for text in texts(picture, "caption"))
    shown = len(texts(picture, "numbers"))
    assert f"{600 - shown} numbers left out for want of room." in words


def test_pictures_grow_with_many_small_patches():
    small, large = draw_plan(net(8, 6), look=BARE), draw_plan(net(30, 24), look=BARE)
    assert small.width < SIZES[0] + 10
    assert large.width > SIZES[1]
    assert len(texts(large, "numbers")) == 720


# -- parts, fabrics, several blocks ---------------------------------------------------------------------------


def test_part_of_a_block():
    plan = net(4, 5)
    join = next(plan.joins())
    picture = draw_plan(plan, node=join, look=JOINING, scale=20.0)
    assert sorted(patches_of(picture)) == ["A1", "A2", "A3", "A4", "B1", "B2", "B3", "B4"]
    assert [text.text for text in texts(picture, "numbers")] == ["A", "B"]
    assert not texts(picture, "steps")
    seam, outline = black_paths(picture, "joins")[0], black_paths(picture, "joins")[1:]
    assert seam[0] > 2 * max(weight for weight, _ in outline)
    assert shapely.union_all([shapely.LineString(path) for _, path in outline]).length == pytest.approx(2 * (80 + 40))
    assert "Part of the block net" in picture.description
    assert "Join 2" not in picture.description


def with_marking(plan):
    """A plan with one dashed line from side to side of its block, and beyond."""
    middle = plan.block.height / 2
    track = Track(((-1.0, middle), (plan.block.width + 1.0, middle)), False, (STRAIGHT,))
    return replace(plan, block=replace(plan.block, markings=(track,)))


@pytest.mark.parametrize("fabrics", [False, True])
def test_markings_are_dashes_on_the_patches_and_off_the_numbers(fabrics):
    plan = with_marking(net(4, 5))
    picture = draw_plan(plan, look=Look(fabrics=fabrics))
    paths = [path for _, path in black_paths(picture, "markings")]
    dashes = shapely.union_all([shapely.LineString(path) for path in paths])
    assert len(paths) > 20
    block = shapely.union_all(list(patches_of(picture).values()))
    assert block.buffer(1e-6).covers(dashes)
    assert not any(dashes.intersects(box(number)) for number in texts(picture, "numbers"))
    assert 0.4 * block.bounds[2] < dashes.length < 0.6 * block.bounds[2]
    assert "marking of the drawing, no seam" in [text.text for text in texts(picture, "legend")]


def test_small_pictures_and_drawings_without_markings_have_none():
    assert not layer(draw_plan(with_marking(net(4, 5)), look=SMALL), "markings")
    assert not layer(draw_plan(net(4, 5)), "markings")
    assert "marking of the drawing, no seam" not in [text.text for text in texts(draw_plan(net(4, 5)), "legend")]


def test_a_part_has_the_markings_on_it():
    plan = with_marking(net(4, 5))
    for unit in plan.units():
        picture = draw_plan(plan, node=unit, look=BARE)
        inside = shapely.union_all(list(patches_of(picture).values())).buffer(1e-6)
        assert all(inside.covers(shapely.LineString(path)) for _, path in black_paths(picture, "markings"))


def test_single_unit_of_a_block():
    plan = dinghy()
    picture = draw_plan(plan, node=next(plan.units()), look=BARE)
    assert sorted(patches_of(picture)) == ["A1", "A2", "A3", "A4", "A5", "A6"]
    assert len(black_paths(picture, "joins")) == len(layer(picture, "joins")[0].paths)


def test_only_the_last_join_is_marked_in_a_picture_of_a_join():
    plan = rope_ring()
    assert layer(draw_plan(plan, look=JOINING), "marks")
    assert not layer(draw_plan(plan, node=next(plan.units()), look=JOINING), "marks")


@pytest.mark.parametrize("look", [JOINING, Look(fabrics=True)])
def test_parts_are_drawn_as_they_are_one_by_one(look):
    plan = net(4, 5)
    nodes = [*plan.joins(), next(plan.units())]
    drawn = list(draw_parts(plan, nodes, look=look, size=120.0))
    assert drawn == [draw_plan(plan, node=node, look=look, size=120.0) for node in nodes]


def test_tints_stay_the_same_from_part_to_part():
    plan = net(4, 5)
    whole = {shape.name: shape.fill for shape in layer(draw_plan(plan), "units")}
    for join in plan.joins():
        part = draw_plan(plan, node=join, look=JOINING)
        assert all(whole[shape.name] == shape.fill for shape in layer(part, "units"))


def test_fabric_colours():
    picture = draw_plan(dinghy(), look=Look(fabrics=True))
    fills = {shape.name.split(",")[0]: shape.fill for shape in layer(picture, "units")}
    ids, patches = dinghy().patch_ids(), dinghy().block.patches
    assert fills == {ids[p]: patches[p].fabric for p in ids}
    inks = {text.text: text.colour for text in texts(picture, "numbers")}
    assert inks["B1"] == "#ffffff"
    assert inks["A1"] == "#000000"
    words = {text.text for text in texts(picture, "legend")}
    assert {"sky blue", "navy", "crimson"} <= words


def test_fabrics_that_are_no_colours_are_told_apart_by_hatching():
    tints = fabric_tints(["floral", "stripe", None, "#102030"])
    assert tints["#102030"].fill == "#102030"
    assert tints["#102030"].hatching == tints[None].hatching == "none"
    assert len({tints[name].hatching for name in ("floral", "stripe", None)}) == 3
    assert fabric_tints(["#A0B0C0"])["#A0B0C0"].fill == "#a0b0c0"


def test_several_blocks_stand_side_by_side_at_one_scale():
    large, small = net(8, 8), buoy()
    picture = draw_plans([large, small])
    areas = [shapely.Polygon(s.points).area for each in picture.layers if each.name == "units" for s in each.shapes]
    scale = areas[0]  # of one square inch
    assert areas == pytest.approx([scale] * 64 + [9 * scale] * 3)
    blocks = [
        shapely.union_all([shapely.Polygon(s.points) for s in each.shapes])
        for each in picture.layers
        if each.name == "units"
    ]
    assert blocks[0].bounds[2] < blocks[1].bounds[0]
    assert picture.title == "net, buoy"
    assert draw_plans([small]) == draw_plan(small)


def test_rows_of_several_blocks():
    picture = draw_plans([buoy()] * 4)
    tops = [min(y for s in each.shapes for _, y in s.points) for each in picture.layers if each.name == "units"]
    assert tops[0] == tops[1] == tops[2] < tops[3]


# -- words ----------------------------------------------------------------------------------------------------


def test_caption():
    words = [text.text for text in texts(draw_plan(rope_ring()), "caption")]
    assert words == [
        "rope ring",
        "6 × 6 in · 5 patches, 2 units, 1 join, no matched points",
        "1 hard corner: 1 partial.",
    ]
    unproven = [text.text for text in texts(draw_plan(net(3, 3, proven=False)), "caption")]
    assert unproven[-1] == "Joined by straight seams. Not proven: there may be a better order."


def test_long_names_are_cut_short():
    plan = replace(buoy(), block=replace(buoy().block, name="the very long name of a block " * 20))
    picture = draw_plan(plan, size=150.0)
    title = texts(picture, "caption")[0]
    assert title.text.endswith("…")
    assert box(title).bounds[2] < picture.width
    assert len(picture.title) <= 80


def test_description_says_what_there_is_to_see():
    said = draw_plan(rope_ring()).description
    assert re.search(r"Block rope ring, finished size 6 × 6 in, seen from the fabric side\.", said)
    assert "Unit A: patches A1 to A4. Unit B: patch B1." in said
    assert "Join 1: partial seam, 6 in, partial at (4, 2)." in said


@pytest.mark.parametrize("look", [Look(), Look(fabrics=True), SMALL, JOINING, BARE])
def test_one_patch_alone(look):
    plan = plan_block(block_from_polygons([rectangle(0, 0, 2, 50)], name="mast"))
    picture = draw_plan(plan, look=look)
    assert all(each.shapes for each in picture.layers)
    assert len(patches_of(picture)) == 1
    assert picture.height > 480

from __future__ import annotations

import re

import pytest

from seamtree.block.build import block_from_polygons
from seamtree.planning.model import Bound, Plan, Unit
from seamtree_cli.terminal_picture import LEAST_COLUMNS, MOST_COLUMNS, render_picture
from tests.cli.hand_made import buoy, counts_of, dinghy, net, patch_at, rectangle, rope_ring
from tests.cli.test_sewing_tree import check_snapshot, printed


def test_picture_of_a_large_block():
    picture = render_picture(net(13, 12, "halves"), columns=100, rows=60, colour=False)
    check_snapshot("large_net", printed(picture, width=100))


@pytest.mark.parametrize("plan", [buoy(), dinghy(), rope_ring(), net(7, 5)])
@pytest.mark.parametrize("columns", [LEAST_COLUMNS, 61, 100])
def test_every_number_stands_on_its_own_patch(plan, columns):
    """The place of a number, read off the picture, lies inside the patch that it names."""
    lines = render_picture(plan, columns=columns, rows=60, colour=False).plain.splitlines()
    height, width = len(lines), len(lines[0])
    ids = {name: patch for patch, name in plan.patch_ids().items()}
    found = {}
    for row, line in enumerate(lines):
        for match in re.finditer(r"[A-Z]+\d+", line):
            middle = (match.start() + match.end() - 1) / 2
            x, y = middle * plan.block.width / (width - 1), row * plan.block.height / (height - 1)
            found[match[0]] = patch_at(plan.block, x, y)
    assert found == ids


def test_picture_takes_no_more_room_than_it_needs():
    small = render_picture(buoy(), columns=120, rows=60, colour=False).plain.splitlines()
    assert len(small[0]) == LEAST_COLUMNS
    large = render_picture(net(40, 40), columns=500, rows=500, colour=False).plain.splitlines()
    assert len(large[0]) == MOST_COLUMNS


def test_picture_keeps_to_the_room_there_is():
    text = render_picture(net(20, 20), columns=70, rows=24, colour=False).plain.splitlines()
    assert len(text) - 1 <= 24
    assert max(map(len, text[:-1])) <= 70
    assert re.fullmatch(r"\d+ patches are too small here for a number", text[-1])


def test_too_little_room_for_a_picture():
    assert render_picture(dinghy(), columns=LEAST_COLUMNS - 1, rows=40, colour=False) is None
    tall = block_from_polygons([rectangle(0, 0, 1, 50), rectangle(1, 0, 2, 50)], name="mast")
    tree = Unit("A", (0, 1))
    plan = Plan(tall, "single unit", tree, counts_of(2, tree), Bound(0, 1), True)
    assert render_picture(plan, columns=80, rows=24, colour=False) is None


def test_heavy_lines_part_units():
    lines = render_picture(net(2, 2), columns=40, rows=30, colour=False).plain.splitlines()
    assert set(lines[0]) == {"┏", "━", "┯", "┓"}
    middle = next(line for line in lines[1:-1] if "━" in line)
    assert re.fullmatch("┣━+┿━+┫", middle)


def test_outside_of_a_block_is_left_empty():
    block = block_from_polygons([rectangle(0, 0, 4, 4), rectangle(0, 4, 8, 8)], name="pier")
    tree = Unit("A", (0, 1))
    plan = Plan(block, "single unit", tree, counts_of(2, tree), Bound(0, 1), True)
    lines = render_picture(plan, columns=40, rows=30, colour=False).plain.splitlines()
    assert lines[1].rstrip().endswith("┃")
    assert len(lines[1].rstrip()) < 0.6 * len(lines[-2])


def test_patches_are_tinted_with_their_fabric():
    picture = render_picture(dinghy(), columns=60, rows=40, colour=True)
    row = next(k for k, line in enumerate(picture.plain.splitlines()) if "A3" in line)
    spans = printed(picture, colour=True).splitlines()[row]
    assert re.search(r"48;2;200;16;46m[^\x1b]*A3", spans)


def test_hard_corners_are_marked_where_they_are():
    plan = rope_ring()
    *rows, legend = render_picture(plan, columns=50, rows=40, colour=False).plain.splitlines()
    assert legend == "■ partial seam"
    ((row, line),) = ((k, line) for k, line in enumerate(rows) if "■" in line)
    x, y = plan.block.junctions[next(plan.joins()).seam.corners[0].junction]
    assert line.index("■") == pytest.approx(x / plan.block.width * (len(line) - 1), abs=1)
    assert row == pytest.approx(y / plan.block.height * (len(rows) - 1), abs=1)


def test_no_signs_where_there_are_no_hard_corners():
    assert not set(render_picture(net(3, 4), columns=50, rows=40, colour=False).plain) & set("▲■●")

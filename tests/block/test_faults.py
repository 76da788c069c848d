"""Everything that is wrong is told: all places at once, where they are, and what to do."""

from __future__ import annotations

import math
import re

import pytest

from seamtree.block.build import build_blocks
from seamtree.drawing import limits
from seamtree.drawing.drawn import STRAIGHT, Shape, Track
from seamtree.errors import DrawingError, Finding, LimitError, OptionError
from seamtree.remedies import MEND, SKIP_LAYERS, WHITE_PAPER
from tests.block.drawn import (
    Pen,
    arc,
    area,
    blocks,
    box,
    codes,
    drawing,
    faults,
    frame,
    jitter,
    line,
    moved,
    one_block,
    to,
    turn,
)


def only(findings: tuple[Finding, ...], code: str) -> Finding:
    (finding,) = findings
    assert finding.code == code
    assert finding.at is not None
    assert f"({finding.at[0]:.2f}, {finding.at[1]:.2f}) in" in finding.message
    return finding


def near(finding: Finding, x: float, y: float, within: float = 0.02) -> bool:
    assert finding.at is not None
    return math.dist(finding.at, (x, y)) <= within


# -- lines ----------------------------------------------------------------------------------------------------


def test_a_line_that_stops_short() -> None:
    finding = only(faults(frame(0, 0, 4, 4), line((2, 0), (2, 3.7), name="mast")), "loose-end")
    assert near(finding, 2, 3.7)
    assert "mast" in finding.message
    assert "0.30 in away" in finding.message
    assert "Carry it on by 0.30 in" in finding.message


def test_a_line_that_goes_too_far() -> None:
    finding = only(faults(frame(0, 0, 4, 4), line((2, 0), (2, 4.1))), "loose-end")
    assert near(finding, 2, 4.1)
    assert "cut off its last 0.10 in" in finding.message


def test_places_count_from_the_top_left_corner_of_the_drawing() -> None:
    shapes = moved([frame(0, 0, 4, 4), line((2, 0), (2, 3.7))], lambda at: (at[0] - 1e6, at[1] + 3e5))
    assert near(only(faults(*shapes), "loose-end"), 2, 3.7)


def test_slanting_lines_are_carried_on_in_their_direction() -> None:
    finding = only(faults(frame(0, 0, 4, 4), line((0, 0), (3, 3))), "loose-end")
    assert "nearest line is 1.00 in away" in finding.message
    assert f"Carry it on by {math.sqrt(2):.2f} in" in finding.message


def test_a_line_that_touches_nothing_has_two_loose_ends() -> None:
    findings = faults(frame(0, 0, 4, 4), line((1, 1), (2, 1), (2, 2)))
    assert codes(findings) == ["loose-end", "loose-end"]
    assert near(findings[0], 1, 1)
    assert near(findings[1], 2, 2)
    assert all("remove it" in finding.message for finding in findings)


def test_every_loose_end_is_named() -> None:
    findings = faults(frame(0, 0, 8, 4), *(line((x, 0), (x, 3.5)) for x in range(1, 8)))
    assert codes(findings) == ["loose-end"] * 7
    assert [finding.at for finding in findings] == [(x, 3.5) for x in range(1, 8)]


def test_there_is_an_end_to_telling() -> None:
    findings = faults(frame(0, 0, 80, 4), *(line((x, 0), (x, 3.5)) for x in range(1, 80)))
    assert codes(findings) == ["loose-end"] * 50 + ["more-findings"]
    assert "29 more" in findings[-1].message


def test_a_single_line() -> None:
    assert "no-block" in codes(faults(line((0, 0), (4, 0))))


@pytest.mark.parametrize(
    ("path", "gap"),
    [
        (((0, 0), (4, 0), (4, 4), (0, 4), (0, 0.5)), "0.50"),
        (((0, 0), (4, 0), (4, 4), (0, 4), (0, 3)), "3.00"),
        (((0, 0), (4, 0), (4, 4), (0, 4)), "4.00"),
        (((0, 0), (4, 0), (2, 4)), "4.47"),
    ],
)
@pytest.mark.parametrize("mast", [False, True])
def test_an_outline_that_is_not_closed(path: tuple[tuple[float, float], ...], gap: str, mast: bool) -> None:
    inside = [line((2, 0), (2, 4), name="mast")] if mast else []
    finding = only(faults(line(*path, name="hull"), *inside), "open-outline")
    assert f"Close hull: {gap} in are missing" in finding.message
    assert finding.at in (path[0], path[-1])


def test_a_patch_that_is_not_closed() -> None:
    sail = line((1, 1), (3, 1), (3, 3), (1, 3), (1, 1.3), name="sail")
    finding = only(faults(frame(0, 0, 8, 8), sail), "open-outline")
    assert "Close sail: 0.30 in are missing between these." in finding.message


def test_an_outline_that_goes_on_beyond_its_beginning_is_closed() -> None:
    assert codes(faults(line((0, 0), (4, 0), (4, 4), (0, 4), (0, -0.2)))) == ["loose-end"]


def test_an_outline_one_side_of_which_is_missing() -> None:
    sides = [line((0, 0), (4, 0)), line((4, 0), (4, 4)), line((4, 4), (0, 4))]
    finding = only(faults(*sides, line((2, 0), (2, 4)), line((0, 2), (4, 2))), "missing-frame")
    assert "Draw the 4.00 in of it that are missing between (0.00, 0.00) in and (0.00, 4.00) in" in finding.message


def test_lines_without_a_frame() -> None:
    finding = only(faults(line((0, 2), (4, 2)), line((2, 0), (2, 4)), line((3, 0), (3, 4))), "missing-frame")
    assert "6 ends of lines" in finding.message
    assert "from (0.00, 0.00) in to (4.00, 4.00) in" in finding.message


def test_rays_without_a_frame() -> None:
    rays = (line((0, 0), (3 * math.cos(k * math.pi / 4), 3 * math.sin(k * math.pi / 4))) for k in range(8))
    assert "8 ends" in only(faults(*rays), "missing-frame").message


def test_lines_that_never_meet() -> None:
    assert codes(faults(*(line((0, y), (4, y)) for y in range(3)))) == ["missing-frame"]


def test_letters_alone_are_told_as_they_lie() -> None:
    """Found with outlines of dashes that other programs make; see also `test_sewn_on`."""
    strokes = [box(0.3 * k, 0, 0.3 * k + 0.25, 0.3, fill="#000000") for k in range(9)]
    assert set(codes(faults(*strokes))) == {"gap"}


def test_an_end_inside_is_told_beside_a_missing_frame() -> None:
    lines = [line((0, 1), (4, 1)), line((0, 3), (4, 3)), line((1, 0), (1, 4)), line((2, 0), (2, 2.5))]
    assert codes(faults(*lines)) == ["loose-end", "missing-frame"]


CROSS = (line((2.5, 0), (2.5, 4)), line((0, 2), (5, 2)))


def aside(*shapes: Shape, by: float = 5.5) -> list[Shape]:
    return moved(list(shapes), lambda at: (at[0] + by, at[1]))


def test_a_frame_that_is_missing_round_each_of_several_blocks() -> None:
    findings = faults(*CROSS, *aside(*CROSS))
    assert codes(findings) == ["missing-frame"] * 2
    assert "this part reaches from (0.00, 0.00) in to (5.00, 4.00) in" in findings[0].message
    assert "this part reaches from (5.50, 0.00) in to (10.50, 4.00) in" in findings[1].message
    finding = only(faults(frame(0, 0, 5, 4), *CROSS, *aside(*CROSS)), "missing-frame")
    assert "4 ends of lines" in finding.message
    assert "from (5.50, 0.00) in" in finding.message


def test_a_small_cross_beside_a_block_is_no_block() -> None:
    cross = line((9, 1), (9.6, 1)), line((9.3, 0.7), (9.3, 1.3))
    assert codes(faults(frame(0, 0, 8, 8), *cross)) == ["loose-end"] * 4


L_LINES = [line((2, 0), (2, 8)), line((0, 2), (8, 2)), line((6, 0), (6, 4)), line((0, 6), (4, 6))]
L_FRAME = [line((0, 0), (8, 0), (8, 4)), line((0, 0), (0, 8), (4, 8), (4, 4))]


@pytest.mark.parametrize("angle", [0, 30])
def test_an_l_shaped_frame_that_is_missing(angle: float) -> None:
    shapes = [*L_LINES, line((4, 0), (4, 4)), line((0, 4), (4, 4))]
    finding = only(faults(*moved(shapes, turn(angle))), "missing-frame")
    assert "is missing: 10 ends of lines" in finding.message


@pytest.mark.parametrize("angle", [0, 30])
def test_a_side_of_an_l_shaped_frame_that_is_missing(angle: float) -> None:
    finding = only(faults(*moved([*L_FRAME, *L_LINES], turn(angle))), "missing-frame")
    assert "is open: 3 ends of lines" in finding.message
    assert "Draw the 4.00 in of it that are missing between" in finding.message
    # Inside of a block, lines that end side by side are single faults.
    assert codes(faults(frame(0, 0, 8, 8), *(line((x, 0), (x, 4)) for x in (2, 4, 6)))) == ["loose-end"] * 3


def test_a_side_of_a_frame_that_is_missing_with_lines_that_end_there() -> None:
    finding = only(
        faults(line((0, 0), (0, 8), (8, 8), (8, 0)), line((4, 0), (4, 8)), line((0, 4), (8, 4))), "open-outline"
    )
    assert "Close line: 8.00 in are missing" in finding.message


def test_a_frame_that_stops_short_is_not_to_be_cut_off() -> None:
    findings = faults(*L_FRAME, line((2, 0), (2, 8)))
    assert codes(findings) == ["loose-end"] * 2
    assert "Draw the outline on from there, or cut off" in findings[1].message


def test_stubs_that_stick_out_of_an_outline_are_no_missing_frame() -> None:
    stubs = (line((x, 0), (x, 4.2)) for x in range(1, 4))
    assert codes(faults(frame(0, 0, 4, 4), *stubs)) == ["loose-end"] * 3


def test_a_line_between_two_blocks_parts_nothing() -> None:
    finding = only(faults(frame(0, 0, 2, 2), frame(4, 0, 6, 2), line((2, 1), (4, 1))), "cut-edge")
    assert near(finding, 3, 1)


def test_nothing_drawn() -> None:
    with pytest.raises(DrawingError) as caught:
        blocks()
    assert codes(caught.value.findings) == ["empty"]
    assert caught.value.source == "dinghy.svg"


# -- faces ----------------------------------------------------------------------------------------------------


def test_a_patch_inside_a_patch() -> None:
    finding = only(faults(box(0, 0, 6, 6, name="sea"), box(2, 2, 3, 3)), "patch-in-patch")
    assert near(finding, 2.5, 2.5, 0.5)
    assert "sea" in finding.message
    assert finding.remedies == (MEND, SKIP_LAYERS, WHITE_PAPER)


def test_a_drawing_on_a_background_is_a_patch_in_a_patch() -> None:
    sails = [area((2, 2), (3, 2), (3, 4)), area((3, 2), (4, 2), (3, 4))]
    finding = only(faults(box(0, 0, 6, 6), *sails), "patch-in-patch")
    assert near(finding, 3, 3, 1)


def test_every_island_is_named() -> None:
    findings = faults(frame(0, 0, 9, 9), *(frame(x, x, x + 1, x + 1) for x in (1, 4, 7)))
    assert codes(findings) == ["patch-in-patch"] * 3


def test_an_island_in_an_island() -> None:
    findings = faults(box(0, 0, 9, 9, name="sea"), box(2, 2, 7, 7, name="rock"), box(4, 4, 5, 5, name="pool"))
    assert codes(findings) == ["patch-in-patch", "patch-in-patch"]
    assert any("(sea)" in f.message for f in findings)
    assert any("(rock)" in f.message for f in findings)


def test_a_ring_is_a_patch_round_a_patch() -> None:
    ring = Shape(
        (
            Track(((0, 0), (6, 0), (6, 6), (0, 6)), True, (STRAIGHT,) * 4),
            Track(((2, 2), (2, 4), (4, 4), (4, 2)), True, (STRAIGHT,) * 4),
        ),
        "#ff0000",
        False,
        False,
        "lifebuoy",
    )
    assert codes(faults(ring)) == ["patch-in-patch"]


def test_a_patch_in_a_corner_touches_the_outline_and_is_no_island() -> None:
    assert len(one_block(box(0, 0, 6, 6), box(0, 0, 2, 2)).patches) == 2


def test_a_gap_between_filled_patches() -> None:
    # A slit of 0.1 in between two hulls that is closed at both ends.
    shapes = [
        area((0, 0), (4, 0), (4, 1), (2.05, 1), (2.05, 3), (4, 3), (4, 4), (0, 4)),
        box(2.15, 1, 4, 3),
    ]
    finding = only(faults(*shapes), "gap")
    assert near(finding, 2.1, 2, 1)
    assert finding.at is not None
    assert 2.05 < finding.at[0] < 2.15
    assert "0.10 in wide" in finding.message


def test_a_gap_that_is_open_to_the_outline() -> None:
    shapes = [area((0, 0), (2, 0), (2, 3), (4, 3), (4, 4), (0, 4)), box(2.1, 0, 4, 3)]
    finding = only(faults(*shapes), "gap")
    assert finding.at is not None
    assert 2 < finding.at[0] < 2.1
    assert 0 < finding.at[1] < 3


def test_a_gap_that_tapers_off() -> None:
    shapes = [box(0, 0, 2, 3), area((2.2, 0), (4, 0), (4, 3), (2, 3))]
    assert codes(faults(*shapes)) == ["gap"]


@pytest.mark.parametrize("angle", [0.3, 1.2, 2.5, 4.0])
def test_open_gaps_are_found_whichever_way_the_drawing_lies(angle: float) -> None:
    shapes = [area((0, 0), (2, 0), (2, 3), (4, 3), (4, 4), (0, 4)), box(2.1, 0, 4, 3)]
    assert codes(faults(*moved(shapes, turn(angle, (50, 50))))) == ["gap"]


def test_a_gap_from_side_to_side_leaves_two_parts_that_all_but_touch() -> None:
    finding = only(faults(box(0, 0, 2, 4), box(2.1, 0, 4, 4)), "gap")
    assert "0.10 in apart" in finding.message
    assert finding.at is not None
    assert finding.at[0] == pytest.approx(2.05)


def test_inward_corners_of_an_outline_are_no_gaps() -> None:
    star = [
        (math.cos(k * math.pi / 5) * (4 if k % 2 else 1.2), math.sin(k * math.pi / 5) * (4 if k % 2 else 1.2))
        for k in range(10)
    ]
    assert len(one_block(area(*star)).patches) == 1
    notched = area((0, 0), (3, 0), (3.3, 3), (3.6, 0), (6, 0), (6, 4), (0, 4))
    assert len(one_block(notched).patches) == 1
    stairs = [(k // 2 * 0.2, (k + 1) // 2 * 0.2) for k in range(20)]
    assert len(one_block(area(*stairs, (0, 4))).patches) == 1


def test_an_unfilled_area_wider_than_a_gap_is_a_patch_with_a_warning() -> None:
    block = one_block(box(0, 0, 2, 4), box(3, 0, 5, 4), frame(0, 0, 5, 4))
    assert len(block.patches) == 3
    (note,) = block.notes
    assert note.code == "unfilled-patch"
    assert note.at is not None
    assert 2 < note.at[0] < 3
    assert block.patches[1].fabric is None


def test_in_a_drawing_of_bare_lines_nothing_is_a_gap() -> None:
    block = one_block(frame(0, 0, 4, 4), line((2, 0), (2, 4)), line((2.1, 0), (2.1, 4)))
    assert len(block.patches) == 3
    assert block.notes == ()


def test_two_blocks_of_bare_lines_may_lie_close_together() -> None:
    assert len(blocks(frame(0, 0, 2, 2), frame(2.1, 0, 4, 2))) == 2


def test_a_stick_too_narrow_to_sew() -> None:
    finding = only(faults(box(0, 2, 4, 4), box(2, 0, 2.03, 2)), "tiny")
    assert near(finding, 2.015, 1, 1)
    assert "0.04 in" in finding.message


def test_text_does_not_hide_what_else_is_wrong() -> None:
    word = [box(1 + 0.3 * k, 1, 1.2 + 0.3 * k, 1.4) for k in range(8)]
    assert codes(faults(box(0, 0, 6, 6), *word, line((3, 6), (3, 5)))) == ["loose-end"]


def test_small_patches_with_several_faults_are_no_text() -> None:
    tiles = [
        box(0.5 * x, 0.5 * y, 0.5 * x + 0.5, 0.5 * y + 0.5, fill=f"#0000{x}{y}") for x in range(6) for y in range(6)
    ]
    ends = [line((0.25 + 0.5 * k, 0.25), (0.5 + 0.5 * k, 0.25)) for k in range(5)]
    assert codes(faults(box(0, 0, 8, 8), *tiles, *ends)) == ["loose-end"] * 5


def test_small_patches_that_are_sewn_are_no_text() -> None:
    tiles = [
        box(0.5 * x, 0.5 * y, 0.5 * x + 0.5, 0.5 * y + 0.5, fill=f"#0000{x}{y}") for x in range(6) for y in range(6)
    ]
    assert codes(faults(*tiles, line((1.25, 0.25), (1.5, 0.25)))) == ["loose-end"]


def test_different_faults_are_told_together() -> None:
    findings = faults(box(0, 0, 8, 8), box(5, 5, 6, 6), line((0, 2), (7.5, 2)), box(9, 0, 11, 2), box(11.1, 0, 13, 2))
    assert codes(findings) == ["gap", "loose-end", "patch-in-patch"]


# -- polygons -------------------------------------------------------------------------------------------------


def test_polygons_that_overlap() -> None:
    shapes = [box(0, 0, 2.3, 4, name="polygon 1"), box(2, 0, 4, 4, name="polygon 2")]
    finding = only(faults(*shapes, kind="polygons"), "overlap")
    assert near(finding, 2.15, 2, 2)
    assert "polygon 1 and polygon 2" in finding.message
    assert "0.30 in" in finding.message


def test_polygons_drawn_twice() -> None:
    shapes = [box(0, 0, 2, 4, name="a"), box(2, 0, 4, 4, name="b"), box(2, 0, 4, 4, name="c")]
    finding = only(faults(*shapes, kind="polygons"), "doubled")
    assert "b and c" in finding.message
    assert near(finding, 3, 2, 2)


def test_a_polygon_drawn_twice_with_unsteady_hand() -> None:
    import random

    twice = [box(0, 0, 2, 4), box(2, 0, 4, 4), *moved([box(2, 0, 4, 4)], jitter(random.Random(1), 0.0099))]
    assert codes(faults(*twice, kind="polygons")) == ["doubled"]


def test_a_polygon_inside_another_overlaps_it() -> None:
    findings = faults(box(0, 0, 6, 6), box(2, 2, 3, 3), kind="polygons")
    assert codes(findings) == ["overlap", "patch-in-patch"]


def test_an_area_that_no_polygon_covers_is_a_hole() -> None:
    ring = [box(0, 0, 6, 2), box(0, 2, 2, 6), box(4, 2, 6, 6), box(2, 4, 4, 6)]
    finding = only(faults(*ring, kind="polygons"), "hole")
    assert near(finding, 3, 3, 1)


def test_a_narrow_area_that_no_polygon_covers_is_a_gap() -> None:
    shapes = [box(0, 0, 4, 1), box(0, 3, 4, 4), box(0, 1, 2, 3), box(2.1, 1, 4, 3)]
    finding = only(faults(*shapes, kind="polygons"), "gap")
    assert finding.at is not None
    assert 2 < finding.at[0] < 2.1


def test_a_hairline_between_polygons_is_closed_and_told() -> None:
    block = one_block(box(0, 0, 2, 4), box(2.015, 0, 4, 4), kind="polygons")
    assert len(block.patches) == 2
    assert [note.code for note in block.notes] == ["healed"]


def test_lines_among_polygons_are_seams() -> None:
    block = one_block(box(0, 0, 4, 4), line((2, 0), (2, 4)), kind="polygons")
    assert len(block.patches) == 2


def test_lines_alone_may_come_in_a_map_of_polygons() -> None:
    block = one_block(frame(0, 0, 4, 4), line((2, 0), (2, 4)), kind="polygons")
    assert len(block.patches) == 2


def test_polygons_side_by_side_are_no_stack_whatever_their_order() -> None:
    shapes = [box(0, 0, 2, 4), box(2, 0, 4, 4)]
    assert one_block(*shapes, kind="polygons").junctions == one_block(*shapes[::-1], kind="polygons").junctions


# -- curves ---------------------------------------------------------------------------------------------------


def test_a_scallop_that_tapers_off_ends_nowhere_in_the_open() -> None:
    shell = Pen().draw((0, 2), arc((1, 2), 1, 180, 180), arc((3, 2), 1, 180, 180))
    block = one_block(frame(0, 0, 4, 4), shell)
    assert len(block.patches) == 2
    assert "closed up" in " ".join(note.message for note in block.notes)


def test_a_loose_curve_is_loose() -> None:
    curve = Pen().draw((0, 2), arc((1, 2), 1, 180, 150))
    finding = only(faults(frame(0, 0, 4, 4), curve), "loose-end")
    assert near(finding, 1 + math.cos(math.radians(-30)), 2 - 0.5)


def test_messages_are_sentences() -> None:
    found = [
        *faults(box(0, 0, 8, 8), box(5, 5, 6, 6), line((0, 2), (7.5, 2)), box(9, 0, 11, 2), box(11.1, 0, 13, 2)),
        *faults(box(0, 0, 2.3, 4), box(2, 0, 4, 4), kind="polygons"),
        *faults(line((0, 0), (4, 0))),
    ]
    for finding in found:
        assert re.fullmatch(r"[A-Z].*\.", finding.message), finding.message
        assert "  " not in finding.message


def test_the_tolerance_must_make_sense() -> None:
    from seamtree.block.build import build_blocks
    from seamtree.errors import OptionError

    for tolerance in (0.0, -1.0, math.nan, math.inf):
        with pytest.raises(OptionError):
            build_blocks(drawing(box(0, 0, 1, 1)), tolerance=tolerance)


def test_a_patch_that_goes_round_another_and_touches_itself() -> None:
    # The gull touches the edge of the block with one wing tip, so the sky is one patch that meets itself there.
    sky, gull = box(0, 0, 8, 8), area((4, 0), (5, 3), (3, 3), fill="#ffffff")
    (finding,) = faults(sky, gull)
    assert finding.code == "touches-itself"
    assert "touches itself at (4.00, 0.00) in" in finding.message
    assert len(blocks(sky, gull, line((4, 3), (4, 8)))[0].patches) == 3


def test_a_drawing_smaller_than_the_tolerance() -> None:
    assert codes(faults(box(0, 0, 0.01, 0.01))) == ["too-small"]


def test_a_drawn_line_of_many_turns() -> None:
    assert codes(faults(frame(0, 0, 4, 4), Pen().draw((1, 0), to(1, 2), to(2, 2), to(2, 3)))) == ["loose-end"]


def test_more_patches_than_are_taken_in_are_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    shapes = [frame(0, 0, 4, 4), *(line((k, 0), (k, 4)) for k in (1, 2, 3))]
    monkeypatch.setattr(limits, "MAX_PATCHES", 4)
    assert len(one_block(*shapes).patches) == 4
    monkeypatch.setattr(limits, "MAX_PATCHES", 3)
    with pytest.raises(LimitError, match=r"has 4 patches; at most 3 are taken in. Split it into several drawings"):
        blocks(*shapes)


def test_a_tolerance_that_is_too_fine_for_the_size_is_refused() -> None:
    shapes = [frame(0, 0, 1000, 4), line((500, 0), (500, 4))]
    with pytest.raises(LimitError, match=r"is 1,000 by 4 in .* too large for a tolerance of 1e-05 in") as caught:
        build_blocks(drawing(*shapes), tolerance=1e-5)
    advised = float(re.search(r"`tolerance` of at least ([0-9.]+) in", str(caught.value))[1])
    assert len(build_blocks(drawing(*shapes), tolerance=advised)[0].patches) == 2


@pytest.mark.parametrize("tolerance", [0.0, -1.0, 9e-6, float("nan"), float("inf")])
def test_a_tolerance_that_makes_no_sense_is_refused(tolerance: float) -> None:
    with pytest.raises(OptionError, match=r"at least 0\.00001 in"):
        build_blocks(drawing(frame(0, 0, 4, 4)), tolerance=tolerance)

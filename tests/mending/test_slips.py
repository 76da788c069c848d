"""Slips of the hand: found, mended by moving as little as possible, and nothing else touched."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from benchmarks.slips import case, is_ambiguous, measure, movements

import seamtree
from seamtree.block.build import build_blocks
from seamtree.drawing.read import parse_drawing, read_drawing
from seamtree.errors import OptionError
from seamtree.mending import mend, slips
from seamtree.mending.slips import mend_slips
from tests.support.wkt import GAP, box

SAMPLES = Path(__file__).parents[2] / "samples"
FRAME = '<path id="frame" d="M0 0H8V8H0Z"/>'
HEAD = '<svg xmlns="http://www.w3.org/2000/svg" width="8in" height="8in" viewBox="0 0 8 8">'


def lines(body: str):
    text = f'{HEAD}<g fill="none" stroke="#000" stroke-width="0.02">{body}</g></svg>'
    return parse_drawing(text.encode(), source="quay.svg")


SLIPS = {
    "gap": (FRAME + '<path d="M3 0V8"/><path d="M3.1 4H8"/>', (3, 4), 0.1, 3),
    "overshoot": (FRAME + '<path d="M3 0V8"/><path d="M2.9 4H8"/>', (3, 4), 0.1, 3),
    "overshoot of the outline": (FRAME + '<path d="M3 0V8"/><path d="M3 4H8.12"/>', (8, 4), 0.12, 3),
    "bend": (FRAME + '<path d="M3 0V5L3.1 6L3 8"/><path d="M3 4H8"/>', (3, 6), 0.1, 3),
    "bend where a seam ends": (FRAME + '<path d="M3 0L3.08 4L3 8"/><path d="M3.08 4H8"/>', (3, 4), 0.08, 3),
    "doubled line": (FRAME + '<path d="M3 0V8"/><path d="M3.1 0V8"/><path d="M3 4H8"/>', (3, 0), 0.1, 3),
    "open outline": ('<path d="M0.1 0H8V8H0V0"/><path d="M3 0V8M3 4H8"/>', (0, 0), 0.1, 3),
    "open outline without a side": ('<path d="M0 0H8V8H0"/><path d="M3 0V8M3 4H8"/>', (0, 0), 0.0, 3),
    "missing frame": ('<path d="M3 0V8M3 4H8M3 2H0"/>', (0, 0), 0.0, 4),
    "loose end of a stray stroke": (FRAME + '<path d="M3 0V8M3 4H8"/><path d="M5 5l.06 .08"/>', None, 0.1, 3),
    "loose end on a line": (FRAME + '<path d="M3 0V8M3 4H8"/><path d="M5 4l.05 .12"/>', (5, 4), 0.13, 3),
    "gap at a corner": (
        '<path d="M0 0H8"/><path d="M8 .1V8"/><path d="M8 8H0V0"/><path d="M3 0V8"/>',
        (8, 0),
        0.1,
        2,
    ),
}


@pytest.mark.parametrize("name", SLIPS)
def test_one_slip_is_mended_by_the_least_move(name):
    body, at, distance, patches = SLIPS[name]
    mended = mend_slips(lines(body), within=0.15)
    assert not mended.left
    (slip,) = mended.slips
    assert name.startswith(slip.kind)
    assert at is None or slip.at == pytest.approx(at, abs=1e-6)
    assert slip.distance == pytest.approx(distance, abs=1e-6)
    (block,) = build_blocks(mended.drawing)
    assert len(block.patches) == patches
    assert mend(block).nothing_to_mend


@pytest.mark.parametrize("seed", [*range(5), *range(6, 12), 17, 31, 64, 237, 472])
def test_drawings_with_several_slips_come_out_as_they_were_meant(seed):
    """A small share of the benchmark, see there."""
    assert measure(seed).wrong == ""


def test_what_several_slips_look_like_may_be_nearer_than_what_was_meant():
    row = measure(210)
    assert row.wrong
    assert row.ambiguous


def test_a_drawing_that_is_nearer_to_its_clean_form_is_not_ambiguous():
    one = case(4)
    mended = mend_slips(one.drawn, within=0.15)
    assert 0.04 <= max(movements(one.drawn, one.clean)) <= 0.15
    assert not is_ambiguous(one, replace(mended, drawing=one.clean))
    # The drawing as it was has moved nothing, but it is not mended.
    assert sum(movements(one.drawn, one.drawn)) == 0.0
    assert not is_ambiguous(one, replace(mended, drawing=one.drawn))


def test_a_clean_drawing_stays_as_it_is():
    drawing = lines(FRAME + '<path d="M3 0V8M3 4H8M5 0V4"/>')
    mended = mend_slips(drawing, within=0.15)
    assert mended.slips == ()
    assert mended.drawing == drawing


def test_a_short_edge_that_is_there_twice_is_meant():
    # The gallery of a lighthouse sticks out by as much on either side.
    tower = '<path d="M0 4H2.9V3.5H5.1V4H8"/><path d="M3 4V8M5 4V8"/><path d="M2.9 4H5.1"/>'
    mended = mend_slips(lines(FRAME + tower), within=0.15)
    assert mended.slips == ()


def test_only_points_near_the_slip_move():
    before = lines(FRAME + '<path d="M3 0V8"/><path d="M3.1 4H8"/>')
    after = mend_slips(before, within=0.15).drawing
    assert after.shapes[:2] == before.shapes[:2]
    assert after.shapes[2].tracks[0].points == ((3.0, 4.0), (8.0, 4.0))


def test_a_larger_slip_is_a_fault_and_the_size_that_would_do_is_told():
    mended = mend_slips(lines(FRAME + '<path d="M3 0V8"/><path d="M3.123 4H8"/>'), within=0.1)
    assert [fault.code for fault in mended.left] == ["loose-end"]
    assert mended.enough == 0.13
    hopeless = mend_slips(lines(FRAME + '<path d="M3 0V8"/><path d="M5 4H8"/>'), within=0.1)
    assert hopeless.left
    assert hopeless.enough is None


def test_polygons_that_overlap_or_leave_a_gap():
    overlap = "\n".join([box(0, 0, 3.1, 6), box(3, 0, 6, 6)])
    for text in (GAP, overlap):
        mended = mend_slips(parse_drawing(text.encode(), source="jetty.wkt"), within=0.15)
        assert not mended.left
        (slip,) = mended.slips
        assert slip.kind == ("gap" if text is GAP else "overlap")
        assert slip.distance == pytest.approx(0.1)


@pytest.mark.parametrize("within", [0.0, -1.0, 0.02, float("inf"), float("nan")])
def test_sizes_that_make_no_sense(within):
    with pytest.raises(OptionError, match="larger than the tolerance"):
        mend_slips(lines(FRAME), within=within)


def test_from_python():
    text = f'{HEAD}<g fill="none" stroke="#000">{FRAME}<path d="M3 0V8"/><path d="M3.1 4H8"/></g></svg>'
    (block,) = seamtree.sketch(text.encode(), within=0.15)
    assert [slip.kind for slip in block.slips] == ["gap"]
    mending = seamtree.mend(block)
    assert mending.reached
    assert not mending.nothing_to_mend
    assert mending.slips_to_json() == [{"at": [3.0, 4.0], "kind": "gap", "distance": 0.1, "shape": "path 3"}]
    assert mending.best.counts.units == 1


def test_a_bend_never_becomes_a_sliver():
    (block,) = build_blocks(lines(FRAME + '<path d="M3 0V5L3.06 6L3 8"/><path d="M3 4H8"/>'))
    assert mend(block).alternatives == ()


def farthest(before, after):
    return max((far for far, _ in slips.movements(before, after)), default=0.0)


@pytest.mark.parametrize("within", [0.15, 0.2])
def test_a_gap_whose_ends_lie_on_slanting_sides(within):
    """Where the ends of its side slide too far both sides move, and nothing farther than is asked for."""
    drawing = read_drawing(str(SAMPLES / "faulty-gap.svg"))
    mended = mend_slips(drawing, within=within)
    assert not mended.left
    assert farthest(drawing, mended.drawing) <= within
    assert max(slip.distance for slip in mended.slips) >= farthest(drawing, mended.drawing) - 1e-9
    (block,) = build_blocks(mended.drawing)
    assert len(block.patches) == 13


def test_the_farthest_movement_is_told():
    drawing = lines(FRAME + '<path d="M3 0V8"/><path d="M3.1 4H8"/>')
    moved = lines(FRAME + '<path d="M3 0V8"/><path d="M3.2 4H8"/>')
    told = slips._with_distances(mend_slips(drawing, within=0.15).slips, drawing, moved)
    assert [slip.distance for slip in told] == [pytest.approx(0.1)]
    moved = lines(FRAME + '<path d="M3 0V8"/><path d="M3.24 4H8"/>')
    told = slips._with_distances(mend_slips(drawing, within=0.15).slips, drawing, moved)
    assert [slip.distance for slip in told] == [pytest.approx(0.14)]


@pytest.mark.parametrize("seed", [8, 9, 10, 11, 20, 22])
def test_nothing_moves_farther_than_asked_for(seed):
    drawn = case(seed).drawn
    mended = mend_slips(drawn, within=0.1)
    assert farthest(drawn, mended.drawing) <= 0.1 + 1e-9
    assert all(slip.distance <= 0.1 + 1e-9 for slip in mended.slips)


def test_a_patch_that_is_drawn_beside_its_place_is_pushed_back():
    # Its short edges are equal on both sides, but to the same side: they are not meant.
    patches = [(0, 0, 5, 3), (4.9, 3.1, 7.9, 5.1), (0, 3, 5, 5), (5, 0, 8, 3), (0, 5, 8, 8)]
    body = "".join(
        f'<rect x="{a}" y="{b}" width="{c - a}" height="{d - b}" fill="#{n}{n}5577"/>'
        for n, (a, b, c, d) in enumerate(patches, 1)
    )
    mended = mend_slips(parse_drawing(f"{HEAD}{body}</svg>".encode(), source="quay.svg"), within=0.15)
    (slip,) = mended.slips
    assert slip.distance == pytest.approx(2**0.5 / 10)
    places = [at for point in mended.drawing.shapes[1].tracks[0].points for at in point]
    assert places == pytest.approx([5, 3, 8, 3, 8, 5, 5, 5])

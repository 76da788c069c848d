"""Curves keep their origin: what is one curve, what are two, and what is a line after all."""

from __future__ import annotations

import math
import random

import pytest

from tests.block.drawn import Pen, arc, box, curve_sizes, frame, inner_curves, jitter, line, moved, one_block, to


def quarter(pen: Pen, fill: str = "#c0ffee"):
    return pen.draw((0, 0), to(3, 0), arc((0, 0), 3, 0, 90), fill=fill)


def test_a_quarter_circle_on_a_square_is_one_curve() -> None:
    block = one_block(box(0, 0, 4, 4), quarter(Pen()))
    assert len(block.patches) == 2
    assert len(inner_curves(block)) == 1
    assert None not in inner_curves(block)


def test_every_chord_stays_near_the_circle() -> None:
    block = one_block(box(0, 0, 4, 4), quarter(Pen()))
    for edge in block.edges:
        if edge.interior:
            a, b = block.junctions[edge.start], block.junctions[edge.end]
            assert math.hypot(*a) == pytest.approx(3, abs=1e-6)
            assert math.hypot((a[0] + b[0]) / 2, (a[1] + b[1]) / 2) >= 3 - 0.002 - 1e-9


def test_both_neighbours_may_draw_the_same_curve_in_different_ways() -> None:
    pen = Pen()
    rest = pen.draw(
        (3, 0),
        to(4, 0),
        to(4, 4),
        to(0, 4),
        to(0, 3),
        arc((0, 0), 3, 90, -35),
        arc((0, 0), 3, 55, -55),
        fill="#abcdef",
    )
    block = one_block(quarter(pen), rest)
    assert len(block.patches) == 2
    assert len(inner_curves(block)) == 1


@pytest.mark.parametrize("seed", range(10))
def test_a_curve_drawn_twice_may_miss_itself_by_half_the_tolerance(seed: int) -> None:
    rng = random.Random(seed)
    pen = Pen()
    rest = pen.draw(
        (3, 0),
        to(4, 0),
        to(4, 4),
        to(0, 4),
        to(0, 3),
        arc((0, 0), 3, 90, -40),
        arc((0, 0), 3, 50, -50),
        fill="#abcdef",
    )
    block = one_block(*moved([quarter(pen), rest], jitter(rng, 0.0099)))
    assert len(block.patches) == 2
    assert len(inner_curves(block)) == 1
    assert None not in inner_curves(block)


def test_curves_that_meet_smoothly_are_one() -> None:
    wave = Pen().draw((0, 2), arc((1, 2), 1, 180, 180), arc((3, 2), 1, 180, -180))
    block = one_block(frame(0, 0, 4, 4), wave)
    assert len(block.patches) == 2
    assert len(inner_curves(block)) == 1


def test_curves_that_meet_smoothly_where_a_seam_ends_are_one() -> None:
    wave = Pen().draw((0, 2), arc((1, 2), 1, 180, 180), arc((3, 2), 1, 180, -180))
    block = one_block(frame(0, 0, 4, 4), wave, line((2, 2), (2.2, 4)))
    assert len(block.patches) == 3
    assert len(inner_curves(block) - {None}) == 1


def test_small_curves_are_judged_by_their_tangents_and_not_by_their_chords() -> None:
    # At a radius of 0.15 in the chords turn by more than 12 degrees from one to the next.
    wave = Pen().draw((0, 2), to(1.7, 2), arc((1.85, 2), 0.15, 180, 180), arc((2.15, 2), 0.15, 180, -180), to(4, 2))
    block = one_block(frame(0, 0, 4, 4), wave)
    assert len(inner_curves(block) - {None}) == 1


def test_curves_that_meet_at_a_corner_are_two() -> None:
    scallops = Pen().draw((0, 2), arc((1, 2), 1, 180, 180), arc((3, 2), 1, 180, 180))
    block = one_block(frame(0, 0, 4, 4), scallops)
    assert len(block.patches) == 2
    assert len(inner_curves(block)) == 2


def test_curves_that_go_back_the_same_way_are_two() -> None:
    # Two arcs that touch at (2, 2) and leave it on the same side: a cusp, not a smooth run.
    pen = Pen()
    block = one_block(
        frame(0, 0, 4, 4),
        pen.draw((2, 2), arc((2, 4), 2, 270, 90)),
        pen.draw((2, 2), arc((2, 0), 2, 90, -90)),
        line((0, 2), (2, 2)),
    )
    assert len(inner_curves(block) - {None}) == 2


def test_a_line_that_touches_a_curve_stays_a_line() -> None:
    keel = Pen().draw((0, 3), to(2, 3), arc((2, 1), 2, 90, -90), to(4, 0))
    block = one_block(frame(0, 0, 5, 5), keel)
    straight = [e for e in block.edges if e.interior and e.curve is None]
    assert len(inner_curves(block) - {None}) == 1
    ends = {frozenset((block.junctions[e.start], block.junctions[e.end])) for e in straight}
    assert ends == {frozenset({(0, 3), (2, 3)}), frozenset({(4, 0), (4, 1)})}


def test_a_stretch_of_curve_that_is_seen_too_little_of_is_a_line() -> None:
    pen = Pen()
    hill = pen.draw((0, 2), arc((4, 14), math.hypot(4, 12), math.degrees(math.atan2(-12, -4)), 36.86989764584402))
    whole = one_block(frame(0, 0, 8, 4), hill)
    assert None not in inner_curves(whole)
    hidden = one_block(frame(0, 0, 8, 4), hill, box(0, 0, 3.5, 4), box(4.5, 0, 8, 4))
    assert inner_curves(hidden) == {None}


def test_stems_on_both_sides_leave_a_curve_one() -> None:
    block = one_block(
        box(0, 0, 4, 4), line((2, 2), (4, 4)), quarter(Pen()), line((0, 0), (3 / math.sqrt(2), 3 / math.sqrt(2)))
    )
    assert len(block.patches) == 4
    assert len(inner_curves(block) - {None}) == 1


def test_a_circle_cut_by_straight_seams_is_one_curve() -> None:
    disc = Pen().draw((3, 2), arc((2, 2), 1, 0, 360), fill="#ffcc00")
    block = one_block(
        box(0, 0, 4, 4), line((0, 2), (4, 2)), line((2, 0), (2, 4)), disc, line((1, 2), (3, 2)), line((2, 1), (2, 3))
    )
    assert len(block.patches) == 8
    assert len(inner_curves(block) - {None}) == 1
    assert max(curve_sizes(block).values()) >= 16


def test_a_tiny_rounded_corner_collapses_to_a_corner() -> None:
    sail = Pen().draw((0, 0), to(2, 0), to(2, 1.985), arc((1.985, 1.985), 0.015, 0, 90), to(0, 2), fill="#ffffff")
    block = one_block(box(0, 0, 4, 4), sail)
    assert len(block.patches) == 2
    assert inner_curves(block) == {None}


@pytest.mark.parametrize("radius", [0.15, 0.3, 1.0])
def test_rounded_corners_stay_curves(radius: float) -> None:
    sail = Pen().draw(
        (0, 0), to(2, 0), to(2, 2 - radius), arc((2 - radius, 2 - radius), radius, 0, 90), to(0, 2), fill="#ffffff"
    )
    block = one_block(box(0, 0, 4, 4), sail)
    assert len(block.patches) == 2
    assert len(inner_curves(block)) == 2

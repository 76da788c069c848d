"""The painter's rule: what is seen of shapes that lie on each other."""

from __future__ import annotations

import math
from itertools import permutations

import pytest

from seamtree.block.paint import drawn_points, paint
from seamtree.drawing.drawn import STRAIGHT, Shape, Track
from tests.block.drawn import area, blocks, box, drawing, frame, line, look, one_block

SEA, SAIL, HULL, SUN = "#1f6f8b", "#ffffff", "#8b3a1f", "#ffcc00"


def fabrics(block) -> list[str | None]:
    return [patch.fabric for patch in block.patches]


def compound(*rings, fill: str | None = SEA, evenodd: bool = False, stroked: bool = False) -> Shape:
    tracks = tuple(Track(tuple(ring), True, (STRAIGHT,) * len(ring)) for ring in rings)
    return Shape(tracks, fill, evenodd, stroked, "compound")


def test_shapes_side_by_side() -> None:
    block = one_block(box(0, 0, 2, 4, fill=SEA), box(2, 0, 4, 4, fill=SAIL))
    assert fabrics(block) == [SEA, SAIL]


def test_shapes_stacked_on_a_background() -> None:
    block = one_block(box(0, 0, 4, 4, fill=SEA), area((0, 4), (4, 4), (4, 0), fill=SAIL))
    assert len(block.patches) == 2
    assert fabrics(block) == [SEA, SAIL]


def test_what_is_hidden_leaves_no_trace() -> None:
    hidden = [box(1, 1, 3, 3, fill=SUN), line((0, 0), (4, 4)), frame(0.5, 0.5, 3.9, 2)]
    plain = one_block(box(0, 0, 4, 4, fill=SEA), box(0, 0, 2, 4, fill=SAIL))
    stacked = one_block(*hidden, box(0, 0, 4, 4, fill=SEA), box(0, 0, 2, 4, fill=SAIL))
    assert stacked == plain


def test_a_line_goes_on_beneath_a_shape() -> None:
    block = one_block(frame(0, 0, 6, 6), line((0, 3), (6, 3)), box(2, 0, 4, 6, fill=SAIL))
    assert len(block.patches) == 5
    assert sorted(str(f) for f in fabrics(block)) == [SAIL, *["None"] * 4]


def test_a_line_on_top_of_a_shape_cuts_it() -> None:
    block = one_block(box(0, 0, 4, 4, fill=SEA), line((0, 2), (4, 2)))
    assert fabrics(block) == [SEA, SEA]


def test_a_line_painted_before_a_shape_is_hidden() -> None:
    assert fabrics(one_block(line((0, 2), (4, 2)), box(0, 0, 4, 4, fill=SEA))) == [SEA]


def test_a_line_along_the_edge_of_a_shape_stays() -> None:
    block = one_block(line((0, 4), (4, 4)), line((0, 0), (0, 4)), box(0, 0, 4, 4, fill=SEA))
    assert len(block.patches) == 1


def test_an_unfilled_shape_hides_nothing() -> None:
    block = one_block(box(0, 0, 4, 4, fill=SEA), line((0, 2), (4, 2)), box(0, 0, 2, 4, fill=None, stroked=True))
    assert len(block.patches) == 4


def test_overlaps_are_a_stack() -> None:
    block = one_block(box(0, 0, 3, 4, fill=SEA), box(2, 0, 5, 4, fill=SAIL))
    assert fabrics(block) == [SEA, SAIL]
    assert [block.polygon(p)[0] for p in range(2)] == [(0, 0), (2, 0)]


def test_the_order_of_a_stack_decides() -> None:
    strips = [box(0, 0, 3, 1, fill=SEA), box(2, 0, 5, 1, fill=SAIL), box(1, 0, 4, 1, fill=HULL)]
    widths = {}
    for order in permutations(strips):
        block = one_block(*order)
        widths[tuple(s.fill for s in order)] = [
            (p.fabric, round(max(x for x, _ in block.polygon(k)) - min(x for x, _ in block.polygon(k)), 6))
            for k, p in enumerate(block.patches)
        ]
    assert widths[SEA, SAIL, HULL] == [(SEA, 1), (HULL, 3), (SAIL, 1)]
    assert widths[HULL, SEA, SAIL] == [(SEA, 2), (SAIL, 3)]
    assert widths[HULL, SAIL, SEA] == [(SEA, 3), (SAIL, 2)]


def test_neighbours_of_the_same_fabric_stay_two_patches() -> None:
    assert fabrics(one_block(box(0, 0, 2, 4, fill=SEA), box(2, 0, 4, 4, fill=SEA))) == [SEA, SEA]


def test_the_same_shape_painted_twice_counts_once() -> None:
    assert fabrics(one_block(box(0, 0, 4, 4, fill=SEA), box(0, 0, 4, 4, fill=SAIL))) == [SAIL]


def test_a_star_that_crosses_itself_is_filled_by_its_rule() -> None:
    tips = [(4 + 4 * math.sin(k * 4 * math.pi / 5), 4 - 4 * math.cos(k * 4 * math.pi / 5)) for k in range(5)]
    xs, ys = zip(*tips, strict=True)
    ground = box(min(xs), min(ys), max(xs), max(ys), fill=SEA)
    # Held by the tips of the star, the ground is in five parts.
    whole = one_block(ground, area(*tips, fill=SUN))
    assert fabrics(whole).count(SUN) == 1
    assert fabrics(whole).count(SEA) == 5
    pierced = blocks(ground, compound(tips, fill=SUN, evenodd=True))
    assert sum(fabrics(block).count(SUN) for block in pierced) == 5
    stroked = one_block(ground, area(*tips, fill=SUN, stroked=True))
    assert fabrics(stroked).count(SUN) == 6


def test_a_compound_path_may_consist_of_separate_parts() -> None:
    pair = compound([(0, 0), (1, 0), (1, 4), (0, 4)], [(3, 0), (4, 0), (4, 4), (3, 4)], fill=SAIL)
    assert fabrics(one_block(box(0, 0, 4, 4, fill=SEA), pair)) == [SAIL, SEA, SAIL]


@pytest.mark.parametrize("evenodd", [True, False])
def test_what_shows_through_the_hole_of_a_compound_path(evenodd: bool) -> None:
    # The hole reaches the outline, so it is no island.
    outer = [(0, 0), (6, 0), (6, 6), (0, 6)]
    inner = [(0, 2), (0, 4), (3, 4), (3, 2)]
    block = one_block(box(0, 0, 6, 6, fill=SEA), compound(outer, inner, fill=SAIL, evenodd=evenodd))
    assert sorted(filter(None, fabrics(block))) == sorted([SEA, SAIL])


def test_rings_that_turn_the_same_way_fill_their_hole_by_the_nonzero_rule() -> None:
    outer = [(0, 0), (6, 0), (6, 6), (0, 6)]
    inner = [(0, 2), (3, 2), (3, 4), (0, 4)]
    assert fabrics(one_block(compound(outer, inner, fill=SAIL))) == [SAIL]
    pierced = one_block(compound(outer, inner, fill=SAIL, evenodd=True), frame(0, 0, 6, 6))
    assert len(pierced.patches) == 2


def test_a_filled_line_without_any_area_draws_nothing() -> None:
    flat = Shape((Track(((0, 2), (4, 2)), False, (STRAIGHT,)),), SUN, False, False, "flat")
    assert fabrics(one_block(box(0, 0, 4, 4, fill=SEA), flat)) == [SEA]


def test_a_hidden_line_ends_at_the_edge_that_hides_it() -> None:
    drawn = drawing(line((0, 2), (4, 2)), box(1, 0, 3, 4), source="x")
    seen = paint(drawn, drawn_points(drawn), tolerance=0.02).seen
    lines = seen.chosen(seen.shape == 0)
    assert sorted(zip(lines.start[:, 0].tolist(), lines.end[:, 0].tolist(), strict=True)) == [(0, 1), (3, 4)]
    assert lines.cut.tolist() in ([[False, True], [True, False]], [[True, False], [False, True]])


def test_lines_of_one_shape_that_it_shows_are_not_cut() -> None:
    drawn = drawing(box(0, 0, 2, 4), box(2, 0, 4, 4))
    seen = paint(drawn, drawn_points(drawn), tolerance=0.02).seen
    assert len(seen) == 8
    assert not seen.cut.any()


@pytest.mark.parametrize("steps", [1, 2, 5])
def test_a_log_cabin_stacked_from_the_outside_in(steps: int) -> None:
    """Each square lies in the corner of the one below."""
    squares = [box(0, 0, 2 + k, 2 + k, fill=f"#0000{k:02x}") for k in range(steps, -1, -1)]
    block = one_block(*squares)
    assert len(block.patches) == steps + 1


def test_a_stack_and_its_pieces_side_by_side_are_the_same_block() -> None:
    stack = one_block(box(0, 0, 6, 6, fill=SEA), box(0, 3, 6, 6, fill=HULL), box(2, 0, 4, 6, fill=SAIL))
    pieces = one_block(
        box(0, 0, 2, 3, fill=SEA),
        box(4, 0, 6, 3, fill=SEA),
        box(0, 3, 2, 6, fill=HULL),
        box(4, 3, 6, 6, fill=HULL),
        box(2, 0, 4, 6, fill=SAIL),
    )
    assert look([stack]) == look([pieces])
    assert stack == pieces

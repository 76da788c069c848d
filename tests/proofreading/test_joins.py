"""Whether straight seams join units, against every tree of joins and in words."""

import random

import shapely
from hypothesis import given
from hypothesis import strategies as st

from seamtree.block.build import block_from_polygons
from seamtree.proofreading.joins import join_units
from seamtree.search.view import build_view
from tests.support.layouts import attic_window, diamond_star, quarter_circle, spun_rectangles, squares
from tests.support.printed import Plainly
from tests.support.random_layouts import random_layout


def gathered(block, rng, most):
    """Return a random division of a block into units that hang together by edges."""
    unit_of = list(range(len(block.patches)))
    borders = [(e.left, e.right) for e in block.edges if e.interior]
    rng.shuffle(borders)
    for a, b in borders:
        left = len(set(unit_of))
        if left > most or (left > 2 and rng.random() < 0.3):
            old, new = unit_of[a], unit_of[b]
            unit_of = [new if u == old else u for u in unit_of]
    groups = {}
    for p, u in enumerate(unit_of):
        groups.setdefault(u, []).append(p)
    return {chr(ord("A") + k): group for k, group in enumerate(groups.values())}


def check(block, units):
    """Compare with every tree; replay the joins by the plain definition."""
    plain = Plainly(block)
    joins, locked = join_units(build_view(block), units)
    assert (not locked) == plain.can_join([frozenset(group) for group in units.values()])
    parts = {(name,): frozenset(group) for name, group in units.items()}
    for join in joins:
        # Joins inside a locked set of units are not there, so only those with both parts at hand can be sewn.
        sides = [frozenset(p for name in part for p in units[name]) for part in join.parts]
        assert plain.is_straight(*sides)
        if not locked:
            for part in join.parts:
                parts.pop(part)
            parts[tuple(sorted(join.parts[0] + join.parts[1]))] = sides[0] | sides[1]
    assert locked or len(parts) == 1
    return joins, locked


@given(st.integers(0, 10**9), st.randoms(use_true_random=False))
def test_units_are_joined_exactly_if_some_tree_of_straight_seams_does_it(seed, rng):
    block = block_from_polygons(random_layout(seed), tolerance=1e-5)
    check(block, gathered(block, rng, most=7))


def test_both_answers_are_met_often():
    answers = []
    for seed in range(60):
        block = block_from_polygons(random_layout(seed), tolerance=1e-5)
        units = gathered(block, random.Random(seed), most=6)
        if len(units) > 1:
            answers.append(not check(block, units)[1])
    assert answers.count(True) > 10
    assert answers.count(False) > 10


def told(block, units):
    _, locked = check(block, units)
    (finding,) = locked
    assert finding.code == "units-not-joined"
    return finding.message


def single(block):
    return {chr(ord("A") + p): [p] for p in range(len(block.patches))}


def test_a_corner_between_two_units_is_named():
    block = block_from_polygons([shapely.box(2, 2, 4, 4), [(0, 0), (4, 0), (4, 2), (2, 2), (2, 4), (0, 4)]])
    assert told(block, single(block)) == (
        "Straight seams cannot join units A and B: the seam between units A and B has a corner at 2.00, 2.00."
    )


def test_a_place_where_no_two_seams_are_in_line_is_named():
    block = block_from_polygons(attic_window())
    assert "3 seams of units A, B and C meet at 1.50, 4.50, no two of them in line" in told(block, single(block))


def test_a_ring_of_seams_that_wait_for_each_other_is_told():
    block = block_from_polygons(spun_rectangles())
    assert "each one ends on another" in told(block, single(block))


def test_a_curved_seam_is_told_once():
    message = told(quarter_circle(), {"A": [0], "B": [1]})
    assert message.count("follows a curve through") == 1


def test_a_slow_bend_is_told():
    bow = [(k, 0.012 * k * (8 - k) / 2) for k in range(9)]
    block = block_from_polygons([[*bow, (8, -3), (0, -3)], [*reversed(bow), (0, 3), (8, 3)]])
    assert "bends more than cloth forgives" in told(block, {"A": [0], "B": [1]})


def test_many_corners_are_not_all_told():
    block = block_from_polygons(diamond_star())
    units = single(block)
    _, locked = join_units(build_view(block), units)
    assert "; and so at " in locked[0].message


def test_joins_come_in_sewing_order():
    block = block_from_polygons(squares(2, 2))
    joins, locked = check(block, single(block))
    assert not locked
    assert [len(a) + len(b) for a, b in (join.parts for join in joins)] == [2, 2, 4]
    assert {block.junctions[j] for j in joins[-1].path} in ({(0, 2), (2, 2), (4, 2)}, {(2, 0), (2, 2), (2, 4)})


def test_a_cut_through_a_unit_is_no_join():
    block = block_from_polygons(squares(2, 2))
    units = {"A": [0, 1], "B": [2], "C": [3]}
    joins, locked = check(block, units)
    assert not locked
    assert len(joins) == 2
    # Corner to corner, so no cut leaves unit A whole.
    ends = {p: shapely.Polygon(block.polygon(p)).centroid.coords[0] for p in range(4)}
    far = max(range(1, 4), key=lambda p: abs(ends[p][0] - ends[0][0]) + abs(ends[p][1] - ends[0][1]))
    near = [p for p in range(1, 4) if p != far]
    joins, locked = check(block, {"A": [0, near[0]], "B": [far, near[1]]})
    assert (len(joins), locked) == (1, [])
    joins, locked = check(block, {"A": [0, near[0], far], "B": [near[1]]})
    assert joins == ()
    assert "has a corner at 2.00, 2.00" in locked[0].message

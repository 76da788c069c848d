"""What parts cost: the claims of the search follow, agree with all orders, and forged ones are refused."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from seamtree.block.build import block_from_polygons
from seamtree.errors import ProofError
from seamtree.proofs.check import Table
from seamtree.proofs.claims import Cost, Potentials, Searched
from seamtree.proofs.costs import CostChecker
from tests.proofs.blocks import bowed, forked, found, grid, hexagons, log_cabin, planar, spun, tumbling, two_rings
from tests.support.brute_force import brute_force
from tests.support.layouts import attic_window, diamond_star, quarter_circle
from tests.support.random_layouts import random_layout

NOTHING = Potentials({}, {}, (), {}, {})


def check(block, cost, claim=NOTHING):
    checker = CostChecker(planar(block), Table(claim))
    checker.check(planar(block).whole, cost)
    return checker


def claim_of(block):
    claim = found(block).claims.units
    assert isinstance(claim, Potentials)
    return claim


@pytest.mark.parametrize("draw", [spun, hexagons, tumbling, bowed, forked, grid])
def test_what_the_search_hands_over_follows_and_nothing_more(draw):
    block = draw()
    cost = found(block).claims.cost
    assert (cost.hard_corners, cost.set_in, cost.excess_pivots, cost.joins + 1) == brute_force(block)
    assert not check(block, cost, claim_of(block)).searched
    for more in (Cost(joins=1), Cost(excess_pivots=1), Cost(set_in=1), Cost(hard_corners=1)):
        raised = cost.plus(more)
        for claim in (claim_of(block), replace(claim_of(block), costs={tuple(range(len(block.patches))): raised})):
            with pytest.raises(ProofError):
                check(block, raised, claim)


@settings(max_examples=60)
@given(st.integers(0, 10**6))
def test_no_claim_says_more_than_all_orders(seed):
    block = block_from_polygons(random_layout(seed), tolerance=1e-5)
    if len(block.patches) > 8:
        return
    best = brute_force(block)
    answer = found(block)
    assert answer.claims.cost <= (*best[:3], best[3] - 1)
    for more in range(1, 3):  # whatever is claimed of parts, as long as it follows
        with pytest.raises(ProofError):
            check(block, Cost(*best[:3], best[3] - 1 + more), claim_of(block) if answer.claims.units else NOTHING)


@pytest.mark.parametrize("layout", [attic_window, diamond_star])
def test_traditional_blocks_with_set_in_seams(layout):
    block = block_from_polygons(layout())
    check(block, found(block).claims.cost, claim_of(block))


def test_a_curved_seam_costs_a_corner():
    block = quarter_circle()
    check(block, Cost(1, 0, 0, 1), claim_of(block))
    with pytest.raises(ProofError):
        check(block, Cost(2, 0, 0, 1), claim_of(block))


def test_a_unit_costs_nothing():
    with pytest.raises(ProofError, match="a unit of 5 patches"):
        check(log_cabin(), Cost(0, 0, 0, 1))
    with pytest.raises(ProofError, match="a unit of 5 patches was claimed to cost"):
        check(log_cabin(), Cost(0, 0, 1, 0))


def test_a_step_that_leaves_too_little_is_told():
    with pytest.raises(ProofError, match=r"a step leaves parts of \d and \d patches that cost too little"):
        check(spun(), Cost(1, 0, 0, 2))


def test_searched_parts_are_taken_as_they_are_and_told():
    whole = tuple(range(5))
    record = Searched(whole, Cost(1, 0, 0, 1), "model", 7)
    checker = check(spun(), Cost(1, 0, 0, 1), replace(NOTHING, searched=(record,)))
    assert list(checker.searched.values()) == [record]
    with pytest.raises(ProofError):
        check(spun(), Cost(1, 0, 0, 2), replace(NOTHING, searched=(record,)))


def test_two_rings_are_two_corners():
    block = two_rings()
    check(block, found(block).claims.cost, claim_of(block))
    with pytest.raises(ProofError):
        check(block, found(block).claims.cost.plus(Cost(joins=1)), claim_of(block))

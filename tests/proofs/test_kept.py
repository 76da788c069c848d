"""Units that are given: what can be sewn passes, and every check has a forged claim that only it refuses."""

from __future__ import annotations

from itertools import pairwise

import pytest
from shapely import box

import seamtree
from seamtree.block.build import block_from_polygons
from seamtree.block.model import Block
from seamtree.errors import ProofError
from seamtree.planning.printed import claim_kept, read_printed
from seamtree.proofs.check import check_claims
from seamtree.proofs.claims import Claims, Kept, KeptJoin
from tests.proofs.blocks import grid

# Four squares, 0 over 1 on the left and 2 over 3 on the right.
GRID = grid(2, 2)
ACROSS = tuple(k for k in GRID.interior_edges if {GRID.edges[k].left, GRID.edges[k].right} in ({0, 2}, {1, 3}))
LEFT, RIGHT = (
    next(k for k in GRID.interior_edges if {GRID.edges[k].left, GRID.edges[k].right} == pair)
    for pair in ({0, 1}, {2, 3})
)


def check(units, *joins):
    return check_claims(GRID, Claims(kept=Kept(units, tuple(KeptJoin(parts, edges) for parts, edges in joins))))


def test_units_that_can_be_sewn_and_joined_pass():
    assert check(((0, 1), (3, 2)), ((1, 0), ACROSS)).kept_units == 2
    joins = ((0, 1), (LEFT,)), ((2, 3), (RIGHT,)), ((4, 5), ACROSS)
    assert check(((0,), (1,), (2,), (3,)), *joins).kept_units == 4
    assert check_claims(GRID, Claims()).kept_units == 0


@pytest.mark.parametrize(
    "units",
    [
        ((0, 1), (2,)),
        ((0, 1, 1), (3, 2)),
        ((0, 1), (3, 4)),
        ((0, 1), (3, -1)),
        ((0, 1, 2), (3, 2)),
    ],
)
def test_every_patch_is_in_one_unit(units):
    with pytest.raises(ProofError, match="do not hold every patch once"):
        check(units, ((0, 1), ACROSS))


def test_a_unit_has_a_patch():
    with pytest.raises(ProofError, match="has no patch"):
        check(((0, 1), (), (3, 2)), ((0, 2), ACROSS))


def test_patches_are_added_by_straight_seams():
    with pytest.raises(ProofError, match="patch 2 is not added"):
        check(((0, 1, 3, 2),))
    with pytest.raises(ProofError, match="patch 3 is not added"):
        check(((0, 3), (1,), (2,)))


def test_a_join_sews_all_that_lies_between_its_parts():
    for edges in (ACROSS[:1], (*ACROSS, LEFT), (LEFT, RIGHT), ACROSS[::-1], (), (99, 100)):
        with pytest.raises(ProofError, match="join 1 of the kept units does not sew the whole boundary"):
            check(((0, 1), (3, 2)), ((0, 1), edges))


def test_a_join_is_straight():
    bent = tuple(sorted((RIGHT, next(k for k in ACROSS if 3 in (GRID.edges[k].left, GRID.edges[k].right)))))
    with pytest.raises(ProofError, match="is no straight seam"):
        check(((1, 0, 2), (3,)), ((0, 1), bent))
    with pytest.raises(ProofError, match="is no straight seam"):  # the two do not touch
        check(((0,), (3,), (1,), (2,)), ((0, 1), ()))


@pytest.mark.parametrize("parts", [(0, 0), (0, 3), (2, 1), (0, 2), (-1, 0)])
def test_parts_wait_for_their_join(parts):
    with pytest.raises(ProofError, match="join 1 of the kept units is of a part that does not wait"):
        check(((0, 1), (3, 2)), (parts, ACROSS))


def test_everything_is_joined():
    with pytest.raises(ProofError, match="not all joined"):
        check(((0, 1), (3, 2)))


def numbered(labels: str) -> Block:
    return block_from_polygons([box(x, 0, x + 2, 6) for x in (0, 2, 4, 6)], labels=labels.split())


@pytest.mark.parametrize("labels", ["A1 A2 B1 B2", "C1 B1 B2 A1", "1 2 3 4", "A1 B1 C1 D1"])
def test_a_plan_with_printed_numbers_claims_them_as_they_are(labels):
    block = numbered(labels)
    plan = seamtree.plan(block)
    kept = plan.proof.claims.kept
    assert kept is not None
    assert plan.kept == "numbers"
    assert sorted(kept.units) == sorted(unit.patches for unit in plan.units())
    assert len(kept.joins) == plan.counts.joins
    checked = seamtree.check_proof(block, plan.proof)
    assert (checked.kept_units, checked.units) == (plan.counts.units, 1)


def test_joins_are_handed_over_as_the_plan_has_them():
    block = numbered("C1 B1 B2 A1")
    plan = seamtree.plan(block)
    kept = plan.proof.claims.kept
    between = block.edge_between()
    sewn = [tuple(sorted(between[frozenset(ends)] for ends in pairwise(join.seam.path))) for join in plan.joins()]
    assert kept is not None
    assert sorted(join.edges for join in kept.joins) == sorted(sewn)
    printed = read_printed(block)
    assert printed.order is not None
    assert claim_kept(block, printed.order) == kept


def test_nothing_is_kept_where_nothing_is_printed():
    assert seamtree.plan(GRID).proof.claims.kept is None

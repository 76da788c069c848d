"""Proofs as a whole: of which block, about what there is, and enough for what is claimed."""

from __future__ import annotations

from dataclasses import replace

import pytest

import seamtree
from seamtree.errors import ProofError
from seamtree.proofs.check import check_claims, check_proof
from seamtree.proofs.claims import (
    Added,
    Bend,
    Claims,
    Component,
    Corner,
    Cost,
    Fork,
    Potentials,
    Proof,
    Ring,
    Row,
    RowSums,
    Searched,
    Sum,
    Through,
    Tried,
)
from seamtree.proofs.digest import digest
from tests.proofs.blocks import found, grid, hexagons, spun, tumbling

NO_ROWS = RowSums(0, (), (), ())
NO_POTENTIALS = Potentials({}, {}, (), {}, {})


def tried(no: Sum | Tried, yes: Sum | Tried) -> Claims:
    return Claims(units=replace(NO_ROWS, components=(Component((), 0, Tried(Added(0, 0), no, yes)),)))


def test_a_plan_has_its_proof():
    plan = seamtree.plan(spun())
    checked = seamtree.check_proof(spun(), plan.proof)
    assert (checked.hard_corners, checked.units) == (plan.bound.hard_corners, plan.bound.units)
    assert checked.corners_witnessed
    assert checked.units_witnessed
    assert repr(plan.proof) == "<Proof: no fewer than 1 hard corners, then 2 units>"


def test_a_proof_is_about_one_block():
    proof = seamtree.plan(spun()).proof
    with pytest.raises(ProofError, match="about another block"):
        check_proof(grid(), proof)
    with pytest.raises(ProofError, match="about another block"):
        check_proof(spun(), Proof(digest(grid()), proof.claims))
    with pytest.raises(seamtree.OptionError, match="proof must be"):
        seamtree.check_proof(spun(), proof.claims)


def test_nothing_is_shown_by_nothing():
    with pytest.raises(ProofError, match="nothing shows that 0 hard corners and 2 units"):
        check_claims(grid(), Claims(Cost(joins=1)))
    assert check_claims(grid(), Claims()).units == 1


def test_witnesses_alone_show_corners_but_no_units():
    corners = found(hexagons()).claims.corners
    assert check_claims(hexagons(), Claims(Cost(6), corners)).corners_witnessed
    for cost in (Cost(7), Cost(6, 0, 0, 1)):
        with pytest.raises(ProofError, match="nothing shows"):
            check_claims(hexagons(), Claims(cost, corners))


def test_what_shows_the_units_shows_the_corners_too():
    claims = replace(found(spun()).claims, corners=())
    checked = check_claims(spun(), claims)
    assert (checked.hard_corners, checked.corners_witnessed, checked.units_witnessed) == (1, True, True)


def test_what_a_search_has_settled_is_told_apart():
    record = Searched(tuple(range(5)), Cost(1, 0, 0, 1), "model", 9)
    claims = Claims(Cost(1, 0, 0, 1), (), replace(NO_POTENTIALS, searched=(record,)))
    checked = check_claims(spun(), claims)
    assert (checked.corners_witnessed, checked.units_witnessed, checked.searched) == (False, False, (record,))
    checked = check_claims(spun(), replace(claims, corners=found(spun()).claims.corners))
    assert (checked.corners_witnessed, checked.units_witnessed) == (True, False)


@pytest.mark.parametrize(
    ("what", "claims"),
    [
        ("junction 99", Claims(corners=(Corner(99),))),
        ("junction -1", Claims(corners=(Corner(-1),))),
        ("edge 99", Claims(corners=(Bend(0, 99),))),
        ("edge 99", Claims(corners=(Bend(99, 0),))),
        ("junction 99", Claims(corners=(Ring(((99, 0), (1, 1))),))),
        ("edge 12", Claims(corners=(Ring(((1, 12), (1, 1))),))),
        ("junction 99", Claims(corners=(Fork(99, ()),))),
        ("junction 99", Claims(corners=(Fork(1, ((0, Corner(99)),)),))),
        ("junction 99", Claims(units=replace(NO_POTENTIALS, clusters={(99,): 1}))),
        ("junction 99", Claims(units=replace(NO_POTENTIALS, apart={(99,): (1,)}))),
        ("junction 99", Claims(units=replace(NO_POTENTIALS, apart={(1,): (99,)}))),
        ("patch 9", Claims(units=replace(NO_POTENTIALS, parts={(9,): 1}))),
        ("patch 9", Claims(units=replace(NO_POTENTIALS, costs={(9,): Cost()}))),
        ("patch 9", Claims(units=replace(NO_POTENTIALS, searched=(Searched((9,), Cost(), "model", 0),)))),
        ("edge 99", Claims(units=replace(NO_ROWS, possible=(Added(99, 0),)))),
        ("patch 9", Claims(units=replace(NO_ROWS, possible=(Added(0, 9),)))),
        ("junction 99", Claims(units=replace(NO_ROWS, rows=(Row("wait", (), ((Through(99, 0), 1),), 0),)))),
        ("line 4", Claims(units=replace(NO_ROWS, rows=(Row("wait", (), ((Through(0, 4), 1),), 0),)))),
        ("junction 99", Claims(units=replace(NO_ROWS, rows=(Row("through", (99,), (), 0),)))),
        ("patch 9", Claims(units=replace(NO_ROWS, rows=(Row("patch", (9,), (), 0),)))),
        ("junction 99", Claims(units=replace(NO_ROWS, rows=(Row("stem", (99, 0), (), 0),)))),
        ("edge 99", Claims(units=replace(NO_ROWS, rows=(Row("stem", (0, 99), (), 0),)))),
        ("edge 99", Claims(units=replace(NO_ROWS, rows=(Row("stretch", (99, 0), (), 0),)))),
        ("edge 99", Claims(units=replace(NO_ROWS, rows=(Row("ring", (0, 1, 99), (), 0),)))),
        ("patch 9", Claims(units=replace(NO_ROWS, components=(Component((Added(0, 9),), 0, Sum({})),)))),
        (
            "patch 9",
            Claims(units=replace(NO_ROWS, components=(Component((), 0, Tried(Added(0, 9), Sum({}), Sum({}))),))),
        ),
        ("patch 9", tried(Tried(Added(0, 9), Sum({}), Sum({})), Sum({}))),
        ("patch 9", tried(Sum({}), Tried(Added(0, 9), Sum({}), Sum({})))),
    ],
)
def test_claims_are_about_what_there_is(what, claims):
    with pytest.raises(ProofError, match=f"a claim is about {what}, and the block has"):
        check_claims(grid(), claims)


def test_digests_tell_blocks_apart_but_not_colours():
    patches = tuple(replace(patch, fabric="#123456", label="A1") for patch in grid().patches)
    assert digest(grid()) == digest(replace(grid(), name="other", patches=patches))
    moved = replace(grid(), junctions=((0.00001, 0.0), *grid().junctions[1:]))
    other = {digest(block) for block in (grid(), moved, replace(grid(), tolerance=0.03), spun(), tumbling())}
    assert len(other) == 5
    line = replace(grid().lines[0], reach=(0, 2, 2))
    assert digest(replace(grid(), lines=(line, *grid().lines[1:]))) != digest(grid())

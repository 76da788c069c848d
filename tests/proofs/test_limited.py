"""Proofs of limited units: what follows passes, and every check has a forged claim that only it refuses."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest
from shapely import box

from seamtree.block.build import block_from_polygons
from seamtree.errors import ProofError, ProofFileError
from seamtree.proofs.check import check_claims, check_proof
from seamtree.proofs.claims import Claims, Cost, Limited, Proof, Searched
from seamtree.proofs.digest import digest
from seamtree.proofs.files import proofs_json, read_proofs
from seamtree.proofs.limited import WEIGHT, Weights
from seamtree.search.find import find_limited, find_order
from tests.proofs.blocks import spun
from tests.search.straight.test_parts import squares


def limited(block, size):
    return find_limited(block, find_order(block, time_limit=5), size, time_limit=5)


def grid():
    return squares(5, 5)


def claims(block=None, size=(2.5, 2.5)):
    found = limited(block or grid(), size).claims
    assert isinstance(found.units, Limited)
    return found


def forged(block, honest, **changes):
    return check_claims(block, replace(honest, units=replace(honest.units, **changes)))


def test_what_the_search_hands_over_follows_and_no_more_does():
    honest = claims()
    checked = check_claims(grid(), honest)
    assert checked.units == honest.cost.joins + 1
    assert checked.largest == (2.5, 2.5)
    assert checked.units_witnessed
    with pytest.raises(ProofError):
        check_claims(grid(), replace(honest, cost=honest.cost.plus(Cost(joins=1))))


def test_a_larger_rectangle_needs_fewer_units():
    with pytest.raises(ProofError):
        forged(grid(), claims(), size=(5.0, 5.0), weights=())


def test_without_numbers_nothing_follows():
    with pytest.raises(ProofError, match="that cost too little"):
        forged(grid(), claims(), parts={}, weights=())


def test_grids_show_by_their_weights():
    """Seventeen units of a 7 by 7 grid that hold three squares at most: nothing but weights is claimed."""
    block = squares(7, 7)
    honest = claims(block, (3.0, 1.0))
    assert honest.cost == Cost(joins=16)
    assert forged(block, honest, parts={}).units == 17
    with pytest.raises(ProofError, match="that cost too little"):
        forged(block, honest, parts={}, weights=())


def test_weights_are_weighed():
    honest = claims()
    with pytest.raises(ProofError, match="weighs more than any may"):
        forged(grid(), honest, weights=(WEIGHT,) * 25)
    with pytest.raises(ProofError, match="one for each patch"):
        forged(grid(), honest, weights=(1,))
    heavy = [-WEIGHT] * 25
    heavy[7] = WEIGHT + 1  # what others weigh less does not help a unit that they are not in
    with pytest.raises(ProofError, match="weighs more than any may"):
        forged(grid(), honest, weights=tuple(heavy))
    assert isinstance(honest.units, Limited)
    with pytest.raises(ProofError, match="weighs more than any may"):
        forged(grid(), honest, weights=(*honest.units.weights, *heavy))  # in the last of several ways
    with pytest.raises(ProofError, match="one for each patch"):
        forged(grid(), honest, weights=(*honest.units.weights, 0))
    heavy[7], heavy[8] = 0, -(1 << 63)  # would be taken from what the next way weighs
    with pytest.raises(ProofError, match="more than can be added up"):
        forged(grid(), honest, weights=(*heavy, *heavy))


def test_the_heaviest_way_of_weighing_counts():
    weights = Weights((WEIGHT, 0, 0, -WEIGHT, 0, WEIGHT, 1, -WEIGHT), 4)
    parts = {0b0001: 1, 0b0010: 1, 0b0100: 1, 0b0110: 2, 0b1000: -1, 0b1111: 1}
    assert {part: weights.least_units(part) for part in parts} == parts


def test_a_small_unit_needs_no_join():
    block = squares(2, 1)
    claim = Claims(Cost(joins=1), units=Limited((2.0, 2.0), {(0,): Cost(), (1,): Cost()}))
    with pytest.raises(ProofError, match="small enough"):
        check_claims(block, claim)
    assert check_claims(block, replace(claim, units=Limited((1.5, 1.5), {}))).units == 2


def test_hard_corners_follow_from_searches_only():
    block = spun()
    honest = limited(block, (2.0, 2.0)).claims
    assert isinstance(honest.units, Limited)
    checked = check_claims(block, honest)
    assert checked.hard_corners == 1
    assert not checked.units_witnessed
    with pytest.raises(ProofError, match="nothing shows what a part of 5 patches"):
        check_claims(block, replace(honest, units=replace(honest.units, searched=())))


def test_numbers_of_what_there_is_not_are_refused():
    with pytest.raises(ProofError, match="about patch 99"):
        forged(grid(), claims(), parts={(99,): Cost(joins=1)})
    with pytest.raises(ProofError, match="about patch 99"):
        forged(grid(), claims(), searched=(Searched((99,), Cost(joins=1), "paths", 0),))


def test_proofs_are_written_and_read():
    for block, size in ((grid(), (2.5, 2.5)), (spun(), (2.0, 2.0))):
        proof = Proof(digest(block), limited(block, size).claims)
        told = proofs_json("tiles.svg", [("tiles", proof)])
        ((_, back),) = read_proofs(json.dumps(told).encode())
        assert back == proof
        check_proof(block, back)


@pytest.mark.parametrize("largest", [[1], [0, 1], ["a", 1], 3])
def test_sizes_that_are_none_are_refused(largest):
    told = proofs_json("tiles.svg", [("tiles", Proof(digest(grid()), claims()))])
    told["blocks"][0]["limited"]["largest"] = largest
    with pytest.raises(ProofFileError):
        read_proofs(json.dumps(told).encode())


def test_a_record_of_a_search_is_sealed_with_its_rectangle():
    told = proofs_json("tiles.svg", [("tiles", Proof(digest(spun()), limited(spun(), (2.0, 2.0)).claims))])
    told["blocks"][0]["limited"]["largest"] = [3.0, 3.0]
    with pytest.raises(ProofFileError, match="seal"):
        read_proofs(json.dumps(told).encode())


def test_units_are_claimed_in_one_way():
    told = proofs_json("tiles.svg", [("tiles", Proof(digest(grid()), claims()))])
    told["blocks"][0]["rows"] = {"most": 0, "possible": [], "components": [], "rows": []}
    with pytest.raises(ProofFileError, match="several ways"):
        read_proofs(json.dumps(told).encode())


def test_a_row_of_strips():
    block = block_from_polygons([box(x, 0, x + 1, 4) for x in range(6)])
    assert limited(block, (4, 2)).units == 3

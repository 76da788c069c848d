"""Numbers of joins: what follows passes, and every check has a forged number that only it refuses."""

from __future__ import annotations

from dataclasses import replace

import pytest
from benchmarks.families import lines_across, star_top, straight_cuts

from seamtree.block.build import block_from_polygons
from seamtree.errors import ProofError
from seamtree.proofs.check import Table
from seamtree.proofs.claims import Potentials
from seamtree.proofs.planar import mask_of
from seamtree.proofs.straight import StraightChecker
from tests.proofs.blocks import crossing, found, grid, log_cabin, planar, spun
from tests.support.random_layouts import random_layout

NOTHING = Potentials({}, {}, (), {}, {})


def claim_of(block):
    claim = found(block).claims.units
    assert isinstance(claim, Potentials)
    return claim


def check(block, claim, joins):
    StraightChecker(planar(block), Table(claim)).check(planar(block).whole, joins)


@pytest.mark.parametrize(
    "block", [grid(), grid(4, 6), block_from_polygons(straight_cuts(30, 4)), block_from_polygons(star_top(2, 1))]
)
def test_what_the_search_hands_over_follows(block):
    joins = found(block).units - 1
    check(block, claim_of(block), joins)
    with pytest.raises(ProofError):
        check(block, claim_of(block), joins + 1)


def test_without_numbers_nothing_follows():
    with pytest.raises(ProofError, match=r"leaves parts of [36] and [36] patches with too few joins"):
        check(grid(), NOTHING, 2)


def test_a_unit_needs_no_join():
    with pytest.raises(ProofError, match="a unit of 5 patches"):
        check(log_cabin(), NOTHING, 1)
    inner = tuple(planar(log_cabin()).inner)
    with pytest.raises(ProofError, match=f"a unit round {len(inner)} junctions"):
        check(log_cabin(), replace(NOTHING, clusters={inner: 1}), 1)


def test_crossings_that_need_a_join_each_share_no_line():
    block = grid()
    (cluster,) = claim_of(block).clusters
    for crossings in ((5, 6), (5, 9), (5, 5)):
        with pytest.raises(ProofError, match="do share one"):
            check(block, replace(claim_of(block), apart={cluster: crossings}), 2)


def test_a_crossing_that_needs_a_join_is_one():
    block = grid()
    (cluster,) = claim_of(block).clusters
    with pytest.raises(ProofError, match="spanned by a patch, or lies elsewhere"):
        check(block, replace(claim_of(block), apart={cluster: (cluster[0], 0)}), 2)


def test_a_number_that_the_cuts_do_not_bear_out():
    """One cut of five by four squares leaves nine crossings with numbers for three joins."""
    block = grid(5, 4)
    (cluster,) = claim_of(block).clusters
    claim = replace(NOTHING, clusters={cluster: 4})
    with pytest.raises(ProofError, match="with too few joins"):
        check(block, claim, 4)


def test_cuts_that_cross_two_lines_are_not_idle():
    """In three rows of three squares every cut crosses two lines, so what each of them leaves is needed."""
    block = grid(3, 3)
    halves = {tuple(c): 1 for c in ((5, 6), (9, 10), (5, 9), (6, 10))}
    checker = StraightChecker(planar(block), Table(replace(NOTHING, clusters={(5, 6, 9, 10): 2, **halves})))
    checker.check(planar(block).whole, 2)
    assert checker.apart == {}
    for missing in halves:
        fewer = {c: joins for c, joins in halves.items() if c != missing}
        with pytest.raises(ProofError, match="with too few joins"):
            check(block, replace(NOTHING, clusters={(5, 6, 9, 10): 2, **fewer}), 2)


def test_numbers_of_a_bundle_of_crossing_lines_come_to_no_more_than_its_swept_cuts():
    block = crossing()
    claim = claim_of(block)
    ((cluster, joins),) = claim.clusters.items()
    assert [swept.junctions for swept in claim.swept] == [cluster]
    check(block, claim, joins)
    with pytest.raises(ProofError, match="come to fewer joins"):
        check(block, replace(claim, clusters={cluster: joins + 1}), joins + 1)


def test_a_cut_is_idle_only_where_lines_only_cross():
    """Where a line ends inside, what the cut leaves that crosses one other line is needed."""
    block = block_from_polygons(random_layout(682), tolerance=1e-4)
    inner = tuple(planar(block).inner)
    assert found(block).units == 2
    with pytest.raises(ProofError, match="with too few joins"):
        check(block, replace(NOTHING, clusters={inner: 2, inner[-1:]: 1}), 2)


def test_a_number_for_a_part_is_asked_for_its_cuts():
    block = grid()
    whole = tuple(range(9))
    with pytest.raises(ProofError, match="with too few joins"):
        check(block, replace(NOTHING, parts={whole: 2}), 2)


def test_claims_that_were_looked_up_are_told():
    block = grid(4, 6)
    checker = StraightChecker(planar(block), Table(claim_of(block)))
    checker.check(planar(block).whole, 3)
    assert checker.parts == {planar(block).whole: 3}
    assert checker.apart == {mask_of(c): crossings for c, crossings in claim_of(block).apart.items()}
    assert checker.clusters == {mask_of(c): n for c, n in claim_of(block).clusters.items()}


def test_what_no_straight_seam_sews_has_any_number():
    check(spun(), NOTHING, 100)


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_lines_across(seed):
    block = block_from_polygons(lines_across(9, seed), tolerance=1e-4)
    check(block, claim_of(block), found(block).units - 1)

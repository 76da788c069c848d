"""Bundles of crossing lines: each check has a forged bundle that only it refuses."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from seamtree.errors import ProofError
from seamtree.proofs.claims import Potentials, Swept
from seamtree.proofs.planar import Planar, mask_of
from seamtree.proofs.swept import check_swept
from seamtree.search.claims import claim_swept
from seamtree.search.straight.sweep import build_bundle, sweep
from tests.proofs.blocks import crossing, found, grid, log_cabin, planar
from tests.search.straight.test_sweep import chords, clusters


@pytest.fixture(scope="module")
def case():
    block = chords(9, 1)
    graph, (cluster, *_) = clusters(block)
    bundle = build_bundle(graph.view, cluster)
    assert bundle is not None
    swept = claim_swept(sweep(bundle, limit=10**6))
    return Planar(block), mask_of(swept.junctions), swept


def bare(junctions):
    return Swept(junctions, (), np.zeros((1, 1), np.uint64), np.zeros(1, np.int64))


def refused(case, match, **changed):
    planar_map, cluster, swept = case
    with pytest.raises(ProofError, match=match):
        check_swept(planar_map, cluster, replace(swept, **changed))


def test_what_is_handed_over_follows(case):
    planar_map, cluster, swept = case
    whole = np.bitwise_count(swept.parts).sum(axis=1).argmax()
    assert check_swept(planar_map, cluster, swept) == swept.joins[whole] > 0


def test_a_block_that_is_swept_has_the_bundle_in_its_claim():
    claim = found(crossing()).claims.units
    assert isinstance(claim, Potentials)
    (swept,) = claim.swept
    assert check_swept(planar(crossing()), mask_of(swept.junctions), swept) == found(crossing()).units - 1


@pytest.mark.parametrize("by", [1, 2])
def test_no_number_can_be_larger_but_where_it_is_not_needed(case, by):
    _, _, swept = case
    for n in range(1, len(swept.parts), 7):
        joins = swept.joins.copy()
        joins[n] += by
        refused(case, "leaves too few joins", joins=joins)


def test_the_part_without_crossings_needs_no_join(case):
    _, _, swept = case
    refused(case, "without crossings", joins=swept.joins + 1)


def test_no_part_is_missing(case):
    _, _, swept = case
    last = len(swept.parts) - 1
    refused(case, "is missing", parts=swept.parts[:last], joins=swept.joins[:last])
    refused(case, "is missing", parts=swept.parts[1:], joins=swept.joins[1:])


def test_crossings_are_those_of_the_cluster(case):
    planar_map, cluster, swept = case
    refused(case, "has not the crossings", junctions=(*swept.junctions[1:], swept.junctions[1]))
    with pytest.raises(ProofError, match="has not the crossings"):
        check_swept(planar_map, cluster & (cluster - 1), swept)
    refused(case, "has not the crossings", junctions=(*swept.junctions, swept.junctions[0]))


def test_all_lines_are_there(case):
    _, _, swept = case
    refused(case, "are not those", sides=swept.sides[1:])


def test_every_crossing_is_on_one_side(case):
    _, _, swept = case
    for n, (line, left, right) in enumerate(swept.sides):
        if left and right:
            on = next(place for place in range(len(swept.junctions)) if place not in (*left, *right))
            twice, passed = (line, (*left, right[0]), right), (line, (*left, on), right)
            for forged in ((line, left[1:], right), twice, passed, (line, left, right[1:])):
                refused(
                    case, "not every crossing on one side", sides=(*swept.sides[:n], forged, *swept.sides[n + 1 :])
                )


def test_no_edge_leads_across(case):
    planar_map, _, swept = case
    linked = [mask_of(swept.junctions) & planar_map.linked[j] for j in swept.junctions]
    tried = 0
    for n, (line, left, right) in enumerate(swept.sides):
        for place in left:
            if any(linked[place] >> swept.junctions[other] & 1 for other in left):
                moved = (line, tuple(p for p in left if p != place), (*right, place))
                refused(case, "leads from one side", sides=(*swept.sides[:n], moved, *swept.sides[n + 1 :]))
                tried += 1
    assert tried > 10


def test_no_patch_spans_a_crossing():
    block = log_cabin()
    inner = tuple(planar(block).inner)
    with pytest.raises(ProofError, match="a patch spans"):
        check_swept(planar(block), mask_of(inner), bare(inner))


def test_a_line_does_not_leave_the_bundle_and_come_back():
    block = grid(4, 2)
    ends = tuple(j for j in planar(block).inner if abs(block.junctions[j][0] - 2) > 0.5)
    assert len(ends) == 2
    with pytest.raises(ProofError, match="comes back"):
        check_swept(planar(block), mask_of(ends), bare(ends))


def test_parts_are_looked_at_a_few_at_a_time(case, monkeypatch):
    planar_map, cluster, swept = case
    monkeypatch.setattr("seamtree.proofs.swept._AT_ONCE", 3)
    assert check_swept(planar_map, cluster, swept) > 0
    joins = swept.joins.copy()
    joins[-1] += 1
    refused(case, "leaves too few joins", joins=joins)

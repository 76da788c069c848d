"""Weights that show what ranks first, and what stands as searched where they do not."""

from __future__ import annotations

from seamtree.block.build import block_from_polygons
from seamtree.block.model import Block
from seamtree.proofs.check import check_claims
from seamtree.proofs.claims import Repeats, SearchedSets
from seamtree.search.find import find_order, find_repeats
from seamtree.search.straight.weighings import claim_repeats
from tests.search.straight.test_repeats import radishes
from tests.support.random_layouts import random_layout


def repeated(block: Block, time_limit: float = 5) -> Repeats:
    found = find_repeats(block, find_order(block, time_limit=5), None, time_limit=time_limit)
    assert found.claims.repeats is not None
    checked = check_claims(block, found.claims).repeats
    assert checked is not None
    assert (checked.foundations, checked.units) == (found.foundations, found.units)
    return found.claims.repeats


def coloured(seed: int) -> Block:
    polygons = random_layout(seed)
    return block_from_polygons(polygons, fabrics=["abc"[n * n % 3] for n in range(len(polygons))], tolerance=1e-5)


def test_random_layouts_are_shown_by_weights() -> None:
    claims = [repeated(coloured(seed)) for seed in (3, 7, 8, 9, 10, 12, 21, 35)]
    assert all(claim.searched is None or claim.few is not None for claim in claims)
    assert sum(claim.searched is None for claim in claims) >= 7


def test_nothing_is_weighed_without_need() -> None:
    claim = repeated(block_from_polygons([((0, 0), (1, 0), (1, 1), (0, 1)), ((1, 0), (2, 0), (2, 1), (1, 1))]))
    assert (claim.few, claim.then, claim.searched) == (None, None, None)


def test_what_takes_too_long_to_weigh_stands_as_searched() -> None:
    block, record = radishes(), SearchedSets(1, 3, 1, 1)
    claims = find_order(block, time_limit=5).claims
    for seconds, searched in ((5.0, None), (0.01, record)):
        claim = claim_repeats(block, claims, record, None, time_limit=seconds)
        assert claim.searched == searched
        assert (claim.then is None) == (searched is not None)


def test_what_weights_do_not_show_stands_as_searched() -> None:
    """More than is so is not shown; what is shown of it is kept."""
    block = radishes()
    claims = find_order(block, time_limit=5).claims
    record = SearchedSets(1, 4, 1, 1)
    claim = claim_repeats(block, claims, record, None, time_limit=5)
    assert (claim.units, claim.few, claim.then, claim.searched) == (4, None, None, record)

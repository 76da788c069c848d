"""Different foundations: what follows passes, and every check has a forged claim that only it refuses."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import box

import seamtree
from seamtree.block.build import block_from_polygons
from seamtree.block.model import Block
from seamtree.errors import ProofError
from seamtree.proofs.check import check_claims
from seamtree.proofs.claims import Claims, Limited, Repeats, SearchedSets, Weighing
from seamtree.proofs.limited import WEIGHT
from seamtree.proofs.planar import bits
from seamtree.proofs.repeats import check_repeats, fabric_numbers
from tests.proofs.blocks import found, planar, spun
from tests.search.straight.test_parts import squares
from tests.search.straight.test_repeats import all_ways, figures, radishes
from tests.support.effort import times
from tests.support.random_layouts import random_layout


def honest(block: Block, **wishes) -> Claims:
    return seamtree.plan(block, prefer="repeats", **wishes).proof.claims


def forged(block: Block, claims: Claims, **changes):
    assert claims.repeats is not None
    return check_claims(block, replace(claims, repeats=replace(claims.repeats, **changes))).repeats


def coloured(fabrics: str, cells=((0, 1), (1, 2), (2, 3), (3, 4))) -> Block:
    """Return strips side by side, of which no unit of one patch serves for two of another colour."""
    return block_from_polygons([box(a, 0, b, 3) for a, b in cells], fabrics=list(fabrics))


def crossed() -> Block:
    """Nine squares in three colours: two foundations at least, for three units."""
    return block_from_polygons(
        [box(x, y, x + 1, y + 1) for x in range(3) for y in range(3)], fabrics=list("abaabcaba")
    )


def test_weights_show_foundations_and_what_they_take():
    for block, foundations, units in ((radishes(), 1, 3), (crossed(), 2, 3), (coloured("abab"), 1, 1)):
        claims = honest(block)
        checked = check_claims(block, claims).repeats
        assert checked is not None
        assert (checked.foundations, checked.units) == (foundations, units)
        assert checked.foundations_witnessed
        assert checked.units_witnessed
        assert claims.repeats is not None
        assert claims.repeats.searched is None


def test_no_more_follows():
    for block in (radishes(), crossed(), coloured("abab")):
        claims = honest(block)
        assert claims.repeats is not None
        for key in ("foundations", "units"):
            with pytest.raises(ProofError, match="nothing shows that"):
                forged(block, claims, **{key: getattr(claims.repeats, key) + 1})


def test_without_weights_nothing_follows():
    with pytest.raises(ProofError, match="nothing shows that 2 different foundations"):
        forged(crossed(), honest(crossed()), few=None)
    with pytest.raises(ProofError, match="nothing shows that 1 different foundations, then 3 units"):
        forged(radishes(), honest(radishes()), then=None)


def test_a_proof_is_about_some_fabrics():
    """In other colours there are as many foundations, on other fabrics there may not be."""
    claims = honest(crossed())
    block = block_from_polygons(
        [box(x, y, x + 1, y + 1) for x in range(3) for y in range(3)], fabrics=list("xyxxyzxyx")
    )
    assert check_claims(block, claims).repeats is not None
    with pytest.raises(ProofError, match="about other fabrics"):
        check_claims(squares(3, 3), claims)
    with pytest.raises(ProofError, match="about other fabrics"):
        forged(crossed(), claims, fabrics=(0,) * 9)


def test_weights_are_one_for_each_patch():
    claims = honest(radishes())
    assert claims.repeats is not None
    then = claims.repeats.then
    assert then is not None
    with pytest.raises(ProofError, match="not one for each patch"):
        forged(radishes(), claims, then=replace(then, patches=(*then.patches, WEIGHT)))


def test_units_weigh_something_besides_or_nothing():
    """There may be more units than the least, so that they weigh less than nothing shows nothing."""
    block = squares(2, 2)
    claims = Claims(found(block).claims.cost, units=found(block).claims.units)
    repeats = Repeats(1, 4, fabric_numbers(block), then=Weighing((WEIGHT * 3,) * 4, -WEIGHT * 2))
    with pytest.raises(ProofError, match="a unit weighs less than nothing"):
        check_claims(block, replace(claims, repeats=repeats))


def test_too_many_units_are_not_weighed(monkeypatch):
    claims = honest(crossed())
    monkeypatch.setattr("seamtree.proofs.repeats.MOST_UNITS", 5)
    with pytest.raises(ProofError, match="too many units to be weighed"):
        check_claims(crossed(), claims)


def test_copies_that_lie_apart_weigh_together():
    """Three strips alike, each a third of the block: not three foundations."""
    block = coloured("aaa", ((0, 1), (1, 2), (2, 3)))
    for weights in ((WEIGHT,) * 3, (1, 1, 1), (0, WEIGHT, 0), (WEIGHT, -WEIGHT, WEIGHT)):
        with pytest.raises(ProofError, match="nothing shows that 2 different foundations, then 1 units"):
            check_claims(block, Claims(repeats=Repeats(2, 1, fabric_numbers(block), few=Weighing(weights, 0))))


def test_a_foundation_bears_what_its_units_do_not():
    """What foundations bear counts for each of them: two units are not three because their foundations bear much."""
    block = radishes()
    claims = honest(block)
    with pytest.raises(ProofError, match="nothing shows that 1 different foundations, then 4 units"):
        forged(block, claims, units=4, then=Weighing((4 * WEIGHT,) * 6, 0))


def test_where_hard_corners_are_turned_nothing_is_claimed():
    claims = found(spun()).claims
    assert honest(spun()).repeats is None
    bare = Repeats(1, 2, fabric_numbers(spun()))
    with pytest.raises(ProofError, match="that straight seams do not sew"):
        check_claims(spun(), replace(claims, repeats=bare))


def test_what_a_search_has_settled_is_told_apart():
    block = crossed()
    claims = honest(block)
    record = SearchedSets(2, 3, 1, 4)
    checked = forged(block, claims, few=None, searched=record)
    assert checked is not None
    assert (checked.foundations_witnessed, checked.units_witnessed) == (False, False)
    with pytest.raises(ProofError, match="nothing shows"):
        forged(block, claims, few=None, units=4, searched=record)
    checked = forged(radishes(), honest(radishes()), then=None, searched=SearchedSets(1, 3, 1, 4))
    assert checked is not None
    assert (checked.foundations_witnessed, checked.units_witnessed) == (True, False)


def test_smaller_units_need_other_foundations():
    """What is shown of units of a size is not claimed of larger ones."""
    block = coloured("abab")
    claims = honest(block, largest=(3.0, 1.0))
    assert isinstance(claims.units, Limited)
    assert claims.repeats is not None
    assert (claims.repeats.foundations, claims.repeats.units) == (2, 4)
    checked = check_claims(block, claims).repeats
    assert checked is not None
    assert checked.largest == (3.0, 1.0)
    with pytest.raises(ProofError, match="of units of another size"):
        forged(block, claims, largest=(1.0, 3.0))
    with pytest.raises(ProofError, match="nothing shows that 2 different foundations"):
        check_claims(block, Claims(repeats=replace(claims.repeats, largest=None)))


def test_what_needs_no_limit_is_claimed_with_it():
    """The order with the fewest units has small ones anyway, but one on fewer foundations might not."""
    block = radishes()
    claims = honest(block, largest=(6.0, 2.0))
    assert not isinstance(claims.units, Limited)
    assert claims.repeats is not None
    assert claims.repeats.largest == (6.0, 2.0)
    assert check_claims(block, claims).repeats is not None


@settings(max_examples=times(40, 1000), deadline=None)
@given(st.data())
def test_no_weights_show_what_is_not_so(data):
    """Whatever patches weigh: no order of all is on fewer foundations or takes fewer units than is shown."""
    polygons = random_layout(data.draw(st.integers(0, 10**6)))
    if len(polygons) > 8:
        return
    fabrics = data.draw(st.lists(st.sampled_from("ab"), min_size=len(polygons), max_size=len(polygons)))
    block = block_from_polygons(polygons, fabrics=fabrics, tolerance=1e-5)
    ways = [figures(block, [list(bits(unit)) for unit in units]) for units in all_ways(block, lambda _: True)]
    if not ways:
        return
    best, least = min(ways), min(units for _, units in ways)
    weight = st.integers(-3, 3).map(lambda n: n * WEIGHT // 2)
    weighings = st.builds(
        Weighing, st.tuples(*[weight] * len(polygons)), st.integers(0, 4).map(lambda n: n * WEIGHT // 2)
    )
    claim = Repeats(1, 1, fabric_numbers(block), data.draw(weighings), data.draw(weighings))
    for foundations, units in ((best[0] + 1, 1), (best[0], best[1] + 1)):
        with pytest.raises(ProofError, match="nothing shows"):
            check_repeats(
                planar(block),
                replace(claim, foundations=foundations, units=units),
                least_units=least,
            )

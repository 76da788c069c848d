"""Why a plan takes as many units as it does, against plain recursion over all parts."""

from functools import cache

import pytest
from benchmarks.alternatives import PlainParts

from seamtree.block.build import block_from_polygons
from seamtree.block.model import Block
from seamtree.planning.build import plan
from seamtree.planning.explain import explain
from seamtree.search.reasons import find_reasons
from tests.planning.test_pressing import joined_layouts
from tests.support import layouts
from tests.support.effort import times
from tests.support.printed import Plainly


class Plain:
    """Fewest units by plain recursion."""

    def __init__(self, block: Block) -> None:
        self.parts = PlainParts(block)
        self.fewest = cache(self._fewest)

    def _fewest(self, part: frozenset[int]) -> int:
        if self.parts.is_unit(part):
            return 1
        return min(sum(self.sides(part, cut)) for cut in self.parts.cuts(part))

    def sides(self, part: frozenset[int], cut) -> tuple[int, int]:
        side = self.parts.side(part, cut)
        return self.fewest(side), self.fewest(part - side)


@pytest.mark.parametrize("first", range(0, times(200, 600), 200))
def test_every_seam_costs_what_plain_recursion_says(first: int) -> None:
    looked_at = 0
    for block in joined_layouts(range(first, first + 200)):
        plain = Plain(block)
        reasons = find_reasons(block, time_limit=10)
        assert not reasons.locked
        units = 1 + len(reasons.certain) + sum(knot.joins for knot in reasons.knots)
        assert units == plain.fewest(frozenset(range(len(block.patches))))
        for knot in reasons.knots:
            part = frozenset(knot.patches)
            costs = {tuple(range(c.cut[0], c.cut[1] + 1)): c.joins for c in knot.cuts}
            assert costs == {tuple(cut): sum(plain.sides(part, cut)) - 1 for cut in plain.parts.cuts(part)}
            assert min(costs.values()) == knot.joins
            looked_at += 1
    assert looked_at > 5


@pytest.mark.parametrize("first", range(0, times(200, 600), 200))
def test_no_patch_of_a_witness_can_be_sewn_on_last(first: int) -> None:
    for block in joined_layouts(range(first, first + 200)):
        for knot in find_reasons(block, time_limit=10).knots:
            witness = {p for p, _ in knot.witness}
            assert len(witness) > 3
            assert not any(Plainly(block).is_straight(witness - {p}, {p}) for p in witness)
            for p, turn in knot.witness:
                assert turn is None or turn in block.patches[p].ring


def test_a_four_patch_in_words() -> None:
    explanation = explain(plan(block_from_polygons(layouts.squares(2, 2), name="pier")))
    assert [sentence for _, sentence in explanation.sentences()] == [
        "Why not fewer units: every join parts a unit in two, and 1 join cannot be done without:",
        "The seams round 2.00, 2.00 (A1, A2, B1, B2) make a knot that takes 1 join.",
        "None of A1, A2, B1 and B2 can be sewn on last: what it shares with the others is not one straight stretch.",
        "(corner at (2, 2): A1, A2, B1 and B2.)",
        "Whichever seam through them is sewn last as a join, the whole block then takes",
        "- from (2, 0) to (2, 4), 4 in: 2 units (a join of this plan)",
        "- from (0, 2) to (4, 2), 4 in: 2 units",
        "There are 2 ways to cut the block up into 2 units.",
        "The one chosen takes 1 different foundation and 4 in of joins.",
    ]
    data = explanation.to_json()
    assert data["ways"] == 2
    assert data["knots"][0]["witness"] == ["A1", "A2", "B1", "B2"]
    assert [seam["units"] for seam in data["knots"][0]["seams"]] == [2, 2]


def test_foundations_that_cost_longer_joins() -> None:
    """Three rows of the same three strips: cut across, all are alike; cut along, joins are shorter."""
    strips = [(0.0, 1.0), (1.0, 3.0), (3.0, 4.0)]
    boxes = [((a, y), (b, y), (b, y + 1), (a, y + 1)) for y in range(3) for a, b in strips]
    found = plan(block_from_polygons(boxes, fabrics=list("xyz" * 3)))
    told = explain(found).to_json()
    assert (found.counts.units, found.counts.foundations) == (3, 1)
    assert told["sentences"][-5] == "Joins could be as short as 6 in, but on 3 different foundations."
    assert told["sentences"][-4:] == [
        "How the patches are numbered:",
        *(f"- unit {name}: 4 orders can be sewn; this one changes fabric 2 times" for name in "ABC"),
    ]


@pytest.mark.parametrize(
    ("polygons", "words"),
    [
        (layouts.log_cabin(1), "Why not fewer units: one unit is as few as there can be."),
        (layouts.tumbling_block(), "No two seams are in line at"),
        (layouts.spun_rectangles(), "Seams that wait for each other in a ring are opened at"),
    ],
)
def test_single_units_and_hard_corners(polygons, words: str) -> None:
    explanation = explain(plan(block_from_polygons(polygons)))
    assert any(sentence.startswith(words) for _, sentence in explanation.sentences())


def test_curves() -> None:
    explanation = explain(plan(layouts.quarter_circle()))
    assert any(sentence.startswith("A curved seam is sewn round") for _, sentence in explanation.sentences())

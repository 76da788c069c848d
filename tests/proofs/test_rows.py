"""Sums of rows: every check has a forged proof that only it refuses."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from itertools import pairwise

import pytest
from benchmarks.families import lines_across, quilt_top

from seamtree.block.build import block_from_polygons
from seamtree.block.model import Block
from seamtree.errors import ProofError
from seamtree.proofs.check import check_claims
from seamtree.proofs.claims import Added, Claims, Cost, Row, RowSums, Sum, Through, Tried
from seamtree.proofs.rows import _Checker, _has_circle, check_rows
from seamtree.search.claims import claim_rows
from seamtree.search.rows.program import most_added
from seamtree.search.rows.stretches import Stretches, build_stretches
from tests.proofs.blocks import bowed, grid, hexagons

Case = tuple[Block, Stretches, RowSums]


def claimed(block: Block) -> Case:
    found = build_stretches(block)
    assert found is not None
    best = most_added(found, seconds=60.0)
    assert best is not None
    return block, found, claim_rows(best, found.gains)


@pytest.fixture(scope="module")
def case() -> Case:
    """Thirteen lines across, with rings, and one component that holds nearly all."""
    return claimed(block_from_polygons(lines_across(13, 1), tolerance=1e-4))


@pytest.fixture(scope="module")
def squares() -> Case:
    return claimed(grid())


def refused(case: Case, match: str, **changed: object) -> None:
    block, _, claim = case
    with pytest.raises(ProofError, match=match):
        check_rows(block, replace(claim, **changed))


def with_row(case: Case, row: Row) -> dict[str, object]:
    """Return the changes that count a row once in every component."""
    _, _, claim = case
    sums = tuple(replace(part, tree=Sum({len(claim.rows): Fraction(1)})) for part in claim.components)
    return {"rows": (*claim.rows, row), "components": sums}


def test_what_is_handed_over_follows(case: Case, squares: Case) -> None:
    for block, _, claim in (case, squares):
        check_rows(block, claim)
    assert {"ring", "through", "stretch"} <= {row.kind for row in case[2].rows}
    block, _, claim = squares
    assert check_claims(block, Claims(Cost(joins=2), units=claim)).units == 3
    with pytest.raises(ProofError, match="nothing shows that 0 hard corners and 4 units"):
        check_claims(block, Claims(Cost(joins=3), units=claim))


def test_the_most_is_shown(case: Case) -> None:
    _, _, claim = case
    large = max(claim.components, key=lambda part: part.most)
    others = tuple(part for part in claim.components if part is not large)
    refused(case, "does not show", components=(replace(large, most=large.most - 1), *others))
    refused(case, "more than what is claimed", most=claim.most - 1)


def test_every_patch_is_counted_once(case: Case) -> None:
    _, _, claim = case
    large = max(claim.components, key=lambda part: part.most)
    others = tuple(part for part in claim.components if part is not large)
    refused(case, "leaves out", components=others)
    refused(case, "twice", components=(*claim.components, large), most=2 * claim.most)


def test_a_possible_choice_cannot_be_left_out(case: Case) -> None:
    _, found, _ = case
    refused(case, "not impossible", possible=found.gains[1:])
    refused(case, "does not span", possible=(*found.gains, Added(found.gains[0].edge, len(case[0].patches))))


def test_a_row_is_not_counted_less_than_nought_times(squares: Case) -> None:
    _, _, claim = squares
    (part, *others) = claim.components
    assert isinstance(part.tree, Sum)
    n = next(iter(part.tree.weights))
    forged = replace(part, tree=Sum({**part.tree.weights, n: Fraction(-1)}))
    refused(squares, "less than nought", components=(forged, *others))


def test_weights_have_a_common_part_that_is_not_too_fine(squares: Case) -> None:
    _, _, claim = squares
    (part, *others) = claim.components
    assert isinstance(part.tree, Sum)
    n = next(iter(part.tree.weights))
    forged = replace(part, tree=Sum({**part.tree.weights, n: Fraction(1, 3**60)}))
    refused(squares, "too fine", components=(forged, *others))


def test_a_sum_counts_rows_that_there_are(squares: Case) -> None:
    _, _, claim = squares
    for n in (len(claim.rows), -1):
        parts = tuple(replace(part, tree=Sum({n: Fraction(1)})) for part in claim.components)
        refused(squares, "that there is not", components=parts)


def test_a_choice_is_tried_both_ways(squares: Case) -> None:
    """What is shown with a choice taken is not shown without."""
    block, found, claim = squares
    (part, *others) = claim.components
    choice = Through(min(found.crossings), min(found.crossings[min(found.crossings)]))
    check_rows(block, replace(claim, components=(replace(part, tree=Tried(choice, part.tree, part.tree)), *others)))
    for ways in ((Sum({}), part.tree), (part.tree, Sum({}))):
        refused(squares, "does not show", components=(replace(part, tree=Tried(choice, *ways)), *others))


@pytest.mark.parametrize("kind", ["ring", "through", "stretch"])
def test_a_row_is_what_follows(case: Case, kind: str) -> None:
    _, _, claim = case
    n = next(n for n, row in enumerate(claim.rows) if row.kind == kind)
    row = claim.rows[n]
    for forged in (replace(row, most=row.most - 1), replace(row, terms=row.terms[1:])):
        refused(case, "not what it should be", rows=(*claim.rows[:n], forged, *claim.rows[n + 1 :]))
    check_rows(case[0], claim)


def test_rows_have_a_kind_and_a_witness(squares: Case) -> None:
    for row in (Row("knot", (0,), (), 0), Row("patch", (0, 1), (), 0), Row("stretch", (0, 2), (), 0)):
        refused(squares, "no rows of the kind", **with_row(squares, row))


def test_rows_about_the_wrong_junctions(squares: Case) -> None:
    block, found, _ = squares
    crossing = min(found.crossings)
    outline = min(block.boundary_junctions())
    arm = found.around[crossing][0]
    refused(squares, "taken for a crossing", **with_row(squares, Row("through", (outline,), (), 0)))
    refused(squares, "end at a tee", **with_row(squares, Row("stem", (crossing, arm), (), 0)))
    rim = block.boundary_junctions()
    side = next(k for k in block.interior_edges if rim & {block.edges[k].start, block.edges[k].end})
    end = 0 if block.edges[side].start in rim else 1
    refused(squares, "cannot go through", **with_row(squares, Row("stretch", (side, end), (), 0)))


def test_rings_are_odd_and_pass_meeting_stretches_once(squares: Case) -> None:
    _, found, _ = squares
    crossing = min(found.crossings)
    one, other = found.crossings[crossing].values()
    refused(squares, "not an odd number", **with_row(squares, Row("ring", (one, other), (), 0)))
    refused(squares, "passes one twice", **with_row(squares, Row("ring", (one, other, one), (), 0)))
    refused(squares, "do not meet", **with_row(squares, Row("ring", (one, other, one + 1), (), 0)))


def test_bends_are_bent(squares: Case) -> None:
    refused(squares, "not to be straight", **with_row(squares, Row("bend", (0, 1), (), -1)))
    refused(squares, "not to be straight", **with_row(squares, Row("bend", (1, 0), (), -1)))
    line = squares[0].lines[0]
    refused(squares, "not to be straight", **with_row(squares, Row("bend", (line.first, line.stop), (), -1)))


def test_of_a_line_that_bends_one_junction_is_passed_less() -> None:
    block = bowed(crossed=True)
    checker = _Checker(block, frozenset())
    line = next(line for line in block.lines if not line.straight)
    terms, most = checker.derive(Row("bend", (line.first, line.stop - 1), (), 0))
    crossings = [j for j, pairs in checker.pairs.items() if len(pairs) > 1]
    assert terms == {Through(j, block.lines.index(line)): 1 for j in crossings}
    assert most == len(crossings) - 1 == 0


def test_waiting_seams_close_a_circle(squares: Case) -> None:
    _, found, _ = squares
    crossing = min(found.crossings)
    line = min(found.crossings[crossing])
    choice = Through(crossing, line)
    refused(squares, "do not", **with_row(squares, Row("wait", (), ((choice, 1),), 0)))
    stranger = Through(crossing, next(n for n in range(4) if n not in found.crossings[crossing]))
    refused(squares, "cannot be chosen", **with_row(squares, Row("wait", (), ((stranger, 1),), 0)))
    patch = Added(0, 8)
    assert patch not in found.gains
    refused(squares, "an impossible choice", **with_row(squares, Row("wait", (), ((patch, 1),), 0)))


def test_circles() -> None:
    assert not _has_circle({})
    assert not _has_circle({1: [2], 2: [3], 4: [3]})
    assert _has_circle({1: [2], 2: [3], 3: [2]})
    assert _has_circle({1: [1]})


def test_rows_are_about_blocks_with_lines_through_every_junction() -> None:
    with pytest.raises(ProofError, match="no pair of edges in line"):
        check_rows(hexagons(), RowSums(0, (), (), ()))


def test_components_of_a_top_are_proven_apart() -> None:
    block, _, claim = claimed(block_from_polygons(quilt_top(2, 1, 20, 1)))
    assert len(claim.components) > 2
    check_rows(block, claim)


def test_where_three_lines_cross_none_is_against_another() -> None:
    """At most one of three lines goes through, but a stretch of each may add a patch where they end."""
    rim = [(0, 0), (3, 0), (6, 0), (6, 6), (3, 6), (0, 6)]
    wedges = [[a, b, (3, 3)] for a, b in pairwise([*rim, rim[0]])]
    checker = _Checker(block_from_polygons(wedges), frozenset())
    ((_, pairs),) = checker.pairs.items()
    assert len(pairs) == 3
    assert checker._against() == {}
    ring = tuple(sorted(checker.stretch[pair[0]][0] for pair in pairs))
    with pytest.raises(ProofError, match="do not meet where two lines cross"):
        checker.derive(Row("ring", ring, (), 0))


def test_at_a_tee_there_is_nothing_to_choose() -> None:
    checker = _Checker(bowed(), frozenset())
    for junction, (edge, _) in checker.tees.items():
        with pytest.raises(ProofError, match="cannot be chosen"):
            checker.derive(Row("wait", (), ((Through(junction, checker.line[edge]), 1),), 0))
    assert len(checker.tees) == 3

"""Proofs as JSON: written and read alike, wrong files refused in one line, and no changed number gets by."""

from __future__ import annotations

import copy
import json
from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from jsonschema import Draft202012Validator
from shapely import box

from seamtree import plan
from seamtree.block.build import block_from_polygons
from seamtree.block.model import Block
from seamtree.errors import ProofError, ProofFileError
from seamtree.proofs.check import check_proof
from seamtree.proofs.claims import Claims, Cost, Potentials, Proof, Searched, SearchedSets
from seamtree.proofs.digest import digest
from seamtree.proofs.files import proofs_json, read_proofs
from seamtree.proofs.planar import mask_of
from seamtree.proofs.swept import check_swept
from seamtree.schemas import PROOF, schema_of
from seamtree.search.claims import claim_swept
from seamtree.search.straight.sweep import build_bundle, sweep
from tests.proofs.blocks import bowed, forked, found, grid, hexagons, planar, spun, two_rings
from tests.proofs.test_repeats import coloured, crossed
from tests.proofs.test_rows import claimed
from tests.search.straight.test_repeats import radishes
from tests.search.straight.test_sweep import chords, clusters
from tests.support.effort import DEEP
from tests.support.random_layouts import random_layout


def by_rows() -> tuple[Block, Proof, Cost]:
    block, _, claim = claimed(grid())
    return block, Proof(digest(block), Claims(Cost(joins=2), units=claim)), Cost(joins=2)


def by_sweep() -> tuple[Block, Proof, Cost]:
    block = chords(9, 1)
    graph, (slots, *_) = clusters(block)
    bundle = build_bundle(graph.view, slots)
    assert bundle is not None
    claim = claim_swept(sweep(bundle, limit=10**6))
    joins = check_swept(planar(block), mask_of(claim.junctions), claim)
    cost = Cost(joins=joins)
    units = Potentials(
        {tuple(sorted(claim.junctions)): joins}, {}, (claim,), {tuple(range(len(block.patches))): joins}, {}, ()
    )
    return block, Proof(digest(block), Claims(cost, units=units)), cost


def searched() -> tuple[Block, Proof, Cost]:
    record = Searched(tuple(range(5)), Cost(1, 0, 0, 1), "model", 9)
    claims = Claims(Cost(1, 0, 0, 1), (), Potentials({}, {}, (), {}, {}, (record,)))
    return spun(), Proof(digest(spun()), claims), claims.cost


def repeats(block: Block, size: tuple[float, float] | None = None, **changes: object) -> tuple[Block, Proof, Cost]:
    claims = plan(block, prefer="repeats", largest=size).proof.claims
    assert claims.repeats is not None
    claims = replace(claims, repeats=replace(claims.repeats, **changes))
    return block, Proof(digest(block), claims), claims.cost


def kept() -> tuple[Block, Proof, Cost]:
    strips = [box(x, 0, x + 2, 6) for x in (0, 2, 4, 6, 8)]
    proof = plan(block_from_polygons(strips, labels=["C2", "C1", "B1", "B2", "A1"])).proof
    return block_from_polygons(strips), proof, proof.claims.cost


def of(block: Block) -> tuple[Block, Proof, Cost]:
    answer = found(block)
    assert answer.proven
    return block, Proof(digest(block), answer.claims), Cost(*answer.claims.cost)


def cases() -> list[tuple[Block, Proof, Cost]]:
    blocks = [spun(), hexagons(), bowed(), forked(), two_rings(), grid(4, 5)]
    blocks += [block_from_polygons(random_layout(seed), tolerance=1e-5) for seed in (6, 19, 26, 33)]
    asked = [
        repeats(radishes()),
        repeats(crossed()),
        repeats(radishes(), (6.0, 2.0)),
        repeats(coloured("abab"), (3.0, 1.0)),
        repeats(crossed(), few=None, searched=SearchedSets(2, 3, 1, 5)),
        kept(),
    ]
    return [*map(of, blocks), *asked, by_rows(), by_sweep(), searched()]


CASES = cases()


def written(proof: Proof) -> dict:
    return proofs_json("buoy.svg", [("buoy", proof)])


def test_there_is_a_case_of_every_kind_of_claim():
    text = json.dumps([written(proof) for _, proof, _ in CASES])
    kinds = ("corner", "bend", "ring", "fork", "through", "stretch")
    assert [f'"kind": "{kind}"' in text for kind in kinds] == [True] * len(kinds)
    potentials = [proof.claims.units for _, proof, _ in CASES if isinstance(proof.claims.units, Potentials)]
    for key in ("clusters", "apart", "swept", "parts", "costs", "searched"):
        assert any(getattr(claim, key) for claim in potentials), key
    asked = [proof.claims.repeats for _, proof, _ in CASES if proof.claims.repeats]
    for key in ("few", "then", "searched"):
        assert any(getattr(claim, key) for claim in asked), key
    assert any(proof.claims.kept for _, proof, _ in CASES)


@pytest.mark.parametrize("n", range(len(CASES)))
def test_what_is_written_is_read_alike_and_holds(n):
    block, proof, cost = CASES[n]
    told = written(proof)
    Draft202012Validator(schema_of(PROOF)).validate(told)
    ((name, again),) = read_proofs(json.dumps(told).encode())
    assert name == "buoy"
    assert written(again) == told
    checked = check_proof(block, again)
    assert (checked.hard_corners, checked.units) == (cost.hard_corners, cost.joins + 1)


# -- one number changed ---------------------------------------------------------------------------------------


def numbers(told, at=()):
    """Yield the path of every number in plain data, weights and bits among them."""
    if isinstance(told, dict):
        for key, value in told.items():
            yield from numbers(value, (*at, key))
    elif isinstance(told, list):
        for n, value in enumerate(told):
            yield from numbers(value, (*at, n))
    elif isinstance(told, int | float) or at[-1] == "seal" or (isinstance(at[-1], int) and told[0] in "0123456789"):
        yield at


def changed(told, at, by):
    """Return plain data with the number at a path changed."""
    forged = copy.deepcopy(told)
    inner = forged
    for key in at[:-1]:
        inner = inner[key]
    value = inner[at[-1]]
    if isinstance(value, int | float):
        inner[at[-1]] = value + by
    elif at[-1] == "seal" or "parts" in at:
        inner[at[-1]] = f"{int(value, 16) + by:x}"
    else:
        inner[at[-1]] = str(Fraction(value) + by)
    return forged


@settings(max_examples=10_000 if DEEP else 200)
@given(st.data())
def test_a_proof_with_a_number_changed_is_refused_or_is_still_one(data):
    block, proof, cost = CASES[data.draw(st.integers(0, len(CASES) - 1))]
    told = written(proof)
    at = data.draw(st.sampled_from(list(numbers(told))))
    by = data.draw(st.integers(-3, 3).filter(bool) | st.integers(-(10**12), 10**12).filter(bool))
    try:
        ((_, forged),) = read_proofs(json.dumps(changed(told, at, by)).encode())
        check_proof(block, forged)
    except (ProofError, ProofFileError):
        return
    assert forged.claims.cost <= cost
    claimed, known = forged.claims.repeats, proof.claims.repeats
    if claimed is not None and known is not None:
        assert (claimed.foundations, claimed.units) <= (known.foundations, known.units)


def test_every_number_of_what_is_claimed_counts():
    for block, proof, cost in CASES:
        for key, least in (("units", 1), ("excess_pivots", 0), ("set_in", 0), ("hard_corners", 0)):
            told = written(proof)
            told["blocks"][0]["cost"][key] += 1
            ((_, forged),) = read_proofs(json.dumps(told).encode())
            assert forged.claims.cost > cost
            with pytest.raises(ProofError):
                check_proof(block, forged)
            assert told["blocks"][0]["cost"][key] > least


# -- files that are none --------------------------------------------------------------------------------------


def refused(data, match):
    with pytest.raises(ProofFileError, match=match) as caught:
        read_proofs(data if isinstance(data, bytes) else json.dumps(data).encode())
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize("data", [b"", b"buoy", b"\xff\xfe", b"{", b"[" * 100_000])
def test_what_is_no_json(data):
    refused(data, r"is no JSON|nested too deep")


@pytest.mark.parametrize("told", [1, [], {}, {"schema": "seamtree/1"}, {"schema": ["seamtree-proof/1"]}, None])
def test_what_has_another_schema(told):
    refused(told, "is no proof of the schema 'seamtree-proof/1'")


def put(case, *path_and_value):
    *path, value = path_and_value
    told = written(CASES[case][1])
    inner = told
    for key in path[:-1]:
        inner = inner[key]
    if value is KeyError:
        del inner[path[-1]]
    else:
        inner[path[-1]] = value
    return told


ROWS, SWEEP, SEARCHED = len(CASES) - 3, len(CASES) - 2, len(CASES) - 1
SETS, KEPT = len(CASES) - 5, len(CASES) - 4


@pytest.mark.parametrize(
    ("told", "match"),
    [
        (put(0, "blocks", {}), "'blocks' is not a list"),
        (put(0, "blocks", [7]), "in block 1, 'cost' is missing"),
        (put(0, "source", 7), "'source' is not a text"),
        (put(0, "blocks", 0, "block", KeyError), "'block' is missing"),
        (put(0, "blocks", 0, "cost", "units", 0), "'units' is not a whole number from 1 on"),
        (put(0, "blocks", 0, "cost", "set_in", -1), "'set_in' is not a whole number from 0 on"),
        (put(0, "blocks", 0, "cost", "set_in", 1.5), "'set_in' is not a whole number"),
        (put(0, "blocks", 0, "cost", "set_in", True), "'set_in' is not a whole number"),
        (put(0, "blocks", 0, "cost", "set_in", 1 << 31), "'set_in' is not a whole number"),
        (put(0, "blocks", 0, "corners", 0, "kind", "knot"), "'kind' is not corner, bend, ring or fork"),
        (put(0, "blocks", 0, "corners", 0, "walk", 0, [1]), "'walk' is not a list of 2 numbers"),
        (put(0, "blocks", 0, "potentials", "costs", 0, "cost", [1, 2]), "'cost' is not a list of 4 numbers"),
        (put(0, "blocks", 0, "potentials", "costs", 0, "patches", [1, 1]), "'costs' is not about each part once"),
        (put(0, "blocks", 0, "rows", {}), "both by potentials and by rows"),
        (put(ROWS, "blocks", 0, "rows", "possible", 0, ["through", 1, 2]), "'possible' is not a list of additions"),
        (put(ROWS, "blocks", 0, "rows", "possible", 0, ["knot", 1, 2]), "'choice' is not"),
        (put(ROWS, "blocks", 0, "rows", "rows", 0, "terms", [[1]]), "'terms' is not a list of choices"),
        (put(ROWS, "blocks", 0, "rows", "components", 0, "tree", {"weights": [[0, "1/0"]]}), "'3/4'"),
        (put(ROWS, "blocks", 0, "rows", "components", 0, "tree", {"weights": [[0, "-1"]]}), "'3/4'"),
        (put(ROWS, "blocks", 0, "rows", "components", 0, "tree", {"weights": [[0, "9" * 90]]}), "'3/4'"),
        (put(ROWS, "blocks", 0, "rows", "components", 0, "tree", {"weights": [[0, "1"], [0, "1"]]}), "each once"),
        (put(ROWS, "blocks", 0, "rows", "components", 0, "tree", {"weights": [[[], "1"]]}), "'weights' is not"),
        (put(SEARCHED, "blocks", 0, "potentials", "searched", 0, "by", "guess"), "'by' is not paths or model"),
        (put(SEARCHED, "blocks", 0, "potentials", "searched", 0, "spent", 10), "it has been changed"),
        (put(SEARCHED, "blocks", 0, "potentials", "searched", 0, "cost", [1, 0, 0, 2]), "it has been changed"),
        (put(SEARCHED, "blocks", 0, "block", "sha256:0"), "it has been changed"),
        (put(SETS, "blocks", 0, "repeats", "searched", "tried", 2), "it has been changed"),
        (put(SETS, "blocks", 0, "repeats", "searched", "units", 4), "it has been changed"),
        (
            put(SETS, "blocks", 0, "repeats", "searched", "foundations", 0),
            "'foundations' is not a whole number from 1",
        ),
        (put(SETS, "blocks", 0, "repeats", "fabrics", [0] * 9), "it has been changed"),
        (put(SETS, "blocks", 0, "block", "sha256:0"), "it has been changed"),
        (put(SETS, "blocks", 0, "repeats", "few", KeyError), "'few' is missing"),
        (put(SETS, "blocks", 0, "repeats", "few", {"patches": [1.5], "each": 0}), "'patches' is not a whole number"),
        (
            put(SETS, "blocks", 0, "repeats", "few", {"patches": [-1], "each": -1}),
            "'each' is not a whole number from 0",
        ),
        (put(SETS, "blocks", 0, "repeats", 3), "'fabrics' is missing"),
        (put(SETS, "blocks", 0, "repeats", "largest", KeyError), "'largest' is missing"),
        (put(SETS, "blocks", 0, "repeats", "largest", [0, 1]), "'largest' is not a width and a height"),
        (put(SETS, "blocks", 0, "repeats", "largest", [4, 4]), "it has been changed"),
        (put(KEPT, "blocks", 0, "kept", []), "'units' is missing"),
        (put(KEPT, "blocks", 0, "kept", "units", [3]), "'units' is not a list"),
        (put(KEPT, "blocks", 0, "kept", "joins", 0, "parts", [1]), "'parts' is not a list of 2 numbers"),
        (put(KEPT, "blocks", 0, "kept", "joins", 0, "edges", "1"), "'edges' is not a list"),
    ],
)
def test_what_is_no_part_of_a_proof(told, match):
    refused(told, match)


def test_witnesses_and_choices_are_not_nested_without_end():
    witness = {"kind": "corner", "junction": 1}
    tree = {"weights": []}
    for _ in range(300):
        witness = {"kind": "fork", "junction": 1, "ways": [{"edge": 1, "then": witness}]}
        tree = {"choice": ["through", 1, 1], "no": tree, "yes": {"weights": []}}
    refused(put(0, "blocks", 0, "corners", [witness]), "nested so deep")
    refused(put(ROWS, "blocks", 0, "rows", "components", 0, "tree", tree), "nested so deep")


def test_bundles_have_a_number_for_every_part_and_places_among_their_crossings():
    swept = {"junctions": [1, 2], "lines": [], "parts": ["0", "3"], "joins": [0, 1]}

    def told(**changes):
        return put(0, "blocks", 0, "potentials", "swept", [{**swept, **changes}])

    read_proofs(json.dumps(told()).encode())
    refused(told(joins=[0]), "a number for every part")
    refused(told(parts=[], joins=[]), "a number for every part")
    refused(told(parts=["0", "x"]), "hexadecimal")
    refused(told(parts=["0", "-1"]), "hexadecimal")
    refused(told(parts=["0", 3]), "hexadecimal")
    refused(told(parts=["0", "1" + 16 * "0"]), "hexadecimal")
    refused(told(lines=[{"line": 0, "left": [2], "right": []}]), "places among the crossings")

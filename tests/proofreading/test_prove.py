"""Printed numbers as a whole: samples, shuffled samples, and everything that can be wrong at once."""

import json
import random
import re
from dataclasses import replace
from itertools import count, permutations
from pathlib import Path

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

import seamtree
from seamtree.block.build import block_from_polygons
from seamtree.errors import DrawingError, ProofError
from seamtree.planning.build import plan
from seamtree.planning.wishes import RENUMBERED
from seamtree.proofreading import proofread
from seamtree.proofreading import prove as prove_module
from seamtree.proofreading.prove import describe_nearest
from tests.search.test_peel import LOGS
from tests.support.files import read
from tests.support.layouts import attic_window, squares
from tests.support.printed import Plainly, labelled, numbered
from tests.support.random_layouts import random_layout

SAMPLES = Path(__file__).parents[2] / "samples"
SEWN_STRAIGHT = [
    *("buoy", "dinghy", "lighthouse", "signal-flags", "mussel", "gull"),
    *("cliff-path", "compass", "heron", "jellyfish", "lantern", "rope-coil"),
]


def codes(proof):
    return [finding.code for finding in proof.refutations]


def sample(name):
    (block,) = seamtree.read(str(SAMPLES / f"{name}.svg"))
    return block


def as_planned(block):
    """Return a block with the numbers of its best plan printed on it."""
    best = seamtree.plan(block)
    assert best.counts.hard_corners == 0
    return numbered(block, {unit.name: unit.patches for unit in best.units()})


def swapped(block, rng):
    """Return a block in which two numbers of one unit have changed places."""
    unit = {p: patch.label.rstrip("0123456789") for p, patch in enumerate(block.patches)}
    pairs = [(a, b) for a in unit for b in unit if a < b and unit[a] == unit[b]]
    a, b = rng.choice(pairs)
    labels = {p: patch.label for p, patch in enumerate(block.patches)}
    labels[a], labels[b] = labels[b], labels[a]
    return labelled(block, labels)


def test_the_numbers_printed_on_the_mussel_are_proven():
    proof = proofread(sample("mussel"))
    assert proof.proven
    assert [(unit.name, len(unit.patches), unit.chain) for unit in proof.units] == [
        ("A", 15, True),
        ("B", 12, True),
        ("C", 6, True),
    ]
    assert proof.joined
    assert proof.fewest_units == proof.least_units == 3
    assert proof.notes == ()


@pytest.mark.parametrize("name", SEWN_STRAIGHT)
def test_the_numbers_of_a_plan_are_proven(name):
    assert proofread(as_planned(sample(name))).proven


@pytest.mark.parametrize("name", SEWN_STRAIGHT)
def test_swapped_numbers_are_refuted_exactly_if_they_cannot_be_sewn(name):
    rng = random.Random(7)
    block = as_planned(sample(name))
    plain = Plainly(block)
    for _ in range(4):
        shuffled = swapped(block, rng)
        proof = proofread(shuffled)
        assert proof.joined
        for unit in proof.units:
            assert unit.chain == (plain.first_failure(unit.patches) is None)
            if not unit.chain:
                # Two numbers were swapped: swapping them back is enough, and one number alone cannot change.
                assert unit.nearest.changed == unit.nearest.least == 2
                assert plain.first_failure(unit.nearest.patches) is None
        assert proof.proven == all(unit.chain for unit in proof.units)
        assert codes(proof) == ["step-not-sewn"] * sum(not unit.chain for unit in proof.units)


@pytest.mark.parametrize("name", SEWN_STRAIGHT)
def test_shuffled_numbers_of_samples(name):
    """Wholly shuffled: whatever is said of a unit holds by the plain definition."""
    block = as_planned(sample(name))
    plain = Plainly(block)
    texts = [patch.label for patch in block.patches]
    random.Random(11).shuffle(texts)
    proof = proofread(labelled(block, dict(enumerate(texts))))
    for unit in proof.units:
        assert unit.chain == (plain.first_failure(unit.patches) is None)
        if unit.nearest:
            assert plain.first_failure(unit.nearest.patches) is None
    assert not proof.proven
    assert proof.joins_checked == ("unit-apart" not in codes(proof))


def test_nearest_orders_carried_out_are_proven():
    rng = random.Random(5)
    block = as_planned(sample("mussel"))
    for _ in range(5):
        shuffled = swapped(swapped(block, rng), rng)
        proof = proofread(shuffled)
        labels = {p: str(label) for p, label in proof.labels.items()}
        for unit in proof.units:
            if unit.nearest:
                told = describe_nearest(proof.labels, unit.title, unit.nearest)
                changes = dict(re.findall(r"(\w+) → (\w+)", told))
                assert len(changes) == unit.nearest.changed
                labels.update({p: changes.get(labels[p], labels[p]) for p in unit.patches})
        assert proofread(labelled(block, labels)).proven


def test_every_numbering_of_logs_is_proven_exactly_if_it_can_be_sewn():
    block = block_from_polygons(LOGS)
    valid = set(Plainly(block).orders(range(5)))
    for order in permutations(range(5)):
        alone = labelled(block, {p: str(k) for k, p in enumerate(order, 1)})
        assert proofread(alone).proven == (order in valid)


@settings(max_examples=30)
@given(st.integers(0, 10**9), st.randoms(use_true_random=False))
def test_any_layout_in_any_numbering(seed, rng):
    """Proven exactly if every unit is a chain and some tree of straight seams joins the units."""
    layout = next(layout for k in count(seed) if len(layout := random_layout(k)) <= 9)
    block = block_from_polygons(layout, tolerance=1e-5)
    size = len(block.patches)
    units: dict[str, list[int]] = {}
    for p in rng.sample(range(size), size):
        units.setdefault(rng.choice("AB" if seed % 2 else "ABCD"), []).append(p)
    proof = proofread(numbered(block, units))
    plain = Plainly(block)
    chains = all(plain.first_failure(order) is None for order in units.values())
    assert proof.proven == (chains and plain.can_join([frozenset(order) for order in units.values()]))
    json.dumps(proof.to_json(), allow_nan=False)


def test_doubled_missing_and_unlabelled_patches_are_told_together():
    block = block_from_polygons([shapely.box(0, y, 6, y + 1) for y in range(5)])
    rows = sorted(range(5), key=lambda p: min(y for _, y in block.polygon(p)))
    proof = proofread(labelled(block, dict(zip(rows, ["A1", "A2", "A2", "A5", None], strict=True))))
    assert codes(proof) == ["no-label", "number-doubled", "number-missing"]
    assert not proof.joins_checked
    assert [note.code for note in proof.notes] == ["joins-not-checked"]
    (unit,) = proof.units
    assert not unit.chain
    assert unit.nearest.changed == unit.nearest.least == 2
    told = describe_nearest(proof.labels, unit.title, unit.nearest)
    assert told == "Nearest valid order of unit A: renumber 2 patches (the fewest): A2 → A3, A5 → A4."


def test_a_gap_alone_is_no_reason_to_renumber():
    block = block_from_polygons([shapely.box(0, y, 6, y + 1) for y in range(3)])
    rows = sorted(range(3), key=lambda p: min(y for _, y in block.polygon(p)))
    proof = proofread(labelled(block, dict(zip(rows, ["A1", "A2", "A4"], strict=True))))
    assert codes(proof) == ["number-missing"]
    assert proof.units[0].chain
    assert proof.units[0].nearest is None


def test_an_order_that_fails_keeps_its_numbers_even_with_gaps():
    block = block_from_polygons([shapely.box(0, y, 6, y + 1) for y in range(3)])
    rows = sorted(range(3), key=lambda p: min(y for _, y in block.polygon(p)))
    proof = proofread(labelled(block, dict(zip(rows, ["A1", "A4", "A2"], strict=True))))
    assert codes(proof) == ["number-missing", "step-not-sewn"]
    assert sorted(proof.units[0].nearest.numbers) == [1, 2, 4]
    assert proof.units[0].nearest.changed == 2


def test_a_unit_that_is_not_in_one_piece_has_no_valid_order():
    block = block_from_polygons([shapely.box(0, y, 6, y + 1) for y in range(3)])
    top, middle, bottom = sorted(range(3), key=lambda p: min(y for _, y in block.polygon(p)))
    proof = proofread(numbered(block, {"A": [top, bottom], "B": [middle]}))
    assert codes(proof) == ["step-not-sewn", "unit-apart"]
    assert proof.units[0].nearest is None
    assert not proof.joins_checked


def test_a_unit_that_no_order_sews_is_told_with_what_locks_it():
    block = block_from_polygons(attic_window())
    proof = proofread(numbered(block, {"": [0, 1, 2]}))
    assert codes(proof) == ["step-not-sewn", "unit-locked"]
    assert "The unit cannot be sewn in any order: of 1, 2 and 3 none can be the last" in proof.refutations[1].message
    assert proof.fewest_units is None
    assert "needs 1 hard corner, whatever the numbers" in proof.notes[0].message


def test_units_that_meet_in_a_corner_are_refuted():
    block = block_from_polygons([shapely.box(2, 2, 4, 4), [(0, 0), (4, 0), (4, 2), (2, 2), (2, 4), (0, 4)]])
    proof = proofread(numbered(block, {"A": [0], "B": [1]}))
    assert codes(proof) == ["units-not-joined"]
    assert proof.joins_checked
    assert not proof.joined


def test_fewer_units_are_told():
    block = block_from_polygons(squares(2, 2))
    proof = proofread(numbered(block, {"A": [0], "B": [1], "C": [2], "D": [3]}))
    assert proof.proven
    assert (proof.fewest_units, proof.least_units) == (2, 2)
    assert [n.message for n in proof.notes] == ["2 units would do instead of 4; `plan` tells how."]


def test_a_block_without_labels_is_a_faulty_drawing():
    with pytest.raises(DrawingError, match="No patch of the block buoy has a label to read"):
        proofread(sample("buoy"))


def test_a_proof_that_contradicts_the_plan_is_not_believed(monkeypatch):
    block = numbered(block_from_polygons(LOGS), {"A": Plainly(block_from_polygons(LOGS)).orders(range(5))[0]})
    real = plan(block, wishes=RENUMBERED)
    worse = replace(real, bound=replace(real.bound, units=2))
    monkeypatch.setattr(prove_module, "plan", lambda *_, **__: worse)
    with pytest.raises(ProofError, match="1 unit"):
        proofread(block)


def test_a_proof_is_plain_data():
    block = block_from_polygons(LOGS)
    valid = Plainly(block).orders(range(5))[0]
    data = json.loads(json.dumps(proofread(numbered(block, {"A": valid[::-1]})).to_json(), allow_nan=False))
    assert data["proven"] is False
    assert data["units"][0]["patches"] == ["A1", "A2", "A3", "A4", "A5"]
    nearest = data["units"][0]["nearest"]
    assert nearest["changed"] == nearest["least"] == len(nearest["renumber"]) > 0
    assert {"from", "to", "at"} == set(nearest["renumber"][0])
    assert data["refutations"][0]["code"] == "step-not-sewn"
    assert data["joins"] == []
    assert data["joins_checked"] is True


# -- equal numbers, and labels on top of each other -----------------------------------------------------------


def row(*labels):
    """Return strips side by side with these labels, which can be sewn from any of them outwards."""
    block = block_from_polygons([shapely.box(2 * k, 0, 2 * k + 2, 6) for k in range(len(labels))])
    by_place = sorted(range(len(labels)), key=lambda p: min(x for x, _ in block.polygon(p)))
    return labelled(block, dict(zip(by_place, labels, strict=True)))


def meant(proof):
    return [note.message for note in proof.notes if note.code == "which-is-meant"]


def test_which_of_two_equal_numbers_is_meant():
    proof = proofread(row("A1", "A2", "A3", "A2", "A5"))
    assert codes(proof) == ["number-doubled", "number-missing"]
    (message,) = meant(proof)
    assert message.startswith("The A2 at 7.00, 3.00 is meant to be A4: all other numbers can then be sewn as printed")


def test_which_is_meant_is_not_told_where_it_could_be_either():
    # Both strips beside the first one may come second or third.
    assert meant(proofread(row("A2", "A1", "A2", "A4"))) == []


def test_several_equal_numbers():
    (message,) = meant(proofread(row("1", "2", "2", "4", "4")))
    assert message.startswith("The 2 at 5.00, 3.00 is meant to be 3 and the 4 at 9.00, 3.00 is meant to be 5")


@given(st.permutations(range(6)), st.integers(0, 5), st.integers(0, 5))
def test_what_is_meant_can_be_sewn(order, one, other):
    numbers = [place + 1 for place in order]
    numbers[one] = numbers[other]
    block = row(*(f"A{number}" for number in numbers))
    proof = proofread(block)
    for note in proof.notes:
        if note.code == "which-is-meant":
            new = re.search(r"meant to be A(\d)", note.message)[1]
            (wrong,) = (p for p in range(6) if shapely.Polygon(block.polygon(p)).intersects(shapely.Point(note.at)))
            labels = {p: patch.label for p, patch in enumerate(block.patches)} | {wrong: f"A{new}"}
            assert proofread(labelled(block, labels)).proven


def drawn(*texts):
    """Read a block of two strips with texts at places (x, y, text), in inches."""
    words = "".join(f'<text x="{x}" y="{y}" font-size="0.2" text-anchor="middle">{t}</text>' for x, y, t in texts)
    (block,) = read(
        (
            '<svg xmlns="http://www.w3.org/2000/svg" width="6in" height="6in" viewBox="0 0 6 6">'
            '<rect width="6" height="3" fill="#ff0000"/><rect y="3" width="6" height="3" fill="#000080"/>'
            f"{words}</svg>"
        ).encode(),
        "svg",
    )
    return block


def test_a_label_of_two_lines_is_read_from_top_to_bottom():
    # The letter of the unit stands over the number, though it comes later in the file; below is the fabric.
    block = drawn((2, 1.5, "1"), (2, 1.2, "A"), (2, 1.8, "R"), (4, 4.5, "A2"), (4, 4.9, "N"))
    assert [patch.label for patch in block.patches] == ["A 1 R", "A2 N"]
    proof = proofread(block)
    assert proof.proven
    assert [str(label) for label in proof.labels.values()] == ["A1", "A2"]


def test_words_on_one_line_are_read_from_left_to_right():
    assert drawn((3, 1.5, "sky"), (2, 1.52, "A1"), (3, 4.5, "A2")).patches[0].label == "A1 sky"


def test_labels_on_top_of_each_other_are_a_fault():
    proof = proofread(drawn((2, 1.5, "A1"), (2.01, 1.5, "A2"), (3, 4.5, "A2")))
    assert "labels-on-each-other" in codes(proof)
    assert any("'A1' and 'A2' at (2.00, " in fault.message for fault in proof.refutations)
    assert proofread(drawn((2, 1.5, "A1"), (2.01, 1.5, "A1"), (3, 4.5, "A2"))).proven

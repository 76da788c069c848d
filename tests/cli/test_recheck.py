"""`seamtree check --proof` and `seamtree recheck`, from arguments to exit status."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from jsonschema import Draft202012Validator

from seamtree.schemas import PROOF, schema_of
from tests.cli.running import run

SAMPLES = Path(__file__).parents[2] / "samples"


@pytest.fixture(scope="module")
def proofs(tmp_path_factory):
    """Proofs of two samples."""
    folder = tmp_path_factory.mktemp("proofs")
    for name in ("buoy", "tide-pool"):
        run("check", str(SAMPLES / f"{name}.svg"), "--proof", str(folder / f"{name}.json"), "--json")
    return folder


def recheck(proof, drawing, *options):
    return run("recheck", str(proof), str(drawing), *options)


def test_a_proof_holds(proofs):
    told = recheck(proofs / "buoy.json", SAMPLES / "buoy.svg")
    assert told.exit_code == 0
    said = "buoy: no order of straight seams takes fewer than 8 units; every claim was followed"
    assert " ".join(told.stdout.split()) == said
    assert not told.stderr


def test_hard_corners_are_told(proofs):
    told = recheck(proofs / "tide-pool.json", SAMPLES / "tide-pool.svg")
    assert told.exit_code == 0
    assert "no order has fewer than 1 hard corner, and none" in " ".join(told.stdout.split())


def test_a_proof_of_another_drawing_does_not_hold(proofs):
    for drawing, options in (("gull.svg", ()), ("buoy.svg", ("--width", "8"))):
        told = recheck(proofs / "buoy.json", SAMPLES / drawing, *options)
        assert told.exit_code == 1
        assert "about another block" in told.stderr
        assert told.stderr.count("\n") == 1
        assert not told.stdout


def test_a_proof_of_more_blocks_does_not_hold(proofs, tmp_path):
    told = json.loads((proofs / "buoy.json").read_text(encoding="utf-8"))
    told["blocks"] *= 2
    twice = tmp_path / "twice.json"
    twice.write_text(json.dumps(told), encoding="utf-8")
    answer = recheck(twice, SAMPLES / "buoy.svg")
    assert answer.exit_code == 1
    assert "it has proofs for 2 blocks, and the drawing has 1" in answer.stderr


def test_the_first_claim_that_fails_is_told(proofs, tmp_path):
    told = json.loads((proofs / "buoy.json").read_text(encoding="utf-8"))
    told["blocks"][0]["cost"]["units"] += 1
    forged = tmp_path / "forged.json"
    forged.write_text(json.dumps(told), encoding="utf-8")
    answer = recheck(forged, SAMPLES / "buoy.svg")
    assert answer.exit_code == 1
    assert "does not hold for buoy: " in answer.stderr
    assert answer.stderr.count("\n") == 1


@pytest.mark.parametrize(
    ("content", "said"),
    [
        ("no proof", "is no JSON"),
        ('{"schema": "seamtree/1"}', "is no proof of the schema 'seamtree-proof/1', but 'seamtree/1'"),
        ('{"schema": "seamtree-proof/1", "source": "a", "blocks": [{"cost": {"hard_corners": -1}}]}', "from 0 on"),
    ],
)
def test_files_that_cannot_be_used(content, said, tmp_path):
    wrong = tmp_path / "wrong.json"
    wrong.write_text(content, encoding="utf-8")
    told = recheck(wrong, SAMPLES / "buoy.svg")
    assert told.exit_code == 2
    assert said in told.stderr
    assert told.stderr.count("\n") == 1


def test_files_that_are_not_there(proofs, tmp_path):
    for proof, drawing in (
        (tmp_path / "none.json", SAMPLES / "buoy.svg"),
        (proofs / "buoy.json", tmp_path / "none.svg"),
        (proofs / "buoy.json", SAMPLES / "faulty-gap.svg"),
    ):
        told = recheck(proof, drawing)
        assert told.exit_code == 2
        assert told.stderr
        assert "Traceback" not in told.stderr


def test_a_proof_is_written_for_one_drawing(tmp_path):
    target = tmp_path / "both.json"
    told = run("check", str(SAMPLES / "buoy.svg"), str(SAMPLES / "gull.svg"), "--proof", str(target))
    assert (told.exit_code, target.exists()) == (2, False)
    assert "--proof is for one drawing at a time" in told.stderr
    told = run("check", str(SAMPLES / "buoy.svg"), "--proof", str(tmp_path / "proof.txt"))
    assert told.exit_code == 2
    assert "has to end in .json" in told.stderr


def test_what_is_printed_is_the_same_with_a_proof(proofs, tmp_path):
    plain = run("check", str(SAMPLES / "buoy.svg"))
    told = run("check", str(SAMPLES / "buoy.svg"), "--proof", str(tmp_path / "buoy.json"))
    assert told.stdout == plain.stdout
    again = tmp_path / "buoy.json"
    assert again.read_bytes() == (proofs / "buoy.json").read_bytes()


def proved(folder, name, *options):
    """Write and recheck the proof of a sample, and return what is said of it on one line."""
    target = folder / "proof.json"
    run("check", str(SAMPLES / name), "--proof", str(target), "--json", *options)
    told = recheck(target, SAMPLES / name)
    assert told.exit_code == 0
    assert not told.stderr
    return " ".join(told.stdout.split()), target


def test_different_foundations_are_told(tmp_path):
    said, _ = proved(tmp_path, "compass.svg", "--prefer", "repeats")
    assert said == (
        "compass: no order of straight seams takes fewer than 8 units; every claim was followed. None lies on fewer "
        "than 2 different foundations, and none that needs no more of them takes fewer than 8 units; both were "
        "followed"
    )
    said, _ = proved(tmp_path, "buoy.svg", "--prefer", "repeats", "--largest", "4x4")
    assert "with units no larger than 4 × 4 in takes fewer" in said
    assert "different foundations" in said


def test_what_of_them_a_search_has_settled_is_told(tmp_path):
    """With less time fewer units are weighed."""
    said, target = proved(tmp_path, "compass.svg", "--prefer", "repeats", "--time-limit", "0.2")
    assert said.endswith(
        "than 2 different foundations, and none that needs no more of them takes fewer than 8 units; both stand as a "
        "search settled them"
    )
    Draft202012Validator(schema_of(PROOF)).validate(json.loads(target.read_text(encoding="utf-8")))


def test_printed_units_are_told(tmp_path):
    said, target = proved(tmp_path, "mussel.svg")
    assert said.endswith(
        "The 3 units that are printed are given, not searched for; their steps and 2 joins were followed"
    )
    told = json.loads(target.read_text(encoding="utf-8"))
    told["blocks"][0]["kept"]["joins"][0]["edges"] = [0]
    target.write_text(json.dumps(told), encoding="utf-8")
    answer = recheck(target, SAMPLES / "mussel.svg")
    assert answer.exit_code == 1
    assert "join 1 of the kept units does not sew the whole boundary" in answer.stderr
    said, _ = proved(tmp_path, "mussel.svg", "--renumber")
    assert "printed" not in said


def test_a_block_printed_as_one_unit(tmp_path):
    drawing = tmp_path / "flag.svg"
    rows = "".join(
        f'<rect x="0" y="{96 * n}" width="288" height="96" fill="none" stroke="black"/>'
        f'<text x="140" y="{96 * n + 50}">A{n + 1}</text>'
        for n in range(3)
    )
    svg = f'<svg xmlns="http://www.w3.org/2000/svg" width="288" height="288">{rows}</svg>'
    drawing.write_text(svg, encoding="utf-8")
    target = tmp_path / "flag.json"
    run("check", str(drawing), "--proof", str(target), "--json")
    said = " ".join(recheck(target, drawing).stdout.split())
    assert said.endswith("The one unit that is printed is given, not searched for; each of its steps was followed")


def test_a_proof_has_the_layout_that_the_package_describes(tmp_path):
    validator = Draft202012Validator(schema_of(PROOF))
    for name, options in (("compass.svg", ("--prefer", "repeats")), ("mussel.svg", ())):
        _, target = proved(tmp_path, name, *options)
        validator.validate(json.loads(target.read_text(encoding="utf-8")))

"""`seamtree check --proof` and `seamtree recheck`, from arguments to exit status."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

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

"""Known exceptions cover what they say, and nothing else."""

from __future__ import annotations

from dataclasses import replace

import pytest

from seamtree.auditing import Record, parse_rules
from seamtree.auditing.accept import Known, accept, read_known
from seamtree.errors import Finding, OptionError
from tests.auditing.test_store import BLOCK, COUNTS

RULES = parse_rules(["hard-corners", "units>6"])
SOURCE = "studio/harbour/ring.svg"
SET_IN = Record(SOURCE, "audited", blocks=(replace(BLOCK, counts=COUNTS | {"set_in": 1}),))
BOTH = Record(SOURCE, "audited", blocks=(replace(BLOCK, counts=COUNTS | {"set_in": 1, "units": 7}),))
FAULTY = Record(SOURCE, "faulty", (Finding("gap", "There is a gap."), Finding("gap", "And another.")))


@pytest.mark.parametrize(
    ("record", "drawing", "failure", "covered"),
    [
        (SET_IN, "ring.svg", "hard-corners", True),
        (SET_IN, "harbour/ring.svg", "", True),
        (SET_IN, "harbour/*.svg", "hard-corners", True),
        (SET_IN, "ing.svg", "", False),
        (SET_IN, "quay/ring.svg", "", False),
        (SET_IN, "ring.svg", "units>6", False),
        (BOTH, "ring.svg", "hard-corners", False),
        (BOTH, "ring.svg", "", True),
        (FAULTY, "ring.svg", "gap", True),
        (FAULTY, "ring.svg", "overlap", False),
    ],
)
def test_what_an_exception_covers(record, drawing, failure, covered):
    known = Known(drawing, failure, "as it is")
    found = accept([record], RULES, [known])
    assert found.reasons == ({SOURCE: "as it is"} if covered else {})


def test_all_failures_have_to_be_known():
    one, two = Known("ring.svg", "hard-corners", "one"), Known("ring.svg", "units>6", "two")
    idle = Known("buoy.svg", "", "long gone")
    assert accept([BOTH], RULES, [one, two, idle]).reasons == {SOURCE: "one; two"}
    assert accept([BOTH], RULES, [one, two, idle]).idle == (idle,)
    fine = Record(SOURCE, "audited", blocks=(BLOCK,))
    assert accept([fine], RULES, [one]).idle == (one,)


def test_a_file_is_read(tmp_path):
    path = tmp_path / "known.toml"
    path.write_text('[[accept]]\ndrawing = "a.svg"\nreason = "so"\n', encoding="utf-8")
    assert read_known(path) == (Known("a.svg", "", "so"),)
    path.write_text("", encoding="utf-8")
    assert read_known(path) == ()


@pytest.mark.parametrize(
    ("text", "match"),
    [
        ("accept = 3", "as a table"),
        ("accept = [3]", "as a table"),
        ("tide = 3", "no key 'tide'"),
        ("[[accept]]\ndrawing = 3\nreason = 'so'", "text in quotation marks"),
        ("[[accept]]\ndrawing = 'a.svg'", "reason is missing"),
        ("[[accept]]\nreason = 'so'", "drawing is missing"),
        ("[[accept]]\ndrawing = 'a'\nreasons = 'so'", "write reason"),
        ("[[accept", "no valid TOML"),
    ],
)
def test_what_makes_no_sense_is_refused(tmp_path, text, match):
    path = tmp_path / "known.toml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(OptionError, match=match):
        read_known(path)


def test_a_file_that_cannot_be_read_is_told(tmp_path):
    (tmp_path / "bytes.toml").write_bytes(b"\xff\xfe")
    for name in ("none.toml", "bytes.toml", ""):
        with pytest.raises(OptionError, match=r"cannot be read|no valid TOML"):
            read_known(tmp_path / name)

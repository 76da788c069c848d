"""What would help, in the words of the command line."""

from __future__ import annotations

import re

import pytest

from seamtree.auditing.record import BlockRecord, Record
from seamtree.errors import DrawingError, Finding, OptionError
from seamtree.remedies import CODES, LINES, PRINT_SCALE, WIDTH, Remedy
from seamtree_cli.remedies import WORDS, told, worded, worded_errors, worded_finding, worded_record
from tests.cli.running import run

TOO_SMALL = Finding("too-small", f"Too small. Give {WIDTH}.", remedies=(WIDTH,))


def test_every_remedy_has_words():
    assert set(WORDS) == set(CODES)


def test_what_is_named_is_an_option():
    every = "".join(
        run(command, "--help", env={"COLUMNS": "200"}).stdout for command in ("check", "mend", "rate", "audit")
    )
    named = {option for words in WORDS.values() for option in re.findall(r"--[a-z-]+", words)}
    assert len(named) > 8
    assert [option for option in named if option not in every] == []


def test_only_what_a_finding_names_is_worded():
    assert worded_finding(TOO_SMALL).message == "Too small. Give --width."
    assert (
        worded(f"A layer called {LINES}, too small: {WIDTH}.", (WIDTH,))
        == "A layer called `lines=True`, too small: --width."
    )
    assert worded(f"try {Remedy('mend-straightened', '0.1')}", [Remedy("mend-straightened", "0.1")]) == (
        "try `seamtree mend --curve-tolerance 0.1`"
    )


def test_errors_name_options_and_stay_what_they_are():
    with pytest.raises(DrawingError, match="Give --width") as caught, worded_errors():
        raise DrawingError(TOO_SMALL, source="gull.svg")
    assert caught.value.source == "gull.svg"
    plain = DrawingError(Finding("gap", "A gap."))
    with pytest.raises(DrawingError) as caught, worded_errors():
        raise plain
    assert caught.value is plain
    assert told(DrawingError(TOO_SMALL)) == "Too small. Give --width."
    assert told(OptionError(f"as {PRINT_SCALE} does", remedies=(PRINT_SCALE,))) == "as --print-scale does"


def test_records_of_audits_name_options():
    faulty = worded_record(Record("gull.svg", "faulty", (TOO_SMALL,)))
    assert faulty.faults[0].message == "Too small. Give --width."
    counts = dict.fromkeys(("set_in", "partial", "curved"), 0)
    proof = {"notes": [TOO_SMALL.to_json()], "units": [1]}
    block = BlockRecord("gull", 1.0, 1.0, "single unit", True, {}, counts, warnings=(TOO_SMALL,), proof=proof)
    (written,) = worded_record(Record("gull.svg", "audited", blocks=(block,))).blocks
    assert written.warnings[0].message == "Too small. Give --width."
    assert written.proof["notes"][0]["message"] == "Too small. Give --width."


def test_a_drawing_that_is_too_small_is_told_the_option(drawing):
    text = "POLYGON ((0 0, 1 0, 1 1, 0 1, 0 0))"
    for command in ("check", "mend", "proofread"):
        refused = run(command, drawing(text), "--width", "0.01")
        assert refused.exit_code == 2
        assert "--width" in refused.stderr
        assert "`" not in refused.stderr

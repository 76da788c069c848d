"""What is said of files that cannot be used."""

from __future__ import annotations

import pytest

from seamtree.drawing.damage import FAILURES, clause, damaged


def test_the_message_names_the_file_its_kind_and_what_to_do():
    error = damaged("gull.pdf", "it has no pages", kind="PDF")
    (finding,) = error.findings
    assert finding.code == "damaged-file"
    assert finding.message.startswith("gull.pdf is a damaged PDF file: it has no pages. Save it again")


@pytest.mark.parametrize(
    ("error", "said"),
    [
        (ValueError("no such\n table."), "no such table"),
        (KeyError(), "KeyError"),
        (RuntimeError("x" * 500), "x" * 120),
    ],
)
def test_what_an_error_says_is_a_clause(error, said):
    assert clause(error) == said


def test_failures_are_those_of_damage_and_none_of_memory_or_interrupts():
    assert not any(issubclass(error, FAILURES) for error in (MemoryError, KeyboardInterrupt, SystemExit))
    assert issubclass(UnicodeDecodeError, FAILURES)

"""Numbers, sizes, places and lists in words; text that has to fit."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from seamtree.words import (
    at,
    capital,
    count,
    cut_short,
    decimal,
    dimensions,
    duration,
    inches,
    listed,
    one_line,
    place,
    wrapped,
)

TEXTS = st.lists(st.text("abc", min_size=1, max_size=9), max_size=8).map(" ".join)


@pytest.mark.parametrize(
    ("value", "text"), [(8.0, "8"), (4.25, "4.25"), (4.256, "4.26"), (0.5, "0.5"), (100.0, "100"), (-0.001, "0")]
)
def test_inches_have_no_more_places_than_they_need(value: float, text: str):
    assert inches(value) == text


def test_decimals():
    assert decimal(1.23456789, 6) == "1.234568"
    assert decimal(10.0, 1) == "10"
    assert decimal(-0.04, 1) == "0"


def test_sizes_and_places():
    assert dimensions(8.0, 4.25) == "8 × 4.25 in"
    assert place((3.0, 8.6)) == "(3, 8.6)"
    assert at((3.0, 8.6)) == "3.00, 8.60"
    assert at((-0.0, 0.0)) == "0.00, 0.00"


@pytest.mark.parametrize(
    ("minutes", "text"), [(0, "0 min"), (59, "59 min"), (60, "1 h"), (85, "1 h 25 min"), (60_000, "1,000 h")]
)
def test_durations(minutes, text):
    assert duration(minutes) == text


def test_counts():
    assert [count(n, "join") for n in (0, 1, 2, 1234)] == ["no joins", "1 join", "2 joins", "1,234 joins"]
    assert count(2, "patch", "patches") == "2 patches"


def test_lists():
    assert listed(["A1"]) == "A1"
    assert listed(["A1", "A2"]) == "A1 and A2"
    assert listed(["A1", "A2", "B1"], "or") == "A1, A2 or B1"


def test_capitals_leave_the_rest_as_it_is():
    assert capital("units A–C") == "Units A–C"
    assert capital("") == ""


def test_one_line_has_no_control_characters():
    assert one_line(" a\tb\x00\n c ") == "a b c"


def test_words_too_long_for_a_line_have_one_of_their_own():
    assert list(wrapped("a dinghy at the quay", lambda line: len(line) <= 5)) == ["a", "dinghy", "at", "the", "quay"]
    assert list(wrapped("a dinghy at the quay", lambda line: len(line) <= 8)) == ["a dinghy", "at the", "quay"]
    assert not list(wrapped("  ", len))


def test_a_mixed_number_stays_on_one_line():
    assert list(wrapped("sew 6 13/16 in", lambda line: len(line) <= 5)) == ["sew", "6 13/16", "in"]


@given(TEXTS, st.integers(1, 12))
def test_lines_hold_all_words_and_as_many_as_fit(text: str, room: int):
    lines = list(wrapped(text, lambda line: len(line) <= room))
    assert " ".join(lines) == text
    assert all(len(line) <= room or " " not in line for line in lines)
    for line, following in pairwise(lines):
        assert len(f"{line} {following.split()[0]}") > room


def test_a_text_that_is_cut_short_ends_with_an_ellipsis():
    assert cut_short("lighthouse", lambda line: len(line) <= 10) == "lighthouse"
    assert cut_short("lighthouse", lambda line: len(line) <= 6) == "light…"
    assert cut_short("the quay", lambda line: len(line) <= 5) == "the…"  # no space before it
    assert cut_short("quay", lambda line: line == "") == "…"

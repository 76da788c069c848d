"""Findings and errors."""

from __future__ import annotations

import pickle

import pytest

from seamtree import errors
from seamtree.errors import (
    ArgumentTypeError,
    DrawingError,
    Finding,
    LimitError,
    OptionError,
    ProofError,
    ReplayError,
    SeamtreeError,
    check_time_limit,
    describe_unexpected,
    is_out_of_memory,
)
from seamtree.remedies import WIDTH

GAP = Finding("gap", "gull.svg has a gap.", (1.23456789, 2.0), ("A1",))


def test_a_finding_as_data_has_places_to_a_millionth_of_an_inch():
    assert GAP.to_json() == {
        "code": "gap",
        "message": "gull.svg has a gap.",
        "at": [1.234568, 2.0],
        "patches": ["A1"],
    }
    assert Finding("empty", "Nothing.").to_json()["at"] is None
    assert Finding("too-small", "Too small.", remedies=(WIDTH,)).to_json()["remedies"] == ["width"]


def test_a_finding_beside_the_name_of_its_drawing_does_not_repeat_it():
    assert GAP.beside("gull.svg") == "The drawing has a gap."
    assert GAP.beside("buoy.svg") == GAP.message


def test_what_is_shown_of_a_finding_is_its_code_its_place_and_a_beginning():
    assert repr(GAP) == "<Finding gap at 1.23, 2.00: gull.svg has a gap.>"
    assert repr(Finding("gap", "x" * 500)) == f"<Finding gap: {'x' * 180}…>"


@pytest.mark.parametrize(
    ("error", "kind"),
    [
        (DrawingError(GAP), ValueError),
        (LimitError(GAP), DrawingError),
        (OptionError("width must be a number", argument="width"), ValueError),
        (ArgumentTypeError("width must be a number", argument="width"), TypeError),
        (ReplayError("a seam is missing"), AssertionError),
        (ProofError("a gap"), AssertionError),
    ],
    ids=lambda value: value.__name__ if isinstance(value, type) else type(value).__name__,
)
def test_errors_have_one_root_and_the_fitting_built_in_and_can_be_sent(error, kind):
    assert isinstance(error, SeamtreeError)
    assert isinstance(error, kind)
    again = pickle.loads(pickle.dumps(error))  # noqa: S301 - our own
    assert (type(again), str(again), vars(again)) == (type(error), str(error), vars(error))


def test_every_error_class_tells_in_a_sentence_what_it_is():
    classes = [value for value in vars(errors).values() if isinstance(value, type)]
    assert all(kind.__doc__ for kind in classes)


@pytest.mark.parametrize("limit", [0, -1.0, float("inf"), float("nan")])
def test_time_limits_that_make_no_sense(limit):
    with pytest.raises(OptionError, match="must be a number of seconds above 0"):
        check_time_limit(limit)


def test_memory_that_is_used_up_is_told_from_faults():
    assert is_out_of_memory(MemoryError())
    assert is_out_of_memory(RuntimeError("std::bad_alloc"))
    assert is_out_of_memory(RuntimeError("could not allocate numpy array"))
    assert not is_out_of_memory(RuntimeError("bad luck"))


def test_an_unexpected_error_is_one_line():
    said = describe_unexpected(KeyError("a\nb"))
    assert said.startswith("internal error (KeyError: ")
    assert "\n" not in said

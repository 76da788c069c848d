"""What is said of arguments that are wrong; `tests/test_front.py` has them called through the face."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import numpy as np
import pytest

from seamtree import arguments
from seamtree.errors import ArgumentTypeError, OptionError, SeamtreeError


@pytest.mark.parametrize("value", [3, 3.0, Fraction(3), np.float32(3), np.int64(3)])
def test_numbers_of_every_kind_become_floats(value):
    found = arguments.number("width", value)
    assert (found, type(found)) == (3.0, float)


@pytest.mark.parametrize("value", [Decimal(3), 3j, "3", True, None, [3]])
def test_what_is_no_number_is_a_type_error_that_names_the_argument(value):
    with pytest.raises(ArgumentTypeError, match=r"^width must be a number of inches, not ") as told:
        arguments.number("width", value, unit="inches")
    assert told.value.argument == "width"
    assert isinstance(told.value, TypeError)
    assert isinstance(told.value, ValueError)
    assert isinstance(told.value, SeamtreeError)


@pytest.mark.parametrize(
    ("bounds", "inside", "outside", "span"),
    [
        ({}, [1e-300, 1e300], [0, -1, float("inf"), float("nan")], "above 0"),
        ({"most": 5}, [0.1, 5], [0, 5.1], "above 0, at most 5"),
        ({"least": 2}, [2, 1e9], [1.9, -2], "from 2"),
        ({"least": 2, "most": 5000}, [2, 5000], [1, 5001], "from 2 to 5,000"),
    ],
)
def test_numbers_out_of_range_are_told_with_the_range(bounds, inside, outside, span):
    for value in inside:
        assert arguments.number("size", value, **bounds) == value
    for value in outside:
        with pytest.raises(OptionError, match=f"^size must be a number {span}, not {value:g}$") as told:
            arguments.number("size", value, **bounds)
        assert not isinstance(told.value, TypeError)


@pytest.mark.parametrize("check", [arguments.number, arguments.real])
def test_numbers_beyond_a_float_are_refused(check):
    with pytest.raises(OptionError, match=r"^size must be a number, not so large a one$"):
        check("size", 10**400)


def test_real_numbers_are_those_of_python_and_kept_as_they_are():
    assert [arguments.real("size", value) for value in (-2, 0.5, float("inf"))] == [-2, 0.5, float("inf")]
    for value in (Fraction(1, 2), "1", None, True):
        with pytest.raises(ArgumentTypeError, match=r"^size must be a number, not "):
            arguments.real("size", value)


def test_whole_numbers():
    assert arguments.whole("workers", np.int32(3), least=1, most=5) == 3
    for value in (0, 6, 10**5000):
        with pytest.raises(OptionError, match=r"^workers must be a whole number from 1 to 5, not "):
            arguments.whole("workers", value, least=1, most=5)
    for value in (2.0, True, "2"):
        with pytest.raises(ArgumentTypeError, match=r"^workers must be a whole number, not a"):
            arguments.whole("workers", value, least=1, most=5)


def test_words_to_choose_from():
    assert arguments.choice("goal", "dinghy", ("dinghy", "buoy")) == "dinghy"
    with pytest.raises(OptionError, match=r"^goal must be one of 'dinghy', 'buoy', not 'gull'$"):
        arguments.choice("goal", "gull", ("dinghy", "buoy"))
    with pytest.raises(ArgumentTypeError, match=r"^goal must be a str, not None$"):
        arguments.choice("goal", None, ("dinghy", "buoy"))


def test_long_values_are_cut_short():
    with pytest.raises(OptionError) as told:
        arguments.choice("goal", "x" * 10_000, ("dinghy",))
    assert len(str(told.value)) < 100


def test_collections():
    assert arguments.several("plans", iter([1, 2])) == (1, 2)
    for value in ("ab", b"ab", {"a": 1}, 3, np.zeros(())):
        with pytest.raises(ArgumentTypeError, match=r"^plans must be a collection, not a"):
            arguments.several("plans", value)
    assert arguments.texts("skip_layers", {"marks"}) == ("marks",)
    with pytest.raises(ArgumentTypeError, match=r"^skip_layers must be a collection of texts, not with an int$"):
        arguments.texts("skip_layers", ["marks", 3])


def test_one_or_several_of_a_class():
    assert arguments.instances("numbers", 3, int) == (3,)
    assert arguments.instances("numbers", (n for n in (3, 4)), int) == (3, 4)
    with pytest.raises(OptionError, match=r"^numbers must be an int or several, not none$"):
        arguments.instances("numbers", [], int)
    with pytest.raises(ArgumentTypeError, match=r"^numbers must be an int or several, not with a str$"):
        arguments.instances("numbers", [3, "4"], int)


def test_flags():
    assert arguments.flag("changes", False) is False
    for value in (0, 1, None, np.True_):
        with pytest.raises(ArgumentTypeError, match=r"^changes must be True or False, not "):
            arguments.flag("changes", value)

"""Lengths read and written."""

from fractions import Fraction

import pytest

from seamtree.errors import OptionError
from seamtree.pattern.lengths import Lengths, fraction, in_centimetres, parse_length, rounded_up


@pytest.mark.parametrize(
    ("text", "inches"),
    [
        ("0.25in", 0.25),
        ("1/4in", 0.25),
        (" 1/4 IN ", 0.25),
        ("6.35mm", 0.25),
        ("2.54 cm", 1),
        ("40", 40),
        ("1 1/2 in", 1.5),
        ('2-3/8"', 2.375),
        (".5", 0.5),
        ("0", 0),
    ],
)
def test_lengths_are_read(text, inches):
    assert parse_length(text) == pytest.approx(inches, abs=1e-12)


@pytest.mark.parametrize(
    "text", ["", "in", "1/0in", "-1in", "1e9", "nan", "inf", "1 2in", "2 feet", "1/4/2", "٣in", "9" * 400]
)
def test_what_is_no_length_is_refused(text):
    with pytest.raises(OptionError, match="is no length"):
        parse_length(text)


def test_inches_are_fractions_and_centimetres_decimals():
    assert [Lengths().size(v) for v in (8, 2.5, 0.25, 8.66, 0.01)] == [
        "8 in",
        "2 1/2 in",
        "1/4 in",
        "8 11/16 in",
        "0 in",
    ]
    assert [Lengths(metric=True).size(v) for v in (10, 0.25)] == ["25.4 cm", "0.6 cm"]
    assert Lengths(metric=True).area(100 / 2.54, 1) == "100 × 2.5 cm"
    assert fraction(Fraction(9, 8)) == "1 1/8"


def test_rounding_up_forgives_dust():
    assert rounded_up(3.0000000001, 0.25) == 3
    assert rounded_up(3.01, 0.25) == 3.25


def test_messages_in_centimetres():
    told = "A corner at 5.00, 2.07 (A1, A2, B1): at (3, 4.5) in and 0.1 in, 2 × 4 in, in the middle."
    assert in_centimetres(told) == (
        "A corner at 12.70, 5.26 (A1, A2, B1): at (7.6, 11.4) cm and 0.3 cm, 5.1 × 10.2 cm, in the middle."
    )


def test_the_place_of_a_message_is_rounded_once():
    at = (1.757, 3.0)  # 4.46278 cm; 1.76 in are 4.4704 cm
    assert in_centimetres("It bends at 1.76, 3.00.") == "It bends at 4.47, 7.62."
    assert in_centimetres("It bends at 1.76, 3.00.", at) == "It bends at 4.46, 7.62."
    assert in_centimetres("Text at (1.76, 3) in, near 1.80, 3.00.", at) == "Text at (4.46, 7.62) cm, near 4.57, 7.62."

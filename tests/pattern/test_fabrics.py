"""Codes that cannot be taken for anything else, and names."""

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from seamtree.errors import OptionError
from seamtree.pattern.fabrics import BLANK, Fabric, build_fabrics, check_code

COLOURS = st.one_of(st.none(), st.from_regex(r"#[0-9a-f]{6}", fullmatch=True), st.text(min_size=1, max_size=12))


@given(st.lists(COLOURS, max_size=40))
def test_codes_differ_and_look_like_no_unit_no_patch_and_no_figure(colours):
    fabrics = build_fabrics(colours)
    codes = [fabric.code for fabric in fabrics.all if fabric.known]
    assert len({code.casefold() for code in codes}) == len(codes)
    for code in codes:
        assert check_code(code) is None
        assert not re.fullmatch(r"[A-Z]+[0-9]*|[0-9]+|[a-z]", code)
    assert {fabrics.of(colour).code for colour in colours} == {fabric.code for fabric in fabrics.all}


def test_codes_are_letters_of_the_name():
    fabrics = build_fabrics(["#87ceeb", "#000080", "waves", "海"])
    assert {fabric.name: fabric.code for fabric in fabrics.all} == {
        "sky blue": "Sb",
        "navy": "Na",
        "waves": "Wa",
        "海": "海1",
    }


def test_codes_of_many_like_names_do_not_look_like_patches():
    fabrics = build_fabrics([f"li{'l' * number}" for number in range(1, 9)] + [f"io{'o' * n}" for n in range(1, 9)])
    codes = [fabric.code for fabric in fabrics.all]
    assert len(set(codes)) == 16
    assert not [code for code in codes if re.fullmatch(r"[ilo][0-9]+", code)]


def test_what_is_not_drawn_is_left_blank():
    (fabric,) = build_fabrics([None, None]).all
    assert (fabric.code, fabric.known) == (BLANK, False)


def test_given_fabrics_stand_for_several_colours():
    given_one = Fabric("Sea", "harbour water", ("#000080", "#000090"))
    fabrics = build_fabrics(["#000080", "#000090", "#ffffff"], [given_one])
    assert fabrics.of("#000090") is given_one
    assert [fabric.name for fabric in fabrics.all] == ["harbour water", "white"]


@pytest.mark.parametrize(
    ("given_ones", "said"),
    [
        ([Fabric("A", "x", ("#000000",))], "can be taken for"),
        ([Fabric("AB12", "x", ("#000000",))], "can be taken for"),
        ([Fabric("12", "x", ("#000000",))], "can be taken for"),
        ([Fabric("", "x", ("#000000",))], "1 to 4 letters"),
        ([Fabric("a b", "x", ("#000000",))], "1 to 4 letters"),
        ([Fabric("Nb", "x", ("#000000",)), Fabric("nB", "y", ("#ffffff",))], "two fabrics have the code"),
        ([Fabric("Nb", "x", ("#000000",)), Fabric("Wh", "y", ("#000000",))], "two fabrics stand for"),
    ],
)
def test_codes_that_cannot_be_used_are_refused(given_ones, said):
    with pytest.raises(OptionError, match=said):
        build_fabrics(["#000000", "#ffffff"], given_ones)

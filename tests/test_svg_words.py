"""Numbers, lines and paints of the SVG files that are written."""

from __future__ import annotations

from seamtree.svg_words import Paints, number, place, run


def test_numbers_have_six_decimals_at_most_and_no_idle_ones():
    assert [number(value) for value in (2.0, 0.1234567, -3.5, 100.0)] == ["2", "0.123457", "-3.5", "100"]
    assert place((0.5, 2.0)) == "0.5 2"
    assert run([(0.0, 0.0), (1.5, 0.0)]) == "0 0 L 1.5 0"


def test_colours_are_fills_and_names_are_paints_of_that_name():
    paints = Paints()
    assert (paints.fill(None), paints.fill(""), paints.fill("#102030")) == ("none", "none", "#102030")
    assert list(paints.definitions()) == []
    assert paints.fill("rope weave") == "url(#rope-weave)"
    assert paints.fill("7 seas") == "url(#fabric-7-seas)"
    assert paints.fill("rope weave") == "url(#rope-weave)"
    assert [line.count('id="') for line in paints.definitions()] == [0, 1, 1, 0]


def test_names_that_would_look_the_same_stay_apart():
    paints = Paints()
    assert {paints.fill(name) for name in ("a b", "a/b", "a-b")} == {"url(#a-b)", "url(#a-b-)", "url(#a-b--)"}

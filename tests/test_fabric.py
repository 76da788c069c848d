from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from seamtree.fabric import NOT_DRAWN, fabric_rgb, fabric_word, fabric_words, oklab

colours = st.integers(0, 0xFFFFFF).map(lambda value: f"#{value:06x}")
fabrics = st.one_of(st.none(), colours, st.sampled_from(["navy", "waves", "black 2", "darker navy", "white"]))


# W3C, CSS Color Module Level 4, sample conversions of named colours to oklab(); values from memory.
@pytest.mark.parametrize(
    ("rgb", "expected"),
    [
        ((0, 0, 0), (0.0, 0.0, 0.0)),
        ((255, 255, 255), (1.0, 0.0, 0.0)),
        ((255, 0, 0), (0.62796, 0.22486, 0.12585)),
        ((0, 128, 0), (0.51975, -0.1403, 0.10768)),
        ((0, 0, 255), (0.45201, -0.03246, -0.31153)),
    ],
)
def test_oklab_agrees_with_css_color(rgb, expected):
    assert oklab(rgb) == pytest.approx(expected, abs=1e-4)


# W3C, CSS Color Module Level 4, 'Named Colors'; values from memory.
@pytest.mark.parametrize(
    ("fabric", "word"),
    [
        ("#000080", "navy"),
        ("#ffffff", "white"),
        ("#000000", "black"),
        ("#ff0000", "red"),
        ("#FFD700", "gold"),
        ("#008080", "teal"),
        ("#d3d3d3", "light grey"),
        ("#ffc0cb", "pink"),
    ],
)
def test_a_named_colour_gets_its_own_name(fabric, word):
    assert fabric_word(fabric) == word


@pytest.mark.parametrize(
    ("fabric", "word"),
    [
        ("#1f3a5f", "navy"),
        ("#fdfdf8", "white"),
        ("#6b4e3d", "brown"),
        ("#5a5a5a", "dark grey"),
        ("#a0a0a0", "grey"),
        ("#c9e4f2", "light blue"),
        ("#3b342c", "charcoal"),
        ("#1d4e63", "dark teal"),
        ("#8f7f69", "taupe"),
    ],
)
def test_muted_colours_of_cloth_get_the_word_people_use(fabric, word):
    assert fabric_word(fabric) == word


def test_what_is_no_colour_stays_as_it_is():
    assert fabric_word("waves") == "waves"
    assert fabric_word("#12") == "#12"
    assert fabric_word(None) == fabric_word("") == NOT_DRAWN


def test_rgb():
    assert fabric_rgb("#01a0FF") == (1, 160, 255)
    assert fabric_rgb("#01a0f") is None
    assert fabric_rgb("waves") is None
    assert fabric_rgb(None) is None


def test_two_shades_of_a_colour_are_called_darker_and_lighter():
    assert fabric_words(["#000080", "#1d3557", "#ffffff"]) == {
        "#000080": "darker navy",
        "#1d3557": "lighter navy",
        "#ffffff": "white",
    }


def test_more_shades_are_told_apart_from_dark_to_light():
    assert fabric_words(["#14284a", "#1f3a5f", "#0f1f3f"]) == {
        "#0f1f3f": "darkest navy",
        "#14284a": "middle navy",
        "#1f3a5f": "lightest navy",
    }
    assert set(fabric_words(["#14284a", "#1f3a5f", "#0f1f3f", "#192f52"]).values()) == {
        "navy 1",
        "navy 2",
        "navy 3",
        "navy 4",
    }


def test_what_is_dark_or_light_already_is_not_called_so_twice():
    assert fabric_words(["#696969", "#5a5a5a"]) == {"#5a5a5a": "darkest grey", "#696969": "dark grey"}
    assert fabric_words(["#c4c4c4", "#dcdcdc"]) == {"#c4c4c4": "light grey", "#dcdcdc": "lightest grey"}


def test_no_darker_one_beside_a_dark_one():
    words = fabric_words(["#24565a", "#2f6f73", "#37797c"])
    assert words == {"#24565a": "dark teal", "#2f6f73": "teal 1", "#37797c": "teal 2"}


def test_equally_light_shades_are_numbered():
    assert set(fabric_words(["#000080", "#000081"]).values()) == {"navy 1", "navy 2"}


def test_a_word_of_the_file_is_not_taken_for_a_colour():
    assert fabric_words(["navy", "#000080"]) == {"navy": "navy", "#000080": "navy 2"}


@settings(max_examples=60, deadline=None)
@given(st.lists(fabrics, max_size=12))
def test_no_two_fabrics_of_a_block_share_a_word(found):
    words = fabric_words(found)
    assert set(words) == set(found)
    assert len(set(words.values())) == len(words)
    assert fabric_words(reversed(found)) == words


@settings(max_examples=60, deadline=None)
@given(colours)
def test_every_colour_gets_a_word_without_digits_or_hash(fabric):
    assert fabric_word(fabric).replace(" ", "").isalpha()

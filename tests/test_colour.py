"""How light colours are, after WCAG 2.2 (W3C, 'Terms': contrast ratio, relative luminance)."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from seamtree.colour import contrast, ink_on, linear, relative_luminance


def test_light_of_known_channels():
    assert [linear(0.0), linear(1.0)] == pytest.approx([0.0, 1.0])
    assert linear(0.5) == pytest.approx(0.21404, abs=1e-5)
    assert linear(0.0404) == pytest.approx(linear(0.0405), abs=1e-4)  # both branches meet


def test_luminance_of_the_primaries():
    assert [relative_luminance(colour) for colour in ("#ff0000", "#00ff00", "#0000ff")] == [0.2126, 0.7152, 0.0722]


@given(st.integers(0, 0xFFFFFF))
def test_numbers_are_legible_on_every_fabric(value):
    """WCAG 2.2, success criterion 1.4.3: 4.5 to 1."""
    fabric = f"#{value:06x}"
    assert contrast(ink_on(fabric), fabric) >= 4.58


def test_contrast_of_known_pairs():
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#777777", "#ffffff") == pytest.approx(4.48, abs=0.005)  # the well-known grey just short of 4.5
    assert contrast("#123456", "#123456") == 1

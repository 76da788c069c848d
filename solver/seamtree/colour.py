"""How light colours are, and what can be read on them."""

from __future__ import annotations

BARE = "#f2efe6"
"""The colour of a patch whose fabric the drawing does not give as a colour."""


def linear(channel: float) -> float:
    """Return how much light a channel of sRGB stands for, 0 to 1 (IEC 61966-2-1)."""
    return channel / 12.92 if channel <= 0.04045 else ((channel + 0.055) / 1.055) ** 2.4


def relative_luminance(colour: str) -> float:
    """Return the relative luminance of a colour ``#rrggbb``, 0 for black to 1 for white (WCAG 2.2, 'Terms')."""
    red, green, blue = (int(colour[k : k + 2], 16) / 255 for k in (1, 3, 5))
    return 0.2126 * linear(red) + 0.7152 * linear(green) + 0.0722 * linear(blue)


def contrast(one: str, other: str) -> float:
    """Return the contrast ratio of two colours, 1 to 21 (WCAG 2.2, 'Terms')."""
    dark, light = sorted((relative_luminance(one), relative_luminance(other)))
    return (light + 0.05) / (dark + 0.05)


def ink_on(colour: str) -> str:
    """Return black or white, whichever is read more easily on a colour; its contrast is 4.58 or more on any."""
    return max("#000000", "#ffffff", key=lambda ink: contrast(ink, colour))

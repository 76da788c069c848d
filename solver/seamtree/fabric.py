"""Words for the fabrics of a drawing.

A drawing knows its fabrics as colours. People sort bolts by words, so every colour gets the plain word of the
nearest named colour, and two colours of one block never share a word.

The words stand for named colours of CSS (W3C, CSS Color Module Level 4, section 'Named Colors'), as far as people
use them for cloth; where two of them go by one word in daily speech, both stand for that word. CSS has few muted
colours, so some words of the cloth trade are added (common practice; their places are ours). 'Nearest' is the
distance in OKLab (B. Ottosson, 'A perceptual color space for image processing', 2020) with hue and chroma counted
twice, for a faded red is still called a red, and only what has next to no tint is called a grey.
"""

from __future__ import annotations

import math
import re
from collections.abc import Collection, Iterable
from functools import lru_cache
from itertools import pairwise
from typing import NamedTuple

from seamtree.colour import linear

NOT_DRAWN = "fabric not drawn"
"""What stands in place of a word where the drawing names no fabric."""

_HEX = re.compile(r"#[0-9a-fA-F]{6}")

_SAME_LIGHTNESS = 0.02
"""Two colours whose OKLab lightness differs by less are not called darker and lighter."""

_TINTED = 0.035
"""A colour with more OKLab chroma than this is not called a grey."""

_SHADES = ("dark", "light", "pale")

_NAMED = {
    "black": (0x000000,),
    "charcoal": (0x36383C,),  # ours
    "dark grey": (0x696969,),  # CSS dimgray; the darkgray of CSS is lighter than its gray
    "grey": (0x808080, 0xA9A9A9),
    "light grey": (0xC0C0C0, 0xD3D3D3, 0xDCDCDC),
    "white": (0xFFFFFF,),
    "ivory": (0xFFFFF0,),
    "linen": (0xFAF0E6,),
    "beige": (0xF5F5DC,),
    "wheat": (0xF5DEB3,),
    "tan": (0xD2B48C,),
    "sandy brown": (0xF4A460,),
    "taupe": (0x8B7D6B, 0xA8987F),  # ours
    "burnt orange": (0xD2691E, 0xE07A3F),  # CSS chocolate, which is none, and ours
    "brown": (0x8B4513, 0x7A5A38),  # CSS saddlebrown, and ours; the brown of CSS is a red
    "maroon": (0x800000,),
    "brick red": (0xB22222,),  # CSS firebrick
    "rust": (0xB7410E,),  # ours
    "red": (0xFF0000,),
    "crimson": (0xDC143C,),
    "tomato": (0xFF6347,),
    "coral": (0xFF7F50,),
    "salmon": (0xFA8072,),
    "light salmon": (0xFFA07A,),
    "dark orange": (0xFF8C00,),
    "orange": (0xFFA500,),
    "gold": (0xFFD700,),
    "dark gold": (0xB8860B,),  # CSS darkgoldenrod
    "mustard": (0xD9A441,),  # ours
    "khaki": (0xF0E68C,),
    "yellow": (0xFFFF00,),
    "light yellow": (0xFFFFE0,),
    "olive": (0x808000,),
    "olive green": (0x556B2F,),  # CSS darkolivegreen
    "yellow green": (0x9ACD32,),
    "lime": (0x00FF00,),
    "lime green": (0x32CD32,),
    "pale green": (0x98FB98,),
    "sea green": (0x2E8B57,),
    "green": (0x008000,),
    "dark green": (0x006400,),
    "sage green": (0x8FBC8F, 0x94A88A),  # CSS darkseagreen, and ours
    "teal": (0x008080,),
    "dark teal": (0x1D4F5F,),  # ours
    "turquoise": (0x40E0D0,),
    "dark turquoise": (0x00CED1,),
    "cyan": (0x00FFFF,),
    "pale blue": (0xF0F8FF,),  # CSS aliceblue
    "light blue": (0xADD8E6, 0xB0E0E6, 0xB0C4DE),  # and CSS powderblue, lightsteelblue
    "sky blue": (0x87CEEB,),
    "deep sky blue": (0x00BFFF,),
    "dusty blue": (0x7599A8,),  # ours
    "steel blue": (0x4682B4,),
    "cornflower blue": (0x6495ED,),
    "royal blue": (0x4169E1,),
    "blue": (0x0000FF,),
    "dark blue": (0x00008B,),
    "navy": (0x000080, 0x191970, 0x1F3A5F),  # and CSS midnightblue, and ours
    "slate blue": (0x6A5ACD,),
    "indigo": (0x4B0082,),
    "purple": (0x800080,),
    "dark violet": (0x9400D3,),
    "violet": (0xEE82EE,),
    "orchid": (0xDA70D6,),
    "plum": (0xDDA0DD,),
    "lavender": (0xE6E6FA,),
    "magenta": (0xFF00FF,),
    "deep pink": (0xFF1493,),
    "hot pink": (0xFF69B4,),
    "dusty pink": (0xBC8F8F,),  # CSS rosybrown
    "mauve": (0xA9678A,),  # ours
    "pink": (0xFFC0CB,),
}


class OKLab(NamedTuple):
    """A colour as the eye orders it: lightness from 0 to 1, then green to red, then blue to yellow."""

    lightness: float
    a: float
    b: float


def fabric_rgb(fabric: str | None) -> tuple[int, int, int] | None:
    """Return red, green and blue (0 to 255) of a fabric given as ``#rrggbb``, None for any other."""
    if fabric is None or not _HEX.fullmatch(fabric):
        return None
    value = int(fabric[1:], 16)
    return value >> 16, value >> 8 & 255, value & 255


def oklab(rgb: tuple[int, int, int]) -> OKLab:
    """Convert an sRGB colour (0 to 255) to OKLab."""
    red, green, blue = (linear(channel / 255) for channel in rgb)
    long = (0.4122214708 * red + 0.5363325363 * green + 0.0514459929 * blue) ** (1 / 3)
    medium = (0.2119034982 * red + 0.6806995451 * green + 0.1073969566 * blue) ** (1 / 3)
    short = (0.0883024619 * red + 0.2817188376 * green + 0.6299787005 * blue) ** (1 / 3)
    return OKLab(
        0.2104542553 * long + 0.7936177850 * medium - 0.0040720468 * short,
        1.9779984951 * long - 2.4285922050 * medium + 0.4505937099 * short,
        0.0259040371 * long + 0.7827717662 * medium - 0.8086757660 * short,
    )


@lru_cache(maxsize=1024)
def fabric_word(fabric: str | None) -> str:
    """Return a plain word for a fabric.

    Parameters
    ----------
    fabric
        ``#rrggbb``, the id of a gradient or pattern, the word given in the file, or None.

    Returns
    -------
    str
        The word of the nearest named colour; an id or a word of the file as it is; 'fabric not drawn' for None.
    """
    if not fabric:
        return NOT_DRAWN
    rgb = fabric_rgb(fabric)
    if rgb is None:
        return fabric
    here = oklab(rgb)
    tinted = math.hypot(here.a, here.b) > _TINTED
    places = (place for place in _PLACES if not (tinted and place[1].endswith("grey")))
    return min(places, key=lambda place: (_distance(here, place[0]), place[1]))[1]


def one_to_one(named: Iterable[tuple[str, str]]) -> dict[str, str]:
    """Return the names of fabrics that have one name each which no other one has, be it in capitals or not."""
    names: dict[str, set[str]] = {}
    bearers: dict[str, set[str]] = {}
    for fabric, name in named:
        names.setdefault(fabric, set()).add(name)
        bearers.setdefault(name.casefold(), set()).add(fabric)
    return {
        fabric: name for fabric, (name, *others) in names.items() if not others and len(bearers[name.casefold()]) == 1
    }


def fabric_words(fabrics: Iterable[str | None], names: Iterable[tuple[str, str]] = ()) -> dict[str | None, str]:
    """Return a word for every fabric of one block; two fabrics never share a word.

    A fabric of which the drawing, or several together, say how it is called (`names`: pairs of fabric and name) goes
    by that.

    Of two colours with the same nearest word one is called darker and the other lighter, and so on; more than
    three, some that are equally light, and those of a word whose dark or light sister is in use are numbered from
    dark to light.
    """
    alike: dict[str, list[str | None]] = {}
    several = set(fabrics)
    named = {fabric: name for fabric, name in one_to_one(names).items() if fabric in several}
    ids = {fabric for fabric in several if fabric_rgb(fabric) is None and fabric not in named}
    words: dict[str | None, str] = {fabric: name for fabric, name in named.items() if name not in ids}
    for fabric in sorted(several - words.keys(), key=lambda f: f or ""):
        alike.setdefault(fabric_word(fabric), []).append(fabric)
    for word, group in alike.items():
        colours = [f for f in group if fabric_rgb(f) is not None]
        words.update(dict.fromkeys(group, word))
        if len(colours) > 1:
            shaded = any(f"{shade} {word}" in alike for shade in _SHADES)
            words.update(_tell_apart(word, colours, graded=not shaded))
    return _unique(words, {fabric for fabric, name in named.items() if words[fabric] == name})


def _tell_apart(word: str, colours: list[str | None], *, graded: bool) -> dict[str | None, str]:
    """Name colours that share their nearest word, by grades of lightness if wanted and if they differ in it."""
    lightness = {f: oklab(rgb).lightness for f in colours if (rgb := fabric_rgb(f)) is not None}
    ranked = sorted(lightness, key=lambda f: (lightness[f], f))
    steps = [lightness[b] - lightness[a] for a, b in pairwise(ranked)]
    names = _graded(word, len(ranked)) if graded and min(steps) >= _SAME_LIGHTNESS else None
    return dict(zip(ranked, names or [f"{word} {k}" for k in range(1, len(ranked) + 1)], strict=True))


def _graded(word: str, number: int) -> list[str] | None:
    """Return words for so many shades from dark to light, None where there are no good ones."""
    shade, _, colour = word.partition(" ")
    if number == 2 and shade == "dark":
        return [f"darkest {colour}", word]
    if number == 2 and shade in _SHADES:
        return [word, f"{shade.removesuffix('e')}est {colour}"]
    if shade in _SHADES or number > 3:
        return None
    if number == 2:
        return [f"darker {word}", f"lighter {word}"]
    return [f"{shade} {word}" for shade in ("darkest", "middle", "lightest")]


def _unique(words: dict[str | None, str], named: Collection[str]) -> dict[str | None, str]:
    """Settle the last ties: words of the file stay as they are, a colour that meets one is numbered on."""
    kept = {fabric for fabric in words if fabric_rgb(fabric) is None or fabric in named}
    taken = {words[fabric] for fabric in kept}
    settled = dict(words)
    for fabric, word in words.items():
        if fabric in kept:
            continue
        number, name = 1, word
        while name in taken:
            number += 1
            name = f"{word} {number}"
        taken.add(name)
        settled[fabric] = name
    return settled


def _distance(one: OKLab, other: OKLab) -> float:
    """Return the square of the distance between two colours, hue and chroma counted twice."""
    return (one.lightness - other.lightness) ** 2 + 4 * ((one.a - other.a) ** 2 + (one.b - other.b) ** 2)


_PLACES = [
    (oklab((value >> 16, value >> 8 & 255, value & 255)), word) for word, values in _NAMED.items() for value in values
]

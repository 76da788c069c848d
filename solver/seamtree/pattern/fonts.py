"""The fonts of the pages, all embedded, all under free licences, and which of them writes which letters.

Bitstream Vera Sans comes with the PDF library and writes most texts. What it lacks is written by DejaVu Sans, its
descendant with the same shapes, for the other European languages, Greek and Cyrillic, and by IPAex Gothic for
Japanese. These two come as files of packages of which no code is loaded, and are read only if a text needs them.
"""

from __future__ import annotations

import unicodedata
from functools import cache
from importlib.util import find_spec
from itertools import groupby
from pathlib import Path
from typing import Any

REGULAR, BOLD = "Seamtree-Regular", "Seamtree-Bold"
"""Names under which the first fonts are known to the PDF library."""

_VERA = {REGULAR: "Vera.ttf", BOLD: "VeraBd.ttf"}

_MORE = (
    ("Seamtree-European", "matplotlib", "mpl-data/fonts/ttf/DejaVuSans.ttf"),
    ("Seamtree-European-Bold", "matplotlib", "mpl-data/fonts/ttf/DejaVuSans-Bold.ttf"),
    ("Seamtree-Japanese", "matplotlib_fontja", "fonts/ipaexg.ttf"),
)
"""Name, package and file of the others."""

_MARK = "□"
"""Stands for a character that no font has."""


@cache
def load_fonts() -> dict[str, Any]:
    """Register the first fonts; return them by their names."""
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont

    fonts = {name: TTFont(name, file) for name, file in _VERA.items()}
    for font in fonts.values():
        pdfmetrics.registerFont(font)
    pdfmetrics.registerFontFamily(REGULAR, normal=REGULAR, bold=BOLD, italic=REGULAR, boldItalic=BOLD)
    return fonts


@cache
def _characters(name: str) -> frozenset[int]:
    """Return the characters of a font, which is registered if it was not; none where its file is missing."""
    first = load_fonts()
    if name in first:
        return frozenset(first[name].face.charToGlyph)
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont

    package, file = next((package, file) for known, package, file in _MORE if known == name)
    found = find_spec(package)
    path = Path(found.origin).parent / file if found is not None and found.origin else None
    if path is None or not path.is_file():
        return frozenset()
    font = TTFont(name, str(path))
    pdfmetrics.registerFont(font)
    pdfmetrics.registerFontFamily(name, normal=name, bold=name, italic=name, boldItalic=name)
    return frozenset(font.face.charToGlyph)


def _font_of(character: str, *, bold: bool) -> str | None:
    """Return the font that writes a character, None if none does."""
    heavy = (BOLD, "Seamtree-European-Bold", "Seamtree-Japanese")
    light = (REGULAR, "Seamtree-European", "Seamtree-Japanese")
    return next((name for name in (heavy if bold else light) if ord(character) in _characters(name)), None)


def printable(text: str) -> str:
    """Return text of which the fonts have every character; what they lack is its base letter or an empty box."""

    @cache
    def shown(character: str) -> str:
        if not character.isprintable():
            return " "
        if _font_of(character, bold=False):
            return character
        plainer = "".join(c for c in unicodedata.normalize("NFKD", character) if _font_of(c, bold=False))
        return plainer or _MARK

    composed = unicodedata.normalize("NFC", text)
    if composed.isascii() and composed.isprintable():
        return " ".join(composed.split())
    return " ".join("".join(map(shown, composed)).split())


def runs(text: str, *, bold: bool = False) -> list[tuple[str, str]]:
    """Return the stretches of a printable text that one font writes: the font's name and the letters."""
    load_fonts()
    if text.isascii():
        return [(BOLD if bold else REGULAR, text)]
    first = BOLD if bold else REGULAR
    return [
        (name, "".join(letters)) for name, letters in groupby(text, key=lambda c: _font_of(c, bold=bold) or first)
    ]


def run_width(letters: str, font: str, size: float) -> float:
    """Return how wide letters of one font are, points, spaces at their ends included."""
    from reportlab.pdfbase.pdfmetrics import stringWidth

    return float(stringWidth(letters, font, size))


@cache
def text_width(text: str, size: float, *, bold: bool = False) -> float:
    """Return how wide a line of text is, points."""
    return float(sum(run_width(letters, name, size) for name, letters in runs(printable(text), bold=bold)))

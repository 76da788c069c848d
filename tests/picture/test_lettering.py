"""The table of widths against the typeface itself, as reportlab reads it."""

from __future__ import annotations

import pytest
from reportlab.pdfbase.ttfonts import TTFont

from seamtree.picture.lettering import shortened, text_width


@pytest.mark.parametrize(("file", "bold"), [("Vera.ttf", False), ("VeraBd.ttf", True)])
def test_widths_are_those_of_the_typeface(file, bold):
    font = TTFont(f"test-{file}", file)
    for text in ("A12", "AB7", "8.66 × 10 in · 26 patches", "joins 1–3", "“The quick brown fox…” WWW iii @#~"):
        assert text_width(text, 10, bold=bold) == pytest.approx(font.stringWidth(text, 10), rel=2e-3)


def test_unknown_letters_count_as_broad():
    assert text_width("港", 10) == 10


def test_shortened():
    assert shortened("lighthouse", 200, 10) == "lighthouse"
    short = shortened("lighthouse keeper", 60, 10)
    assert short.endswith("…")
    assert "lighthouse".startswith(short[:-1])
    assert text_width(short, 10) <= 60
    assert shortened("lighthouse", 0, 10) == "…"

"""Text from drawings in print."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from seamtree_cli.wording import plain


@given(st.text())
def test_text_is_one_printable_line(text):
    assert "\n" not in plain(text)
    assert all(character.isprintable() for character in plain(text))
    assert len(plain(text, limit=5)) <= 5


def test_what_is_cut_short_says_so():
    assert plain("a  rope\n coil") == "a rope coil"
    assert plain("lighthouse", limit=6) == "light…"
    assert plain("gull", limit=4) == "gull"

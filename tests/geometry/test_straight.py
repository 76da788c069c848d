"""Which chords of a drawn curve follow each other."""

from __future__ import annotations

import pytest

from seamtree.geometry.straight import is_smooth


@pytest.mark.parametrize(
    ("after", "smooth"),
    [((2.0, 0.0), True), ((1.9, 0.5), True), ((1.8, 0.6), False), ((1.0, 1.0), False), ((0.1, 0.1), False)],
)
def test_chords_follow_each_other_where_they_turn_little(after: tuple[float, float], smooth: bool) -> None:
    assert is_smooth((0.0, 0.0), (1.0, 0.0), after, tolerance=0.02) == smooth
    assert is_smooth(after, (1.0, 0.0), (0.0, 0.0), tolerance=0.02) == smooth


def test_chords_that_healing_may_have_turned_follow_each_other() -> None:
    assert is_smooth((0.0, 0.0), (0.03, 0.03), (0.06, 0.0), tolerance=0.02)
    assert not is_smooth((0.0, 0.0), (0.05, 0.05), (0.1, 0.0), tolerance=0.02)
    assert not is_smooth((0.0, 0.0), (1.0, 0.0), (0.0, 0.0), tolerance=0.02)

"""Wrong drawings get a plan that the replay takes or a clear word; `python -m tests.fuzz` makes many more of them."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from seamtree.errors import DrawingError
from tests.fuzz.__main__ import input_of
from tests.fuzz.files import Input, make_input
from tests.fuzz.judge import judge, parse


@settings(max_examples=200)
@given(st.randoms(use_true_random=False))
def test_damaged_layouts(rng) -> None:
    judge(make_input(rng))


@settings(max_examples=200)
@given(st.binary(max_size=60), st.sampled_from(["svg", "geojson", "wkt"]))
def test_any_bytes_whatever(data, form) -> None:
    with pytest.raises(DrawingError):
        parse(Input(data, form, 0.02, None))


# Seed 56 is a find: an outline flattened to tens of thousands of points took minutes to be found not convex.
@pytest.mark.parametrize("seed", range(120))
def test_seeds(seed: int) -> None:
    judge(input_of(seed))

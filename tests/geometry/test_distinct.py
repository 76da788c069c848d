"""Distinct values of arrays, against sets."""

from __future__ import annotations

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from seamtree.geometry.distinct import distinct


@given(st.lists(st.integers(-5, 5)))
def test_each_value_once_in_ascending_order(values):
    assert distinct(np.array(values, dtype=np.int64)).tolist() == sorted(set(values))

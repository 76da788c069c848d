"""Distinct values of an array."""

from __future__ import annotations

from typing import TypeVar

import numpy as np
import numpy.typing as npt

Scalar = TypeVar("Scalar", bound=np.generic)


def distinct(values: npt.NDArray[Scalar]) -> npt.NDArray[Scalar]:
    """Return the distinct values in ascending order.

    Asked for nothing else, `numpy.unique` loads masked arrays to see whether it was given one, which takes as long
    as a small drawing.
    """
    found: npt.NDArray[Scalar] = np.unique(values, return_index=True)[0]
    return found

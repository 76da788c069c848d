"""Several pictures on one sheet."""

from __future__ import annotations

from collections.abc import Sequence

from seamtree.picture.shapes import Layer, Picture

ROW = 3
"""As many pictures stand side by side."""

_GAP = 14.0
"""Points between pictures."""


def put_beside(pictures: Sequence[Picture]) -> Picture:
    """Return pictures side by side, row below row, as one picture.

    Parameters
    ----------
    pictures
        One or more; one alone stays as it is.
    """
    if len(pictures) == 1:
        return pictures[0]
    layers: list[Layer] = []
    width = top = 0.0
    for first in range(0, len(pictures), ROW):
        row = pictures[first : first + ROW]
        left = 0.0
        for picture in row:
            layers += (layer.moved(left, top) for layer in picture.layers)
            left += picture.width + _GAP
        width = max(width, left - _GAP)
        top += max(picture.height for picture in row) + _GAP
    title = ", ".join(picture.title for picture in pictures)
    return Picture(width, top - _GAP, title, " ".join(picture.description for picture in pictures), tuple(layers))

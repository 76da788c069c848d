"""Labels go with the largest piece of their patch, and nothing else of the file changes."""

from __future__ import annotations

import re

import pytest
import shapely

import seamtree
from seamtree.mending import mend
from seamtree.mending.svg_texts import move_labels

BUOY = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="8in" height="8in" viewBox="0 0 80 80">'
    '<rect id="sky" width="80" height="80" fill="#335577"/>'
    '<rect id="buoy" x="50" y="50" width="15" height="15" fill="#aa3344"/>'
    '<g transform="translate(1 1) scale(.5)">'
    '<text id="one" x="{x}" y="{y}" transform="rotate(5)" font-size="6">Sky</text>'
    '<text id="two" x="100" y="115" font-size="6">Buoy</text></g></svg>'
)


def moved(x, y):
    """Return the file with the seams of its background, as it was before labels are moved and after."""
    text = BUOY.format(x=x, y=y)
    (drawn,) = seamtree.sketch(text.encode())
    mending = mend(drawn)
    paths = [" ".join(f"{10 * u} {10 * v}" for u, v in seam.path) for seam in mending.alternatives[0].added]
    seams = "".join(f'<path d="M{path}"/>' for path in paths)
    text = text.replace("</svg>", f'<g fill="none" stroke="#d1006c" stroke-width=".2">{seams}</g></svg>')
    return text, move_labels(text, [mending], width=None)


def labelled(text):
    (block,) = seamtree.read(text.encode(), name="buoy.svg")
    return {patch.label: p for p, patch in enumerate(block.patches) if patch.label}, block


def test_a_label_in_a_smaller_piece_moves_to_the_largest():
    before, after = moved(140, 110)
    found, block = labelled(after)
    assert set(found) == {"Sky", "Buoy"}
    areas = [shapely.Polygon(block.polygon(p)).area for p in range(len(block.patches))]
    assert areas[found["Sky"]] == pytest.approx(max(areas))
    # Nothing but the transform of that text has changed.
    assert re.sub(r'transform="translate\([^)]*\) rotate\(5\)"', 'transform="rotate(5)"', after) == before


def test_labels_that_lie_well_stay():
    before, after = moved(20, 40)
    assert after == before

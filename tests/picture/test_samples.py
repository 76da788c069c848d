"""Pictures of all samples: complete, and nothing on top of anything else."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from itertools import combinations
from pathlib import Path

import pytest
import shapely

import seamtree
from seamtree.errors import DrawingError
from seamtree.picture import draw_plan, write_svg
from tests.picture.test_draw import box, layer, patches_of, texts

SAMPLES = sorted(
    path for path in (Path(__file__).parents[2] / "samples").iterdir() if path.suffix in (".svg", ".wkt", ".geojson")
)


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.name)
def test_sample(path):
    try:
        blocks = seamtree.read(path)
    except DrawingError:
        assert path.name.startswith("faulty-")
        return
    for block in blocks:
        plan = seamtree.plan(block)
        picture = draw_plan(plan)
        patches, numbers, steps = patches_of(picture), texts(picture, "numbers"), texts(picture, "steps")
        assert sorted(number.text for number in numbers) == sorted(plan.patch_ids().values()) == sorted(patches)
        inside = [number for number in numbers if patches[number.text].contains(box(number))]
        assert len(inside) >= 0.95 * len(numbers)
        whole = shapely.union_all(list(patches.values()))
        assert not any(whole.intersects(box(number)) for number in numbers if number not in inside)
        boxes = [box(text) for text in (*numbers, *steps)]
        assert not any(one.intersects(other) for one, other in combinations(boxes, 2))
        assert len(steps) >= 0.8 * plan.counts.joins
        signs = plan.counts.hard_corners + plan.counts.matched_points
        assert bool(layer(picture, "marks")) == bool(signs)
        ET.fromstring(write_svg(picture).encode())  # noqa: S314 -- our own file

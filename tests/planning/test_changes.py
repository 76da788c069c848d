from __future__ import annotations

from functools import cache

from benchmarks.families import spun_rings

import seamtree
from seamtree.planning.changes import describe_changes
from tests.support.wkt import RING


@cache
def planned(text: str, suffix: str = ".wkt"):
    return tuple(seamtree.plan(block) for block in seamtree.read(text.encode(), name=f"buoy{suffix}"))


def strips(heights=(2, 2, 2), fabrics=("navy", "red", "navy"), width=6):
    y, features = 0, []
    for height, fabric in zip(heights, fabrics, strict=True):
        ring = [[0, y], [width, y], [width, y + height], [0, y + height], [0, y]]
        geometry = str({"type": "Polygon", "coordinates": [ring]}).replace("'", '"')
        features.append(f'{{"type": "Feature", "properties": {{"fabric": "{fabric}"}}, "geometry": {geometry}}}')
        y += height
    text = f'{{"type": "FeatureCollection", "features": [{", ".join(features)}]}}'
    return planned(text, ".geojson")


def test_the_same_plan_has_not_changed():
    assert describe_changes(strips(), strips()) == ()
    assert describe_changes(planned(RING), planned(RING)) == ()


def test_units_come_first_then_hard_corners_with_their_places():
    spun, mended = planned(RING), strips(heights=(2, 2), fabrics=("navy", "red"))
    (corner,) = [corner for join in spun[0].joins() for corner in join.seam.corners]
    x, y = spun[0].block.junctions[corner.junction]
    told = describe_changes(spun, mended)
    assert told[:3] == ("1 unit, were 2", f"hard corner at {x:.2f}, {y:.2f} gone", "2 patches, were 5")
    assert describe_changes(mended, spun)[:2] == ("2 units, was 1", f"hard corner at {x:.2f}, {y:.2f} new")


def test_a_hard_corner_that_hardly_moves_is_the_same():
    moved = planned(RING.replace("4", "4.05"))
    assert moved[0].counts.hard_corners == 1
    assert not any("hard corner" in phrase for phrase in describe_changes(planned(RING), moved))


def test_size_fabrics_shapes_and_order():
    before = strips()
    assert describe_changes(before, strips(width=8)) == ("8 × 6 in, was 6 × 6 in",)
    assert describe_changes(before, strips(fabrics=("navy", "gold", "navy"))) == (
        "fabric gold new",
        "fabric red gone",
    )
    assert describe_changes(before, strips(fabrics=("navy", "red", "red"))) == ("some patches have another fabric",)
    assert describe_changes(before, strips(heights=(1, 3, 2))) == ("some patches have another shape",)
    assert describe_changes(strips(fabrics=("gold", "navy", "red")), strips(fabrics=("gold", "red", "navy"))) == (
        "the order of sewing is another",
    )


def test_blocks_are_named_where_there_are_several():
    assert describe_changes(strips() * 2, strips()) == ("1 block, were 2",)
    (told,) = describe_changes(strips() * 2, (*strips(), *strips(width=8)))
    assert told == "buoy: 8 × 6 in, was 6 × 6 in"


def test_many_places_are_cut_short():
    plan = seamtree.plan(seamtree.block_from_polygons(spun_rings(4)))
    assert plan.counts.hard_corners == 4
    (told,) = [phrase for phrase in describe_changes(strips(), (plan,)) if "hard corner" in phrase]
    assert told.startswith("hard corners at ")
    assert told.count(";") == 2
    assert told.endswith(" and 1 more new")

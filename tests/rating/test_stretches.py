import shapely

from seamtree.block.build import block_from_polygons
from seamtree.rating.stretches import find_stretches, is_matched
from tests.support import layouts


def lengths(block):
    return sorted(round(stretch.length, 6) for stretch in find_stretches(block))


def test_crossing_seams_part_each_other():
    assert lengths(block_from_polygons(layouts.squares(2, 2))) == [2, 2, 2, 2]


def test_a_seam_runs_on_where_others_end_on_it():
    assert lengths(block_from_polygons(layouts.log_cabin(1))) == [1, 2, 2, 3]
    assert lengths(block_from_polygons(layouts.spun_rectangles())) == [4, 4, 4, 4]


def test_a_curve_is_one_stretch():
    assert len(find_stretches(layouts.quarter_circle(12))) == 1


def test_a_bend_ends_a_stretch():
    elbow = [shapely.box(2, 0, 4, 2), shapely.Polygon([(0, 0), (2, 0), (2, 2), (4, 2), (4, 4), (0, 4)])]
    assert lengths(block_from_polygons(elbow)) == [2, 2]


def test_stretches_know_their_middle_and_patches():
    (stretch,) = find_stretches(block_from_polygons([shapely.box(0, 0, 4, 1), shapely.box(0, 1, 4, 3)]))
    assert stretch.middle == (2.0, 1.0)
    assert set(stretch.patches) == {0, 1}


def test_matched_points():
    for layout, matched in [
        (layouts.squares(3, 3), 4),
        (layouts.kaleidoscope(), 1),
        (layouts.log_cabin(2), 0),
        (layouts.tumbling_block(), 0),
    ]:
        block = block_from_polygons(layout)
        arms = block.interior_arms()
        inside = set(range(len(block.junctions))) - block.boundary_junctions()
        assert sum(is_matched(block, j, arms[j]) for j in inside) == matched

"""Blocks that can be laid on each other are found, and no others."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from types import SimpleNamespace

import pytest
import shapely
from benchmarks.families import honeycomb, split_squares, straight_cuts
from hypothesis import given
from hypothesis import strategies as st
from shapely import affinity

import seamtree
from seamtree.auditing import Record, equal
from seamtree.auditing.equal import find_equals, pack_seams
from tests.auditing.test_store import BLOCK

SPLIT = [  # a row of four squares, each split by a diagonal: / or \ in turn
    shapely.Polygon([(2 * x + a, b) for a, b in corner])
    for x, corners in enumerate([
        [((0, 0), (2, 0), (2, 2)), ((0, 0), (2, 2), (0, 2))],
        [((0, 0), (2, 0), (0, 2)), ((2, 0), (2, 2), (0, 2))],
        [((0, 0), (2, 0), (2, 2)), ((0, 0), (2, 2), (0, 2))],
        [((0, 0), (2, 0), (2, 2)), ((0, 0), (2, 2), (0, 2))],
    ])
    for corner in corners
]  # fmt: skip


def found(*layouts):
    """Return how each layout lies to the first one of its group, by groups."""
    records = []
    for k, polygons in enumerate(layouts):
        block = seamtree.block_from_polygons(polygons)
        seams = replace(BLOCK, name=f"{k}", seams=pack_seams(block))
        records.append(Record(f"{k}.wkt", "audited", blocks=(seams,), digest=f"{k}"))
    return [[(int(twin.block), twin.how) for twin in group] for group in find_equals(records).blocks]


@given(st.integers(0, 40), st.floats(0, 360), st.booleans(), st.integers(8, 25))
def test_a_block_lies_on_itself_however_it_is_turned(seed, angle, mirrored, patches):
    polygons = list(straight_cuts(patches, seed))
    other = [affinity.rotate(polygon, angle, origin=(0, 0)) for polygon in polygons]
    if mirrored:
        other = [affinity.scale(polygon, -1, 1, origin=(0, 0)) for polygon in other]
    ((first, second),) = found(polygons, other)
    assert first == (0, "as it is")
    assert second[1] in (("mirrored",) if mirrored else ("as it is", "turned"))


def test_blocks_that_only_look_alike_are_kept_apart():
    straight = [*SPLIT[:2], *(affinity.translate(polygon, 2) for polygon in SPLIT[:2]), *SPLIT[4:]]
    assert found(SPLIT, straight) == []  # the same corners and lengths, another diagonal
    assert found(SPLIT, [affinity.scale(polygon, 1.05, 1.05, origin=(0, 0)) for polygon in SPLIT]) == []
    assert found(SPLIT, SPLIT[:6]) == []


def test_a_mirror_image_that_no_turn_gives_is_mirrored():
    spun = [shapely.box(*bounds) for bounds in ((0, 0, 4, 2), (4, 0, 6, 4), (2, 4, 6, 6), (0, 2, 2, 6), (2, 2, 4, 4))]
    twin = [affinity.scale(polygon, -1, 1, origin=(0, 0)) for polygon in spun]
    assert found(spun, twin) == [[(0, "as it is"), (1, "mirrored")]]


def test_few_of_many_blocks_are_laid_on_each_other(monkeypatch):
    """What takes long is counted: twins, however they are turned, and blocks of the same corners and lengths."""
    laid = []
    real = equal._Seams.lies_on
    monkeypatch.setattr(equal._Seams, "lies_on", lambda *a, **k: laid.append(a) or real(*a, **k))
    turned = [[affinity.rotate(polygon, 90 * (k % 4), origin=(0, 0)) for polygon in SPLIT] for k in range(40)]
    ((first, *twins),) = found(*turned)
    assert first == (0, "as it is")
    assert Counter(how for _, how in twins) == {"as it is": 9, "turned": 30}
    assert len(laid) <= 6  # once for each way they lie
    laid.clear()
    alike = [list(split_squares(6, 6, k)) for k in range(40)]
    assert found(*alike) == []
    assert len(laid) <= 10  # of 780 pairs, in eight positions each


def test_seams_in_any_order_and_direction_are_the_same():
    block = seamtree.block_from_polygons(SPLIT)
    edges = [replace(edge, start=edge.end, end=edge.start) for edge in block.edges[::-1]]
    other = SimpleNamespace(junctions=block.junctions, edges=edges)
    assert pack_seams(other) != pack_seams(block)
    assert (equal._unpack(pack_seams(other)) == equal._unpack(pack_seams(block))).all()


def test_blocks_within_the_tolerance_are_equal():
    near = [affinity.translate(polygon, 0.004 * (k % 2), 0) for k, polygon in enumerate(honeycomb(3, 3))]
    assert len(found(list(honeycomb(3, 3)), near)) == 1


def test_the_same_content_is_listed_by_name_and_compared_once():
    block = seamtree.block_from_polygons(SPLIT)
    blocks = (replace(BLOCK, seams=pack_seams(block)),)
    records = [Record(f"{name}.wkt", "audited", blocks=blocks, digest=digest) for name, digest in ("ax", "bx", "cy")]
    lost = [Record(f"{name}.svg", "crashed", BLOCK.warnings) for name in "de"]
    equals = find_equals([*records, *lost])
    assert equals.contents == (("a.wkt", "b.wkt"),)
    assert [[twin.source for twin in group] for group in equals.blocks] == [["a.wkt", "c.wkt"]]


@pytest.mark.parametrize("count", [0, 1])
def test_few_records_have_no_equals(count):
    records = [Record("a.wkt", "audited", blocks=(replace(BLOCK, seams=None),), digest="x")] * count
    assert find_equals(records).blocks == ()

"""Sweeping bundles of crossing lines against searching them."""

import numpy as np
import pytest
import shapely
from benchmarks.alternatives import plain_recursion

from seamtree.block.build import block_from_polygons
from seamtree.block.model import Block
from seamtree.proofs.planar import Planar, mask_of
from seamtree.proofs.swept import check_swept
from seamtree.search.claims import claim_swept
from seamtree.search.straight.parts import PartsGraph
from seamtree.search.straight.sweep import TooManyParts, build_bundle, sweep
from seamtree.search.view import bits, build_view
from tests.search.straight.test_parts import refuse, squares


def chords(count: int, seed: int) -> Block:
    """Return a square with straight lines across it from side to side."""
    rng = np.random.default_rng(seed)
    frame = shapely.box(0, 0, 20, 20).exterior
    lines = [frame]
    while len(lines) <= count:
        a, b = rng.uniform(0, 80, 2)
        if a // 20 != b // 20:
            lines.append(shapely.LineString([frame.interpolate(a), frame.interpolate(b)]))
    faces = shapely.get_parts(shapely.polygonize([shapely.union_all(lines, grid_size=1e-9)]))
    return block_from_polygons(list(faces), tolerance=1e-5)


def junctions(graph: PartsGraph, cluster: int) -> int:
    """Return the junctions of a cluster that is named by its slots."""
    return mask_of({graph.view.slot_junction[slot] for slot in bits(cluster)})


def clusters(block: Block) -> tuple[PartsGraph, tuple[int, ...]]:
    view = build_view(block)
    graph = PartsGraph(view, refuse, 10**9)
    return graph, graph.map.clusters_in(view.all_slots)


@pytest.mark.parametrize("seed", range(8))
def test_swept_joins_are_those_of_the_plain_recursion(seed: int) -> None:
    block = chords(9, seed)
    graph, found = clusters(block)
    joins, planar = 0, Planar(block)
    for cluster in found:
        bundle = build_bundle(graph.view, cluster)
        assert bundle is not None
        swept = sweep(bundle, limit=10**6)
        assert check_swept(planar, junctions(graph, cluster), claim_swept(swept)) == swept.joins()
        assert len(swept.best_cuts(graph.view)) == swept.joins()
        joins += swept.joins()
    assert joins + 1 == plain_recursion(block)[0]


def test_the_limit_is_kept() -> None:
    graph, (cluster, *_) = clusters(squares(9, 9))
    bundle = build_bundle(graph.view, cluster)
    assert bundle is not None
    with pytest.raises(TooManyParts):
        sweep(bundle, limit=50)


@pytest.mark.parametrize(("name", "most"), [("_CUTS", 200), ("_ROWS_BYTES", 8 * 50)])
def test_the_limits_of_memory_are_kept(name: str, most: int, monkeypatch: pytest.MonkeyPatch) -> None:
    graph, (cluster, *_) = clusters(squares(9, 9))
    bundle = build_bundle(graph.view, cluster)
    assert bundle is not None
    monkeypatch.setattr(f"seamtree.search.straight.sweep.{name}", most)
    with pytest.raises(TooManyParts):
        sweep(bundle, limit=10**6)


@pytest.mark.parametrize("room", [1, 1_000, 100_000])
def test_little_room_changes_nothing(room: int, monkeypatch: pytest.MonkeyPatch) -> None:
    graph, (cluster, *_) = clusters(chords(14, 3))
    bundle = build_bundle(graph.view, cluster)
    assert bundle is not None
    swept = sweep(bundle, limit=10**6)
    monkeypatch.setattr("seamtree.search.straight.sweep._SIDES_BYTES", room)
    monkeypatch.setattr("seamtree.search.straight.sweep._AT_ONCE", 100)
    again = sweep(bundle, limit=10**6)
    assert check_swept(Planar(graph.view.block), junctions(graph, cluster), claim_swept(again)) == swept.joins()
    assert len(again.rows) == len(swept.rows)
    assert again.best_cuts(graph.view) == swept.best_cuts(graph.view)


def test_a_bundle_with_a_tee_is_not_swept() -> None:
    block = block_from_polygons(
        [((0, 0), (2, 0), (2, 1), (0, 1)), ((0, 1), (1, 1), (1, 2), (0, 2)), ((1, 1), (2, 1), (2, 2), (1, 2))]
    )
    graph, found = clusters(block)
    assert [build_bundle(graph.view, cluster) for cluster in found] == [None]
    view = build_view(squares(2, 2))
    assert build_bundle(view, view.all_slots) is not None

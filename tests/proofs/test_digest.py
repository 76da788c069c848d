"""Which block a proof is about."""

from __future__ import annotations

from dataclasses import replace

import pytest

from seamtree.block.build import block_from_polygons
from seamtree.proofs.digest import digest
from tests.support.layouts import squares

RAFT = block_from_polygons(squares(2, 2))


def test_names_fabrics_and_labels_do_not_count():
    other = block_from_polygons(squares(2, 2), name="gull", fabrics=list("abca"), labels=list("wxyz"))
    assert digest(other) == digest(RAFT)
    assert digest(RAFT).startswith("sha256:")


@pytest.mark.parametrize(
    "changed",
    [
        replace(RAFT, tolerance=2 * RAFT.tolerance),
        replace(RAFT, junctions=((0.000002, 0.0), *RAFT.junctions[1:])),
        replace(RAFT, edges=(replace(RAFT.edges[0], curve=1), *RAFT.edges[1:])),
        replace(RAFT, lines=(replace(RAFT.lines[0], stop=RAFT.lines[0].first + 1), *RAFT.lines[1:])),
    ],
    ids=["tolerance", "place", "curve", "line"],
)
def test_all_that_a_check_looks_at_counts(changed):
    assert digest(changed) != digest(RAFT)

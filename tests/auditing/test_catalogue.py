"""Every drawing of the small catalogue gets the answer that stands in its table.

That log cabins, courthouse steps, squares in squares, flying geese and pennants are one unit, that a nine patch takes
three units and a kaleidoscope of eight wedges two, that a flower of seven hexagons has six set-in corners, an attic
window and a tumbling block one, and four planks round a square one partial seam, is common practice.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from seamtree.auditing import Settings, find_drawings
from seamtree.auditing.record import known_suffix
from seamtree.auditing.work import Job, audit_drawing, code_version

CATALOGUE = Path(__file__).parents[2] / "samples" / "catalogue"
ROWS = [
    [cell.strip().strip("`") for cell in line.strip().strip("|").split("|")]
    for line in (CATALOGUE / "README.md").read_text(encoding="utf-8").splitlines()
    if line.startswith("| `")
]
KINDS = ("set_in", "partial", "curved")


def test_the_table_lists_every_drawing():
    assert [row[0] for row in ROWS] == [Path(path).name for path in find_drawings([str(CATALOGUE)])]
    assert len(ROWS) >= 60


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row[0])
def test_a_drawing_gets_its_answer(row):
    name, _, verdict, units, corners, numbers = row
    job = Job((CATALOGUE / name).read_bytes(), known_suffix(name), Settings(proofread=True), code_version())
    record = audit_drawing(job)
    if record.state == "faulty":
        assert verdict == "faulty: " + ", ".join(dict.fromkeys(fault.code for fault in record.faults))
        return
    assert (record.state, record.verdict) == ("audited", verdict)
    blocks = record.blocks
    assert " + ".join(str(block.counts["units"]) for block in blocks) == units
    found = {kind: sum(block.counts[kind] for block in blocks) for kind in KINDS}
    assert ", ".join(f"{number} {kind.replace('_', '-')}" for kind, number in found.items() if number) == corners
    assert all(block.proven for block in blocks)
    proofs = [block.proof["proven"] for block in blocks if block.proof is not None]
    assert numbers == ("" if not proofs else "proven" if all(proofs) else "refuted")

"""What is new, gone, better or worse than in an earlier audit."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest

from seamtree.auditing import Record
from seamtree.auditing.earlier import Changed, compare, read_earlier
from seamtree.errors import Finding, OptionError
from tests.auditing.test_store import BLOCK, COUNTS

GAP = Finding("gap", "There is a gap.")


def record(name, **counts):
    return Record(name, "audited", blocks=(replace(BLOCK, warnings=(), proof=None, counts=COUNTS | counts),))


@pytest.mark.parametrize(
    ("before", "after", "change", "how"),
    [
        ({"units": 4}, {"units": 6}, "worse", "units 4 → 6"),
        ({"units": 6}, {"units": 4}, "better", "units 6 → 4"),
        ({"curved": 1, "units": 9}, {"curved": 2, "units": 1}, "worse", "hard corners 1 → 2"),
        ({"set_in": 1, "partial": 1}, {"partial": 2}, "better", "set-in corners 1 → 0"),
        ({"matched_points": 1}, {"matched_points": 3}, "worse", "matched points 1 → 3"),
    ],
)
def test_the_first_figure_that_differs_decides(before, after, change, how):
    found = compare([record("a.svg", **after)], {"a.svg": record("a.svg", **before)})
    assert found == (Changed("a.svg", change, how),)


def test_verdicts_weigh_most():
    faulty, torn = Record("a.svg", "faulty", (GAP,)), Record("a.svg", "faulty", (GAP, GAP))
    assert compare([faulty], {"a.svg": record("a.svg")}) == (Changed("a.svg", "worse", "single unit → faulty"),)
    assert compare([faulty], {"a.svg": torn}) == (Changed("a.svg", "better", "faults 2 → 1"),)
    refuted = replace(BLOCK, proof={"proven": False})
    after = Record("a.svg", "audited", blocks=(refuted,))
    assert compare([after], {"a.svg": record("a.svg")}) == ()  # nobody asked for numbers then
    before = Record("a.svg", "audited", blocks=(replace(BLOCK, proof={"proven": True}),))
    found = compare([after], {"a.svg": before})
    assert found == (Changed("a.svg", "worse", "refuted numbers 0 → 1"),)


def test_new_and_gone_drawings():
    found = compare(
        [record("new.svg"), record("same.svg")], {"gone.svg": record("g"), "same.svg": record("same.svg")}
    )
    assert found == (Changed("new.svg", "new"), Changed("gone.svg", "gone"))


def test_what_was_written_is_read_again(tmp_path):
    path = tmp_path / "earlier.jsonl"
    records = [record("a.svg", units=3), Record("gap\udcff.svg", "faulty", (GAP,), digest="ab")]
    path.write_text("".join(json.dumps(entry.to_json()) + "\n" for entry in records) + "\n", encoding="utf-8")
    assert read_earlier(path) == {entry.source: entry for entry in records}


@pytest.mark.parametrize(
    "text",
    ["{}", "3", "[]", "tide", '{"schema": "seamtree/1"}', "[" * 100_000,
     '{"schema": "seamtree-audit/1", "source": "a", "state": "adrift", "faults": [], "blocks": []}'],
    ids=range(7),
)  # fmt: skip
def test_what_is_no_result_is_refused_with_its_line(tmp_path, text):
    path = tmp_path / "earlier.jsonl"
    path.write_text("\n" + text + "\n", encoding="utf-8")
    with pytest.raises(OptionError, match="line 2"):
        read_earlier(path)


def test_a_file_that_cannot_be_read_is_told(tmp_path):
    (tmp_path / "bytes.jsonl").write_bytes(b"\xff\xfe")
    for name in ("none.jsonl", "bytes.jsonl", ""):
        with pytest.raises(OptionError, match="cannot be read"):
            read_earlier(tmp_path / name)

"""The store gives back what it was given, and nothing else."""

from __future__ import annotations

import sqlite3
from dataclasses import fields, replace

import pytest

from seamtree.audit import BlockRecord, Record
from seamtree.audit.model import STAND_IN
from seamtree.audit.store import KEPT_DAYS, Store, StoreError
from seamtree.errors import Finding
from seamtree.planning.model import Counts

COUNTS = dict.fromkeys((field.name for field in fields(Counts)), 0) | {"patches": 3, "units": 1}

BLOCK = BlockRecord(
    name=STAND_IN,
    width=6.0,
    height=4.25,
    verdict="single unit",
    proven=True,
    bound={"hard_corners": 0, "units": 1},
    counts=COUNTS,
    warnings=(Finding("healed", f"{STAND_IN}.svg has an end that was closed up.", (0.5, 1.0), ("A1",)),),
    proof={"name": STAND_IN, "proven": True, "refutations": []},
)
AUDITED = Record(STAND_IN, "audited", blocks=(BLOCK,))
FAULTY = Record(STAND_IN, "faulty", (Finding("gap", "There is a gap.", (1.0, 2.0)), Finding("empty", "Nothing.")))
DRAWN = Record(STAND_IN, "audited", blocks=(replace(BLOCK, picture="<svg/>"),))


@pytest.fixture
def path(tmp_path):
    return tmp_path / "deep" / "store.sqlite"


def test_what_is_kept_is_found_again(path):
    with Store(path) as store:
        assert store.find("a", pictures=False) is None
        store.keep("a", AUDITED, pictures=False)
        store.keep("b", FAULTY, pictures=False)
    with Store(path) as store:
        assert store.find("a", pictures=False) == AUDITED
        assert store.find("b", pictures=False) == FAULTY
        assert store.find("c", pictures=False) is None


def test_pictures_are_kept_beside_and_asked_for_apart(path):
    with Store(path) as store:
        store.keep("a", AUDITED, pictures=False)
        assert store.find("a", pictures=True) is None
        store.keep("a", DRAWN, pictures=True)
        assert store.find("a", pictures=True) == DRAWN
        assert store.find("a", pictures=False) == AUDITED
        store.keep("a", AUDITED, pictures=False)
        assert store.find("a", pictures=True) == DRAWN


def test_only_answers_are_kept(path):
    with Store(path) as store:
        for state in ("cut off", "crashed"):
            with pytest.raises(ValueError, match="no final answer"):
                store.keep("a", Record(STAND_IN, state, FAULTY.faults), pictures=False)


def test_every_record_is_there_for_others_at_once(path):
    with Store(path) as one, Store(path) as other:
        one.keep("a", AUDITED, pictures=False)
        assert other.find("a", pictures=False) == AUDITED
        other.keep("b", FAULTY, pictures=False)
        assert one.find("b", pictures=False) == FAULTY


def test_a_spoilt_record_is_as_none(path):
    with Store(path) as store:
        store.keep("a", DRAWN, pictures=True)
        for column, value in (("pictures", b"tar"), ("record", "{"), ("record", "{}"), ("record", "[]")):
            change = sqlite3.connect(path)
            change.execute(f"UPDATE records SET {column} = ?", (value,))  # noqa: S608
            change.commit()
            change.close()
            assert store.find("a", pictures=True) is None


def test_what_nobody_asks_for_goes_after_some_time(path):
    with Store(path) as store:
        for key in ("asked", "forgotten", "young"):
            store.keep(key, AUDITED, pictures=False)
    change = sqlite3.connect(path)
    change.execute(f"UPDATE records SET used = used - {KEPT_DAYS + 1} WHERE key != 'young'")  # noqa: S608
    change.commit()
    change.close()
    with Store(path) as store:
        assert store.find("asked", pictures=False) == AUDITED
    with Store(path) as store:
        assert [bool(store.find(key, pictures=False)) for key in ("asked", "forgotten", "young")] == [
            True,
            False,
            True,
        ]


def test_files_that_are_no_store_are_left_alone(tmp_path):
    text = tmp_path / "notes.txt"
    text.write_text("mend the net\n" * 100)
    other = tmp_path / "other.sqlite"
    base = sqlite3.connect(other)
    base.execute("CREATE TABLE tides (height REAL)")
    base.close()
    newer = tmp_path / "newer.sqlite"
    with Store(newer):
        pass
    base = sqlite3.connect(newer)
    base.execute("PRAGMA user_version = 99")
    base.close()
    for path in (text, other, newer, tmp_path, text / "below"):
        before = path.read_bytes() if path.is_file() else None
        with pytest.raises(StoreError, match=path.name):
            Store(path)
        assert (path.read_bytes() if path.is_file() else None) == before


def test_a_record_is_named_after_its_drawing():
    named = AUDITED.named("boats/big & small.svg")
    (block,) = named.blocks
    assert (named.source, block.name, block.proof["name"]) == ("boats/big & small.svg", *["big & small"] * 2)
    assert block.warnings[0].message == "The drawing has an end that was closed up."
    assert block.warnings[0].patches == ("A1",)


def test_a_record_without_an_answer_is_impossible():
    for arguments in (
        ("audited", ()),
        ("faulty", ()),
        ("faulty", FAULTY.faults, (BLOCK,)),
        ("audited", FAULTY.faults),
    ):
        with pytest.raises(ValueError, match="either blocks or faults"):
            Record("a.svg", *arguments)

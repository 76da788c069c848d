"""The store gives back what it was given, and nothing else."""

from __future__ import annotations

import hashlib
import random
import sqlite3
import subprocess
import sys
import tempfile
from dataclasses import fields, replace
from pathlib import Path

import pytest

from seamtree.auditing import BlockRecord, Record
from seamtree.auditing.record import STAND_IN
from seamtree.auditing.store import APPLICATION, KEPT_DAYS, LAYOUT, STALE_SECONDS, Store, StoreError
from seamtree.errors import Finding
from seamtree.planning.model import Counts
from tests.support.effort import times

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


def changed(path, statement, values=()):
    base = sqlite3.connect(path)
    base.execute(statement, values)
    base.commit()
    base.close()


@pytest.mark.parametrize(
    ("column", "value"),
    [
        ("pictures", b"tar"),
        ("pictures", None),
        ("record", b"{}"),
        ("record", "text"),
        ("checksum", b""),
        ("record", 3),
    ],
)
def test_a_spoilt_record_is_as_none_and_replaced(path, column, value):
    with Store(path) as store:
        store.keep("a", DRAWN, pictures=True)
        changed(path, f"UPDATE records SET {column} = ?", (value,))  # noqa: S608
        assert store.find("a", pictures=True) is None
        assert store.find("a", pictures=False) is None
        store.keep("a", AUDITED, pictures=False)
        assert store.find("a", pictures=False) == AUDITED
        assert store.find("a", pictures=True) is None
        assert store.notes == []


def test_swapped_records_are_not_believed(path):
    """Each row is whole, but belongs to another drawing."""
    records = {f"{k:02}": replace(AUDITED, blocks=(replace(BLOCK, width=k + 1.0),)) for k in range(60)}
    with Store(path) as store:
        for key, record in records.items():
            store.keep(key, record, pictures=False)
        for column in ("record, pictures, checksum", "record"):
            changed(path, "CREATE TABLE IF NOT EXISTS other AS SELECT * FROM records")
            changed(
                path,
                f"UPDATE records SET ({column}) = (SELECT {column} FROM other "  # noqa: S608
                "WHERE CAST(other.key AS INTEGER) = (CAST(records.key AS INTEGER) + 1) % 60)",
            )
            assert [store.find(key, pictures=False) for key in records] == [None] * 60
            for key, record in records.items():
                store.keep(key, record, pictures=False)
            assert [store.find(key, pictures=False) for key in records] == [*records.values()]


@pytest.fixture
def quick_path(tmp_path):
    """A folder in memory where there is one: a thousand files are not worth waiting for the disk."""
    memory = Path("/dev/shm")  # noqa: S108
    with tempfile.TemporaryDirectory(dir=memory if memory.is_dir() else tmp_path) as folder:
        yield Path(folder)


def test_no_flipped_bit_makes_a_wrong_record(quick_path):
    """Stores, each with one bit turned: every record is right or not there, and can be kept again."""
    whole = quick_path / "whole.sqlite"
    records = {
        hashlib.sha256(bytes([k])).hexdigest(): replace(DRAWN, blocks=(replace(DRAWN.blocks[0], width=k + 1.0),))
        for k in range(8)
    }
    with Store(whole) as store:
        for key, record in records.items():
            store.keep(key, record, pictures=True)
    content = bytearray(whole.read_bytes())
    used = [at for at, byte in enumerate(content) if byte]  # turned zeros of free space change nothing; head: 100
    rng = random.Random(20)
    lost = aside = refused = 0
    for k in range(times(250, 1000)):
        at, bit = (rng.choice(used) if k % 8 else rng.randrange(100)), 1 << rng.randrange(8)
        content[at] ^= bit
        path = quick_path / f"{k}.sqlite"
        path.write_bytes(content)
        content[at] ^= bit
        try:
            with Store(path, ours=bool(k % 2)) as store:
                found = {key: store.find(key, pictures=True) for key in records}
                for key, record in found.items():
                    assert record in (None, records[key])
                    if record is None:
                        store.keep(key, records[key], pictures=True)
                assert all(store.find(key, pictures=True) in (None, record) for key, record in records.items())
                aside += bool(store.notes)
            lost += None in found.values()
        except StoreError as error:
            refused += k % 2 == 0 and str(path) in str(error)  # a file that somebody named is left alone
        for left in quick_path.glob(f"{k}.sqlite*"):
            left.unlink()
    assert lost > times(25, 100)  # the bits that were turned mattered
    assert aside > times(0, 3)
    assert refused > 0


@pytest.mark.parametrize("wrong", ["version", "other program", "no database"])
def test_a_file_in_the_cache_folder_that_is_no_store_is_set_aside(path, wrong):
    path.parent.mkdir()
    if wrong == "no database":
        path.write_text("mend the net\n" * 100)
    else:
        changed(path, "CREATE TABLE tides (height REAL)")
    if wrong == "version":
        changed(path, f"PRAGMA application_id = {APPLICATION}")
        changed(path, f"PRAGMA user_version = {LAYOUT - 1}")
    before = path.read_bytes()
    with Store(path, ours=True) as store:
        assert len(store.notes) == 1
        assert f"{path.name}.aside-1" in store.notes[0]
        store.keep("a", AUDITED, pictures=False)
    assert path.with_name(f"{path.name}.aside-1").read_bytes() == before
    with Store(path, ours=True) as store:
        assert store.notes == []
        assert store.find("a", pictures=False) == AUDITED


def test_a_file_that_is_spoilt_in_the_middle_is_set_aside_and_told(path):
    with Store(path) as store:
        for k in range(50):
            store.keep(f"{k}", DRAWN, pictures=True)
    content = path.read_bytes()
    path.write_bytes(content[:4096] + b"tar " * ((len(content) - 4096) // 4))
    with Store(path) as store:
        assert [store.find(f"{k}", pictures=True) for k in range(50)] == [None] * 50
        assert "was spoilt" in store.notes[0]
        store.keep("a", AUDITED, pictures=False)
        assert store.find("a", pictures=False) == AUDITED


def test_a_claim_holds_until_its_audit_is_done_or_gone(path, monkeypatch):
    with Store(path) as one, Store(path) as other:
        assert one.claim("a")
        assert one.claim("a")
        assert not other.claim("a")
        assert other.claim("b")
        one.release("a")
        assert other.claim("a")
        other.keep("a", AUDITED, pictures=False)
        assert one.claim("a")
    with Store(path) as one:
        assert one.claim("b")  # claims of an audit that has ended are dropped


def test_claims_of_an_audit_that_was_killed_are_void(path):
    code = (
        f"from pathlib import Path; from seamtree.auditing import Store; import os; s = Store(Path({str(path)!r})); "
    )
    code += "assert s.claim('a'); print(os.getpid(), flush=True); input()"
    process = subprocess.Popen([sys.executable, "-c", code], stdin=subprocess.PIPE, stdout=subprocess.PIPE)
    process.stdout.readline()
    with Store(path) as store:
        assert not store.claim("a")
        process.kill()
        process.communicate(timeout=30)
        assert store.claim("a")


def test_an_audit_of_another_machine_that_shows_no_life_is_gone(path, monkeypatch):
    now = [1000.0]
    monkeypatch.setattr("seamtree.auditing.store.time.monotonic", lambda: now[0])
    with monkeypatch.context() as patch:
        patch.setattr("socket.gethostname", lambda: "lighthouse")
        far = Store(path)
    assert far.claim("a")
    with Store(path) as store:
        assert not store.claim("a")
        now[0] += STALE_SECONDS - 1
        far.beat()
        assert not store.claim("a")
        now[0] += STALE_SECONDS - 1
        assert not store.claim("a")
        now[0] += 2
        assert store.claim("a")
    far.close()


def test_what_nobody_asks_for_goes_after_some_time(path):
    with Store(path) as store:
        for key in ("asked", "forgotten", "young"):
            store.keep(key, AUDITED, pictures=False)
    changed(path, f"UPDATE records SET used = used - {KEPT_DAYS + 1} WHERE key != 'young'")  # noqa: S608
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

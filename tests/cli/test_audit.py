"""The command `seamtree audit`, from the arguments to the exit status."""

from __future__ import annotations

import csv
import io
import json
import os
import random
import signal
import sqlite3
import subprocess
import sys
import time
from collections import Counter
from dataclasses import replace
from pathlib import Path

import psutil
import pytest
from benchmarks.families import honeycomb

from seamtree.auditing import Store
from seamtree.auditing.record import Record
from seamtree.auditing.store import StoreError
from seamtree.errors import Finding
from tests.auditing.helps import kept, wait_for
from tests.auditing.test_store import BLOCK
from tests.cli.running import run
from tests.support.effort import times
from tests.support.wkt import FOUR_PATCH, GAP, ONE_UNIT, RING, box

posix = pytest.mark.skipif(os.name != "posix", reason="signals and terminals of POSIX")


@pytest.fixture(autouse=True)
def cache(tmp_path, monkeypatch):
    """Keep finished drawings in a folder of the test."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    return tmp_path / "cache" / "seamtree" / "audit.sqlite"


@pytest.fixture
def folder(tmp_path):
    """Make a folder of drawings and return its path."""

    def make(**drawings):
        home = tmp_path / "catalogue"
        home.mkdir(exist_ok=True)
        for name, text in drawings.items():
            (home / f"{name}.wkt").write_text(text, encoding="utf-8")
        return str(home)

    return make


def audit(*arguments, **more):
    more.setdefault("env", {"COLUMNS": "300"})
    return run("audit", "--workers", "1", *arguments, **more)


def start(*arguments, **more):
    more = {"stdout": subprocess.PIPE, "stderr": subprocess.PIPE, **more}
    return subprocess.Popen(
        [sys.executable, "-m", "seamtree_cli.main", "audit", *arguments], text=True, encoding="utf-8", **more
    )


def test_summary_and_failures(folder, cache):
    home = folder(a=ONE_UNIT, b=FOUR_PATCH, c=RING, d=GAP)
    told = audit(home)
    assert told.exit_code == 2
    assert told.stderr == ""
    lines = [line.rstrip() for line in told.stdout.splitlines()]
    assert lines[0] == "4 drawings, 3 blocks"
    assert [line.split() for line in lines[1:5]] == [
        ["single", "unit", "1"], ["joined", "units", "1"], ["hard", "corners", "1"], ["faulty", "1"],
    ]  # fmt: skip
    assert lines[5] == "2 failures"
    table = told.stdout.split("2 failures", 1)[1]
    assert "1 hard corner (1 partial)" in table
    assert "There is a gap" in table
    assert "a.wkt" not in table
    assert kept(cache) == 4


@pytest.mark.parametrize(
    ("drawings", "rules", "status"),
    [
        ({"a": ONE_UNIT, "b": FOUR_PATCH}, (), 0),
        ({"a": ONE_UNIT, "b": RING}, (), 1),
        ({"a": ONE_UNIT, "b": RING}, ("faulty",), 0),
        ({"a": ONE_UNIT, "b": RING}, ("unproven",), 0),
        ({"a": ONE_UNIT, "b": FOUR_PATCH}, ("units>1",), 1),
        ({"a": ONE_UNIT, "b": FOUR_PATCH}, ("unproven", "patches>=4,units>9"), 1),
        ({"a": ONE_UNIT, "b": FOUR_PATCH}, ("units>2",), 0),
        ({"a": ONE_UNIT, "b": GAP}, ("faulty",), 2),
        ({"a": RING, "b": GAP}, ("units>9",), 2),
    ],
)
def test_exit_status(folder, drawings, rules, status):
    told = audit(folder(**drawings), *[word for rule in rules for word in ("--fail-on", rule)])
    assert told.exit_code == status, told.output
    assert ("failure" in told.stdout) == (status > 0)


@pytest.mark.parametrize(
    "arguments",
    [
        ("--fail-on", "tides>3"), ("--fail-on", "level>3"), ("--fail-on", "refuted"), ("--width", "-1"),
        ("--tolerance", "0"), ("--time-limit", "nan"), ("--cut-off", "0"), ("--memory", "1"), ("--workers", "0"),
        ("--cluster", "tcp://127.0.0.1:1"), ("--csv", "-", "--json-lines", "-"), ("--csv", "results.txt"),
        ("--csv", "no/such/folder/a.csv"), ("--report", "page.pdf"), ("--store", "/dev/null/store"),
    ],
)  # fmt: skip
def test_senseless_options_are_refused_before_any_work(folder, cache, arguments):
    told = audit(folder(a=ONE_UNIT), *arguments)
    assert told.exit_code == 2
    assert told.stdout == ""
    assert "Traceback" not in told.stderr
    assert "internal error" not in told.stderr
    assert kept(cache) == 0


def test_a_folder_without_drawings_is_a_slip(tmp_path):
    told = audit(str(tmp_path))
    assert told.exit_code == 2
    assert "no drawings below" in told.stderr


def test_tables_for_programs(folder, tmp_path):
    home = folder(a=ONE_UNIT, b=RING, d=GAP)
    table, lines = tmp_path / "results.csv", tmp_path / "results.jsonl"
    assert audit(home, "--csv", str(table), "--json-lines", str(lines)).exit_code == 2
    rows = list(csv.DictReader(io.StringIO(table.read_text(encoding="utf-8"))))
    assert [(row["block"], row["verdict"], row["units"], row["hard_corners"], row["numbers"]) for row in rows] == [
        ("a", "single unit", "1", "0", ""), ("b", "hard corners", "2", "1", ""), ("", "faulty", "", "", ""),
    ]  # fmt: skip
    objects = [json.loads(line) for line in lines.read_text(encoding="utf-8").splitlines()]
    assert [Path(entry["source"]).name for entry in objects] == ["a.wkt", "b.wkt", "d.wkt"]
    assert [entry["state"] for entry in objects] == ["audited", "audited", "faulty"]
    assert objects[2]["faults"][0]["code"] == "gap"
    assert objects[1]["blocks"][0]["counts"]["partial"] == 1
    assert sorted(path.name for path in tmp_path.iterdir()) == ["cache", "catalogue", "results.csv", "results.jsonl"]


def test_on_standard_output_there_is_data_only(folder):
    home = folder(a=ONE_UNIT, d=GAP)
    told = audit(home, "--json-lines", "-")
    assert [json.loads(line)["state"] for line in told.stdout.splitlines()] == ["audited", "faulty"]
    assert "2 drawings" in told.stderr
    told = audit(home, "--csv", "-", "--proofread")
    assert [row["numbers"] for row in csv.DictReader(io.StringIO(told.stdout))] == ["no numbers", ""]


def test_the_second_run_says_the_same(folder):
    home = folder(a=ONE_UNIT, b=FOUR_PATCH, c=RING, d=GAP)
    assert audit(home, "--json-lines", "-").stdout == audit(home, "--json-lines", "-").stdout


@pytest.mark.parametrize("workers", ["1", "3"])
def test_any_number_of_processes_says_the_same(folder, tmp_path, workers):
    home = folder(a=ONE_UNIT, b=FOUR_PATCH, c=RING, d=GAP)
    first = audit(home, "--json-lines", "-").stdout
    again = audit(home, "--json-lines", "-", "--workers", workers, "--store", str(tmp_path / "another.sqlite")).stdout
    assert first == again


def test_printed_numbers(folder):
    home = str(Path(__file__).parents[2] / "samples" / "mussel.svg")
    told = audit(home, "--proofread")
    assert told.exit_code == 0
    assert told.stdout.splitlines()[2].split() == ["numbers", "proven", "1"]
    told = audit(home, folder(a=ONE_UNIT), "--proofread", "--fail-on", "refuted")
    assert told.exit_code == 0
    assert "no numbers" in told.stdout


def test_levels(folder):
    home = folder(a=ONE_UNIT, b=RING)
    told = audit(home, "--rate", "--fail-on", "level>=2", "--csv", "-")
    levels = [int(row["level"]) for row in csv.DictReader(io.StringIO(told.stdout))]
    assert levels[0] < levels[1]
    assert told.exit_code == 1
    assert f"level {levels[0]}, beginner" in told.stderr
    assert f"level>=2: {levels[1]}" in told.stderr


def test_a_drawing_that_takes_too_long_or_too_much_is_cut_off_and_not_kept(folder, cache, tmp_path):
    slow = "\n".join(patch.wkt for patch in honeycomb(14, 14))
    large = tmp_path / "large.svg"
    points = " ".join(f"{k % 997},{k % 991}" for k in range(400_000))
    large.write_text(f'<svg xmlns="http://www.w3.org/2000/svg"><polyline stroke="red" points="{points}"/></svg>')
    for arguments, code in (((folder(a=ONE_UNIT, slow=slow), "--cut-off", "2"), "time"),
                            ((folder(a=ONE_UNIT) + "/a.wkt", str(large), "--memory", "64"), "memory")):  # fmt: skip
        told = audit(*arguments, "--json-lines", "-")
        assert told.exit_code == 2
        fine, cut = map(json.loads, told.stdout.splitlines())
        assert fine["state"] == "audited"
        assert (cut["state"], cut["faults"][0]["code"]) == ("cut off", code)
        assert kept(cache) == 1


@posix
def test_killed_at_any_moment_it_goes_on_where_it_stopped(folder, cache):
    """What is kept when the process is killed stays as it is: a mark that is put into it comes out at the end."""
    patches = [2 + k % 25 for k in range(150)]
    rows = {f"d{k:03}": [box(x, 0, x + 1, 6 + k) for x in range(count)] for k, count in enumerate(patches)}
    home = folder(**{name: "\n".join(row) for name, row in rows.items()})
    process = start(home, "--workers", "2")
    wait_for(lambda: kept(cache) >= 8, process)
    process.kill()
    process.communicate(timeout=60)
    before = kept(cache)
    assert 8 <= before < 150
    base = sqlite3.connect(cache)
    assert base.execute("PRAGMA integrity_check").fetchone() == ("ok",)
    keys = [key for (key,) in base.execute("SELECT key FROM records")]
    base.close()
    with Store(cache) as store:
        for key in keys:
            record = store.find(key, pictures=False)
            marked = tuple(replace(block, proven=False) for block in record.blocks)
            store.keep(key, replace(record, blocks=marked), pictures=False)
    told = audit(home, "--json-lines", "-")
    assert told.exit_code == 0, told.output
    records = [json.loads(line) for line in told.stdout.splitlines()]
    assert [record["blocks"][0]["counts"]["patches"] for record in records] == patches
    assert sum(not record["blocks"][0]["proven"] for record in records) == before
    assert kept(cache) == 150


@posix
def test_killed_at_random_moments_it_says_what_it_says_undisturbed(folder, tmp_path):
    """Some times the parent, some times one of its children; the results are the same byte for byte."""
    rows = {f"d{k:03}": [box(x, 0, x + 1, 6 + k) for x in range(2 + k % 25)] for k in range(150)}
    home = folder(**{name: "\n".join(row) for name, row in rows.items()})
    undisturbed = audit(home, "--json-lines", "-", "--store", tmp_path / "other.sqlite").stdout
    rng = random.Random(20)
    store = tmp_path / "killed.sqlite"
    arguments = (home, "--workers", "2", "--json-lines", "-", "--store", str(store))
    for least in sorted(rng.sample(range(40), times(3, 7))):
        process = start(*arguments)
        wait_for(lambda least=least: kept(store) >= least, process)
        time.sleep(rng.uniform(0, 0.1))
        process.kill()
        process.communicate(timeout=60)
    process = start(*arguments)
    killed = 0
    for least in sorted(rng.sample(range(kept(store), 146, 12), times(3, 7))):
        wait_for(lambda least=least: kept(store) >= least, process)
        children = psutil.Process(process.pid).children()
        if children:
            rng.choice(children).kill()
            killed += 1
    out, errors = process.communicate(timeout=120)
    assert killed >= times(2, 5)
    if (process.returncode, out) != (0, undisturbed):  # a call that was made once more was killed again, and is told
        assert process.returncode == 2, errors
        assert " crashed" in errors
        process = start(*arguments, "--retry")
        out, errors = process.communicate(timeout=120)
    assert (process.returncode, out) == (0, undisturbed), errors


@posix
def test_two_audits_on_one_store_share_the_work(folder, tmp_path):
    """Each drawing is worked on once, whichever of the two does it."""
    rows = {f"d{k:03}": [box(x, 0, x + 1, 6 + k) for x in range(2 + k % 25)] for k in range(150)}
    home = folder(**{name: "\n".join(row) for name, row in rows.items()})
    store = tmp_path / "shared.sqlite"
    with Store(store):
        pass
    base = sqlite3.connect(store)
    base.execute("CREATE TABLE written (key TEXT)")
    base.execute("CREATE TRIGGER note AFTER INSERT ON records BEGIN INSERT INTO written VALUES (new.key); END")
    base.execute("CREATE TABLE claimed (audit TEXT)")
    base.execute("CREATE TRIGGER who AFTER INSERT ON claims BEGIN INSERT INTO claimed VALUES (new.audit); END")
    base.commit()
    both = [start(home, "--workers", "1", "--json-lines", "-", "--store", str(store)) for _ in range(2)]
    (first, _), (second, _) = (process.communicate(timeout=120) for process in both)
    assert [process.returncode for process in both] == [0, 0]
    assert first == second
    assert len(first.splitlines()) == 150
    written = [key for (key,) in base.execute("SELECT key FROM written")]
    assert len(written) == len(set(written)) == 150
    shares = [count for (count,) in base.execute("SELECT count(*) FROM claimed GROUP BY audit")]
    assert len(shares) == 2
    assert min(shares) >= 20
    assert base.execute("SELECT count(*) FROM claims").fetchone() == (0,)
    base.close()


@posix
def test_interrupting_is_quiet_and_keeps_what_is_done(folder, cache, tmp_path):
    home = folder(a=ONE_UNIT, b="\n".join(patch.wkt for patch in honeycomb(14, 14)), c=FOUR_PATCH)
    process = start(
        home, "--workers", "2", "--csv", str(tmp_path / "a.csv"), "--report", str(tmp_path / "a.html"),
        start_new_session=True,
    )  # fmt: skip
    wait_for(lambda: kept(cache) == 2, process)
    os.killpg(process.pid, signal.SIGINT)
    out, errors = process.communicate(timeout=60)
    assert (process.returncode, out, errors) == (130, "", "")
    assert kept(cache) == 2
    assert sorted(path.name for path in tmp_path.iterdir()) == ["cache", "catalogue"]


@posix
def test_a_bar_on_a_terminal(folder, monkeypatch):
    pty = pytest.importorskip("pty")
    keeper, terminal = pty.openpty()
    process = start(
        folder(a=ONE_UNIT, d=GAP),
        "--workers",
        "1",
        stderr=terminal,
        env={**os.environ, "TERM": "xterm", "COLUMNS": "90"},
    )
    os.close(terminal)
    seen = b""
    try:
        while piece := os.read(keeper, 4096):
            seen += piece
    except OSError:  # how Linux says that the other end is closed
        pass
    os.close(keeper)
    out, _ = process.communicate(timeout=60)
    assert out.startswith("2 drawings")
    assert "2/2" in seen.decode()
    assert "1 failed" in seen.decode()


def test_a_page(folder, tmp_path):
    page = tmp_path / "page.html"
    assert audit(folder(a=ONE_UNIT, d=GAP), "--report", str(page)).exit_code == 2
    text = page.read_text(encoding="utf-8")
    assert text.startswith("<!DOCTYPE html>")
    assert text.count("<tr data-verdict") == 2


# -- edges ----------------------------------------------------------------------------------------------------


@posix
def test_file_names_that_are_no_utf_8(folder, tmp_path):
    home = folder(a=ONE_UNIT)
    for name, text in ((b"ring\xff.wkt", RING), (b"gap\xfe.wkt", GAP)):
        with open(os.path.join(os.fsencode(home), name), "w", encoding="utf-8") as file:  # noqa: PTH118, PTH123
            file.write(text)
    paths = [tmp_path / f"results.{kind}" for kind in ("csv", "jsonl", "html")]
    options = ("--csv", "--json-lines", "--report")
    for _ in range(2):  # the second time from the store
        told = audit(home, *[word for pair in zip(options, map(str, paths), strict=True) for word in pair])
        assert told.exit_code == 2
        assert "internal error" not in told.output
        assert told.stderr == ""
        assert "ring\\xff.wkt" in told.stdout
        table, lines, page = (path.read_text(encoding="utf-8") for path in paths)
        assert [row["block"] for row in csv.DictReader(io.StringIO(table))] == ["a", "", "ring\\xff"]
        assert "ring\\xff.wkt" in page
        entries = [json.loads(line) for line in lines.splitlines()]
        assert [Record.from_json(entry).source for entry in entries] == [
            f"{home}/{name}" for name in ("a.wkt", "gap\udcfe.wkt", "ring\udcff.wkt")
        ]
    assert "0 new" in audit(home, "--since", str(paths[1])).stdout
    assert "3 as before" in audit(home, "--since", str(paths[1])).stdout


def test_each_result_is_written_even_if_another_fails(folder, tmp_path, monkeypatch):
    table, lines, page = tmp_path / "a.csv", tmp_path / "a.jsonl", tmp_path / "a.html"
    whole = Path.write_text

    def fail(self, *arguments, **more):
        if self.suffix == ".jsonl":
            raise OSError(28, "No space left on device")
        return whole(self, *arguments, **more)

    home = folder(a=ONE_UNIT)
    monkeypatch.setattr(Path, "write_text", fail)
    told = audit(home, "--csv", str(table), "--json-lines", str(lines), "--report", str(page))
    assert told.exit_code == 2
    assert (table.exists(), lines.exists(), page.exists()) == (True, False, True)
    assert "a.jsonl: cannot be written: No space left on device" in told.stderr
    assert "1 drawing, 1 block" in told.stdout


def test_a_store_that_fails_on_the_way_costs_no_result(folder, monkeypatch):
    def fail(*_, **__):
        raise StoreError("the store cannot be written: database or disk is full")

    monkeypatch.setattr(Store, "keep", fail)
    told = audit(folder(a=ONE_UNIT, b=RING), "--json-lines", "-")
    assert told.exit_code == 2
    assert [json.loads(line)["state"] for line in told.stdout.splitlines()] == ["audited"] * 2
    assert "disk is full; what came after that is in the results, but not kept" in told.stderr


@posix
@pytest.mark.parametrize("arguments", [(), ("--json-lines", "-")])
def test_standard_output_that_is_closed_or_full_is_told(folder, tmp_path, arguments):
    page = tmp_path / "a.html"
    command = [
        sys.executable,
        "-m",
        "seamtree_cli.main",
        "audit",
        folder(a=ONE_UNIT),
        "--report",
        str(page),
        *arguments,
    ]
    for how in (">&-", "> /dev/full") if Path("/dev/full").exists() else (">&-",):
        told = subprocess.run(
            ["sh", "-c", f'exec "$@" {how}', "sh", *command, *arguments],
            stderr=subprocess.PIPE,
            text=True,
            check=False,
        )
        assert told.returncode == 2
        assert "standard output cannot be written" in told.stderr
        assert "Traceback" not in told.stderr
        assert "internal error" not in told.stderr
        assert "Exception ignored" not in told.stderr
        assert page.read_text(encoding="utf-8").startswith("<!DOCTYPE html>")
        page.unlink()


@pytest.mark.parametrize("width", ["1", "20", "40"])
def test_on_a_narrow_terminal_words_stay_whole(folder, width):
    told = audit(folder(a=ONE_UNIT, b=RING, d=GAP), env={"COLUMNS": width})
    assert told.exit_code == 2
    assert max(map(len, told.stdout.splitlines())) <= int(width)
    if width != "1":
        for words in ("hard corners", "faulty", "3 drawings", "2 failures"):
            assert words in told.stdout
        assert "┃" not in told.stdout


def test_formulas_in_cells_are_inert(tmp_path, monkeypatch):
    (tmp_path / "deep").mkdir()
    monkeypatch.chdir(tmp_path / "deep")
    for name in ("=1+2.wkt", "+tide.wkt", "@quay.wkt"):
        Path(name).write_text(ONE_UNIT, encoding="utf-8")
    told = audit("=1+2.wkt", "+tide.wkt", "@quay.wkt", "--csv", "-")
    rows = list(csv.DictReader(io.StringIO(told.stdout)))
    assert [row["source"] for row in rows] == ["'=1+2.wkt", "'+tide.wkt", "'@quay.wkt"]
    assert [row["block"] for row in rows] == ["'=1+2", "'+tide", "'@quay"]
    assert [row["patches"] for row in rows] == ["3"] * 3


# -- nothing passed over --------------------------------------------------------------------------------------


def test_all_that_is_found_is_accounted_for(folder, tmp_path):
    home = Path(folder(a=ONE_UNIT, d=GAP))
    (home / "notes.txt").write_text("mend the net")
    (home / ".hidden.wkt").write_text(ONE_UNIT)
    (home / "more").mkdir()
    (home / "more" / "e.wkt").write_text(RING)
    (tmp_path / "elsewhere").mkdir()
    (tmp_path / "elsewhere" / "f.wkt").write_text(FOUR_PATCH)
    (home / "link").symlink_to(tmp_path / "elsewhere")
    (home / "loop").symlink_to(home)
    table, lines = tmp_path / "table.csv", tmp_path / "lines.jsonl"
    told = audit(home, "--csv", str(table), "--json-lines", str(lines))
    skipped = {
        str(home / name): reason
        for name, reason in {
            "link": "linked folder",
            "loop": "linked folder",
            ".hidden.wkt": "hidden",
            "notes.txt": "other suffix",
        }.items()
    }
    rows = list(csv.DictReader(io.StringIO(table.read_text(encoding="utf-8"))))
    assert Counter(row["verdict"] for row in rows)["skipped"] == 4
    assert {row["source"]: row["skipped"] for row in rows if row["skipped"]} == skipped
    found = [json.loads(line) for line in lines.read_text(encoding="utf-8").splitlines()]
    assert [one["state"] for one in found] == ["audited", "faulty", "audited", *["skipped"] * 4]
    assert {one["source"]: one["reason"] for one in found if "reason" in one} == skipped
    assert "4 skipped" in audit(home, "--since", str(lines)).stdout
    assert "0 worse, 0 better, 0 new, 0 gone, 3 as before" in audit(home, "--since", str(lines)).stdout
    assert told.stdout.splitlines()[-1] == (
        "7 found: 2 audited, 1 faulty, 4 skipped (2 linked folder, 1 hidden, 1 other suffix)"
    )
    assert f"  {home / 'link'}" in told.stdout
    page = tmp_path / "page.html"
    told = audit(home, "--follow-links", "--report", str(page))
    assert told.stdout.splitlines()[-1] == (
        "7 found: 3 audited, 1 faulty, 3 skipped (1 loop of links, 1 hidden, 1 other suffix)"
    )
    for name in ("notes.txt", ".hidden.wkt", "loop"):
        assert f"<li>{home / name}</li>" in page.read_text(encoding="utf-8")


def test_a_folder_that_cannot_be_read_is_told(folder, monkeypatch):
    home = Path(folder(a=ONE_UNIT))
    (home / "locked").mkdir()
    scan = os.scandir

    def refuse(path):
        if Path(path).name == "locked":
            raise PermissionError(13, "Permission denied")
        return scan(path)

    monkeypatch.setattr("seamtree.auditing.places.os.scandir", refuse)
    told = audit(home)
    assert told.exit_code == 2
    assert "skipped, no permission: 1" in told.stdout
    assert "2 found: 1 audited, 0 faulty, 1 skipped (1 no permission)" in told.stdout


# -- what an auditor asks next --------------------------------------------------------------------------------


def test_what_has_changed_since_an_earlier_result(folder, tmp_path):
    earlier = tmp_path / "earlier.jsonl"
    home = folder(a=ONE_UNIT, b=FOUR_PATCH, c=RING, d=GAP, e=ONE_UNIT)
    audit(home, "--json-lines", str(earlier))
    folder(b=RING, c=FOUR_PATCH, d=ONE_UNIT, f=ONE_UNIT)
    (Path(home) / "a.wkt").unlink()
    told = audit(home, "--since", str(earlier))
    assert "since the earlier result: 1 worse, 2 better, 1 new, 1 gone, 1 as before" in told.stdout
    for line in (
        f"  worse: {home}/b.wkt, joined units → hard corners",
        f"  better: {home}/c.wkt, hard corners → joined units",
        f"  better: {home}/d.wkt, faulty → single unit",
        f"  new: {home}/f.wkt",
        f"  gone: {home}/a.wkt",
    ):
        assert line in told.stdout.splitlines()


def test_known_exceptions_are_listed_and_count_no_more(folder, tmp_path):
    known = tmp_path / "known.toml"
    known.write_text(
        '[[accept]]\ndrawing = "c.wkt"\nfailure = "hard-corners"\nreason = "set in by hand"\n'
        '[[accept]]\ndrawing = "catalogue/d*.wkt"\nfailure = "gap"\nreason = "old print"\n'
        '[[accept]]\ndrawing = "elsewhere.wkt"\nreason = "gone long ago"\n',
        encoding="utf-8",
    )
    home = folder(a=ONE_UNIT, c=RING, d=GAP)
    page = tmp_path / "page.html"
    told = audit(home, "--accept", str(known), "--csv", "-", "--report", str(page))
    assert told.exit_code == 0, told.output
    assert "failure" not in told.stderr.replace("0 failures", "")
    assert f"  {home}/c.wkt: set in by hand" in told.stderr
    assert "exceptions that nothing needs: 1" in told.stderr
    reasons = [row["accepted"] for row in csv.DictReader(io.StringIO(told.stdout))]
    assert reasons == ["", "set in by hand", "old print"]
    assert page.read_text(encoding="utf-8").count('data-fails="yes"') == 0
    assert "Accepted: old print" in page.read_text(encoding="utf-8")
    known.write_text('[[accept]]\ndrawing = "c.wkt"\nfailure = "unproven"\nreason = "no"\n', encoding="utf-8")
    assert audit(home, "--accept", str(known)).exit_code == 2


def test_equal_drawings_and_totals_by_folder(folder):
    home = Path(folder(a=ONE_UNIT, b=ONE_UNIT, c=RING))
    (home / "more").mkdir()
    turned = "\n".join(box(y, x, y2, x2) for x, y, x2, y2 in ((0, 0, 1, 6), (1, 0, 3, 6)))
    straight = "\n".join(box(x, y, x2, y2) for x, y, x2, y2 in ((0, 0, 1, 6), (1, 0, 3, 6)))
    for name, text in (("one", straight), ("two", turned)):
        (home / "more" / f"{name}.wkt").write_text(text)
    told = audit(home).stdout.splitlines()
    assert f"  {home}/a.wkt = {home}/b.wkt" in told
    assert f"  {home}/more/one.wkt, {home}/more/two.wkt turned" in told
    assert f"  {home}: 3 drawings (2 single unit, 1 hard corners), 1 failure" in told
    assert f"  {home}/more: 2 drawings (2 single unit), no failures" in told


def test_a_second_try_has_twice_the_time(folder, monkeypatch):
    tried = []

    def work(self, sources, store, limits, *, workers):
        tried.append(([Path(source).name for source in sources], limits.seconds, limits.megabytes, workers))
        for source in sources:
            cut = Record(source, "cut off", (Finding("time", "cut off"),))
            self.records[source] = done if limits.seconds > 3 else (done if source.endswith("a.wkt") else cut)

    monkeypatch.setattr("seamtree_cli.audit._Work._audit", work)
    home = folder(a=ONE_UNIT, b=RING)
    done = Record("", "audited", blocks=(replace(BLOCK, warnings=(), proof=None),))
    arguments = (home, "--cut-off", "2", "--memory", "500")
    assert audit(*arguments).exit_code == 2
    assert tried == [(["a.wkt", "b.wkt"], 2, 500, 1)]
    tried.clear()
    assert audit(*arguments, "--retry").exit_code == 0
    assert tried == [(["a.wkt", "b.wkt"], 2, 500, 1), (["b.wkt"], 4, 1000, 1)]


@pytest.mark.skipif(sys.platform != "linux", reason="memory is limited on Linux only")
def test_what_needs_more_memory_is_answered_by_a_second_try(tmp_path):
    points = " ".join(f"{k % 997},{k % 991}" for k in range(50_000))
    path = tmp_path / "net.svg"
    path.write_text(f'<svg xmlns="http://www.w3.org/2000/svg"><polyline stroke="red" points="{points}"/></svg>')
    for more, states in (((), {"cut off", "crashed"}), (("--retry",), {"faulty"})):
        told = audit(str(path), "--memory", "64", "--json-lines", "-", *more)
        assert told.exit_code == 2
        (record,) = map(json.loads, told.stdout.splitlines())
        assert record["state"] in states
    assert [fault["code"] for fault in record["faults"]] == ["too-large"]

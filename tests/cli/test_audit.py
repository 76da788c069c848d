"""The command `seamtree audit`, from the arguments to the exit status."""

from __future__ import annotations

import csv
import io
import json
import os
import signal
import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest
from benchmarks.families import honeycomb

from tests.auditing.helps import kept, wait_for
from tests.cli.running import run
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
    for least in (1, 8):
        process = start(home, "--workers", "2")
        wait_for(lambda least=least: kept(cache) >= least, process)
        process.kill()
        process.communicate(timeout=60)
    before = kept(cache)
    assert 8 <= before < 150
    base = sqlite3.connect(cache)
    assert base.execute("PRAGMA integrity_check").fetchone() == ("ok",)
    base.execute("UPDATE records SET record = replace(record, '\"proven\":true', '\"proven\":false')")
    base.commit()
    base.close()
    told = audit(home, "--json-lines", "-")
    assert told.exit_code == 0, told.output
    records = [json.loads(line) for line in told.stdout.splitlines()]
    assert [record["blocks"][0]["counts"]["patches"] for record in records] == patches
    assert sum(not record["blocks"][0]["proven"] for record in records) == before
    assert kept(cache) == 150


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

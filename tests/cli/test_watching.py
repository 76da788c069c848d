"""Drawings that are answered again: who saves them when is staged here, so that nothing waits."""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from seamtree_cli import watching
from tests.cli.running import run
from tests.support.wkt import ONE_UNIT, RING

SAMPLES = Path(__file__).parents[2] / "samples"


@pytest.fixture
def staged(monkeypatch):
    """Let each of some actions be a save while a command waits; after the last one comes Ctrl-C."""

    def stage(*actions):
        def watch(files):
            for action in actions:
                before = {path: path.read_bytes() if path.exists() else None for path in files()}
                action()
                yield frozenset(
                    path for path in files() if before.get(path) != (path.read_bytes() if path.exists() else None)
                )
            raise KeyboardInterrupt

        monkeypatch.setattr(watching, "watch_files", watch)

    return stage


def test_what_changed_comes_first_then_the_rest(drawing, staged):
    path = drawing(RING)
    staged(lambda: drawing(ONE_UNIT))
    done = run("check", path, "--watch")
    assert done.exit_code == 130
    first, again = done.stdout.split("\n\n", 1)
    assert first.startswith("drawing, 6 × 6 in\n1 hard corner")
    lines = again.splitlines()
    assert lines[0].startswith(f"{path}: ")
    assert "1 unit, were 2; hard corner at " in lines[0]
    assert " gone; 3 patches, were 5" in lines[0]
    assert lines[1:3] == ["", "drawing, 6 × 6 in"]
    assert lines[3].startswith("one unit: straight seams")
    assert done.stderr == f"seamtree: watching {path}; Ctrl-C ends\n"


def test_nothing_changed_is_one_line(drawing, staged):
    path = drawing(ONE_UNIT)
    staged(lambda: drawing(ONE_UNIT + "\n"))
    done = run("check", path, "--watch")
    assert done.stdout.endswith("saved, nothing has changed\n")
    assert done.stdout.count("one unit: ") == 1


def test_a_fault_is_told_and_waited_out(drawing, staged):
    path = drawing(ONE_UNIT)
    staged(
        lambda: drawing("POLYGON (("), lambda: Path(path).unlink(), lambda: drawing(ONE_UNIT), lambda: drawing(RING)
    )
    done = run("check", path, "--watch")
    assert done.exit_code == 130
    said = done.stderr.splitlines()
    assert said[1].startswith(f"{path}: ")
    assert said[3] == f"{path}: The file cannot be read: No such file or directory."
    assert said[2] == said[4] == "seamtree: waiting until it is saved again"
    assert len(said) == 5
    assert "the fault is gone, all is as it was before" in done.stdout
    assert "2 units, was 1; hard corner at" in done.stdout


def test_a_drawing_that_is_faulty_at_first_is_waited_for(drawing, staged):
    path = drawing("POLYGON ((")
    staged(lambda: drawing(ONE_UNIT))
    done = run("check", path, "--watch")
    assert done.exit_code == 130
    assert done.stdout.startswith("drawing, 6 × 6 in\none unit")


def test_only_what_was_saved_is_answered_again(drawing, staged):
    one, other = drawing(ONE_UNIT, "one.wkt"), drawing(ONE_UNIT, "other.wkt")
    staged(lambda: drawing(RING, "other.wkt"))
    done = run("check", one, other, "--watch")
    again = done.stdout.split(f"{other}: ")[1]
    assert "one, 6" not in again
    assert "other, 6" in again
    assert "watching 2 files" in done.stderr


def test_a_pattern_file_and_the_drawings_that_it_names(drawing, staged):
    drawing(ONE_UNIT, "one.wkt")
    drawing(RING, "other.wkt")
    pattern = drawing('[[block]]\ndrawing = "one.wkt"\n', "pattern.toml")
    staged(
        lambda: drawing(RING, "one.wkt"),
        lambda: drawing('[[block]]\ndrawing = "other.wkt"\nwidth = 8\n', "pattern.toml"),
        lambda: drawing(ONE_UNIT, "other.wkt"),
        lambda: drawing("[[block]", "pattern.toml"),
        lambda: drawing(RING, "other.wkt"),  # its file is known from before
    )
    done = run("check", pattern, "--watch")
    news = [line for line in done.stdout.splitlines() if line.startswith(f"{pattern}: ")]
    assert ["2 units, was 1" in line for line in news] == [True, False, False]
    assert "8 × 8 in, was 6 × 6 in" in news[1]
    assert "1 unit, were 2" in news[2]
    assert done.stderr.count("waiting until it is saved again") == 2


def test_json_stays_one_object_a_line(drawing, staged):
    path = drawing(RING)
    staged(lambda: drawing(ONE_UNIT))
    done = run("check", path, "--watch", "--json")
    assert len(done.stdout.splitlines()) == 2
    assert "1 unit, were 2" in done.stderr


def test_pictures_are_drawn_again(drawing, staged, tmp_path):
    path, target = drawing(RING), tmp_path / "out.svg"
    seen = []
    staged(
        lambda: (seen.append(target.read_text()), drawing(ONE_UNIT)),
        lambda: (seen.append(target.read_text()), drawing("POLYGON ((")),
        lambda: seen.append(target.read_text()),
    )
    done = run("picture", path, "-o", target, "--watch")
    assert done.exit_code == 130
    assert seen[0] != seen[1] == seen[2]  # a fault leaves the picture that there is
    assert done.stdout.count("written: ") == 2


@pytest.mark.parametrize(
    ("source", "words"),
    [
        ("-", "standard input (-) cannot be watched"),
        (".", "is a folder"),
        ("nowhere.svg", "there is no such file"),
    ],
)
@pytest.mark.parametrize("command", [("check",), ("picture", "-o", "out.svg")])
def test_what_cannot_be_watched_is_one_line(command, source, words, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    name, *more = command
    done = run(name, source, *more, "--watch", input="")
    assert done.exit_code == 2
    assert words in done.stderr
    assert len(done.stderr.splitlines()) == 1
    assert list(tmp_path.iterdir()) == []


def test_a_wrong_option_ends_it(drawing, staged):
    staged()
    done = run("check", drawing(ONE_UNIT), "--watch", "--width", "-1")
    assert done.exit_code == 2


@pytest.mark.skipif(os.name != "posix", reason="signals of POSIX")
def test_a_real_save_is_answered_and_ctrl_c_ends_it_quietly(tmp_path):
    path = tmp_path / "pool.svg"
    shutil.copy(SAMPLES / "dinghy.svg", path)
    with subprocess.Popen(
        [sys.executable, "-m", "seamtree_cli.main", "check", "--watch", "--no-picture", str(path)],
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, encoding="utf-8",
    ) as process:  # fmt: skip
        try:
            assert process.stderr.readline() == f"seamtree: watching {path}; Ctrl-C ends\n"
            shutil.copy(SAMPLES / "tide-pool.svg", path)
            while "were 1" not in (line := process.stdout.readline()) and "was 1" not in line:
                assert line
            process.send_signal(signal.SIGINT)
            assert process.wait(10) == 130
            assert process.stderr.read() == ""
        finally:
            process.kill()

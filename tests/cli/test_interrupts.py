"""Ctrl-C at many moments: exit status 130 and nothing else, and files that are whole or not there."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from seamtree_cli import interrupts
from seamtree_cli.guard import internal_error

SAMPLES = Path(__file__).parents[2] / "samples"

pytestmark = pytest.mark.skipif(os.name != "posix", reason="signals of POSIX")

DRIVER = """
import os, signal, sys, threading
from seamtree_cli import interrupts
from seamtree_cli.main import run
interrupts.watch()
timer = threading.Timer({delay}, os.kill, (os.getpid(), signal.SIGINT))
timer.daemon = True
timer.start()
run()
"""

WHILE_WRITING = """
import os, signal
from pathlib import Path
from seamtree_cli.main import run
from seamtree_cli.app import build_app
build_app()  # so that only the drawing is written below
replace = Path.replace
def stop(draft, target):
    assert draft.exists() and not target.exists()
    os.kill(os.getpid(), signal.SIGINT)
    return replace(draft, target)
Path.replace = stop
run()
"""

COMMANDS = {
    "check": ([SAMPLES / "buoy.svg", SAMPLES / "lighthouse.svg"], None, b""),
    "mend": ([SAMPLES / "net-shed.svg", "-o", "out.svg"], "out.svg", b"</svg>"),
    "pack": ([SAMPLES / "dinghy.svg", "-o", "out.pdf"], "out.pdf", b"%%EOF"),
    "picture": ([SAMPLES / "sea-star.svg", "-o", "out.svg"], "out.svg", b"</svg>"),
    "audit": ([SAMPLES / "catalogue", "--workers", "1", "--csv", "out.csv"], "out.csv", b"\n"),
}


def interrupt(script, command, folder):
    arguments = [command, *map(str, COMMANDS[command][0])]
    return subprocess.run(
        [sys.executable, "-c", script, *arguments],
        cwd=folder,
        env={**os.environ, "XDG_CACHE_HOME": str(folder / "cache")},
        capture_output=True,
        text=True,
        encoding="utf-8",
        timeout=60,
        check=False,
    )


@pytest.mark.parametrize("delay", [0.02, 0.35, 1.1])
@pytest.mark.parametrize("command", COMMANDS)
def test_at_some_moment(command, delay, tmp_path):
    ended = interrupt(DRIVER.format(delay=delay), command, tmp_path)
    assert ended.returncode in (0, 1, 130), ended.stderr  # a fast machine has done the work before the later moments
    assert "Traceback" not in ended.stderr
    assert "internal error" not in ended.stderr
    _, name, end = COMMANDS[command]
    files = {path.name for path in tmp_path.iterdir()} - {"cache"}
    assert files <= {name}
    if ended.returncode != 130 and name:
        assert files == {name}
    for file in files:
        assert (tmp_path / file).read_bytes().rstrip(b" ").endswith((end, end + b"\n"))


@pytest.mark.parametrize("command", ["mend", "pack", "picture"])
def test_in_the_middle_of_writing(command, tmp_path):
    ended = interrupt(WHILE_WRITING, command, tmp_path)
    assert (ended.returncode, ended.stderr) == (130, "")
    files = [path for path in tmp_path.iterdir() if path.name != "cache"]
    assert all(path.name == COMMANDS[command][1] for path in files)
    assert all(path.read_bytes().rstrip().endswith(COMMANDS[command][2]) for path in files)


def test_what_fails_because_it_was_interrupted_is_no_fault(monkeypatch):
    monkeypatch.setattr(interrupts, "seen", lambda: True)
    with pytest.raises(KeyboardInterrupt):
        internal_error(ImportError("initialization failed"))

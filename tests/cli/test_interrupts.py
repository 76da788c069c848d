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
    "check": ([SAMPLES / "buoy.svg", SAMPLES / "lighthouse.svg"], 0, None, b""),
    "mend": ([SAMPLES / "net-shed.svg", "-o", "out.svg"], 0, "out.svg", b"</svg>"),
    "pack": ([SAMPLES / "dinghy.svg", "-o", "out.pdf"], 0, "out.pdf", b"%%EOF"),
    "follow": ([SAMPLES / "dinghy.svg", "-o", "out.html"], 0, "out.html", b"</html>"),
    "picture": ([SAMPLES / "sea-star.svg", "-o", "out.svg"], 1, "out.svg", b"</svg>"),
    "audit": ([SAMPLES / "catalogue", "--workers", "1", "--csv", "out.csv"], 2, "out.csv", b"\n"),
}
"""Arguments, exit status when it is not interrupted, and the file that is written with its last bytes."""

AT_ONCE = 0.02
"""Seconds; within them no machine has even read the program."""


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


@pytest.mark.parametrize("delay", [AT_ONCE, 0.35, 1.1])
@pytest.mark.parametrize("command", COMMANDS)
def test_at_some_moment(command, delay, tmp_path):
    ended = interrupt(DRIVER.format(delay=delay), command, tmp_path)
    _, status, name, end = COMMANDS[command]
    # A fast machine has done the work before the later moments.
    assert ended.returncode in ({130} if delay == AT_ONCE else {130, status}), ended.stderr
    assert "Traceback" not in ended.stderr
    assert "internal error" not in ended.stderr
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
    assert all(path.name == COMMANDS[command][2] for path in files)
    assert all(path.read_bytes().rstrip().endswith(COMMANDS[command][3]) for path in files)


def test_what_fails_because_it_was_interrupted_is_no_fault(monkeypatch):
    monkeypatch.setattr(interrupts, "seen", lambda: True)
    with pytest.raises(KeyboardInterrupt):
        internal_error(ImportError("initialization failed"))

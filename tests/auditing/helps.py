"""Looking at a store from outside, and waiting for something in it."""

from __future__ import annotations

import sqlite3
import time


def kept(path):
    """Return how many drawings a store has; none while there is no store."""
    try:
        base = sqlite3.connect(f"file:{path}?mode=ro", uri=True)
    except sqlite3.Error:
        return 0
    try:
        return base.execute("SELECT count(*) FROM records").fetchone()[0]
    except sqlite3.Error:
        return 0
    finally:
        base.close()


def wait_for(condition, process, seconds=60):
    """Wait until something holds, as long as a process runs."""
    deadline = time.monotonic() + seconds
    while not condition():
        assert process.poll() is None, process.communicate()
        assert time.monotonic() < deadline
        time.sleep(0.02)

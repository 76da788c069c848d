"""Settings shared by all tests."""

import os
import signal
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings

from seamtree.search import effort
from tests.support.browser import axe, browser  # noqa: F401 -- fixtures of all tests

# The same examples on every run, so that a test that passes here passes everywhere. SEAMTREE_HYPOTHESIS=deep looks
# further, with new examples each time.
settings.register_profile(
    "fast", deadline=None, derandomize=True, max_examples=40, suppress_health_check=[HealthCheck.too_slow]
)
settings.register_profile("deep", deadline=None, max_examples=2000, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile(os.environ.get("SEAMTREE_HYPOTHESIS", "fast"))

# Effort is counted, so that answers are the same everywhere; the clock above it must not end a search only because
# the machine has other things to do.
effort._OVERTIME = 20.0

SLOW = frozenset(Path(__file__).with_name("slow.txt").read_text(encoding="utf-8").split())
"""Tests that take most of the time, by file and function."""


def pytest_collection_modifyitems(items):
    """Mark the slow tests."""
    for item in items:
        if item.nodeid.partition("[")[0] in SLOW:
            item.add_marker(pytest.mark.slow)


# Shells have Ctrl-C ignored in what a script runs in the background, and the commands that tests start inherit it.
if signal.getsignal(signal.SIGINT) is signal.SIG_IGN:
    signal.signal(signal.SIGINT, signal.default_int_handler)

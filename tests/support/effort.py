"""How much a test does: a share of it on every run, all of it where one looks deep."""

import os

DEEP = os.environ.get("SEAMTREE_HYPOTHESIS") == "deep"


def times(usual: int, deep: int) -> int:
    """Return how often something is tried."""
    return deep if DEEP else usual

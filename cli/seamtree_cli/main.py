"""The console script."""

from __future__ import annotations

import gc
import sys

from seamtree_cli import interrupts
from seamtree_cli.exits import INTERRUPTED

_GARBAGE = 100_000
"""New objects between two looks for garbage. Loading the libraries makes many objects and no garbage."""


def run() -> None:
    """Run the command `seamtree` with the arguments of this process; ends the process."""
    interrupts.watch()
    gc.set_threshold(_GARBAGE)
    try:
        # Not left to shapely, whose compiled part would print a traceback if Ctrl-C struck meanwhile.
        import numpy  # noqa: F401, ICN001

        from seamtree_cli.app import build_app

        build_app(sys.argv[1:])(prog_name="seamtree")
    except KeyboardInterrupt:
        sys.exit(INTERRUPTED)
    except Exception:
        if not interrupts.seen():  # an import that is interrupted may say that it failed
            raise
        sys.exit(INTERRUPTED)
    finally:
        interrupts.ignore()
        gc.freeze()  # the end of the process need not look through all objects for garbage


if __name__ == "__main__":
    run()

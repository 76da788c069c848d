"""The console script."""

from __future__ import annotations

import sys

from seamtree_cli import interrupts
from seamtree_cli.exits import INTERRUPTED


def run() -> None:
    """Run the command `seamtree` with the arguments of this process; ends the process."""
    interrupts.watch()
    try:
        from seamtree_cli.app import app

        app(prog_name="seamtree")
    except KeyboardInterrupt:
        sys.exit(INTERRUPTED)
    except Exception:
        if not interrupts.seen():  # an import that is interrupted may say that it failed
            raise
        sys.exit(INTERRUPTED)
    finally:
        interrupts.ignore()


if __name__ == "__main__":
    run()

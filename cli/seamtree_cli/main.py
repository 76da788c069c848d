"""The console script."""

from __future__ import annotations

import sys

from seamtree_cli.exits import INTERRUPTED


def run() -> None:
    """Run the command `seamtree` with the arguments of this process; ends the process."""
    try:
        from seamtree_cli.app import app

        app(prog_name="seamtree")
    except KeyboardInterrupt:
        sys.exit(INTERRUPTED)


if __name__ == "__main__":
    run()

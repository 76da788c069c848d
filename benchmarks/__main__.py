"""Measure everything: ``python -m benchmarks``; or some parts: ``python -m benchmarks start scale``.

Each part is a module with options of its own, `python -m benchmarks.scale --help`, and writes its results, with the
date, the commit and the versions in use, to benchmarks/results/.
"""

from __future__ import annotations

import argparse
import subprocess
import sys
import time

PARTS = (
    "start",
    "layouts",
    "locked",
    "scale",
    "catalogue",
    "jitter",
    "follow",
    "pack",
    "emblems",
    "ablation",
    "limits",
    "proofs",
)


def main() -> None:
    """Run the parts one after the other, each in a process of its own."""
    parser = argparse.ArgumentParser(
        prog="python -m benchmarks", description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument(
        "parts", nargs="*", metavar="PART", help=f"of {', '.join(PARTS)}; all of them if none is named"
    )
    options = parser.parse_args()
    unknown = sorted(set(options.parts) - set(PARTS))
    if unknown:
        parser.error(f"no such part: {', '.join(unknown)}")
    for part in options.parts or PARTS:
        print(f"== {part}", flush=True)
        start = time.monotonic()
        done = subprocess.run([sys.executable, "-m", f"benchmarks.{part}"], check=False)  # noqa: S603
        if done.returncode:
            sys.exit(done.returncode)
        print(f"== {part} took {(time.monotonic() - start) / 60:.1f} minutes", flush=True)


if __name__ == "__main__":
    main()

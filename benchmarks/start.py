"""How long a command takes to start: ``python -m benchmarks.start``.

Runs `seamtree check` on drawings of 12 patches in turn with a Python that only loads the libraries behind geometry,
output and options, and compares the medians. Python keeps compiled modules here, as it does for who uses the program.
"""

from __future__ import annotations

import argparse
import os
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import shapely

from benchmarks import families
from benchmarks.catalogue import svg
from benchmarks.measure import RESULTS, about_line, today

FLOOR = "import shapely, rich.console, rich.table, typer"

DRAWINGS = {
    "one unit: 12 strips": [shapely.box(0, y / 2, 6, y / 2 + 0.5) for y in range(12)],
    "random straight cuts": families.straight_cuts(12, 3),
    "4 × 3 squares": families.square_grid(4, 3),
}
"""Drawings of 12 patches."""


def run(command: list[str]) -> float:
    """Return the seconds that a command takes on the clock."""
    start = time.perf_counter()
    kept = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    subprocess.run(command, check=True, capture_output=True, env=kept)  # noqa: S603
    return time.perf_counter() - start


def main() -> None:
    """Measure, print the table, and write it."""
    parser = argparse.ArgumentParser(prog="python -m benchmarks.start", description=__doc__)
    parser.add_argument("--times", type=int, default=25, help="how often each is started")
    options = parser.parse_args()
    floor = f'python -c "{FLOOR}"'
    commands = {floor: [sys.executable, "-c", FLOOR]}
    with tempfile.TemporaryDirectory() as home:
        for name, polygons in DRAWINGS.items():
            path = Path(home) / f"{len(commands)}.svg"
            path.write_bytes(svg(polygons))
            commands[name] = [sys.executable, "-m", "seamtree_cli.main", "check", str(path)]
        taken: dict[str, list[float]] = {name: [] for name in commands}
        for turn in range(options.times + 1):
            for name, command in commands.items():
                seconds = run(command)
                if turn:  # the first one finds nothing in the caches of the system
                    taken[name].append(seconds)
    least = statistics.median(taken[floor])
    lines = [
        f"# Start of a command, {today()}",
        "",
        f"`seamtree check` on drawings of 12 patches, medians of {options.times} starts on the clock, taken in turn.",
        "",
        about_line(),
        "",
        "| started | median | fastest | times the first |",
        "| --- | --- | --- | --- |",
    ]
    for name, times in taken.items():
        median = statistics.median(times)
        cells = [name, f"{1e3 * median:.0f} ms", f"{1e3 * min(times):.0f} ms", f"{median / least:.2f}"]
        lines.append("| " + " | ".join(cells) + " |")
    text = "\n".join([*lines, ""])
    print(text)
    (RESULTS / f"{today()}-start.md").write_text(text, encoding="utf-8")


if __name__ == "__main__":
    main()

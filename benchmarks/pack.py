"""How much processor time a pack takes: ``python -m benchmarks.pack``.

Runs `seamtree pack` on the largest sample, and for what is in it also less: a Python that only loads the libraries,
`seamtree check`, which reads and plans, and a pack of the foundations alone. With ``--before FOLDER``, a checkout of
an earlier state, that one packs in turn with this one, and the table tells the ratio.
"""

from __future__ import annotations

import argparse
import os
import resource
import statistics
import subprocess
import sys
import tempfile
from pathlib import Path

from benchmarks.measure import RESULTS, about_line, today

DRAWING = Path(__file__).parent.parent / "samples" / "harbour.svg"
"""A block of 220 patches in 57 units."""

COMMAND = [sys.executable, "-m", "seamtree_cli.main"]


def spent(command: list[str], before: Path | None = None) -> float:
    """Return the seconds of processor time that a command takes, with the code of an earlier checkout if wanted."""
    env = dict(os.environ)
    if before is not None:
        env["PYTHONPATH"] = os.pathsep.join(str(before / holder) for holder in ("solver", "cli"))
    start = resource.getrusage(resource.RUSAGE_CHILDREN)
    subprocess.run(command, check=True, capture_output=True, env=env)  # noqa: S603
    end = resource.getrusage(resource.RUSAGE_CHILDREN)
    return end.ru_utime + end.ru_stime - start.ru_utime - start.ru_stime


def main() -> None:
    """Measure, print the table, and write it."""
    parser = argparse.ArgumentParser(prog="python -m benchmarks.pack", description=__doc__)
    parser.add_argument("--times", type=int, default=5, help="how often each is run")
    parser.add_argument("--before", type=Path, help="a checkout to compare with")
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as home:
        out = ["-o", str(Path(home) / "x.pdf")]
        pack = [*COMMAND, "pack", str(DRAWING), *out]
        rows: dict[str, tuple[list[str], Path | None]] = {
            "libraries loaded": ([sys.executable, "-c", "import shapely, rich, typer"], None),
            "`check`: read and planned as well": ([*COMMAND, "check", str(DRAWING)], None),
            "`pack --pages foundations`": ([*pack, "--pages", "foundations"], None),
            "`pack`": (pack, None),
        }
        if options.before is not None:
            rows["`pack` before"] = (pack, options.before.resolve())
        taken: dict[str, list[float]] = {name: [] for name in rows}
        for turn in range(options.times + 1):
            for name, (command, before) in rows.items():
                seconds = spent(command, before)
                if turn:  # the first one compiles modules
                    taken[name].append(seconds)
    whole = statistics.median(taken["`pack`"])
    lines = [
        f"# Processor time of a pack, {today()}",
        "",
        f"`seamtree pack` on {DRAWING.name}, 220 patches in 57 units; medians of {options.times} runs in turn.",
        "",
        about_line(),
        "",
        "| what | median | least | share of `pack` |",
        "| --- | --- | --- | --- |",
    ]
    for name, times in taken.items():
        median = statistics.median(times)
        lines.append(f"| {name} | {median:.2f} s | {min(times):.2f} s | {median / whole:.2f} |")
    text = "\n".join([*lines, ""])
    print(text)
    (RESULTS / f"{today()}-pack.md").write_text(text, encoding="utf-8")


if __name__ == "__main__":
    main()

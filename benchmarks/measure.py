"""Measuring: every figure in a process of its own, so that one that hangs does not hold up the others.

Also what every table of results says about where its figures come from.
"""

from __future__ import annotations

import csv
import multiprocessing
import os
import platform
import resource
import subprocess
import time
from collections.abc import Callable, Sequence
from dataclasses import asdict, dataclass, fields
from datetime import UTC, datetime
from importlib.metadata import version
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any

RESULTS = Path(__file__).parent / "results"

MEASURED_WITH = ("seamtree", "shapely", "ortools", "numpy", "scipy", "typer")
"""Packages whose versions are kept with the figures."""


def today() -> str:
    """Return the date, as in the names of the files of results."""
    return datetime.now(UTC).date().isoformat()


def about() -> dict[str, Any]:
    """Return what figures are measured on: date, commit, versions, and the load of the machine."""
    return {
        "date": today(),
        "commit": commit(),
        "load": f"{os.getloadavg()[0]:.1f}/{os.cpu_count()}",
        "python": platform.python_version(),
        **{name: version(name) for name in MEASURED_WITH},
    }


def about_line() -> str:
    """Say the same in words."""
    facts = about()
    versions = ", ".join(f"{name} {facts[name]}" for name in ("python", *MEASURED_WITH[1:]))
    busy, cores = facts["load"].split("/")
    return (
        f"Commit {facts['commit']}, {facts['date']}; {versions}; {cores} cores, on which {busy} processes were at "
        "work in the last minute. Times of one run on one machine: ratios count."
    )


def write_csv(rows: Sequence[Any], path: Path) -> None:
    """Write rows, dataclasses of one kind, each with what it was measured on."""
    facts = about()
    path.parent.mkdir(exist_ok=True)
    with path.open("w", newline="", encoding="utf-8") as file:
        writer = csv.DictWriter(file, [*(field.name for field in fields(rows[0])), *facts])
        writer.writeheader()
        writer.writerows(asdict(row) | facts for row in rows)


def commit() -> str:
    """Return the commit that is measured, with a + where files other than results differ from it."""
    name = _git("rev-parse", "--short", "HEAD").stdout.strip()
    changed = _git("diff", "--quiet", "HEAD", "--", ":/", ":(exclude)results").returncode
    return name + "+" * changed if name else "unknown"


def _git(*arguments: str) -> subprocess.CompletedProcess[str]:
    here = Path(__file__).parent
    return subprocess.run(["git", *arguments], capture_output=True, text=True, check=False, cwd=here)  # noqa: S603, S607


@dataclass(frozen=True, slots=True)
class Measured:
    """What came of a measurement.

    Parameters
    ----------
    seconds
        The least time of the repeats; None where it was cut off.
    result
        What was returned; None where it was cut off.
    megabytes
        The most memory that the process took, what was loaded before included; None where it was cut off.
    """

    seconds: float | None
    result: Any
    megabytes: float | None = None


CUT_OFF = Measured(None, None)


def measure(work: Callable[[], Any], *, limit: float, repeats: int = 3) -> Measured:
    """Run work in another process and take the least time.

    Parameters
    ----------
    work
        What to measure; everything it needs is loaded before.
    limit
        Seconds after which it is cut off.
    repeats
        How often it is run; slow work (over a second) is run once.
    """
    context = multiprocessing.get_context("fork")
    here, there = context.Pipe(duplex=False)
    process = context.Process(target=_run, args=(work, repeats, there))
    process.start()
    there.close()
    try:
        measured = Measured(*here.recv()) if here.poll(limit) else CUT_OFF
    except EOFError:
        measured = CUT_OFF
    process.kill()
    process.join()
    return measured


def _run(work: Callable[[], Any], repeats: int, pipe: Connection) -> None:
    best: float | None = None
    result = None
    for _ in range(repeats):
        start = time.perf_counter()
        result = work()
        seconds = time.perf_counter() - start
        best = seconds if best is None else min(best, seconds)
        if seconds > 1:
            break
    # On Linux in kilobytes.
    pipe.send((best, result, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024))
    pipe.close()

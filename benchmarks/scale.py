"""How cost grows with the number of patches: ``python -m benchmarks.scale``.

Plans layouts of several families, each in at least four sizes, up to quilt tops of 4,000 patches; every layout in a
process of its own, whose memory is measured as well. Writes the figures (CSV), a table with the exponent of each
family (Markdown) and a plot (SVG).
"""

from __future__ import annotations

import argparse
import sys
import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path

import numpy as np

from benchmarks import families
from benchmarks.measure import RESULTS, about_line, measure, today, write_csv
from benchmarks.plot import Series, log_plot
from seamtree.block.build import block_from_polygons
from seamtree.planning.build import build_plan
from seamtree.search.find import find_order

LIMIT = 180.0
"""Seconds after which a layout is cut off."""


@dataclass(frozen=True, slots=True)
class Case:
    """A layout of a family."""

    family: str
    size: str
    polygons: Callable[[], families.Polygons]
    tolerance: float = 0.02


@dataclass(frozen=True, slots=True)
class Row:
    """What a layout takes: processor time of the stages and time on the clock (seconds), and memory (megabytes)."""

    family: str
    size: str
    patches: int
    planar_map: float
    search: float
    plan: float
    clock: float
    megabytes: float
    units: int
    bound: int
    proven: bool

    @property
    def together(self) -> float:
        """Processor time of all stages."""
        return self.planar_map + self.search + self.plan


def all_cases() -> Iterator[Case]:
    """Yield the layouts, the small ones of every family first."""
    for n in (2, 4, 6, 9, 12):
        yield Case("quilt top", f"{n}×{n}", partial(families.quilt_top, n, n, 28, 1))
    for n in (2, 4, 6, 9, 12):
        yield Case("stars edge to edge", f"{n}×{n}", partial(families.star_top, n, n))
    for n in (60, 150, 400, 1000):
        yield Case("random straight cuts", str(n), partial(families.straight_cuts, n, 1))
    for n in (13, 18, 25, 30):
        yield Case("lines across a block", str(n), partial(families.lines_across, n, 1), 1e-4)
    yield Case("lines across a block", "30, fewer crossings", partial(families.lines_across, 30, 21), 1e-4)
    for n, patches in ((5, 42), (7, 82), (10, 168), (14, 330)):
        draw = partial(families.partly_split_squares, n, n, patches, 1)
        yield Case("partly split squares", f"{n}×{n}", draw)
    for n in (8, 16, 32, 64):
        yield Case("squares", f"{n}×{n}", partial(families.square_grid, n, n))


def run_case(case: Case) -> Row:
    """Plan one layout in another process."""
    polygons = case.polygons()
    measured = measure(lambda: _stages(polygons, case.tolerance), limit=LIMIT)
    if measured.result is None or measured.seconds is None or measured.megabytes is None:
        sys.exit(f"{case.family} {case.size}: cut off after {LIMIT:g} s")
    patches, *stages, units, bound, proven = measured.result
    return Row(
        case.family, case.size, patches, *stages, measured.seconds, round(measured.megabytes), units, bound, proven
    )


def _stages(polygons: families.Polygons, tolerance: float) -> tuple[int, float, float, float, int, int, bool]:
    times = [time.process_time()]
    block = block_from_polygons(polygons, tolerance=tolerance)
    times.append(time.process_time())
    found = find_order(block, time_limit=10)
    times.append(time.process_time())
    plan = build_plan(block, found)
    times.append(time.process_time())
    planar_map, search, names = np.diff(times).tolist()
    return len(block.patches), planar_map, search, names, plan.counts.units, plan.bound.units, plan.proven


def exponent(rows: Sequence[Row]) -> float:
    """Return the power of the number of patches that the cost grows with: least squares on logarithms."""
    patches = np.log([row.patches for row in rows])
    slope, _ = np.polyfit(patches, np.log([row.together for row in rows]), 1)
    return float(slope)


def by_family(rows: Sequence[Row]) -> dict[str, list[Row]]:
    """Sort the rows into families."""
    found: dict[str, list[Row]] = {}
    for row in rows:
        found.setdefault(row.family, []).append(row)
    return found


HEAD = (
    "| family | size | patches | map | search | plan | on the clock | memory | units | proven |\n"
    "| --- | --- | --- | --- | --- | --- | --- | --- | --- | --- |"
)


def table_row(row: Row) -> str:
    """Return a line of the table (Markdown)."""
    proven = "yes" if row.proven else f"at least {row.bound}"
    times = (f"{seconds:.2f} s" for seconds in (row.planar_map, row.search, row.plan, row.clock))
    cells = [row.family, row.size, f"{row.patches:,}", *times, f"{row.megabytes:.0f} MB", str(row.units), proven]
    return "| " + " | ".join(cells) + " |"


def growth(name: str, rows: Sequence[Row]) -> str:
    """Return a line of the table of exponents (Markdown)."""
    patches = [row.patches for row in rows]
    return f"| {name} | {min(patches)} to {max(patches):,} | {exponent(rows):.2f} |"


def write_results(rows: Sequence[Row], path: Path) -> None:
    """Write the figures, the table and the plot."""
    write_csv(rows, path)
    families_of = by_family(rows)
    lines = [
        f"# How cost grows, {today()}",
        "",
        "Processor time from patches to a plan: *map*, *search*, and *plan* (names, counts, pressing, warnings, and",
        "sewing the plan step by step); *memory* is the most that the process took, Python and libraries included.",
        "The time limit was the usual one, 10 seconds' worth of effort.",
        "",
        about_line(),
        "",
        HEAD,
        *map(table_row, rows),
        "",
        "| family | patches | grows with the power |",
        "| --- | --- | --- |",
        *(growth(name, found) for name, found in families_of.items()),
        "",
        f"![Processor time over patches]({path.with_suffix('.svg').name})",
        "",
    ]
    path.with_suffix(".md").write_text("\n".join(lines), encoding="utf-8")
    series = [
        Series(name, tuple(sorted((r.patches, r.together) for r in found))) for name, found in families_of.items()
    ]
    drawn = log_plot(
        series, title=f"From patches to a plan, {today()}", across="patches", up="seconds of processor time"
    )
    path.with_suffix(".svg").write_text(drawn, encoding="utf-8")


def main() -> None:
    """Measure, print and write the results."""
    parser = argparse.ArgumentParser(prog="python -m benchmarks.scale", description=__doc__)
    parser.add_argument("--only", default="", help="families whose names contain this; nothing is written then")
    parser.add_argument(
        "--csv", type=Path, default=RESULTS / f"{today()}-scale.csv", help="where to write the figures"
    )
    options = parser.parse_args()
    cases = [case for case in all_cases() if options.only in case.family]
    if not cases:
        sys.exit(f"no family has {options.only!r} in its name")
    print(HEAD)
    rows = []
    for case in cases:
        rows.append(run_case(case))
        print(table_row(rows[-1]), flush=True)
    if not options.only:
        write_results(rows, options.csv)
        print(f"\nAll figures: {options.csv}")


if __name__ == "__main__":
    main()

"""Emblems on a background: how many `mend` gives seams, with how few patches, and how soon.

An emblem is what a harbour town paints on its boats: triangles, squares and rhombs on a lattice, on one background
colour, with no seam of the background drawn. Fixed seeds.

    python -m benchmarks.emblems --count 100 --no-units
"""

from __future__ import annotations

import argparse
import random
import statistics
import time
from collections.abc import Sequence
from dataclasses import dataclass, replace

from benchmarks.measure import RESULTS, about_line, today
from seamtree.block.build import build_sketches
from seamtree.block.sketch import Sketch
from seamtree.drawing.svg.read import read_svg
from seamtree.mending.choose import Chooser

Point = tuple[float, float]
Corners = Sequence[Point]

COLOURS = ("#335577", "#aa3344", "#ddcc99", "#446644")
BACKGROUND = "#eef2f4"
SIZE = 12.0
"""Inches."""

TIME_LIMIT = 10.0
"""Seconds of effort for each emblem, as the commands have it."""


def buoy(x: float, y: float, a: float) -> list[Corners]:
    """Return a rhomb in a cell."""
    return [[(x + a / 2, y), (x + a, y + a / 2), (x + a / 2, y + a), (x, y + a / 2)]]


def flag(x: float, y: float, a: float) -> list[Corners]:
    """Return a square that fills its cell."""
    return [[(x, y), (x + a, y), (x + a, y + a), (x, y + a)]]


def sail(x: float, y: float, a: float) -> list[Corners]:
    """Return half a square."""
    return [[(x, y), (x, y + a), (x + a, y + a)]]


def jib(x: float, y: float, a: float) -> list[Corners]:
    """Return the other half of a square."""
    return [[(x + a, y), (x, y + a), (x + a, y + a)]]


def gull(x: float, y: float, a: float) -> list[Corners]:
    """Return a triangle on its side, as high as its cell."""
    return [[(x, y + a), (x + a / 2, y), (x + a, y + a)]]


def pennant(x: float, y: float, a: float) -> list[Corners]:
    """Return two halves of a square in two colours."""
    return [[(x, y), (x + a, y), (x + a, y + a)], [(x, y), (x + a, y + a), (x, y + a)]]


def lantern(x: float, y: float, a: float) -> list[Corners]:
    """Return a rhomb of two triangles."""
    return [
        [(x + a / 2, y), (x + a, y + a / 2), (x, y + a / 2)],
        [(x + a, y + a / 2), (x + a / 2, y + a), (x, y + a / 2)],
    ]


KINDS = (buoy, flag, sail, jib, gull, pennant, lantern)


def emblem(seed: int) -> list[Corners]:
    """Return the shapes of an emblem, without its background."""
    choose = random.Random(seed)  # noqa: S311 - drawings, no secrets
    cells = choose.choice((4, 5, 6))
    a = SIZE / cells
    mirrored = choose.random() < 0.5
    inner = [(i, j) for i in range(1, cells - 1) for j in range(1, cells - 1)]
    if mirrored:
        inner = [(i, j) for i, j in inner if 2 * i < cells - 1]
    count = min(len(inner), choose.randint(2, 4) if mirrored else choose.randint(2, 6))
    shapes: list[Corners] = []
    for i, j in choose.sample(inner, count):
        made = choose.choice(KINDS)(i * a, j * a, a)
        shapes += made
        if mirrored:
            shapes += [[(SIZE - x, y) for x, y in shape] for shape in made]
    return shapes


def drawing(seed: int) -> bytes:
    """Return an emblem as SVG."""
    shapes = [
        f'<path fill="{COLOURS[n % len(COLOURS)]}" d="M {" L ".join(f"{x:.4f} {y:.4f}" for x, y in shape)} Z"/>'
        for n, shape in enumerate(emblem(seed))
    ]
    size = f'width="{SIZE:g}in" height="{SIZE:g}in" viewBox="0 0 {SIZE:g} {SIZE:g}"'
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" {size}>'
        f'<rect width="{SIZE:g}" height="{SIZE:g}" fill="{BACKGROUND}"/>{"".join(shapes)}</svg>'
    ).encode()


def sketch(seed: int) -> Sketch:
    """Return an emblem as it is drawn."""
    (made,) = build_sketches(read_svg(drawing(seed), source=f"emblem-{seed}.svg"))
    return made


@dataclass(frozen=True, slots=True)
class Row:
    """What became of one emblem.

    Parameters
    ----------
    seed, patches
        The emblem, and its patches when done; 0 if it was not mended.
    seconds, proven
        Until the fewest patches were found and read again, and whether they are proven.
    units, unit_seconds, units_proven
        Fewest units with so many patches, if they were asked for.
    """

    seed: int
    patches: int
    seconds: float
    proven: bool
    units: int = 0
    unit_seconds: float = 0.0
    units_proven: bool = False


def measure(seed: int, *, units: bool) -> Row:
    """Mend an emblem."""
    drawn = sketch(seed)
    start = time.perf_counter()
    chooser = Chooser(drawn, time_limit=TIME_LIMIT)
    fewest = chooser.fewest()
    found = chooser.candidate(fewest.choice)
    seconds = time.perf_counter() - start
    if found is None or found.plan.counts.hard_corners or fewest.stuck:
        return Row(seed, 0, seconds, proven=False)
    row = Row(seed, found.plan.counts.patches, seconds, fewest.choice.proven)
    if not units:
        return row
    start = time.perf_counter()
    best = Chooser(drawn, time_limit=TIME_LIMIT).fewest_units(fewest.choice.patches)
    seconds = time.perf_counter() - start
    if best is None:
        return replace(row, unit_seconds=seconds)
    sure = best.choice.proven and best.plan.counts.units == best.choice.units
    return replace(row, units=best.plan.counts.units, unit_seconds=seconds, units_proven=sure)


def table(rows: Sequence[Row]) -> str:
    """Return the figures of all emblems as a table in Markdown."""
    mended = [row for row in rows if row.patches]
    lines = [
        "| emblems | mended, read again, sewn by straight seams | patches | proven fewest | median s | longest s |",
        "|---|---|---|---|---|---|",
        f"| {len(rows)} | {len(mended)} | {min(r.patches for r in mended)} to {max(r.patches for r in mended)} "
        f"| {sum(r.proven for r in mended)} | {statistics.median(r.seconds for r in rows):.2f} "
        f"| {max(r.seconds for r in rows):.2f} |",
    ]
    if any(row.unit_seconds for row in rows):
        lines += [
            "",
            "| fewest units at that number: proven | median s | longest s |",
            "|---|---|---|",
            f"| {sum(r.units_proven for r in rows)} | {statistics.median(r.unit_seconds for r in rows):.2f} "
            f"| {max(r.unit_seconds for r in rows):.2f} |",
        ]
    return "\n".join(lines)


def main() -> None:
    """Measure the emblems and write what they came to."""
    parser = argparse.ArgumentParser(
        prog="python -m benchmarks.emblems",
        description=__doc__,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("--count", type=int, default=100, help="how many emblems")
    parser.add_argument("--no-units", action="store_true", help="leave out the fewest units")
    options = parser.parse_args()
    rows = []
    for seed in range(options.count):
        rows.append(measure(seed, units=not options.no_units))
        print(rows[-1], flush=True)
    text = f"# Emblems on a background, {today()}\n\n{about_line()}\n\n{table(rows)}\n"
    print(text)
    (RESULTS / f"emblems-{today()}.md").write_text(text, encoding="utf-8")


if __name__ == "__main__":
    main()

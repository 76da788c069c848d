"""How many blocks with locked parts are proven, and how soon: ``python -m benchmarks.locked``.

Grids of cells with hard corners in a third to all of them, and locked parts nested in locked parts, with fixed seeds;
every block once with the default time limit, against the junction model over the whole block with the same effort.
"""

from __future__ import annotations

import argparse
import statistics
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import partial

from benchmarks import families
from benchmarks.measure import RESULTS, about_line, today
from seamtree.block.build import block_from_polygons
from seamtree.search.corners.local_rule import build_part
from seamtree.search.corners.orders import score
from seamtree.search.corners.solve_part import solve_part
from seamtree.search.effort import SOLVER_SHARE
from seamtree.search.find import find_order

TIME_LIMIT = 10.0
"""Seconds of effort, as the commands have it."""


@dataclass(frozen=True, slots=True)
class Found:
    """What the search and the model alone come to for one block."""

    patches: int
    seconds: float
    proven: bool
    merit: tuple[int, ...]
    alone: tuple[int, ...] | None


def blocks(
    least: int, most: int, number: int, *, curved: bool = False, symmetric: bool = False
) -> Iterator[families.Polygons]:
    """Yield so many blocks of so many patches, cells and nests in turn; curved or symmetric ones are all cells."""
    seed = found = 0
    while found < number:
        seed += 1
        make: Callable[[], families.Polygons]
        if seed % 3 or curved or symmetric:
            columns, rows = ((2, 2), (3, 2), (3, 3), (4, 3), (4, 4), (5, 4), (5, 5))[seed % 7]
            share = (1 / 3, 0.6, 1.0)[seed // 7 % 3]
            make = partial(
                families.locked_cells,
                columns,
                rows,
                share=share,
                seed=seed,
                curved=curved,
                symmetric=symmetric,
            )
        else:
            patches = least + seed * 7 % (most - least)
            make = partial(families.nested_locks, 4 + seed % 4, patches=patches, seed=seed)
        polygons = make()
        if least <= len(polygons) <= most:
            found += 1
            yield polygons


def find(polygons: families.Polygons, *, alone: bool) -> Found:
    """Search a block, and solve it by the model alone if asked to."""
    block = block_from_polygons(polygons)
    whole = range(len(block.patches))
    start = time.process_time()
    found = find_order(block, time_limit=TIME_LIMIT)
    seconds = time.process_time() - start
    merit = score(build_part(block, whole), found.order)[:4]
    other = solve_part(block, whole, effort=SOLVER_SHARE * TIME_LIMIT).merit[:4] if alone else None
    return Found(len(whole), seconds, found.proven, merit, other)


def table(name: str, found: list[Found]) -> str:
    """Return a line of the table (Markdown)."""
    seconds = sorted(one.seconds for one in found)
    worse = sum(one.alone is not None and one.merit > one.alone for one in found)
    proven = sum(one.proven for one in found)
    return (
        f"| {name} | {min(one.patches for one in found)} to {max(one.patches for one in found)} | {len(found)} "
        f"| {proven} | {statistics.median(seconds):.1f} s | {seconds[-1]:.1f} s | {worse} |"
    )


def main() -> None:
    """Measure the families asked for."""
    parser = argparse.ArgumentParser(prog="python -m benchmarks.locked", description=__doc__)
    parser.add_argument(
        "--number", type=int, default=100, help="blocks of 50 to 75 patches; half as many larger ones"
    )
    parser.add_argument("--alone", action="store_true", help="compare with the model alone as well")
    options = parser.parse_args()
    lines = [
        about_line(),
        "",
        "| blocks | patches | number | proven | median | slowest | worse than the model alone |",
        "| --- | --- | --- | --- | --- | --- | --- |",
    ]
    for name, least, most, number, kind in (
        ("cells and nests", 50, 75, options.number, {}),
        ("cells and nests", 76, 120, options.number // 2, {}),
        ("symmetric cells", 50, 120, options.number // 5, {"symmetric": True}),
        ("cells with curves", 30, 75, options.number // 5, {"curved": True}),
    ):
        found = [find(polygons, alone=options.alone) for polygons in blocks(least, most, number, **kind)]
        lines.append(table(name, found))
        print(lines[-1], flush=True)
    (RESULTS / f"{today()}-locked.md").write_text("\n".join(["# Blocks with locked parts", "", *lines, ""]))


if __name__ == "__main__":
    main()

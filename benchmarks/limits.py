"""What a largest foundation costs: ``python -m benchmarks.limits``.

Blocks of some 130 to 230 patches, planned without a wish and with units that a Letter sheet holds; the ratio of the
two times of the processor, and whether the second plan is proven as well.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from functools import partial

from benchmarks import families
from benchmarks.measure import RESULTS, about_line, today
from seamtree.block.build import block_from_polygons
from seamtree.pattern.paper import PAPERS
from seamtree.planning.build import plan
from seamtree.planning.model import Plan
from seamtree.planning.wishes import NO_WISHES, Wishes
from seamtree.search.solver import new_model

FINE = 1e-4
"""Tolerance for lines across a block, inches."""

CASES: dict[str, tuple[Callable[[], families.Polygons], float]] = {
    **{
        f"{lines} lines across, seed {seed}": (partial(families.lines_across, lines, seed), FINE)
        for lines, seed in ((24, 1), (24, 2), (24, 3), (28, 2), (28, 3), (30, 1))
    },
    "random straight cuts, seed 1": (partial(families.straight_cuts, 200, 1), 0.02),
    "random straight cuts, seed 2": (partial(families.straight_cuts, 200, 2), 0.02),
    "14 × 14 squares": (partial(families.square_grid, 14, 14), 0.02),
    "10 × 10 split squares": (partial(families.split_squares, 10, 10, 1), 0.02),
    "12 × 12, partly split": (partial(families.partly_split_squares, 12, 12, 200, 1), 0.02),
}


def planned(polygons: families.Polygons, tolerance: float, wishes: Wishes) -> tuple[Plan, float]:
    """Plan a block; return the plan and the seconds of the processor that it took."""
    block = block_from_polygons(polygons, tolerance=tolerance)
    start = time.process_time()
    answer = plan(block, wishes=wishes)
    return answer, time.process_time() - start


def main() -> None:
    """Measure, print the table, and write it."""
    letter = PAPERS["letter"]
    wishes = Wishes(letter.holds(), letter.name)
    for polygons in (families.straight_cuts(60, 1), families.lines_across(16, 1), families.split_squares(8, 8, 1)):
        for some in (NO_WISHES, wishes):
            planned(polygons, FINE, some)  # loads what the first of them would have to load
    new_model()
    lines = [
        f"# What a largest foundation costs, {today()}",
        "",
        about_line(),
        "",
        "Seconds of the processor that `plan` takes for a block that is built already, once with nothing asked and "
        "once with units that a Letter sheet holds; in one process that has planned smaller blocks of these kinds "
        "before, so that loading is not counted. `python -m benchmarks.limits`.",
        "",
        "| block | patches | units | with `--fit letter` | seconds | with it | ratio |",
        "|---|---|---|---|---|---|---|",
    ]
    for name, (make, tolerance) in CASES.items():
        free, alone = planned(make(), tolerance, NO_WISHES)
        asked, together = planned(make(), tolerance, wishes)
        units = f"{asked.counts.units}{'' if asked.proven else f', at least {asked.bound.units}'}"
        patches, without = free.counts.patches, free.counts.units
        lines.append(
            f"| {name} | {patches} | {without} | {units} | {alone:.2f} | {together:.2f} | {together / alone:.1f} |"
        )
        print(lines[-1], flush=True)
    text = "\n".join(lines) + "\n"
    (RESULTS / f"limits-{today()}.md").write_text(text, encoding="utf-8")


if __name__ == "__main__":
    main()

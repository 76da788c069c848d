"""What each step of the search is worth: ``python -m benchmarks.ablation``.

Every step is switched off in turn, and all families are searched again, with the default effort and without a clock.
The table says how long each family takes without the step, in parts of the time with all of them, and what becomes of
the proofs and the units. A step that changes nothing on any family is not worth its lines.
"""

from __future__ import annotations

import argparse
import math
import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from functools import partial
from typing import Any
from unittest.mock import patch

from benchmarks import families
from benchmarks.measure import RESULTS, about_line, today
from seamtree.block.build import block_from_polygons
from seamtree.block.model import Block
from seamtree.search.corners.local_rule import build_part
from seamtree.search.corners.narrow import NarrowResult
from seamtree.search.corners.orders import score
from seamtree.search.effort import Deadline
from seamtree.search.find import find_order
from seamtree.search.straight.tight import UNCOMPARED, Chosen
from seamtree.search.view import SeamView

TIME_LIMIT = 10.0
"""Seconds of effort, as the commands have it."""

MATTERS = 0.1
"""Share of a family's time that counts as a difference."""

_SEARCH = "seamtree.search"


def _nothing(*_: Any, **__: Any) -> None:
    return None


def _no(*_: Any, **__: Any) -> bool:
    return False


def _passes_nothing(_: SeamView, run: int) -> bool:
    """Take no cut for a safe one, unless it passes no junction."""
    return not run


STEPS: Mapping[str, Mapping[str, Any]] = {
    "safe cuts": {f"{_SEARCH}.view.SeamView.is_safe": _passes_nothing},
    "cuts that do not cross": {f"{_SEARCH}.straight.parts.PartsGraph._cut_apart": _no},
    "matching bound": {f"{_SEARCH}.straight.parts.PartsGraph._match_lines": lambda *_: ()},
    "sweep": {f"{_SEARCH}.straight.sweep.build_bundle": _nothing},
    "rows": {f"{_SEARCH}.joined._take_by_rows": _nothing},
    "guided": {f"{_SEARCH}.rows.program.longest_cuts_first": _nothing},
    "tight graph": {f"{_SEARCH}.joined.choose_cuts": lambda *_, **__: Chosen(None, UNCOMPARED)},
    "exhaustive": {f"{_SEARCH}.joined.sew_small_part": _nothing},
    "narrow cuts": {
        f"{_SEARCH}.corners.solve_part.fewest_narrow_units": lambda *_, **__: NarrowResult(None, 1),
    },
    "corner places": {f"{_SEARCH}.corners.solve_part.corner_places": lambda _: []},
    "cuts first": {f"{_SEARCH}.joined._cut_first": _nothing},
    "closed walks": {f"{_SEARCH}.corners.junction_model.JunctionModel._forbid_walks": _nothing},
    "easiest seams": {f"{_SEARCH}.corners.greedy._easiest_seams": _nothing},
}
"""What is put in place of a step to switch it off."""

FAMILIES: Mapping[str, Sequence[Callable[[], families.Polygons]]] = {
    "straight cuts": [partial(families.straight_cuts, patches, 1) for patches in (40, 120, 400)],
    "lines across": [partial(families.lines_across, lines, 3) for lines in (10, 18)],
    "squares": [partial(families.square_grid, side, side) for side in (6, 10, 20)],
    "split squares": [partial(families.split_squares, side, side, 1) for side in (5, 8)],
    "partly split": [partial(families.partly_split_squares, 6, 6, 50, seed) for seed in (1, 2)],
    "tops": [partial(families.quilt_top, 8, 8, 16, 1)],
    "stars": [partial(families.star_top, 4, 4)],
    "spun rings": [partial(families.spun_rings, 4)],
    "pictures": [partial(families.picture_with_locked_parts, seed) for seed in (1, 2)],
    "honeycombs": [partial(families.honeycomb, side, side) for side in (4, 7)],
    "mosaics": [partial(families.voronoi, cells, 1) for cells in (12, 30, 50)],
    "locked cells": [partial(families.locked_cells, 3, 2, share=0.6, seed=seed) for seed in (1, 2, 3)],
    "curved cells": [partial(families.locked_cells, 2, 2, share=0.6, seed=seed, curved=True) for seed in (1, 2)],
    "nests": [partial(families.nested_locks, 5, patches=patches, seed=6) for patches in (40, 80)],
    "locked in lines": [partial(families.lines_with_locked_part, lines, 3) for lines in (10, 20)],
}


@dataclass(frozen=True, slots=True)
class Found:
    """Seconds of a family, how many of its blocks are proven, and their units together."""

    seconds: float
    proven: int
    units: int


@contextmanager
def without(step: Mapping[str, Any]) -> Iterator[None]:
    """Switch a step off, and the clock."""
    with ExitStack() as stack:
        stack.enter_context(patch.object(Deadline, "left", lambda _: math.inf))
        stack.enter_context(patch.object(Deadline, "over", property(_no)))
        for name, instead in step.items():
            stack.enter_context(patch(name, instead))
        yield


def search(blocks: Sequence[Block]) -> Found:
    """Search the blocks of a family."""
    start = time.process_time()
    found = [find_order(block, time_limit=TIME_LIMIT) for block in blocks]
    seconds = time.process_time() - start
    parts = [build_part(block, range(len(block.patches))) for block in blocks]
    merits = [score(part, one.order) for part, one in zip(parts, found, strict=True)]
    return Found(seconds, sum(one.proven for one in found), sum(merit.units for merit in merits))


def compare(least: Found, other: Found) -> str:
    """Say what a family comes to without a step: its time, and proofs and units where they differ."""
    times = other.seconds / least.seconds
    words = f"{times:.1f}×" if abs(times - 1) > MATTERS else "="
    if other.proven != least.proven:
        words += f", {other.proven - least.proven:+} proven"
    if other.units != least.units:
        words += f", {other.units - least.units:+} units"
    return words


def main() -> None:
    """Measure the steps asked for on the families asked for."""
    parser = argparse.ArgumentParser(prog="python -m benchmarks.ablation", description=__doc__)
    parser.add_argument("--step", action="append", choices=STEPS, help="only these steps")
    parser.add_argument("--family", action="append", choices=FAMILIES, help="only these families")
    options = parser.parse_args()
    steps = options.step or list(STEPS)
    lines = [about_line(), "", f"| family | patches | all | {' | '.join(steps)} |", "| --- " * (len(steps) + 3) + "|"]
    print("\n".join(lines), flush=True)
    find_order(block_from_polygons(families.voronoi(9, 1)), time_limit=1)  # loads what is loaded once
    for family in options.family or FAMILIES:
        blocks = [block_from_polygons(make()) for make in FAMILIES[family]]
        sizes = ", ".join(str(len(block.patches)) for block in blocks)
        with without({}):
            least = search(blocks)
        cells = [family, sizes, f"{least.seconds:.2f} s, {least.proven} of {len(blocks)} proven, {least.units} units"]
        for step in steps:
            with without(STEPS[step]):
                cells.append(compare(least, search(blocks)))
        lines.append(f"| {' | '.join(cells)} |")
        print(lines[-1], flush=True)
    (RESULTS / f"{today()}-ablation.md").write_text("\n".join(["# What each step is worth", "", *lines, ""]))


if __name__ == "__main__":
    main()

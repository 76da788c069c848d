"""Measure the program against the alternatives: ``python -m benchmarks.layouts``.

Prints a table for each family and writes all figures to a CSV file with the commit and the versions in use. Times are
ratios within one run on one machine; they are never tested.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import partial
from importlib import import_module
from pathlib import Path
from typing import Any

import shapely

from benchmarks import families
from benchmarks.alternatives import UNSEWABLE, constraint_model, list_parts, parts_program, plain_recursion
from benchmarks.measure import CUT_OFF, RESULTS, about_line, measure, today, write_csv
from seamtree.block.build import block_from_polygons
from seamtree.block.model import Block
from seamtree.mending import mend
from seamtree.planning.build import build_plan
from seamtree.planning.replay import replay
from seamtree.planning.report import block_json
from seamtree.search.corners.solve_part import solve_part
from seamtree.search.find import find_order

PARTS_LIMIT = 200_000
"""Parts of the whole graph that are counted at most."""

QUICK = 2.0
"""Seconds of planning up to which the replay of the plan is measured as well."""

_ROUNDING = 1e-6
"""Units by which the optimum of a program in floating point may be off."""


@dataclass(frozen=True, slots=True)
class Case:
    """One layout of a family."""

    family: str
    size: str
    polygons: Callable[[], list[shapely.Polygon]]
    tolerance: float = 0.02
    mended: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One line of the table; times in seconds, None where the work was cut off or not tried."""

    family: str
    size: str
    patches: int
    parts: int | None = None
    units: int
    hard_corners: int
    proven: bool
    floor: float | None
    planar_map: float | None
    ours: float | None
    plan: float | None
    plain: float | None = None
    junction_model: float | None = None
    constraint_model: float | None = None
    integer_program: float | None = None
    linear_program: float | None = None
    linear_optimum: float | None = None
    mend: float | None = None
    replay: float | None = None


def straight_cases() -> Iterator[Case]:
    """Yield layouts that straight seams can sew."""
    for n in (25, 60, 150, 400):
        yield Case("random straight cuts", str(n), partial(families.straight_cuts, n, 1))
    for n in (8, 13, 18, 25, 30):
        yield Case("lines across a block", str(n), partial(families.lines_across, n, 1), 1e-4)
    for n in (5, 7, 10, 13, 20):
        yield Case("grid of squares", f"{n}×{n}", partial(families.square_grid, n, n))
    for n in (4, 5, 9, 14):
        yield Case("grid of split squares", f"{n}×{n}", partial(families.split_squares, n, n, 1))


def hard_cases() -> Iterator[Case]:
    """Yield layouts with hard corners."""
    for n in (20, 50, 100):
        yield Case("Voronoi", str(n), partial(families.voronoi, n, 1), 1e-4)
    for c, r in ((3, 3), (4, 4), (5, 5), (7, 7)):
        yield Case("honeycomb", f"{c}×{r}", partial(families.honeycomb, c, r))
    for n in (1, 4, 9):
        yield Case("spun rings", str(n), partial(families.spun_rings, n), mended=True)
    for seed in (1, 2):
        draw = partial(families.picture_with_locked_parts, seed)
        yield Case("picture with 6 locked parts", f"seed {seed}", draw, mended=True)


def run_case(case: Case, *, limit: float) -> Row:
    """Measure one layout."""
    polygons = case.polygons()
    block = block_from_polygons(polygons, tolerance=case.tolerance)
    lines = [polygon.exterior for polygon in polygons]
    floor = measure(lambda: len(shapely.get_parts(shapely.polygonize([shapely.union_all(lines)]))), limit=limit)
    planar = measure(lambda: len(block_from_polygons(polygons, tolerance=case.tolerance).patches), limit=limit)
    full = measure(lambda: _summary(block), limit=6 * limit)
    if full.seconds is None:
        raise SystemExit(f"{case.family} {case.size}: cut off after {6 * limit:g} s")
    units, hard, proven = full.result
    ours = measure(lambda: find_order(block, time_limit=10).units, limit=6 * limit)
    more: dict[str, Any] = {}
    if full.seconds < QUICK:
        more["replay"] = _time_of_replay(block, limit)
    if case.mended:
        more["mend"] = measure(lambda: mend(block).best is not None, limit=6 * limit, repeats=1).seconds
    if hard == 0:
        more |= _other_ways(block, units, case=case, limit=limit)
    return Row(
        family=case.family,
        size=case.size,
        patches=len(block.patches),
        units=units,
        hard_corners=hard,
        proven=proven,
        floor=floor.seconds,
        planar_map=planar.seconds,
        ours=ours.seconds,
        plan=full.seconds,
        **more,
    )


def _time_of_replay(block: Block, limit: float) -> float | None:
    plan = build_plan(block, find_order(block, time_limit=10))
    outlines, answer = [block.polygon(p) for p in range(len(block.patches))], block_json(plan)
    return measure(
        lambda: replay(outlines, answer, tolerance=block.tolerance, curves=block.drawn_curves()), limit=limit
    ).seconds


def _other_ways(block: Block, units: int, *, case: Case, limit: float) -> dict[str, Any]:
    """Measure the alternatives on a block that straight seams can sew in so many units; return figures of its row."""
    plain = measure(lambda: plain_recursion(block), limit=limit, repeats=1)
    parts = measure(lambda: len(list_parts(block, PARTS_LIMIT) or ()), limit=limit, repeats=1)
    whole = program = relaxed = CUT_OFF
    if parts.result:  # these build the same graph first
        whole = measure(lambda: constraint_model(block, seconds=limit), limit=2 * limit, repeats=1)
        program = measure(lambda: parts_program(block, seconds=limit), limit=2 * limit, repeats=1)
        relaxed = measure(lambda: parts_program(block, seconds=limit, relaxed=True), limit=2 * limit, repeats=1)
    found = {
        "plain recursion": plain.result and plain.result[0],
        "CP-SAT": whole.result,
        "HiGHS": program.result,
        "the linear relaxation": relaxed.result,
    }
    for way, fewest in found.items():
        if fewest is not None and fewest != UNSEWABLE and abs(fewest - units) > _ROUNDING:
            raise SystemExit(f"{case.family} {case.size}: {way} finds {fewest} units, not {units}")
    model = measure(lambda: _junction_model(block, limit), limit=2 * limit, repeats=1)
    return {
        "parts": parts.result or None,
        "plain": plain.seconds,
        "junction_model": model.seconds if model.result else None,
        "constraint_model": whole.seconds if whole.result else None,
        "integer_program": program.seconds if program.result else None,
        "linear_program": relaxed.seconds if relaxed.result else None,
        "linear_optimum": relaxed.result,
    }


def _summary(block: Block) -> tuple[int, int, bool]:
    plan = build_plan(block, find_order(block, time_limit=10))
    return plan.counts.units, plan.counts.hard_corners, plan.proven


def _junction_model(block: Block, seconds: float) -> bool:
    """Tell whether the junction model over the whole block proves its answer."""
    return solve_part(block, range(len(block.patches)), effort=seconds).proven


def _time(seconds: float | None) -> str:
    if seconds is None:
        return "-"
    return f"{1e3 * seconds:.1f} ms" if seconds < 1 else f"{seconds:.1f} s"


def _ratio(a: float | None, b: float | None) -> str:
    return "-" if a is None or not b else f"{a / b:.1f}"


def table_row(row: Row) -> str:
    """Return a line of the table (Markdown)."""
    cells = [
        row.family,
        row.size,
        str(row.patches),
        str(row.parts or "-"),
        str(row.units),
        str(row.hard_corners),
        "yes" if row.proven else "no",
        _time(row.floor),
        _time(row.planar_map),
        _time(row.ours),
        _ratio(row.ours, row.floor),
        _time(row.plain),
        _ratio(row.plain, row.ours),
        _time(row.junction_model),
        _ratio(row.junction_model, row.ours),
        _time(row.constraint_model),
        _time(row.integer_program),
        _time(row.linear_program),
        _ratio(row.linear_program, row.ours),
        _time(row.mend),
        _time(row.replay),
    ]
    return "| " + " | ".join(cells) + " |"


HEAD = (
    "| family | size | patches | parts | units | hard corners | proven | floor | planar map | search | search/floor "
    "| plain | plain/search | junction model | model/search | CP-SAT | HiGHS | HiGHS LP | LP/search | mend | replay |"
)

RULE = "|" + " --- |" * (HEAD.count("|") - 1)

LEGEND = """\
*floor*: noding and polygonizing the same lines with shapely; *search*: from the planar map to the proven order;
*plain*: plain recursion over the parts graph with its *parts*; *junction model*, *CP-SAT*: the constraint models over
junctions and over the whole parts graph; *HiGHS*: the parts graph as an integer program, and its linear relaxation
(*LP*); *replay*: sewing the plan step by step; `-`: cut off, not proven in time, or not measured. Wherever there is a
time, the optimum was that of the search. The parts graph is built anew for every alternative that needs it, within
its time. All figures are in the CSV file beside this one.
"""


def write_table(rows: list[Row], path: Path) -> None:
    """Write the table with its legend."""
    lines = [f"# Results of {path.stem}", "", LEGEND, about_line(), "", HEAD, RULE, *map(table_row, rows), ""]
    path.write_text("\n".join(lines), encoding="utf-8")


def main() -> None:
    """Measure the cases asked for."""
    parser = argparse.ArgumentParser(prog="python -m benchmarks.layouts", description=__doc__)
    parser.add_argument("--limit", type=float, default=10.0, help="seconds after which an alternative is cut off")
    parser.add_argument("--only", default="", help="families whose names contain this")
    parser.add_argument(
        "--csv",
        type=Path,
        default=RESULTS / f"{today()}.csv",
        help="where to write the figures",
    )
    options = parser.parse_args()
    cases = [case for case in (*straight_cases(), *hard_cases()) if options.only in case.family]
    if not cases:
        sys.exit(f"no family has {options.only!r} in its name")
    for module in ("ortools.sat.python.cp_model", "scipy.optimize", "scipy.sparse"):
        import_module(module)  # so that no alternative is charged with it
    print(HEAD)
    print(RULE)
    rows = []
    for case in cases:
        row = run_case(case, limit=options.limit)
        print(table_row(row), flush=True)
        rows.append(row)
    write_csv(rows, options.csv)
    write_table(rows, options.csv.with_suffix(".md"))
    print(f"\nAll figures: {options.csv}")


if __name__ == "__main__":
    main()

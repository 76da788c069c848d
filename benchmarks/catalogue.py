"""Measure the audit of a large catalogue: ``python -m benchmarks.catalogue``.

Draws 2,000 drawings of 10 to 60 patches (the same every time), measures each stage on its own in processor time
against shapely's noding and polygonizing of the same lines, then audits all with one process, with two, and once more
on a full store. Times are ratios within one run on one machine; they are never tested.
"""

from __future__ import annotations

import argparse
import csv
import sys
import tempfile
import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import asdict, dataclass, fields
from pathlib import Path

import numpy as np
import shapely

from benchmarks import families
from benchmarks.measure import RESULTS, today
from benchmarks.measure import about as measured_on
from seamtree.auditing import Limits, Settings, Store, audit, local_executor
from seamtree.auditing.child import spare_garbage
from seamtree.block.build import build_blocks
from seamtree.drawing.read import parse_drawing
from seamtree.planning.build import build_plan
from seamtree.search.find import find_order

REPEATS = 3


@dataclass(frozen=True, slots=True)
class Stages:
    """Seconds of the stages of the drawings of a family together, and of the floor."""

    family: str
    drawings: int
    floor: float
    read: float
    planar_map: float
    search: float
    naming: float


@dataclass(frozen=True, slots=True)
class Runs:
    """Seconds of whole audits."""

    one: float
    two: float
    again: float


def draw_catalogue(count: int) -> list[tuple[str, bytes]]:
    """Draw a catalogue, each drawing with its family: mostly straight cuts, a few with hard corners."""
    rng = np.random.default_rng(2026)
    return [_drawn(k, int(rng.integers(10, 61))) for k in range(count)]


def _drawn(k: int, patches: int) -> tuple[str, bytes]:
    kind = k % 20
    if kind < 12:
        return "straight cuts", svg(families.straight_cuts(patches, k))
    if kind < 15:
        return "squares", svg(families.square_grid(*_sides(patches)))
    if kind < 17:
        return "split squares", svg(families.split_squares(*_sides(patches // 2), k))
    if kind < 19:
        return "lines across", svg(families.lines_across(5 + patches // 8, k))
    return "two spun rings", svg(families.spun_rings(2))


def _sides(squares: int) -> tuple[int, int]:
    columns = max(2, round(squares**0.5))
    return columns, max(2, squares // columns)


def svg(polygons: families.Polygons) -> bytes:
    """Write a layout as closed shapes; its size is in inches."""
    _, _, width, height = shapely.total_bounds(polygons)
    shapes = "".join(
        f'<polygon fill="#{k * 2654435761 % 0xFFFFFF:06x}" points="{_points(polygon)}"/>\n'
        for k, polygon in enumerate(polygons)
    )
    size = f'width="{width:.4f}in" height="{height:.4f}in" viewBox="0 0 {width:.4f} {height:.4f}"'
    return f'<svg xmlns="http://www.w3.org/2000/svg" {size}>\n{shapes}</svg>\n'.encode()


def _points(polygon: shapely.Polygon) -> str:
    return " ".join(f"{x:.4f},{y:.4f}" for x, y in polygon.exterior.coords[:-1])


def measure_stages(family: str, drawings: Sequence[bytes]) -> Stages:
    """Measure each stage on its own, in one process: the least processor time of the repeats, drawing by drawing."""
    spare_garbage()  # as the processes of an audit do
    total = np.zeros(5)
    for data in drawings:
        drawing = parse_drawing(data, source="drawing.svg")
        lines = [shapely.LinearRing(track.points) for shape in drawing.shapes for track in shape.tracks]
        (block,) = build_blocks(drawing)
        found = find_order(block, time_limit=10)
        total += [
            _least(lambda lines=lines: shapely.polygonize([shapely.union_all(lines)])),
            _least(lambda data=data: parse_drawing(data, source="drawing.svg")),
            _least(lambda drawing=drawing: build_blocks(drawing)),
            _least(lambda block=block: find_order(block, time_limit=10)),
            _least(lambda block=block, found=found: build_plan(block, found)),
        ]
    return Stages(family, len(drawings), *total.tolist())


def _least(work: Callable[[], object]) -> float:
    seconds = []
    for _ in range(REPEATS):
        start = time.process_time()
        work()
        seconds.append(time.process_time() - start)
    return min(seconds)


def measure_runs(drawings: Sequence[bytes], home: Path) -> Runs:
    """Audit everything with one process, with two, and again on a full store; processes are started before."""
    sources = []
    for k, data in enumerate(drawings):
        path = home / f"{k:05}.svg"
        path.write_bytes(data)
        sources.append(str(path))
    one, two = (_run(sources, home / f"{workers}.sqlite", workers=workers) for workers in (1, 2))
    again = min(_run(sources, home / "2.sqlite", workers=2) for _ in range(REPEATS))
    return Runs(one, two, again)


def _run(sources: Sequence[str], store: Path, *, workers: int) -> float:
    limits = Limits()
    with Store(store) as kept, local_executor(workers=workers, limits=limits) as executor:
        for ready in [executor.submit(time.sleep, 0.5) for _ in range(workers)]:
            ready.result()
        start = time.perf_counter()
        records = list(audit(sources, Settings(), executor=executor, store=kept, limits=limits))
        seconds = time.perf_counter() - start
    states = {record.state for record in records}
    if states != {"audited"}:
        sys.exit(f"a drawing was not audited: {states}")
    return seconds


def write_results(stages: Sequence[Stages], runs: Runs, count: int, path: Path) -> str:
    """Write the figures (CSV) and what they say (Markdown), and return the latter."""
    about = measured_on()
    names = [field.name for field in (*fields(Stages), *fields(Runs))]
    with path.open("w", newline="", encoding="utf-8") as file:
        writer = csv.DictWriter(file, [*names, *about], restval="")
        writer.writeheader()
        writer.writerows(asdict(row) | about for row in stages)
        writer.writerow({"family": "whole audit", "drawings": count} | asdict(runs) | about)
    text = "\n".join([f"# Catalogue of {count:,} drawings, {about['date']}", "", *_says(stages, runs, count), ""])
    path.with_suffix(".md").write_text(text, encoding="utf-8")
    return text


def _says(stages: Sequence[Stages], runs: Runs, count: int) -> Iterator[str]:
    yield "10 to 60 patches each. *Floor*: noding and polygonizing the same lines with shapely; stages are in floors,"
    yield "in processor time. *Naming*: names, counts and warnings. Times of one run on one machine: ratios count."
    yield ""
    yield "| family | measured | floor | reading | map | search | these three | naming |"
    yield "| --- | --- | --- | --- | --- | --- | --- | --- |"
    for row in (*stages, _together(stages)):
        three = row.read + row.planar_map + row.search
        parts = (row.read, row.planar_map, row.search, three, row.naming)
        cells = [row.family, str(row.drawings), f"{1e3 * row.floor / row.drawings:.2f} ms"]
        yield "| " + " | ".join([*cells, *(f"{seconds / row.floor:.1f}" for seconds in parts)]) + " |"
    yield ""
    yield "| whole audit | seconds | drawings a second | a second and process |"
    yield "| --- | --- | --- | --- |"
    for name, seconds, workers in (("one process", runs.one, 1), ("two processes", runs.two, 2)):
        yield f"| {name} | {seconds:.2f} | {count / seconds:,.0f} | {count / seconds / workers:,.0f} |"
    yield f"| full store | {runs.again:.2f} | {count / runs.again:,.0f} | |"
    yield ""
    yield f"Two processes are {runs.one / runs.two:.2f} times as fast as one. On a full store the audit is"
    yield f"{runs.two / runs.again:.0f} times as fast as the first one with two processes."


def _together(stages: Sequence[Stages]) -> Stages:
    figures = [field.name for field in fields(Stages)][1:]
    return Stages("together", *(sum(getattr(row, name) for row in stages) for name in figures))


def main() -> None:
    """Measure and write the results."""
    parser = argparse.ArgumentParser(prog="python -m benchmarks.catalogue", description=__doc__)
    parser.add_argument("--drawings", type=int, default=2000, help="how many drawings")
    parser.add_argument("--staged", type=int, default=200, help="how many of them are measured stage by stage")
    default = RESULTS / f"{today()}-catalogue.csv"
    parser.add_argument("--csv", type=Path, default=default, help="where to write the figures")
    options = parser.parse_args()
    drawings = draw_catalogue(options.drawings)
    staged: dict[str, list[bytes]] = {}
    for family, data in drawings[: options.staged]:
        staged.setdefault(family, []).append(data)
    stages = [measure_stages(family, found) for family, found in staged.items()]
    with tempfile.TemporaryDirectory() as home:
        runs = measure_runs([data for _, data in drawings], Path(home))
    print(write_results(stages, runs, len(drawings), options.csv))


if __name__ == "__main__":
    main()

"""How much of what is claimed is witnessed, and how soon it is checked: ``python -m benchmarks.proofs``.

Plans the samples, the catalogue, random layouts and some that take longer, and checks the proof of each. Writes a
table with the share of blocks whose hard corners, and whose units, are wholly witnessed: the checker needs no search
and takes nothing as it is recorded. Finding and checking are processor time of one process, summed over the blocks
that take more than a tenth of a second to find.
"""

from __future__ import annotations

import argparse
import time
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

from tests.support.random_layouts import random_layout

from benchmarks import families
from benchmarks.measure import RESULTS, about_line, today
from seamtree.block.build import block_from_polygons, read
from seamtree.block.model import Block
from seamtree.errors import DrawingError
from seamtree.proofs.check import check_claims
from seamtree.search import effort
from seamtree.search.find import find_order

SAMPLES = Path(__file__).parents[1] / "samples"

SLOW = 0.1
"""Seconds of finding from which on a block counts for the times."""


@dataclass(slots=True)
class Share:
    """Blocks of one kind; those witnessed; and the seconds that slow ones took."""

    name: str
    blocks: int = 0
    with_corners: int = 0
    corners: int = 0
    units: int = 0
    slow: int = 0
    found: float = 0.0
    checked: float = 0.0

    def add(self, block: Block, time_limit: float) -> None:
        """Plan a block and check the proof."""
        start = time.process_time()
        found = find_order(block, time_limit=time_limit)
        between = time.process_time()
        checked = check_claims(block, found.claims)
        end = time.process_time()
        self.blocks += 1
        self.with_corners += found.hard_corners > 0
        self.corners += checked.corners_witnessed
        self.units += checked.units_witnessed
        if between - start > SLOW:
            self.slow += 1
            self.found += between - start
            self.checked += end - between

    def row(self) -> str:
        """Return a row of the table."""
        cells = [
            *(self.name, f"{self.blocks:,}", f"{self.with_corners:,}"),
            *(f"{100 * n / self.blocks:.1f} %" for n in (self.corners, self.units)),
            *(f"{self.slow:,}", f"{self.found:.1f} s", f"{self.checked:.2f} s"),
            f"{self.checked / self.found:.3f}" if self.found else "",
        ]
        return f"| {' | '.join(cells)} |"


def drawn(folder: Path) -> Iterator[Block]:
    """Yield the blocks of the drawings in a folder that can be read."""
    for path in sorted(folder.iterdir()):
        if path.is_file() and path.suffix != ".md":
            try:
                yield from read(path)
            except DrawingError:
                continue


def randomly(count: int) -> Iterator[Block]:
    """Yield random layouts."""
    for seed in range(count):
        yield block_from_polygons(random_layout(seed), tolerance=1e-4)


def slowly() -> Iterator[Block]:
    """Yield layouts of several families that take longer."""
    for polygons in (
        *(families.lines_across(n, seed) for n in (20, 25, 30) for seed in (1, 2)),
        *(families.quilt_top(n, n, 28, 1) for n in (6, 9)),
        *(families.straight_cuts(n, 1) for n in (400, 1000)),
        families.star_top(6, 6),
        *(families.locked_cells(3, 3, share=0.5, seed=seed) for seed in (1, 2, 3)),
        *(families.nested_locks(2, patches=30, seed=seed) for seed in (1, 2)),
        families.honeycomb(5, 5),
        *(families.voronoi(24, seed) for seed in (1, 2)),
        families.spun_rings(6),
    ):
        yield block_from_polygons(polygons, tolerance=1e-4)


def measure(name: str, blocks: Iterable[Block], time_limit: float) -> Share:
    """Plan and check blocks of one kind."""
    share = Share(name)
    for block in blocks:
        share.add(block, time_limit)
    print(share.row(), flush=True)
    return share


def main() -> None:
    """Measure, and write the table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--count", type=int, default=1000, help="of the random layouts")
    parser.add_argument("--limit", type=float, default=10.0, help="time limit of each plan, seconds")
    given = parser.parse_args()
    effort._OVERTIME = 1000.0  # noqa: SLF001 - what else the machine does must not end a search
    shares = [
        measure("samples", drawn(SAMPLES), given.limit),
        measure("catalogue", drawn(SAMPLES / "catalogue"), given.limit),
        measure("random layouts", randomly(given.count), given.limit),
        measure("families", slowly(), given.limit),
    ]
    text = (
        f"# Proofs, {today()}\n\n{about_line()}\n\n"
        f"Finding and checking: processor time of the blocks that take more than {SLOW:g} s to find.\n\n"
        "| blocks | how many | with hard corners | corners witnessed | units witnessed | slow | finding | checking "
        "| ratio |\n|---|---|---|---|---|---|---|---|---|\n" + "".join(f"{share.row()}\n" for share in shares)
    )
    (RESULTS / f"{today()}-proofs.md").write_text(text, encoding="utf-8")


if __name__ == "__main__":
    main()

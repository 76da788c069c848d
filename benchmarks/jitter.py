"""How much a drawing may be off before the verdict changes: ``python -m benchmarks.jitter``.

Every corner of every patch is moved at random, up to a share of the tolerance: once all patches that meet at a corner
together (the drawing is closed but off), once each patch on its own (patches gape and overlap). The drawing is then
read and planned as a file would be. Prints a table of the share of drawings whose verdict, patches, units and hard
corners stay as they were, and of those that are refused with a message, which is no wrong answer.
"""

from __future__ import annotations

import argparse
import contextlib
import json
import math
import random
from collections import Counter
from collections.abc import Sequence
from pathlib import Path

from benchmarks.measure import RESULTS, about_line, today
from seamtree.block.build import build_blocks, read
from seamtree.block.model import Block
from seamtree.drawing.geojson import read_geojson
from seamtree.errors import DrawingError
from seamtree.planning.build import plan
from seamtree.tolerances import TOLERANCE

Corners = Sequence[tuple[float, float]]

SHARES = (0.05, 0.1, 0.2, 0.3, 0.4, 0.5, 0.75, 1.0, 1.5, 2.0)
"""How far corners move at most, in tolerances."""

_EFFORT = 1.0
"""Time limit of each plan: where corners move far, most blocks have many hard corners."""

_PATCHES = 70
"""Where corners move far, samples with more patches are left out: their hard corners take long."""

_FAR = 0.5
"""More tolerances than this are far."""

FATES = ("same", "other", "refused")


def shake(outlines: Sequence[Corners], most: float, rng: random.Random, *, together: bool = False) -> list[Corners]:
    """Move every corner in a random direction, up to a distance.

    Parameters
    ----------
    outlines
        The corners of every patch in turn, inches.
    most
        The largest distance, inches.
    rng
        Where the moves come from.
    together
        Whether patches that share a corner move it alike.
    """
    moves: dict[tuple[float, float], tuple[float, float]] = {}
    shaken = []
    for ring in outlines:
        moved = []
        for x, y in ring:
            angle, far = rng.uniform(0, 2 * math.pi), most * math.sqrt(rng.random())
            move = (far * math.cos(angle), far * math.sin(angle))
            if together:
                move = moves.setdefault((round(x, 6), round(y, 6)), move)
            moved.append((x + move[0], y + move[1]))
        shaken.append(moved)
    return shaken


def sample_blocks(folder: Path) -> list[Block]:
    """Return the blocks of the samples that can be read and have no curves, whose chords are finer than any hand."""
    blocks: list[Block] = []
    for file in sorted(folder.iterdir()):
        if file.suffix in {".svg", ".wkt", ".geojson"}:
            with contextlib.suppress(DrawingError):
                blocks += (block for block in read(file) if not block.drawn_curves())
    return blocks


def figures(block: Block) -> tuple[object, ...]:
    """Return what must stay the same: verdict, patches, units, hard corners."""
    answer = plan(block, time_limit=_EFFORT)
    return answer.verdict, answer.counts.patches, answer.counts.units, answer.counts.hard_corners


def fate(outlines: Sequence[Corners], true: tuple[object, ...]) -> str:
    """Read and plan patches as a file would be; tell what became of the verdict."""
    features = [
        {"type": "Feature", "properties": {}, "geometry": {"type": "Polygon", "coordinates": [[*ring, ring[0]]]}}
        for ring in outlines
    ]
    data = json.dumps({"type": "FeatureCollection", "features": features}).encode()
    try:
        (block,) = build_blocks(read_geojson(data, source="shaken"))
    except (DrawingError, ValueError):  # a drawing that falls apart into several blocks is one that was refused
        return "refused"
    return "same" if figures(block) == true else "other"


def measure(blocks: Sequence[Block], share: float, *, together: bool, times: int) -> Counter[str]:
    """Shake every block several times; count the fates."""
    fates: Counter[str] = Counter()
    for number, block in enumerate(blocks):
        outlines = [block.polygon(p) for p in range(len(block.patches))]
        true = figures(block)
        for turn in range(times):
            rng = random.Random(1000 * number + turn)  # noqa: S311 - no secrets
            shaken = shake(outlines, share * TOLERANCE, rng, together=together)
            fates[fate(shaken, true)] += 1
    return fates


def main() -> None:
    """Print the table, and write it beside the other results."""
    parser = argparse.ArgumentParser(prog="python -m benchmarks.jitter", description=__doc__)
    parser.add_argument("--times", type=int, default=3, help="how often each drawing is shaken")
    parser.add_argument("--samples", type=Path, default=Path(__file__).parent.parent / "samples")
    options = parser.parse_args()
    blocks = sample_blocks(options.samples)
    small = [block for block in blocks if len(block.patches) <= _PATCHES]
    lines = [
        f"# Jitter survived, {today()}",
        "",
        f"{len(blocks)} blocks of the samples ({len(small)} beyond {_FAR:g} × tolerance), each shaken",
        f"{options.times} times; tolerance {TOLERANCE} in.",
        "",
        about_line(),
        "",
        "| corners moved by up to | together: same | other | refused | each patch alone: same | other | refused |",
        "| --- | --- | --- | --- | --- | --- | --- |",
    ]
    for share in SHARES:
        cells = [f"{share:g} × tolerance"]
        for together in (True, False):
            fates = measure(small if share > _FAR else blocks, share, together=together, times=options.times)
            cells += [f"{fates[name] / fates.total():.1%}" for name in FATES]
        lines.append("| " + " | ".join(cells) + " |")
        print(lines[-1], flush=True)
    path = RESULTS / f"{today()}-jitter.md"
    path.write_text("\n".join([*lines, ""]), encoding="utf-8")
    print(f"\nThe table: {path}")


if __name__ == "__main__":
    main()

"""What stands round a picture and is told to those who do not see it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from seamtree.picture.lettering import text_width
from seamtree.picture.scene import Scene
from seamtree.planning.model import Counts, Plan, Unit
from seamtree.words import count, inches, one_line

_LONGEST_NAME = 80
"""Longer names of blocks are cut short."""


def title_of(plan: Plan) -> str:
    """Return the name of the block as one printable line."""
    name = one_line(plan.block.name) or "block"
    return name if len(name) <= _LONGEST_NAME else name[: _LONGEST_NAME - 1] + "…"


def size_of(plan: Plan) -> str:
    """Return the finished size of the block."""
    return f"{inches(plan.block.width)} × {inches(plan.block.height)} in"


def figures_of(counts: Counts) -> str:
    """Return the counts of a plan in words."""
    figures = [count(counts.patches, "patch", "patches"), count(counts.units, "unit")]
    if counts.joins:
        figures += [count(counts.joins, "join"), count(counts.matched_points, "matched point")]
    return ", ".join(figures)


def verdict_of(plan: Plan) -> str:
    """Return whether straight seams sew the block."""
    counts = plan.counts
    doubt = "" if plan.proven else " Not proven: there may be a better order."
    if not counts.hard_corners:
        return "One unit: sewn with straight seams." if counts.units == 1 else f"Joined by straight seams.{doubt}"
    return f"{count(counts.hard_corners, 'hard corner').capitalize()}: {counts.corners_by_kind}.{doubt}"


def describe(scene: Scene) -> str:
    """Return the picture in sentences."""
    plan = scene.plan
    whole = scene.node is plan.tree
    sentences = [
        f"{'Block' if whole else 'Part of the block'} {title_of(plan)}, finished size {size_of(plan)}, seen"
        " from the fabric side."
    ]
    if whole:
        sentences += [f"{figures_of(plan.counts).capitalize()}.", verdict_of(plan)]
    sentences += [f"Unit {unit.name}: {_numbers(unit)}." for unit in scene.units]
    for join in scene.joins:
        words = f"Join {join.step}: {join.seam.kind} seam, {inches(join.seam.length)} in"
        for corner in join.seam.corners:
            x, y = plan.block.junctions[corner.junction]
            words += f", {corner.kind} at ({inches(x)}, {inches(y)})"
        sentences.append(f"{words}.")
    return " ".join(sentences)


def _numbers(unit: Unit) -> str:
    last = len(unit.patches)
    return f"patch {unit.name}1" if last == 1 else f"patches {unit.name}1 to {unit.name}{last}"


def wrapped(text: str, width: float, size: float) -> Iterator[str]:
    """Yield the lines of a text that is broken between words at a width (points); a longer word has its own line."""
    line = ""
    for word in text.split():
        longer = f"{line} {word}" if line else word
        if line and text_width(longer, size) > width:
            yield line
            line = word
        else:
            line = longer
    yield line


def ranged(steps: Sequence[int]) -> str:
    """Return the numbers of joins that follow each other."""
    return f"join {steps[0]}" if len(steps) == 1 else f"joins {steps[0]}–{steps[-1]}"

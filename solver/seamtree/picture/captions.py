"""What stands round a picture and is told to those who do not see it."""

from __future__ import annotations

from collections.abc import Sequence

from seamtree.picture.scene import Scene
from seamtree.planning.model import Counts, Plan, Unit
from seamtree.words import count, cut_short, dimensions, inches, one_line, place

_LONGEST_NAME = 80
"""Longer names of blocks are cut short."""


def title_of(plan: Plan) -> str:
    """Return the name of the block as one printable line."""
    name = one_line(plan.block.name) or "block"
    return cut_short(name, lambda text: len(text) <= _LONGEST_NAME)


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
        f"{'Block' if whole else 'Part of the block'} {title_of(plan)}, finished size "
        f"{dimensions(plan.block.width, plan.block.height)}, seen from the fabric side."
    ]
    if whole:
        sentences += [f"{figures_of(plan.counts).capitalize()}.", verdict_of(plan)]
    sentences += [f"Unit {unit.name}: {_numbers(unit)}." for unit in scene.units]
    for join in scene.joins:
        words = f"Join {join.step}: {join.seam.kind} seam, {inches(join.seam.length)} in"
        for corner in join.seam.corners:
            words += f", {corner.kind} at {place(plan.block.junctions[corner.junction])}"
        sentences.append(f"{words}.")
    return " ".join(sentences)


def _numbers(unit: Unit) -> str:
    last = len(unit.patches)
    return f"patch {unit.name}1" if last == 1 else f"patches {unit.name}1 to {unit.name}{last}"


def ranged(steps: Sequence[int]) -> str:
    """Return the numbers of joins that follow each other."""
    return f"join {steps[0]}" if len(steps) == 1 else f"joins {steps[0]}–{steps[-1]}"

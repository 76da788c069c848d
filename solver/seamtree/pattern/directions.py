"""How to sew a block, in plain words written from its plan.

How units are sewn on foundations, the stitch length, and the cautions are common practice.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import groupby, pairwise

from seamtree.block.model import OUTSIDE
from seamtree.fabric import fabric_words
from seamtree.pattern.labels import short_word
from seamtree.pattern.lengths import Lengths
from seamtree.planning.corners import hard_corner_warning
from seamtree.planning.directions import describe_join
from seamtree.planning.model import Join, Plan, Unit, nodes_in_turn
from seamtree.planning.naming import name_units, units_by_node
from seamtree.words import capital, count

CAUTIONS = (
    "Rotary cutter: cut on a mat along a ruler, away from yourself, with your fingers well off the ruler's edge. "
    "Close the blade each time you put the cutter down, and keep it from children.",
    "Needle: keep your fingers clear of it, take pins out before they reach it, and switch the machine off before "
    "you change it.",
    "Iron: plate and steam burn, and cloth stays hot for a while. Set the iron on its rest, and unplug it when "
    "you leave.",
)
"""The usual short cautions."""


@dataclass(frozen=True, slots=True)
class Section:
    """Some paragraphs under a heading; numbered ones are done in turn."""

    title: str
    paragraphs: tuple[str, ...]
    numbered: bool = False


@dataclass(frozen=True, slots=True)
class Task:
    """One line of the order of work: its heading, what to do, and the join if it is one."""

    head: str
    sentences: tuple[str, ...]
    join: Join | None = None


def write_directions(plan: Plan, *, allowance: float, lengths: Lengths) -> tuple[Section, ...]:
    """Return the general directions for a plan: everything but the order of work.

    Parameters
    ----------
    plan
        The plan.
    allowance
        Seam allowance, inches.
    lengths
        How lengths are written.
    """
    sections = [Section("Before you start", CAUTIONS), Section("Prepare", tuple(_prepare(plan)))]
    if plan.counts.single_patches < plan.counts.units:
        steps = tuple(_unit_steps(lengths.size(allowance), lengths.size(0.25)))
        sections.append(Section("Sew a unit", steps, numbered=True))
    if plan.counts.joins:
        sections.append(Section("Join units", tuple(_join_steps(plan, lengths.size(allowance))), numbered=True))
    sections.append(Section("Take the paper off", tuple(_paper_off(plan))))
    return tuple(sections)


def _prepare(plan: Plan) -> Iterator[str]:
    yield (
        "Print the foundation sheets at actual size and measure both test squares: if they are not true, nothing "
        "else is. Cut the foundations apart roughly, outside the dashed lines."
    )
    if plan.counts.single_patches:
        templates = [unit.name for unit in plan.units() if len(unit.patches) == 1]
        name = capital(name_units(templates))
        yield (
            f"{name} is a single patch: a template, nothing is sewn on it. Cut it out on the dashed line, lay it "
            "printed side up on the wrong side of the fabric, and cut round it."
            if len(templates) == 1
            else f"{name} are single patches: templates, nothing is sewn on them. Cut them out on the dashed lines, "
            "lay them printed side up on the wrong side of the fabric, and cut round them."
        )
    yield (
        "Cut the pieces of the cutting list and mark each with its number. Set the machine to a short stitch, about "
        "1.5 mm (17 stitches to the inch), so that the paper tears off well; a size 90/14 needle makes clear holes."
    )
    yield (
        "Foundations are mirror images of the finished block: you sew on the printed lines, and the cloth lies on "
        "the blank side. Sew one block of cheap cloth before you cut the good one."
    )


def _unit_steps(allowance: str, beyond: str) -> Iterator[str]:
    """Yield how a unit is sewn."""
    yield (
        "Place piece 1 on the blank side, right side up, so that it covers patch 1 and reaches beyond it on every "
        "side (hold it against the light). Pin it."
    )
    yield (
        "Lay piece 2 on piece 1, right sides together, so that it reaches beyond the line between patches 1 and 2 "
        "by about the allowance, and will cover patch 2 with its allowances once it is flipped over. Pin well off "
        "the line."
    )
    yield (
        "Turn the paper up. Sew on the printed line from one end to the other, starting and stopping "
        f"{beyond} beyond the ends of the line."
    )
    yield f"Fold the paper back along the line and trim both layers of cloth to {allowance} beyond the seam."
    yield "Flip piece 2 over and press the seam from the cloth side with a dry iron."
    yield (
        "Go on in the order of the numbers: each new piece is sewn on its line with everything before it. Where a "
        "line meets earlier patches, trim the cloth beneath along it first."
    )
    yield (
        "When all patches of the unit are sewn, press it, turn the paper up and square it up: cut through paper and "
        f"cloth on the dashed line, {allowance} outside. Leave the paper on."
    )


def _join_steps(plan: Plan, allowance: str) -> Iterator[str]:
    """Yield how two parts are joined."""
    yield (
        "Lay the two parts right sides together, paper outside, edge on edge. Push a pin straight through the "
        "ends of the seam lines on both papers, then pin along the seam."
    )
    if plan.counts.matched_points:
        yield (
            "Where there are ticks across the allowance, seams must meet: push a pin through the inner end of the "
            "tick on both papers, and tack there with a few long stitches first. Open it and look; then sew."
        )
    yield f"Sew on the outer solid line, {allowance} inside the edge, from edge to edge."
    if plan.counts.hard_corners:
        yield (
            "Joins with hard corners are sewn otherwise: their directions say where to begin, stop, pivot and close. "
            "Sew no farther than the corner itself, and fasten off there."
        )
    yield "Tear the paper out of the allowance, and press it to the side that the order of work says."
    if plan.counts.nesting_points:
        yield (
            "Where allowances nest, they fall on opposite sides: push the two ridges against each other before you "
            "pin, and the point matches by itself."
        )


def _paper_off(plan: Plan) -> Iterator[str]:
    """Yield when the paper comes off."""
    if not plan.counts.joins:
        yield (
            "Leave the paper on until the block is sewn to its neighbours or its border: it keeps the edges from "
            "stretching. Then fold along each stitching line and tear the paper off, last piece first."
        )
        return
    inner = list(_paper_off_early(plan))
    if inner:
        told = "; ".join(f"{name_units(names)} after join {step}" for step, names in inner)
        yield (
            f"The paper of units that touch no edge of the block may come off when they are joined all round: {told}."
        )
    yield (
        f"Leave the paper{' of the other units' * bool(inner)} on until the block is sewn to its neighbours or its "
        "border: it keeps the edges from stretching. Then fold along each stitching line and tear the paper off, "
        "last piece first."
    )


def _paper_off_early(plan: Plan) -> Iterator[tuple[int, list[str]]]:
    """Yield the units inside the block by the join that sews the last of their edges."""
    block = plan.block
    owner = {p: unit.name for unit in plan.units() for p in unit.patches}
    outer = {owner[e.left if e.right == OUTSIDE else e.right] for e in block.edges if not e.interior}
    last: dict[str, int] = {}
    between = block.edge_between()
    for join in plan.joins():
        for ends in pairwise(join.seam.path):
            edge = block.edges[between[frozenset(ends)]]
            for patch in (edge.left, edge.right):
                last[owner[patch]] = join.step
    inner = sorted(((last[name], name) for name in last if name not in outer), key=lambda entry: entry[0])
    for step, group in groupby(inner, key=lambda entry: entry[0]):
        yield step, [name for _, name in group]


# -- the order of work -----------------------------------------------------------------------------------------


def write_tasks(plan: Plan, *, lengths: Lengths) -> tuple[Task, ...]:
    """Return the order of work: every unit and every join, each when it is its turn."""
    words = fabric_words(patch.fabric for patch in plan.block.patches)
    names = units_by_node(plan.tree)
    tasks = []
    for node in nodes_in_turn(plan.tree):
        if isinstance(node, Unit):
            tasks.append(_unit_task(plan, node, words))
        else:
            tasks.append(_join_task(plan, node, names, lengths))
    return tuple(tasks)


def _unit_task(plan: Plan, unit: Unit, words: dict[str | None, str]) -> Task:
    fabrics = [short_word(words[plan.block.patches[p].fabric]) for p in unit.patches]
    runs = []
    for word, group in groupby(enumerate(fabrics, 1), key=lambda pair: pair[1]):
        numbers = [number for number, _ in group]
        first, end = f"{unit.name}{numbers[0]}", f"{unit.name}{numbers[-1]}"
        runs.append(f"{first if first == end else f'{first}–{end}'} {word}")
    what = "template" if len(unit.patches) == 1 else count(len(unit.patches), "patch", "patches")
    return Task(f"Unit {unit.name}", (f"{what}: {', '.join(runs)}.",))


def _join_task(plan: Plan, join: Join, names: dict[int, tuple[str, ...]], lengths: Lengths) -> Task:
    first, second = (name_units(names[id(part)]) for part in join.parts)
    seam = join.seam
    sentences = [f"{first} to {second}, {seam.kind} seam, {lengths.size(seam.length)}{_matched(len(seam.matched))}."]
    sentences += describe_join(plan, join, scale=lengths.scale)
    sentences.append(f"Press toward {(first, second)[join.press]}{_nesting(join)}.")
    return Task(f"Join {join.step}", tuple(sentences), join)


def _matched(number: int) -> str:
    return f", {count(number, 'matched point')}" if number else ""


def _nesting(join: Join) -> str:
    """Say at how many matched points the allowances lock into each other."""
    matched, nesting = len(join.seam.matched), len(join.nests)
    if not nesting:
        return ""
    if nesting == matched:
        return ": the allowances nest at the matched point" + "s" * (matched > 1)
    return f": the allowances nest at {nesting} of the {matched} matched points"


def warnings_for_print(plan: Plan, *, lengths: Lengths) -> tuple[str, ...]:
    """Return what a sewist should know before beginning: where the hard corners are, without doubles.

    Notes on how the drawing was read are for the designer and left out.
    """
    ids = plan.patch_ids()
    warnings = (
        hard_corner_warning(plan.block, join, corner, ids, scale=lengths.scale).message
        for join in plan.joins()
        for corner in join.seam.corners
    )
    return tuple(dict.fromkeys(warnings))

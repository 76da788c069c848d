"""How to sew a block, in plain words written from its plan.

How units are sewn on foundations, the stitch length, and the cautions are common practice.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import TYPE_CHECKING

import shapely

from seamtree.fabric import fabric_words
from seamtree.pattern.cutting import CutRow
from seamtree.pattern.fabrics import Fabrics, fabrics_of_blocks
from seamtree.pattern.labels import short_word
from seamtree.pattern.lengths import Lengths
from seamtree.pattern.pieces import Piece
from seamtree.pattern.steps import Addition, JoinStep, paper_off_early
from seamtree.planning.corners import hard_corner_warning
from seamtree.planning.directions import describe_join
from seamtree.planning.model import Join, Plan, Unit, id_order, nodes_in_turn
from seamtree.planning.naming import name_units, units_by_node
from seamtree.words import capital, count, listed

if TYPE_CHECKING:
    from seamtree.drawing.drawn import Track

CAUTIONS = (
    "Rotary cutter: cut on a mat along a ruler, away from yourself, with your fingers well off the ruler's edge. "
    "Close the blade each time you put the cutter down, and keep it from children.",
    "Needle: keep your fingers clear of it, take pins out before they reach it, and switch the machine off before "
    "you change it.",
    "Iron: plate and steam burn, and cloth stays hot for a while. Set the iron on its rest, and unplug it when "
    "you leave.",
)
"""The usual short cautions."""

PAPER_OUT = "Tear the paper out of the allowance"
"""What is done when a join is sewn, before it is pressed."""


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


def write_directions(plans: Sequence[Plan], *, allowance: float, lengths: Lengths) -> tuple[Section, ...]:
    """Return the general directions for some plans: everything but the order of work.

    Parameters
    ----------
    plans
        The plans.
    allowance
        Seam allowance, inches.
    lengths
        How lengths are written.
    """
    sections = [Section("Before you start", CAUTIONS), Section("Prepare", tuple(_prepare(plans)))]
    if any(plan.counts.single_patches < plan.counts.units for plan in plans):
        steps = tuple(_unit_steps(lengths.size(allowance), lengths.size(0.25)))
        sections.append(Section("Sew a unit", steps, numbered=True))
    if any(plan.counts.joins for plan in plans):
        sections.append(Section("Join units", tuple(_join_steps(plans, lengths.size(allowance))), numbered=True))
    sections.append(Section("Take the paper off", tuple(_paper_off(plans))))
    marked = [plan for plan in plans if plan.block.markings]
    if marked:
        told = tuple(dict.fromkeys(text for plan in marked for text in _markings(plan, lengths)))
        sections.append(Section("Added at the end", told))
    return tuple(sections)


def _markings(plan: Plan, lengths: Lengths) -> Iterator[str]:
    """Yield what the lines that are no seams are, and how they get onto the cloth."""
    apart = lengths.size(0.125)
    closed = sum(track.closed for track in plan.block.markings)
    lines = len(plan.block.markings) - closed
    kinds = []
    if lines:
        kinds.append(f"{count(lines, 'line')} for embroidery")
    if closed:
        kinds.append(f"{count(closed, 'closed shape')} for buttons or appliqué")
    yield (
        f"{capital(plan.block.name)}: {listed(kinds)}, dotted on the foundations, in their colours on the picture of "
        "the block; no seams."
    )
    yield from _listed_markings(plan, lengths)
    yield (
        "Before the paper comes off, prick along the dotted lines from the printed side with a pin every "
        f"{apart}, or hold the unit against a window, and draw them on the right side of the cloth with a marker "
        "that washes out."
    )
    if plan.counts.joins:
        yield (
            "Where a join cuts a line, mark both sides up to the seam and draw the line through across the join "
            "when it is sewn and pressed."
        )
    yield (
        "Embroider and appliqué when all joins are sewn and the paper is off, with a stabiliser behind thin "
        "cloth; sew buttons on last, through all layers."
    )


def _listed_markings(plan: Plan, lengths: Lengths) -> Iterator[str]:
    """Yield the markings by kind and colour: how many, how long or large, and on which patches."""
    ids = plan.patch_ids()
    areas = [shapely.Polygon(plan.block.polygon(p)) for p in range(len(plan.block.patches))]
    paints = [track.fill or track.line for track in plan.block.markings]
    words = fabric_words(paint for paint in paints if paint is not None)
    groups: dict[tuple[bool, str], list[Track]] = {}
    for track, paint in zip(plan.block.markings, paints, strict=True):
        groups.setdefault((track.closed, words[paint] if paint is not None else ""), []).append(track)
    for (closed, word), tracks in sorted(groups.items(), key=lambda group: group[0]):
        lines = [shapely.LineString(track.path) for track in tracks]
        on = [
            p
            for p, area in enumerate(areas)
            if any(line.intersection(area).length > plan.block.tolerance for line in lines)
        ]
        size = max(max(line.bounds[2] - line.bounds[0], line.bounds[3] - line.bounds[1]) for line in lines)
        long = lengths.size(sum(line.length for line in lines))
        what = count(len(tracks), "closed shape" if closed else "line")
        told = f"at most {lengths.size(size)} across" if closed else f"{long} together"
        where = f", on {listed(sorted((ids[p] for p in on), key=id_order))}" if on else ""
        yield f"{what}{f' in {word}' if word else ''}, {told}{where}."


def _prepare(plans: Sequence[Plan]) -> Iterator[str]:
    yield (
        "Print the foundation sheets at actual size and measure both test squares: if they are not true, nothing "
        "else is. Cut the foundations apart roughly, outside the dashed lines. Each patch shows its number and "
        "the code of its fabric; the key says which is which."
    )
    if len(plans) > 1 and any(plan.counts.single_patches for plan in plans):
        yield (
            "Units of a single patch are templates: nothing is sewn on them. Cut them out on the dashed lines, "
            "lay them printed side up on the wrong side of the fabric, and cut round them."
        )
    elif plans[0].counts.single_patches:
        templates = [unit.name for unit in plans[0].units() if len(unit.patches) == 1]
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
        "Lay piece 2 on piece 1, right sides together, the side that the cutting list names along the line between "
        f"patches 1 and 2 and {allowance} beyond it, its middle at the middle of patch 2, so that it covers patch "
        "2 with its allowances once it is flipped over. Pin well off the line."
    )
    yield (
        "Turn the paper up. Sew on the printed line from one end to the other, starting and stopping "
        f"{beyond} beyond the ends of the line."
    )
    yield "Flip piece 2 over and press the seam from the cloth side with a dry iron."
    yield (
        "Go on in the order of the numbers: each new piece is sewn on its line with everything before it. Before "
        "each "
        f"new piece fold the paper back on its line and trim what is sewn to {allowance} beyond it: the new piece is "
        "laid along that edge."
    )
    yield tell_squaring_up(allowance)


def tell_squaring_up(allowance: str) -> str:
    """Say how a unit is finished; the allowance with its unit of length."""
    return (
        "When all patches of the unit are sewn, press it, turn the paper up and square it up: cut through paper and "
        f"cloth on the dashed line, {allowance} outside. Leave the paper on."
    )


def tell_straight_join(allowance: str) -> str:
    """Say how a join without hard corners is sewn; the allowance with its unit of length."""
    return f"Sew on the outer solid line, {allowance} inside the edge, from edge to edge."


def _join_steps(plans: Sequence[Plan], allowance: str) -> Iterator[str]:
    """Yield how two parts are joined."""
    yield (
        "Lay the two parts right sides together, paper outside, edge on edge. Push a pin straight through the "
        "ends of the seam lines on both papers, then pin along the seam."
    )
    if any(plan.counts.matched_points for plan in plans):
        yield (
            "Where there are ticks across the allowance, seams must meet: push a pin through the inner end of the "
            "tick on both papers, and tack there with a few long stitches first. Open it and look; then sew."
        )
    yield tell_straight_join(allowance)
    if any(plan.counts.hard_corners for plan in plans):
        yield (
            "Joins with hard corners are sewn otherwise: their directions say where to begin, stop, pivot and close. "
            "Sew no farther than the corner itself, and fasten off there."
        )
    yield f"{PAPER_OUT}, and press it to the side that the order of work says."
    if any(plan.counts.nesting_points for plan in plans):
        yield (
            "Where allowances nest, they fall on opposite sides: push the two ridges against each other before you "
            "pin, and the point matches by itself."
        )


def _paper_off(plans: Sequence[Plan]) -> Iterator[str]:
    """Yield when the paper comes off."""
    if not any(plan.counts.joins for plan in plans):
        yield (
            "Leave the paper on until the block is sewn to its neighbours or its border: it keeps the edges from "
            "stretching. Then fold along each stitching line and tear the paper off, last piece first."
        )
        return
    inner = list(paper_off_early(plans[0])) if len(plans) == 1 else []
    if len(plans) > 1:
        yield "The paper of units that touch no edge of the block may come off when they are joined all round."
    elif inner:
        told = "; ".join(f"{name_units(names)} after join {step}" for step, names in inner)
        yield (
            f"The paper of units that touch no edge of the block may come off when they are joined all round: {told}."
        )
    yield (
        f"Leave the paper{' of the other units' * bool(inner)} on until the block is sewn to its neighbours or its "
        "border: it keeps the edges from stretching. Then fold along each stitching line and tear the paper off, "
        "last piece first."
    )


# -- the order of work -----------------------------------------------------------------------------------------


def write_tasks(plan: Plan, fabrics: Fabrics | None = None, *, lengths: Lengths) -> tuple[Task, ...]:
    """Return the order of work: every unit and every join, each when it is its turn."""
    known = fabrics or fabrics_of_blocks([plan.block])
    names = units_by_node(plan.tree)
    tasks = []
    for node in nodes_in_turn(plan.tree):
        if isinstance(node, Unit):
            tasks.append(_unit_task(plan, node, known))
        else:
            tasks.append(_join_task(plan, node, names, lengths))
    return tuple(tasks)


def _unit_task(plan: Plan, unit: Unit, fabrics: Fabrics) -> Task:
    words = [short_word(fabrics.of(plan.block.patches[p].fabric).words) for p in unit.patches]
    runs = []
    for word, group in groupby(enumerate(words, 1), key=lambda pair: pair[1]):
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


# -- step by step ----------------------------------------------------------------------------------------------


def tell_size(piece: Piece | CutRow, lengths: Lengths) -> str:
    """Return the size to cut a piece to: along its line by its depth, or the square that it is halved from."""
    if piece.shape in ("half", "quarter"):
        side = "long" if piece.along > 1.9 * piece.deep else "short"
        cut = "halved" if piece.shape == "half" else "quartered"
        return f"{lengths.size(piece.side)} square, {cut}; {side} side on the line"
    exactly = " exactly" if piece.shape == "exact" else ""
    return f"{lengths.area(piece.along, piece.deep)}{exactly}"


def write_addition(addition: Addition, *, allowance: float, lengths: Lengths) -> tuple[str, ...]:
    """Say how a piece is put onto its foundation: sentences in turn; a template has no such step.

    Parameters
    ----------
    addition
        A step of a unit, see `seamtree.pattern.steps`.
    allowance
        Seam allowance, inches.
    lengths
        How lengths are written.
    """
    size = tell_size(addition.piece, lengths)
    cut = f"{short_word(addition.fabric.words)}, {size}" if addition.fabric.known else size
    if addition.line is None:
        return (
            f"Lay piece {addition.name} ({cut}) on the blank side of the paper, right side up, so that it covers "
            f"patch {addition.name} and reaches beyond it on every side, and pin it.",
        )
    line = f"the line between {addition.name} and {listed(addition.onto)}"
    return (
        f"Fold the paper back on {line} and trim what is sewn to {lengths.size(allowance)} beyond it.",
        f"Lay piece {addition.name} ({cut}) along that edge, right sides together, its middle at the middle of the "
        "patch.",
        f"Turn the paper up and sew on the line, starting and stopping {lengths.size(0.25)} beyond its ends; flip "
        "the piece over and press.",
    )


def write_join(plan: Plan, step: JoinStep, *, lengths: Lengths) -> tuple[str, ...]:
    """Say how two parts are joined: what to what, how where it has hard corners, and where to press.

    Parameters
    ----------
    plan, step
        The plan, and one of its steps (see `seamtree.pattern.steps`).
    lengths
        How lengths are written.
    """
    names = {id(part): units for part, units in zip(step.join.parts, step.parts, strict=True)}
    sentences = list(_join_task(plan, step.join, names, lengths).sentences)
    if step.paper_off:
        sentences.append(f"The paper of {name_units(step.paper_off)} may come off now.")
    return tuple(sentences)

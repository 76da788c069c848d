"""What is shown and said at every step of sewing a block, one screen a step.

Steps are those of `seamtree.pattern.steps`, words those of `seamtree.pattern.directions`: the same as in a pack.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import Any, Literal

import shapely

from seamtree.block.model import Block
from seamtree.colour import BARE
from seamtree.pattern.cutting import PatchCloth
from seamtree.pattern.directions import (
    PAPER_OUT,
    Section,
    tell_size,
    tell_squaring_up,
    tell_straight_join,
    write_addition,
    write_directions,
    write_join,
)
from seamtree.pattern.fabrics import Fabrics
from seamtree.pattern.foundation import build_foundations
from seamtree.pattern.labels import short_word
from seamtree.pattern.lengths import Lengths
from seamtree.pattern.pack import Options
from seamtree.pattern.steps import Addition, JoinStep, MatchedPoint, UnitStep, build_steps
from seamtree.pattern.work import BlockWork
from seamtree.planning.model import Plan
from seamtree.planning.naming import name_units
from seamtree.words import capital, count, listed

Tool = Literal["cutter", "needle", "iron"]

TOOLS: tuple[Tool, ...] = ("cutter", "needle", "iron")
"""In the order of the cautions in `seamtree.pattern.directions`."""

_DECIMALS = 3
"""Thousandths of an inch are finer than any screen."""


@dataclass(frozen=True, slots=True)
class Take:
    """The piece to take: its fabric's colour, code and name, and the size to cut."""

    colour: str
    fabric: str
    size: str


@dataclass(frozen=True, slots=True)
class Screen:
    """One step.

    Parameters
    ----------
    title
        What it is.
    sentences
        What to do, in turn.
    tools
        What comes up that can hurt.
    shows
        What the pictures show, as plain data: see ``page.js``.
    take
        The piece to take, if one is.
    where
        Short name of the part of the work, for a list to go to it; empty where no part begins.
    """

    title: str
    sentences: tuple[str, ...]
    tools: tuple[Tool, ...] = ()
    shows: dict[str, Any] = field(default_factory=dict)
    take: Take | None = None
    where: str = ""


@dataclass(frozen=True, slots=True)
class Screens:
    """The steps of a block, and what all of their pictures are drawn from."""

    title: str
    screens: tuple[Screen, ...]
    shapes: dict[str, Any]


def build_screens(
    block: BlockWork, cloths: Sequence[PatchCloth], fabrics: Fabrics, *, options: Options, alone: bool = True
) -> Screens:
    """Return the steps of a block.

    Parameters
    ----------
    block
        What is sewn.
    cloths
        The pieces of its patches.
    fabrics
        Of the pattern.
    options
        How it is packed: allowance, and how lengths are written.
    alone
        Whether it is the only block of its pattern.
    """
    writer = _Writer(block, cloths, fabrics, options)
    title = "Before you start" if alone else f"{block.title}: before you start"
    return Screens(block.title, tuple(writer.screens(title)), writer.shapes())


class _Writer:
    def __init__(self, block: BlockWork, cloths: Sequence[PatchCloth], fabrics: Fabrics, options: Options) -> None:
        self._work = block
        self._plan = block.plan
        self._fabrics = fabrics
        self._lengths: Lengths = options.lengths
        self._allowance = options.allowance
        self._steps = build_steps(block.plan, cloths, allowance=options.allowance)
        self._foundations = build_foundations(block.plan, fabrics, allowance=options.allowance)
        self._numbers = {foundation.unit: n for n, foundation in enumerate(self._foundations)}
        told = write_directions([block.plan], allowance=options.allowance, lengths=options.lengths)
        self._told: dict[str, Section] = {section.title: section for section in told}

    # -- what is drawn

    def shapes(self) -> dict[str, Any]:
        """Return patches and units as plain data; places are inches, seen from the fabric side."""
        plan, block, ids = self._plan, self._plan.block, self._plan.patch_ids()
        colours = [self._fabrics.of(patch.fabric).colour or BARE for patch in block.patches]
        palette = sorted(set(colours))
        codes = [self._fabrics.of(patch.fabric) for patch in block.patches]
        return {
            "size": [_short(block.width), _short(block.height)],
            "palette": palette,
            "patches": [
                {
                    "name": ids[p],
                    "code": codes[p].code if codes[p].known else "",
                    "colour": palette.index(colours[p]),
                    "ring": _flat(block.polygon(p)),
                    "middle": _middle(block, p),
                }
                for p in range(len(block.patches))
            ],
            "units": [
                {
                    "name": unit.name,
                    "patches": list(unit.patches),
                    "trim": _flat((foundation.corner[0] - x, foundation.corner[1] + y) for x, y in foundation.trim),
                }
                for unit, foundation in zip(plan.units(), self._foundations, strict=True)
            ],
        }

    # -- what is said

    def screens(self, title: str) -> Iterator[Screen]:
        yield self._start(title)
        for step in self._steps:
            if isinstance(step, UnitStep):
                yield from self._unit(step)
            else:
                yield self._join(step)
        yield self._end()

    def _start(self, title: str) -> Screen:
        block, plan = self._work, self._plan
        size = self._lengths.area(plan.block.width, plan.block.height)
        sentences = [f"{block.title}, {size} finished: {_figures(plan)}."]
        if block.copies > 1:
            sentences.append(f"Make {block.copies}.")
        if block.mirrored:
            sentences.append(
                f"{block.mirrored} of them mirrored: sewn in the same order, from mirror images of these pictures."
            )
        sentences += self._told["Prepare"].paragraphs
        return Screen(title, tuple(sentences), TOOLS, {"kind": "block"}, where=title)

    def _unit(self, step: UnitStep) -> Iterator[Screen]:
        name, number = step.unit.name, self._numbers[step.unit.name]
        alike = f" {capital(name_units(step.alike))}: the same." if step.alike else ""
        total = len(step.additions)
        for addition in step.additions:
            shows: dict[str, Any] = {"kind": "add", "unit": number, "number": addition.number}
            shows["laid"] = _flat(addition.laid)
            if addition.line is not None:
                shows["line"] = _flat(addition.line)
            first = addition.number == 1
            if step.is_template:
                sentences: tuple[str, ...] = (
                    f"Unit {name} is a single patch: a template, nothing is sewn on it. Cut {addition.name} by it, "
                    f"allowance and all.{alike}",
                )
                tools: tuple[Tool, ...] = ("cutter",)
            else:
                sentences = write_addition(addition, allowance=self._allowance, lengths=self._lengths)
                if first and alike:
                    sentences = (*sentences, alike.strip())
                tools = () if first else TOOLS
            yield Screen(
                f"Unit {name}, piece {addition.number} of {total}",
                sentences,
                tools,
                shows,
                self._take(addition),
                f"Unit {name}" if first else "",
            )
        if not step.is_template:
            yield Screen(
                f"Unit {name}, squared up",
                (tell_squaring_up(self._lengths.size(self._allowance)),),
                ("cutter", "iron"),
                {"kind": "unit", "unit": number},
            )

    def _take(self, addition: Addition) -> Take:
        fabric = addition.fabric
        words = short_word(fabric.words) if fabric.known else "fabric of your choice"
        colour = self._fabrics.of(self._plan.block.patches[addition.patch].fabric).colour or BARE
        return Take(colour, words, tell_size(addition.piece, self._lengths))

    def _join(self, step: JoinStep) -> Screen:
        what, *how = write_join(self._plan, step, lengths=self._lengths)
        pins = [_tell_pins(step.matched, self._lengths)]
        corners = [
            f"Hard corner at {self._lengths.place(corner.at)}, where {listed(corner.patches)} meet: {corner.reason}."
            for corner in step.corners
        ]
        if not step.corners:
            how.insert(0, tell_straight_join(self._lengths.size(self._allowance)))
        pressed = next(n for n, sentence in enumerate(how) if sentence.startswith("Press "))
        how.insert(pressed, f"{PAPER_OUT}.")
        return Screen(
            f"Join {step.join.step}",
            (capital(what), *pins, *corners, *how),
            ("needle", "iron"),
            {
                "kind": "join",
                "parts": [[self._numbers[name] for name in names] for names in step.parts],
                "press": step.join.press,
                "path": _flat(step.path),
                "matched": [[*_flat([point.at]), int(point.nests)] for point in step.matched],
                "corners": [[*_flat([corner.at]), corner.kind] for corner in step.corners],
            },
            where=f"Join {step.join.step}",
        )

    def _end(self) -> Screen:
        sentences = [*self._told["Take the paper off"].paragraphs]
        if "Added at the end" in self._told:
            sentences += self._told["Added at the end"].paragraphs
        tools: tuple[Tool, ...] = ("iron",) if "Added at the end" in self._told else ()
        return Screen("The block is sewn", tuple(sentences), tools, {"kind": "block"}, where="The block is sewn")


def _tell_pins(matched: Sequence[MatchedPoint], lengths: Lengths) -> str:
    """Say where pins go: through the ends, and through each matched point, and what nests there."""
    told = "Right sides together, paper outside: push a pin straight through both ends of the seam"
    if not matched:
        return f"{told}, then pin along it."
    points = []
    for point in matched:
        nests = "the allowances nest" if point.nests else "the allowances lie the same way"
        points.append(f"{lengths.place(point.at)} ({', '.join(point.patches)}; {nests})")
    return f"{told} and through {count(len(points), 'matched point')}: {'; '.join(points)}."


def _figures(plan: Plan) -> str:
    counts = plan.counts
    told = [count(counts.patches, "patch", "patches"), count(counts.units, "unit"), count(counts.joins, "join")]
    if counts.hard_corners:
        told.append(f"hard corners: {counts.corners_by_kind}")
    return ", ".join(told)


def _middle(block: Block, patch: int) -> list[float]:
    """Return where the number of a patch has most room, and how far that is from its sides."""
    polygon = shapely.Polygon(block.polygon(patch))
    radius = shapely.maximum_inscribed_circle(polygon, tolerance=max(polygon.length / 500, block.tolerance))
    return [*_flat(radius.coords[:1]), _short(radius.length)]


def _flat(points: Any) -> list[float]:
    return [_short(value) for at in points for value in at]


def _short(value: float) -> float:
    return round(value, _DECIMALS) + 0.0

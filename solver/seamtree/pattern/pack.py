"""The pack: everything on paper that a sewist needs for one or several blocks, as one PDF file."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import Any

from seamtree import arguments
from seamtree.errors import OptionError
from seamtree.pattern.cutting import (
    FABRIC_WIDTH,
    MARGIN,
    FabricCuts,
    PatchCloth,
    build_cloths,
    build_cutting_list,
    check_cutting,
)
from seamtree.pattern.directions import write_directions, write_tasks
from seamtree.pattern.flow import Column
from seamtree.pattern.fonts import text_width
from seamtree.pattern.foundation import ALLOWANCE, build_foundations, check_allowance, mirror_twin
from seamtree.pattern.joining_pages import add_joins, add_order
from seamtree.pattern.keys import Key
from seamtree.pattern.lengths import Lengths
from seamtree.pattern.paper import PAPERS, Paper
from seamtree.pattern.pdf import Page, write_pages
from seamtree.pattern.picture_pages import colouring_pages, line_pages
from seamtree.pattern.setting import Quilt, build_quilt, setting_cuts
from seamtree.pattern.sheet_pages import sheet_pages
from seamtree.pattern.sheets import Sheet, copies_at_once
from seamtree.pattern.step_pages import step_pages
from seamtree.pattern.steps import build_steps
from seamtree.pattern.svg import render_foundation_svg
from seamtree.pattern.text_pages import (
    add_block,
    add_contents,
    add_cutting,
    add_directions,
    add_front,
    add_needs,
    add_notes,
    add_setting,
    block_need,
)
from seamtree.pattern.work import BlockWork, Work, build_work
from seamtree.planning.model import Plan
from seamtree.rating import rate
from seamtree.words import count

_ORDER, _LINES, _COLOURING = "Order of work", "Line drawings", "Pages to colour in"
"""What the contents and headings call some pages."""

_UNFIT = re.compile(r"[^\w.-]+")
"""What does not belong in the name of a file."""

SECTIONS = ("first", "contents", "cutting", "directions", "joins", "foundations", "steps", "lines", "colouring")
"""What may be printed, in the order of the pages."""

_USUAL = tuple(name for name in SECTIONS if name not in ("contents", "colouring", "lines", "steps"))
"""What is printed unless something else is asked for; contents come with two blocks or more."""

_TIGHT = (1.0, 0.97, 0.94)
"""Shares of the usual size of type that are tried where the last page of text would hold little."""

_LEAST_ORDER = 0.9
"""Inches that the order of work takes where there is one unit."""

_TIGHT_FILL = 3.0
"""Inches; a last page of text with less on it is worth setting the text tighter, if that saves the page."""


@dataclass(frozen=True, slots=True)
class Options:
    """How a pack is made.

    Parameters
    ----------
    paper
        What it is printed on.
    allowance
        Inches of cloth beyond the outline of each unit.
    margin
        Inches that pieces are cut larger than their patches, all round; the allowance is part of it.
    step
        Inches that their sides are rounded up to a multiple of; None for a quarter of an inch, or half a centimetre
        where lengths are metric.
    fabric_width
        Usable width of the fabrics, inches.
    lengths
        How lengths are written.
    pages
        Which of `SECTIONS` are printed; None for the usual ones.

    Raises
    ------
    OptionError
        If one of them makes no sense.
    """

    paper: Paper = PAPERS["a4"]
    allowance: float = ALLOWANCE
    margin: float = MARGIN
    step: float | None = None
    fabric_width: float = FABRIC_WIDTH
    lengths: Lengths = field(default_factory=Lengths)
    pages: tuple[str, ...] | None = None

    def __post_init__(self) -> None:
        arguments.instance("paper", self.paper, Paper)
        arguments.instance("lengths", self.lengths, Lengths)
        for name in ("allowance", "margin", "rounding", "fabric_width"):
            arguments.real(name.replace("rounding", "step"), getattr(self, name))
        if self.pages is not None:
            arguments.texts("pages", self.pages)
        check_allowance(self.allowance)
        check_cutting(
            margin=self.margin, step=self.rounding, fabric_width=self.fabric_width, allowance=self.allowance
        )
        for name in self.pages or ():
            if name not in SECTIONS:
                raise OptionError(f"there are no pages {name!r}; choose of {', '.join(SECTIONS)}")

    @property
    def rounding(self) -> float:
        """What the sides of pieces are rounded up to a multiple of, inches."""
        return self.lengths.step if self.step is None else self.step

    def wants(self, name: str, *, blocks: int) -> bool:
        """Tell whether some pages are printed for so many blocks."""
        if self.pages is not None:
            return name in self.pages
        return name in _USUAL or (name == "contents" and blocks > 1)


@dataclass(frozen=True, slots=True)
class PrintedUnits:
    """The foundation sheets of a block or of its mirror twins.

    Parameters
    ----------
    block
        Number of the block.
    twin
        Whether they are for the mirror twins.
    at_once
        How many copies of the block lie on them.
    times
        How often they are printed.
    sheets, key
        The sheets, and the key beside the foundations.
    """

    block: int
    twin: bool
    at_once: int
    times: int
    sheets: tuple[Sheet, ...]
    key: Key


@dataclass(frozen=True, slots=True)
class Pack:
    """A pack that was made.

    Parameters
    ----------
    pdf
        The file.
    pages
        How many pages it has.
    work, cloths, cuts, printed
        What was packed: the pattern, the piece of every patch, what is cut from each fabric, the foundation sheets.
    """

    pdf: bytes
    pages: int
    work: Work
    cloths: tuple[PatchCloth, ...]
    cuts: tuple[FabricCuts, ...]
    printed: tuple[PrintedUnits, ...]

    def __repr__(self) -> str:
        return f"<Pack {self.work.title[:60]!r}: {count(self.pages, 'page')}>"

    def to_json(self) -> dict[str, Any]:
        """Return what was packed as plain data (schema ``seamtree-pack/1``), lengths in inches."""
        from seamtree.pattern.report import pack_json

        return pack_json(self)


def make_pack(work: Work | Sequence[Plan], options: Options | None = None, *, title: str = "") -> Pack:
    """Make the pack of a pattern.

    Parameters
    ----------
    work
        The pattern, or the plans of the blocks of a drawing.
    options
        How it is made.
    title
        Of the document, where plans are given; without one that of the first block.

    Raises
    ------
    SeamtreeError
        If a unit would take an absurd number of pages.
    """
    options = options or Options()
    if not isinstance(work, Work):
        blocks = [BlockWork(plan, plan.block.name) for plan in work]
        work = build_work(blocks, title=title or blocks[0].title)
    cloths = cloths_of(work, options)
    quilt = None
    if work.setting is not None:
        quilt = build_quilt(work, allowance=options.allowance, fabric_width=options.fabric_width)
    more = (
        setting_cuts(quilt, allowance=options.allowance, fabric_width=options.fabric_width)
        if quilt is not None
        else ()
    )
    cuts = build_cutting_list(cloths, fabric_width=options.fabric_width, more=more)
    printed = tuple(_printed(work, options)) if options.wants("foundations", blocks=len(work.blocks)) else ()
    pages = _pages(work, options, cuts, printed, quilt=quilt, cloths=cloths)
    pdf = write_pages(pages, options.paper, title=work.title, author=work.by)
    return Pack(pdf, len(pages), work, cloths, cuts, printed)


def cloths_of(work: Work, options: Options) -> tuple[PatchCloth, ...]:
    """Return the pieces of all patches of a pattern."""
    return build_cloths(
        [(block.plan, block.copies) for block in work.blocks],
        work.fabrics,
        margin=options.margin,
        allowance=options.allowance,
        step=options.rounding,
    )


def render_pack(plans: Sequence[Plan], options: Options, *, title: str) -> bytes:
    """Return the pack of the blocks of a drawing as a PDF file (see `make_pack`)."""
    return make_pack(plans, options, title=title).pdf


def render_foundations(work: Work | Sequence[Plan], options: Options) -> dict[str, str]:
    """Return each foundation as text of an SVG file, by the name of the file: the block's and the unit's name."""
    if not isinstance(work, Work):
        work = build_work([BlockWork(plan, plan.block.name) for plan in work], title="")
    files = {}
    for block in work.blocks:
        stem = _UNFIT.sub("-", block.title).strip(".-") or "block"
        for foundation in build_foundations(block.plan, work.fabrics, allowance=options.allowance):
            if block.plain:
                files[f"{stem}-{foundation.unit}.svg"] = render_foundation_svg(foundation)
            if block.mirrored:
                files[f"{stem}-{foundation.unit}-mirrored.svg"] = render_foundation_svg(mirror_twin(foundation))
    return files


def _printed(work: Work, options: Options) -> Iterator[PrintedUnits]:
    """Yield the foundation sheets of every block, and of its mirror twins."""
    for number, block in enumerate(work.blocks):
        foundations = build_foundations(block.plan, work.fabrics, allowance=options.allowance)
        for twin, copies in ((False, block.plain), (True, block.mirrored)):
            if not copies:
                continue
            key = Key(block.plan, work.fabrics, twin=twin)
            shown = tuple(map(mirror_twin, foundations)) if twin else foundations
            at_once, sheets = copies_at_once(
                shown, copies, options.paper, text_width, keys=key.boxes, block=block.title
            )
            yield PrintedUnits(number, twin, at_once, math.ceil(copies / at_once), sheets, key)


def _pages(
    work: Work,
    options: Options,
    cuts: Sequence[FabricCuts],
    printed: Sequence[PrintedUnits],
    *,
    quilt: Quilt | None,
    cloths: Sequence[PatchCloth],
) -> list[Page]:
    """Return all pages."""
    sheets = [(units, _sheet_pages(work, units)) for units in printed]
    column, entries = _set_text(work, options, cuts, printed, quilt=quilt)
    text = column.pages(work.title)
    for name, page in column.sections:
        entries.setdefault(name, []).append(page + 1)
    first = len(text) + 1
    for units, some in sheets:
        entries.setdefault(_sheets_title(work, units), []).append(first)
        first += len(some)
    pictures: list[Page] = []
    if options.wants("steps", blocks=len(work.blocks)):
        for number, block in enumerate(work.blocks):
            some = _step_pages(work, number, options, cloths)
            entries.setdefault(_steps_title(block), []).append(first)
            first += len(some)
            pictures += some
    for name, what, draw in ((_LINES, "lines", line_pages), (_COLOURING, "colouring", colouring_pages)):
        if options.wants(what, blocks=len(work.blocks)):
            entries.setdefault(name, []).append(first)
            some = list(draw(work, options.paper))
            first += len(some)
            pictures += some
    return [*text, *(page for _, some in sheets for page in some), *pictures]


def _set_text(
    work: Work,
    options: Options,
    cuts: Sequence[FabricCuts],
    printed: Sequence[PrintedUnits],
    *,
    quilt: Quilt | None,
) -> tuple[Column, dict[str, list[int]]]:
    """Return the pages of text, set as tight as is needed so that none holds next to nothing."""
    kept: dict[Any, Any] = {}
    column, entries = _text(work, options, cuts, printed, quilt=quilt, tight=_TIGHT[0], kept=kept)
    for tight in _TIGHT[1:]:
        if len(column.pages("")) < 2 or column.last_fill > _TIGHT_FILL:
            break
        closer, others = _text(work, options, cuts, printed, quilt=quilt, tight=tight, kept=kept)
        if len(closer.pages("")) < len(column.pages("")):
            column, entries = closer, others
    return column, entries


def _step_pages(work: Work, number: int, options: Options, cloths: Sequence[PatchCloth]) -> list[Page]:
    """Return the pages with the steps of a block."""
    block = work.blocks[number]
    mine = [cloth for cloth in cloths if cloth.block == number]
    return step_pages(
        block,
        build_steps(block.plan, mine, allowance=options.allowance),
        work.fabrics,
        paper=options.paper,
        lengths=options.lengths,
        allowance=options.allowance,
    )


def _sheet_pages(work: Work, units: PrintedUnits) -> list[Page]:
    block = work.blocks[units.block]
    keep = None if units.at_once == 1 else (units.at_once, "blocks")
    title = f"{block.title}, mirrored" if units.twin else block.title
    return sheet_pages(units.sheets, units.key, title, times=units.times, keep=keep)


def _text(
    work: Work,
    options: Options,
    cuts: Sequence[FabricCuts],
    printed: Sequence[PrintedUnits],
    *,
    quilt: Quilt | None,
    tight: float,
    kept: dict[Any, Any],
) -> tuple[Column, dict[str, list[int]]]:
    """Return the pages of text, and the entries of the contents with no pages yet."""
    paper, lengths, allowance = options.paper, options.lengths, options.allowance
    column = Column(paper, tight=tight, kept=kept)
    several = len(work.blocks) > 1

    def wants(name: str) -> bool:
        return options.wants(name, blocks=len(work.blocks))

    entries = _entries(work, options, printed) if wants("contents") else {}
    if wants("first"):
        add_front(column, work, paper, quilt=quilt, lengths=lengths)
        if not several:
            _tell(column, work, work.blocks[0], options)
        add_notes(column, work.notes)
        add_needs(
            column,
            cuts,
            paper=paper,
            lengths=lengths,
            printed=sum(len(units.sheets) * units.times for units in printed),
        )
    if wants("contents"):
        add_contents(column, list(entries.items()), paper)
    if wants("cutting"):
        add_cutting(
            column,
            work,
            cuts,
            lengths=lengths,
            margin=options.margin,
            step=options.rounding,
            fabric_width=options.fabric_width,
        )
    if wants("directions"):
        plans = [block.plan for block in work.blocks]
        add_directions(column, write_directions(plans, allowance=allowance, lengths=lengths))
    for block in work.blocks if wants("directions") or wants("joins") else ():
        _add_order_of_work(column, work, block, options)
    if quilt is not None and wants("directions"):
        add_setting(column, quilt, lengths=lengths)
    return column, entries


def _tell(column: Column, work: Work, block: BlockWork, options: Options) -> None:
    """Add pictures and facts of a block."""
    add_block(
        column,
        work,
        block,
        paper=options.paper,
        lengths=options.lengths,
        allowance=options.allowance,
        rating=column.keep(("rating", id(block.plan)), lambda: rate(block.plan, changes=False)),
    )


def _add_order_of_work(column: Column, work: Work, block: BlockWork, options: Options) -> None:
    """Add how a block is sewn, and what it is where there are several."""
    several = len(work.blocks) > 1
    tasks = write_tasks(block.plan, work.fabrics, lengths=options.lengths)
    need = block_need(column, work, block) if several else 2.0 if len(tasks) > 1 else _LEAST_ORDER
    column.section(block.title if several else _ORDER, need=need)
    if several:
        _tell(column, work, block, options)
    if options.wants("directions", blocks=len(work.blocks)):
        add_order(column, tasks)
    if options.wants("joins", blocks=len(work.blocks)):
        add_joins(column, block.plan, tasks, paper=options.paper, lengths=options.lengths)


def _entries(work: Work, options: Options, printed: Sequence[PrintedUnits]) -> dict[str, list[int]]:
    """Return what the contents name, without pages."""

    def wants(name: str) -> bool:
        return options.wants(name, blocks=len(work.blocks))

    names = [
        name.capitalize() if name == "directions" else "Cutting list"
        for name in ("cutting", "directions")
        if options.wants(name, blocks=len(work.blocks))
    ]
    if wants("directions") or wants("joins"):
        names += [block.title for block in work.blocks] if len(work.blocks) > 1 else [_ORDER]
    if work.setting is not None and options.wants("directions", blocks=len(work.blocks)):
        names.append("Put it together")
    names += [_sheets_title(work, units) for units in printed]
    if options.wants("steps", blocks=len(work.blocks)):
        names += [_steps_title(block) for block in work.blocks]
    names += [name for name, what in ((_LINES, "lines"), (_COLOURING, "colouring")) if wants(what)]
    return {name: [] for name in names}


def _sheets_title(work: Work, units: PrintedUnits) -> str:
    return f"Foundations of {work.blocks[units.block].title}{', mirrored' if units.twin else ''}"


def _steps_title(block: BlockWork) -> str:
    return f"Steps of {block.title}"

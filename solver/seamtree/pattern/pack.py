"""The pack: everything on paper that a sewist needs for a block, as one PDF file."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from seamtree import arguments
from seamtree.pattern.cutting import FABRIC_WIDTH, MARGIN, build_cutting_list, check_cutting
from seamtree.pattern.directions import write_directions, write_tasks
from seamtree.pattern.foundation import ALLOWANCE, build_foundations, check_allowance
from seamtree.pattern.joining_pages import joining_pages
from seamtree.pattern.lengths import Lengths
from seamtree.pattern.paper import PAPERS, Paper
from seamtree.pattern.pdf import Page, text_width, write_pages
from seamtree.pattern.sheet_pages import sheet_pages
from seamtree.pattern.sheets import lay_out
from seamtree.pattern.svg import render_foundation_svg
from seamtree.pattern.text_pages import cutting_pages, direction_pages, first_pages
from seamtree.planning.model import Plan
from seamtree.rating import rate

_UNFIT = re.compile(r"[^\w.-]+")
"""What does not belong in the name of a file."""


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
        Inches that pieces are cut larger than their patches, all round.
    step
        Inches that their sides are rounded up to a multiple of; None for a quarter of an inch, or half a centimetre
        where lengths are metric.
    fabric_width
        Usable width of the fabrics, inches.
    lengths
        How lengths are written.
    sheets_only
        Whether to leave all out but the foundations.

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
    sheets_only: bool = False

    def __post_init__(self) -> None:
        arguments.instance("paper", self.paper, Paper)
        arguments.instance("lengths", self.lengths, Lengths)
        for name in ("allowance", "margin", "rounding", "fabric_width"):
            arguments.real(name.replace("rounding", "step"), getattr(self, name))
        arguments.flag("sheets_only", self.sheets_only)
        check_allowance(self.allowance)
        check_cutting(margin=self.margin, step=self.rounding, fabric_width=self.fabric_width)

    @property
    def rounding(self) -> float:
        """What the sides of pieces are rounded up to a multiple of, inches."""
        return self.lengths.step if self.step is None else self.step


def render_pack(plans: Sequence[Plan], options: Options, *, title: str) -> bytes:
    """Return the pack of the blocks of a drawing as a PDF file.

    Parameters
    ----------
    plans
        The plans of the blocks.
    options
        How it is made.
    title
        Of the document.

    Raises
    ------
    SeamtreeError
        If a unit would take an absurd number of pages.
    """
    pages = [page for plan in plans for page in _pages(plan, options)]
    return write_pages(pages, options.paper, title=title)


def render_foundations(plans: Sequence[Plan], options: Options) -> dict[str, str]:
    """Return each foundation as text of an SVG file, by the name of the file: the block's and the unit's name."""
    files = {}
    for plan in plans:
        stem = _UNFIT.sub("-", plan.block.name).strip(".-") or "block"
        for foundation in build_foundations(plan, allowance=options.allowance):
            files[f"{stem}-{foundation.unit}.svg"] = render_foundation_svg(foundation)
    return files


def _pages(plan: Plan, options: Options) -> Iterator[Page]:
    """Yield the pages of a block."""
    name, paper, lengths, allowance = plan.block.name, options.paper, options.lengths, options.allowance
    foundations = build_foundations(plan, allowance=allowance)
    sheets = lay_out(foundations, paper, text_width)
    if not options.sheets_only:
        step = options.rounding
        cuts = build_cutting_list(plan, margin=options.margin, step=step, fabric_width=options.fabric_width)
        tasks = write_tasks(plan, lengths=lengths)
        sections = write_directions(plan, allowance=allowance, lengths=lengths)
        yield from first_pages(
            plan,
            cuts,
            paper=paper,
            lengths=lengths,
            allowance=allowance,
            sheets=len(sheets),
            rating=rate(plan, changes=False),
        )
        yield from cutting_pages(
            cuts,
            name,
            paper=paper,
            lengths=lengths,
            margin=options.margin,
            step=step,
            fabric_width=options.fabric_width,
        )
        yield from direction_pages(sections, tasks, name, paper=paper)
        yield from joining_pages(plan, tasks, paper=paper, lengths=lengths)
    yield from sheet_pages(sheets, name)

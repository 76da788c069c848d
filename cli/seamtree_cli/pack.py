"""The command `seamtree pack`."""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer
from rich.text import Text

from seamtree.errors import OptionError, SeamtreeError
from seamtree_cli import options
from seamtree_cli.answers import answer_each, judge_plans
from seamtree_cli.exits import STRAIGHT, WRONG
from seamtree_cli.files import check_target, whole
from seamtree_cli.guard import command
from seamtree_cli.pattern_work import (
    open_pattern,
    pattern_jobs,
    print_to_start_from,
    put_drawings_together,
    put_together,
)
from seamtree_cli.sewing_tree import render_notes, render_warnings
from seamtree_cli.streams import Output, put_json
from seamtree_cli.wording import count, dimensions, plain
from seamtree_cli.work import STDIN, Job, Outcome, is_pattern

if TYPE_CHECKING:  # other commands start without what is needed for paper
    from seamtree.errors import Finding
    from seamtree.pattern import Options, Work
    from seamtree.pattern.pattern_file import PatternFile

PRINTING = "What is printed"

MOST_COPIES = 1000


@command
@options.about_drawings
@options.about_plans
def pack(
    drawings: options.Drawings,
    *,
    output: Annotated[
        Path | None,
        typer.Option(
            "--output",
            "-o",
            metavar="FILE.pdf",
            help="Write the pack to this PDF file.",
            rich_help_panel=PRINTING,
            show_default=False,
        ),
    ] = None,
    svg: Annotated[
        Path | None,
        typer.Option(
            metavar="FOLDER",
            help="Write each foundation to an SVG file of its own in this folder, at true scale and mirrored.",
            rich_help_panel=PRINTING,
            show_default=False,
        ),
    ] = None,
    paper: Annotated[
        str | None,
        typer.Option(
            metavar="a4|letter",
            help="What it is printed on; a4 if no pattern file says otherwise.",
            rich_help_panel=PRINTING,
            show_default=False,
        ),
    ] = None,
    pages: Annotated[
        str | None,
        typer.Option(
            metavar="NAMES",
            help="Which pages, like foundations or cutting,joins: first, contents, cutting, directions, joins, "
            "foundations, steps (a picture of every piece that is added), lines (a line drawing), colouring (a page "
            "to colour in). Without it all but the last three, and contents for several blocks only.",
            rich_help_panel=PRINTING,
            show_default=False,
        ),
    ] = None,
    copies: Annotated[
        int | None,
        typer.Option(
            metavar="N", help="How many of each block are sewn.", rich_help_panel=PRINTING, show_default=False
        ),
    ] = None,
    metric: Annotated[
        bool, typer.Option("--metric", help="Write lengths in centimetres.", rich_help_panel=PRINTING)
    ] = False,
    allowance: options.Allowance = "0.25in",
    margin: options.Margin = "0.5in",
    round_up: options.RoundUp = None,
    fabric_width: Annotated[
        str, typer.Option(metavar="LENGTH", help="Usable width of the fabrics.", rich_help_panel=options.CLOTH)
    ] = "40in",
    job: Job,
    asked: options.Asked,
    json: Annotated[
        bool,
        typer.Option(
            "--json",
            help="Print one JSON object instead: pages, pieces, fabrics and units.",
            rich_help_panel=options.SHOWING,
        ),
    ] = False,
    print_pattern: Annotated[
        bool,
        typer.Option(
            "--print-pattern",
            help="Print a pattern file for the drawings instead, to be changed and packed.",
            rich_help_panel=options.SHOWING,
        ),
    ] = False,
) -> int:
    """Print drawings as a pattern: foundations at true scale, cutting list, directions and a picture of every join.

    The pack is one PDF file for all drawings. It begins with a picture and one shopping list; then come the cutting
    list, the directions, a picture of every join, and the foundations, mirrored as they are sewn on. Print it at
    actual size and measure the test squares.

    The exit status is 0 when straight seams sew everything, 1 when a block has a hard corner, and 2 when the drawing
    cannot be read or the command is wrong; then no file is written.
    """
    if output is None and svg is None and not json and not print_pattern:
        raise OptionError(
            "say where to write: -o FILE.pdf for the pack, --svg FOLDER for single foundations, or both"
        )
    if output is not None:
        sources = [drawing for drawing in drawings if drawing != STDIN]
        check_target(output, what="the pack", suffix=".pdf", sources=sources)
    if svg is not None:
        _check_folder(svg)
    file = _pattern_file(drawings, copies=copies, width=job.width)
    how = _options(
        paper or (file.paper if file else None) or "a4",
        allowance,
        margin,
        round_up,
        fabric_width,
        metric=metric or bool(file and file.metric),
        pages=pages,
    )
    from seamtree.pattern.paper import PAPERS

    wishes = asked.wishes(allowance=how.allowance)
    job = job._replace(
        wishes=wishes,
        papers=tuple(name for name, paper in PAPERS.items() if paper == how.paper),
        allowance=how.allowance,
    )
    jobs = [job._replace(source=drawing) for drawing in drawings]
    if print_pattern:
        print_to_start_from(jobs)
        return STRAIGHT
    if file is not None:
        jobs = pattern_jobs(file, job)
    outcomes: list[Outcome] = []
    status = answer_each(jobs, workers=1, show=outcomes.append, judge=judge_plans)
    if status != WRONG:
        plans = [outcome.plans for outcome in outcomes]
        flat = [plan for some in plans for plan in some]
        work = put_drawings_together(flat, copies or 1, output) if file is None else put_together(file, plans, job)
        _write(work, how, output, svg, json=json)
    return status


def _pattern_file(drawings: Sequence[str], *, copies: int | None, width: float | None) -> PatternFile | None:
    """Return the pattern file if one is given instead of drawings."""
    if copies is not None and not 1 <= copies <= MOST_COPIES:
        raise OptionError(f"copies must be 1 to {MOST_COPIES}, not {copies}")
    if not any(map(is_pattern, drawings)):
        return None
    if len(drawings) > 1:
        raise OptionError("a pattern file names its drawings; give it alone")
    if copies is not None or width is not None:
        raise OptionError("the pattern file says copies and widths; change them there")
    return open_pattern(drawings[0])


def _options(
    paper: str,
    allowance: str,
    margin: str,
    round_up: str | None,
    fabric_width: str,
    *,
    metric: bool,
    pages: str | None,
) -> Options:
    """Read what is said as text; refuse what makes no sense before any work is done."""
    from seamtree.pattern import Options
    from seamtree.pattern.lengths import Lengths, parse_length
    from seamtree.pattern.paper import find_paper

    return Options(
        paper=find_paper(paper),
        allowance=parse_length(allowance),
        margin=parse_length(margin),
        step=None if round_up is None else parse_length(round_up),
        fabric_width=parse_length(fabric_width),
        lengths=Lengths(metric),
        pages=None if pages is None else tuple(name.strip() for name in pages.split(",")),
    )


def _check_folder(folder: Path) -> None:
    """Refuse a folder that cannot be written to."""
    if folder.exists() and not folder.is_dir():
        raise OptionError(f"{str(folder)!r} is a file, not a folder")
    if not folder.parent.is_dir():
        raise OptionError(f"there is no folder {str(folder.parent)!r} to make {folder.name!r} in")


def _write(work: Work, how: Options, output: Path | None, svg: Path | None, *, json: bool) -> None:
    """Make everything before the first file is written; then say what was written."""
    from seamtree.pattern import make_pack, render_foundations

    made = make_pack(work, how) if output is not None or json else None
    files = render_foundations(work, how) if svg is not None else {}
    if svg is not None:
        _write_folder(svg, files)
    if output is not None and made is not None:
        with whole(output) as draft:
            draft.write_bytes(made.pdf)
    if json and made is not None:
        put_json(made.to_json())
        return
    console = Output()
    for block in work.blocks:
        plan, counts = block.plan, block.plan.counts
        figures = f"{count(counts.patches, 'patch', 'patches')}, {count(counts.units, 'unit')}"
        size = dimensions(plan.block.width, plan.block.height)
        if how.lengths.metric:
            size = how.lengths.area(plan.block.width, plan.block.height)
        times = f" × {block.copies}" if block.copies > 1 else ""
        console.print(Text.assemble((f"{plain(block.title)}{times}", "bold"), f", {size}: {figures}"))
        for line in (*render_notes(_told(plan.notes, how)), *render_warnings(_told(plan.warnings, how))):
            console.print(line)
    if svg is not None:
        console.print(Text(f"written: {count(len(files), 'foundation')} to {plain(str(svg))}"), soft_wrap=True)
    if output is not None and made is not None:
        console.print(Text(f"written: {plain(str(output))}"), soft_wrap=True)
    console.file.flush()


def _told(findings: tuple[Finding, ...], how: Options) -> tuple[Finding, ...]:
    """Return notes or warnings of a plan, in centimetres if that is how lengths are written."""
    from seamtree.pattern.lengths import in_centimetres

    if not how.lengths.metric:
        return findings
    return tuple(replace(told, message=in_centimetres(told.message, told.at)) for told in findings)


def _write_folder(folder: Path, files: dict[str, str]) -> None:
    """Write all files or none: they are written aside and then moved to their places."""
    try:
        folder.mkdir(exist_ok=True)
        aside = Path(tempfile.mkdtemp(prefix=".", dir=folder))
        try:
            for name, text in files.items():
                (aside / name).write_text(text, encoding="utf-8")
            for name in files:
                (aside / name).replace(folder / name)
        finally:
            shutil.rmtree(aside, ignore_errors=True)
    except OSError as error:
        raise SeamtreeError(f"{folder}: cannot be written: {error.strerror or error}") from error

"""The command `seamtree pack`."""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer
from rich.text import Text

from seamtree.errors import OptionError, SeamtreeError
from seamtree.tolerances import TOLERANCE
from seamtree_cli import options
from seamtree_cli.answers import answer_each, judge_plans
from seamtree_cli.files import check_target, whole
from seamtree_cli.guard import command
from seamtree_cli.sewing_tree import render_warnings
from seamtree_cli.streams import Output
from seamtree_cli.wording import count, dimensions, plain
from seamtree_cli.work import STDIN, Job, Outcome

if TYPE_CHECKING:  # other commands start without what is needed for paper
    from seamtree.pattern import Options
    from seamtree.planning.model import Plan

PRINTING = "What is printed"
CLOTH = "How the cloth is cut"


@command
def pack(
    drawing: options.Drawing,
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
        str, typer.Option(metavar="a4|letter", help="What it is printed on.", rich_help_panel=PRINTING)
    ] = "a4",
    sheets_only: Annotated[
        bool, typer.Option("--sheets-only", help="Only the foundation sheets.", rich_help_panel=PRINTING)
    ] = False,
    metric: Annotated[
        bool, typer.Option("--metric", help="Write lengths in centimetres.", rich_help_panel=PRINTING)
    ] = False,
    allowance: Annotated[
        str,
        typer.Option(
            metavar="LENGTH", help="Seam allowance round each unit, like 0.25in or 6mm.", rich_help_panel=CLOTH
        ),
    ] = "0.25in",
    margin: Annotated[
        str,
        typer.Option(
            metavar="LENGTH", help="How much larger than its patch a piece is cut, all round.", rich_help_panel=CLOTH
        ),
    ] = "0.5in",
    round_up: Annotated[
        str | None,
        typer.Option(
            metavar="LENGTH",
            help="Round the sides of pieces up to a multiple of this. Without it 0.25in, or 5mm with --metric.",
            rich_help_panel=CLOTH,
            show_default=False,
        ),
    ] = None,
    fabric_width: Annotated[
        str, typer.Option(metavar="LENGTH", help="Usable width of the fabrics.", rich_help_panel=CLOTH)
    ] = "40in",
    width: options.Width = None,
    tolerance: options.Tolerance = TOLERANCE,
    skip_layer: options.SkipLayer = None,
    pdf_page: options.PdfPage = None,
    time_limit: options.TimeLimit = 10.0,
) -> int:
    """Print a drawing as a pattern: foundations at true scale, cutting list, directions and joining diagram.

    The pack is one PDF file. It begins with a picture of the block and what is needed; then come the cutting list and
    the fabric amounts, the directions, a picture of every join, and the foundations, mirrored as they are sewn on.
    Print it at actual size and measure the test squares.

    The exit status is 0 when straight seams sew everything, 1 when a block has a hard corner, and 2 when the drawing
    cannot be read or the command is wrong; then no file is written.
    """
    if output is None and svg is None:
        raise OptionError(
            "say where to write: -o FILE.pdf for the pack, --svg FOLDER for single foundations, or both"
        )
    if output is not None:
        check_target(output, what="the pack", suffix=".pdf", sources=() if drawing == STDIN else (drawing,))
    if svg is not None:
        _check_folder(svg)
    how = _options(paper, allowance, margin, round_up, fabric_width, metric=metric, sheets_only=sheets_only)
    job = Job(drawing, width, tolerance, tuple(skip_layer or ()), time_limit, pdf_page=pdf_page)

    def write(outcome: Outcome) -> None:
        _write(outcome.plans, how, output, svg)

    return answer_each([job], workers=1, show=write, judge=judge_plans)


def _options(
    paper: str,
    allowance: str,
    margin: str,
    round_up: str | None,
    fabric_width: str,
    *,
    metric: bool,
    sheets_only: bool,
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
        sheets_only=sheets_only,
    )


def _check_folder(folder: Path) -> None:
    """Refuse a folder that cannot be written to."""
    if folder.exists() and not folder.is_dir():
        raise OptionError(f"{str(folder)!r} is a file, not a folder")
    if not folder.parent.is_dir():
        raise OptionError(f"there is no folder {str(folder.parent)!r} to make {folder.name!r} in")


def _write(plans: Sequence[Plan], how: Options, output: Path | None, svg: Path | None) -> None:
    """Make everything before the first file is written; then say what was written."""
    from seamtree.pattern import render_foundations, render_pack

    title = plans[0].block.name if len(plans) == 1 else plans[0].block.name.rpartition(" ")[0]
    pdf = render_pack(plans, how, title=title) if output is not None else b""
    files = render_foundations(plans, how) if svg is not None else {}
    if svg is not None:
        _write_folder(svg, files)
    if output is not None:
        with whole(output) as draft:
            draft.write_bytes(pdf)
    console = Output()
    for plan in plans:
        block, counts = plan.block, plan.counts
        figures = f"{count(counts.patches, 'patch', 'patches')}, {count(counts.units, 'unit')}"
        console.print(
            Text.assemble((plain(block.name), "bold"), f", {dimensions(block.width, block.height)}: {figures}")
        )
        for line in render_warnings(plan.warnings):
            console.print(line)
    if svg is not None:
        console.print(Text(f"written: {count(len(files), 'foundation')} to {plain(str(svg))}"), soft_wrap=True)
    if output is not None:
        console.print(Text(f"written: {plain(str(output))}"), soft_wrap=True)
    console.file.flush()


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

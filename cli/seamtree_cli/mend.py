"""The command `seamtree mend`."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer
from rich.text import Text

from seamtree.errors import DrawingError, OptionError, SeamtreeError
from seamtree.tolerances import TOLERANCE
from seamtree_cli import options
from seamtree_cli.deadline import deadline
from seamtree_cli.exits import HARD_CORNERS, STRAIGHT, WRONG
from seamtree_cli.files import check_target, whole
from seamtree_cli.guard import command
from seamtree_cli.progress import Progress
from seamtree_cli.streams import Output, put_json, say
from seamtree_cli.wording import count, dimensions, plain
from seamtree_cli.work import STDIN, Job

if TYPE_CHECKING:  # other commands start without what mends
    from seamtree.block.model import Block
    from seamtree.mending.model import Alternative, Goal, Mending
    from seamtree.planning.model import Counts

CHANGING = "How the drawing may be changed"


@command
def mend(
    drawing: options.Drawing,
    *,
    output: Annotated[
        Path | None,
        typer.Option(
            "--output",
            "-o",
            metavar="FILE.svg",
            help="Write the mended drawing to this SVG file, the added seams drawn in.",
            show_default=False,
        ),
    ] = None,
    one_unit: Annotated[
        bool,
        typer.Option(
            "--one-unit",
            help="Carry on as few seams as possible so that each block is a single unit.",
            rich_help_panel=CHANGING,
        ),
    ] = False,
    merge: Annotated[
        bool,
        typer.Option(
            "--merge",
            help="Add no seams; drop as few as possible between neighbours of the same fabric, to save hard corners "
            "or else units.",
            rich_help_panel=CHANGING,
        ),
    ] = False,
    curve_tolerance: Annotated[
        float | None,
        typer.Option(
            metavar="INCHES",
            help="Replace curved seams by the fewest straight ones within this distance first. Without it curves "
            "stay as they are.",
            rich_help_panel=CHANGING,
            show_default=False,
        ),
    ] = None,
    alternatives: Annotated[
        int,
        typer.Option(
            metavar="N",
            min=1,
            max=5,
            help="How many equally small changes to list, from the best on.",
            rich_help_panel=CHANGING,
        ),
    ] = 1,
    width: options.Width = None,
    tolerance: options.Tolerance = TOLERANCE,
    skip_layer: options.SkipLayer = None,
    marks: options.Marks = None,
    lines: options.Lines = False,
    white: options.White = None,
    pdf_page: options.PdfPage = None,
    time_limit: options.TimeLimit = 10.0,
    as_json: options.Json = False,
) -> int:
    """Find the smallest change that makes a drawing sewable with straight seams.

    Seams that stop inside the block are carried straight on, through as few patches as possible. Among equally
    small changes the best takes the fewest units, and then leaves the fewest sharp points and narrow strips. Patch
    ids are those that `seamtree check` gives the drawing as it is; places are counted in inches from the top left
    corner of the block, to the right and down.

    The exit status is 0 when the drawing is mended or nothing was to be mended, 1 when a hard corner remains or
    no single unit was found that was asked for, and 2 when the drawing cannot be read or the command is wrong.
    """
    if one_unit and merge:
        raise OptionError("--one-unit and --merge cannot be asked for together")
    goal: Goal = "one unit" if one_unit else "merged" if merge else "straight seams"
    if output is not None:
        check_target(output, what="the mended drawing", suffix=".svg", sources=() if drawing == STDIN else (drawing,))
    layers = tuple(skip_layer or ())
    blocks = _read(
        Job(
            drawing,
            width,
            tolerance,
            layers,
            time_limit,
            marks=tuple(marks or ()),
            lines=lines,
            white=white,
            pdf_page=pdf_page,
        )
    )
    if blocks is None:
        return WRONG
    with Progress() as progress, deadline(time_limit):
        progress.working_on(drawing, 1, 1)
        mendings = _mend_all(blocks, goal, curve_tolerance, alternatives, time_limit)
    if output is not None:
        _write(output, mendings, tolerance)
    if as_json:
        put_json(_to_json(drawing, mendings))
    else:
        _show(mendings, output)
    return max(map(_status, mendings))


def _read(job: Job) -> tuple[Block, ...] | None:
    """Read the drawing; say what is wrong if it cannot be read."""
    try:
        return job.read()
    except DrawingError as error:
        for finding in error.findings:
            say(job.source, finding.beside(job.source))
    except OSError as error:
        say(job.source, f"cannot be read: {error.strerror or error}")
    return None


def _mend_all(
    blocks: Sequence[Block], goal: Goal, curve_tolerance: float | None, alternatives: int, time_limit: float
) -> list[Mending]:
    from seamtree.mending.find import mend as mend_block

    return [
        mend_block(
            block, goal=goal, curve_tolerance=curve_tolerance, alternatives=alternatives, time_limit=time_limit
        )
        for block in blocks
    ]


def _status(mending: Mending) -> int:
    """Return the exit status for one block."""
    counts = mending.best.counts
    short_of_goal = mending.goal == "one unit" and counts.units > 1
    return HARD_CORNERS if counts.hard_corners or short_of_goal else STRAIGHT


def _to_json(source: str, mendings: Sequence[Mending]) -> dict[str, object]:
    """Return the object that is printed; each alternative names its block."""
    from seamtree.schemas import MEND

    return {
        "schema": MEND,
        "source": source,
        "alternatives": [{"block": m.before.block.name, **entry} for m in mendings for entry in m.to_json()],
        "blocks": [
            {"name": m.before.block.name, "nothing_to_mend": m.nothing_to_mend, "reasons": list(m.reasons)}
            for m in mendings
        ],
    }


# -- the file -------------------------------------------------------------------------------------------------


def _write(output: Path, mendings: Sequence[Mending], tolerance: float) -> None:
    """Write the mended drawing whole or not at all, and only if it reads back as what it is."""
    from seamtree.block.build import read
    from seamtree.mending.svg import render_svg

    with whole(output) as draft:
        draft.write_text(render_svg(mendings), encoding="utf-8")
        try:
            again = [len(block.patches) for block in read(draft, tolerance=tolerance)]
        except DrawingError as error:
            raise SeamtreeError(f"{output}: not written, since it could not be read back: {error}") from error
        if again != [m.best.counts.patches for m in mendings]:
            raise SeamtreeError(f"{output}: not written, since it would read back with other patches")


# -- for people -----------------------------------------------------------------------------------------------


def _show(mendings: Sequence[Mending], output: Path | None) -> None:
    console = Output()
    for number, mending in enumerate(mendings):
        if number:
            console.print()
        for line in render_mending(mending):
            console.print(line)
    if output is not None:
        console.print(Text(f"written: {plain(str(output))}"), soft_wrap=True)
    console.file.flush()


def render_mending(mending: Mending) -> Iterator[Text]:
    """Yield what there is to say about one block, line by line."""
    from seamtree.mending.words import describe_change, describe_straightening

    block = mending.before.block
    yield Text.assemble((plain(block.name), "bold"), f", {dimensions(block.width, block.height)}")
    if mending.nothing_to_mend:
        single = mending.before.counts.units == 1
        yield Text(f"nothing to mend: {'the block is a single unit' if single else 'straight seams sew it'}", "green")
        return
    yield Text(f"as drawn: {_figures(mending.before.counts)}")
    yield from _listed(describe_straightening(mending))
    if mending.straightened:
        yield Text(f"with straight seams: {_figures(mending.after_straightening.counts)}")
    several = len(mending.alternatives) > 1
    for number, alternative in enumerate(mending.alternatives, 1):
        if several:
            yield Text(f"alternative {number}:", "bold")
        yield from _listed(describe_change(alternative))
        clean = not alternative.plan.counts.hard_corners
        yield Text(f"mended: {_figures(alternative.plan.counts)}", "green" if clean else "yellow")
        yield Text(_proof(mending.goal, alternative), "" if alternative.proven else "yellow")
    for reason in mending.reasons:
        yield Text(plain(reason), "yellow")


def _listed(sentences: Sequence[str]) -> Iterator[Text]:
    for sentence in sentences:
        yield Text(f"  • {plain(sentence)}")


def _figures(counts: Counts) -> str:
    parted = counts.corners_by_kind
    corners = count(counts.hard_corners, "hard corner") + (f" ({parted})" if parted else "")
    return f"{count(counts.patches, 'patch', 'patches')}, {count(counts.units, 'unit')}, {corners}"


def _proof(goal: Goal, alternative: Alternative) -> str:
    """Say what no smaller change does."""
    awkward = count(alternative.awkward, "new patch is", "new patches are")
    what = f"; {awkward} sharp or narrow" if alternative.awkward else ""
    if not alternative.proven:
        return f"not proven: a smaller change may do as well{what}"
    if goal == "merged":
        return f"proven: dropping fewer seams does not do{what}"
    fewer = "fewer seams carried on do not make one unit" if goal == "one unit" else "no fewer added patches do"
    return f"proven: {fewer}{what}"

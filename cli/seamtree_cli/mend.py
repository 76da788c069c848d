"""The command `seamtree mend`."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer
from rich.text import Text

from seamtree.errors import DrawingError, OptionError
from seamtree_cli import options
from seamtree_cli.deadline import deadline
from seamtree_cli.exits import HARD_CORNERS, STRAIGHT, WRONG
from seamtree_cli.files import check_target, write_whole
from seamtree_cli.guard import command
from seamtree_cli.progress import Progress
from seamtree_cli.remedies import worded_finding
from seamtree_cli.streams import Output, put_json, say
from seamtree_cli.wording import count, dimensions, plain
from seamtree_cli.work import STDIN, Job, is_pattern

if TYPE_CHECKING:  # other commands start without what mends
    from seamtree.block.model import Block
    from seamtree.block.sketch import Sketch
    from seamtree.mending.model import Alternative, Goal, Mending
    from seamtree.planning.model import Counts

CHANGING = "How the drawing may be changed"

SUFFIXES = (".svg", ".geojson", ".json", ".wkt")


@command
@options.about_drawings
def mend(
    drawing: options.Drawing,
    *,
    output: Annotated[
        Path | None,
        typer.Option(
            "--output",
            "-o",
            metavar="FILE",
            help="Write the mended drawing to this file (.svg, .geojson or .wkt). From an SVG drawing it is the same "
            "file with the added seams in a layer of their own.",
            show_default=False,
        ),
    ] = None,
    picture: Annotated[
        Path | None,
        typer.Option(
            metavar="FILE.svg",
            help="Write a picture of the drawing before and after, side by side, to this SVG file.",
            show_default=False,
        ),
    ] = None,
    units: Annotated[
        int | None,
        typer.Option(
            metavar="N",
            min=1,
            help="Add as few patches as possible so that each block takes no more than this many units.",
            rich_help_panel=CHANGING,
            show_default=False,
        ),
    ] = None,
    frontier: Annotated[
        bool,
        typer.Option(
            "--frontier",
            help="List what added patches buy: the fewest patches for fewer and fewer units.",
            rich_help_panel=CHANGING,
        ),
    ] = False,
    spare: Annotated[
        list[str] | None,
        typer.Option(
            metavar="FABRIC",
            help="Carry no seam through patches of this fabric, a colour of the drawing or its name. Repeatable.",
            rich_help_panel=CHANGING,
            show_default=False,
        ),
    ] = None,
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
    job: Job,
    as_json: options.Json = False,
) -> int:
    """Find the smallest change that makes a drawing sewable with straight seams.

    Seams that stop inside the block are carried straight on, through as few patches as possible. A motif on a
    background gets the seams of its background: its sides are carried on. Among equally small changes the best takes
    the fewest units, then keeps the symmetry of the drawing, and then has the fewest matched points, different
    foundations, sharp points and narrow strips. Patch ids are those that `seamtree check` gives the drawing as it is;
    places are counted in inches from the top left corner of the block, to the right and down.

    The exit status is 0 when the drawing is mended or nothing was to be mended, 1 when a hard corner remains or
    no way to so few units was found, and 2 when the drawing cannot be read or the command is wrong.
    """
    if (units is not None) + frontier + merge > 1:
        raise OptionError("only one of --units, --frontier and --merge can be asked for")
    if merge and spare:
        raise OptionError("--merge adds no seams, so there is nothing for --spare to spare")
    goal: Goal = "units" if units is not None else "frontier" if frontier else "merged" if merge else "straight seams"
    sources = () if drawing == STDIN else (drawing,)
    if output is not None:
        if output.suffix.lower() not in SUFFIXES:
            raise OptionError(
                f"the mended drawing is an SVG, GeoJSON or WKT file, so its name has to end in .svg, .geojson or "
                f".wkt, not {output.name!r}"
            )
        check_target(output, what="the mended drawing", suffix=output.suffix.lower(), sources=sources)
    if picture is not None:
        check_target(picture, what="the picture", suffix=".svg", sources=sources)
    job = job._replace(source=drawing)
    read = _read(job)
    if read is None:
        return WRONG
    with Progress() as progress, deadline(job.time_limit):
        progress.working_on(drawing, 1, 1)
        from seamtree.mending.find import mend as mend_block

        mendings = [
            mend_block(
                one,
                goal=goal,
                units=units,
                spare=spare or (),
                curve_tolerance=curve_tolerance,
                alternatives=alternatives,
                time_limit=job.time_limit,
            )
            for one in read
        ]
    written = output is not None and _write(output, mendings, job)
    if picture is not None:
        from seamtree.mending.svg import render_before_after

        write_whole(picture, render_before_after(mendings))
    if as_json:
        put_json(_to_json(drawing, mendings))
    else:
        _show(mendings, [file for file in (output if written else None, picture) if file is not None])
    return max(map(_status, mendings))


def _read(job: Job) -> Sequence[Block | Sketch] | None:
    """Read the drawing: its blocks, or sketches where patches float; say what is wrong if it cannot be read."""
    from seamtree.block.build import build_blocks, build_sketches
    from seamtree.drawing.read import read_drawing

    try:
        if is_pattern(job.source):
            return job.read()
        drawing = read_drawing(
            job.source,
            width=job.width,
            tolerance=job.tolerance,
            skip_layers=job.skip_layers,
            marks=job.marks,
            lines=job.lines,
            white=job.white,
            pdf_page=job.pdf_page,
        )
        sketches = build_sketches(drawing, tolerance=job.tolerance)
        if any(sketch.faults for sketch in sketches):
            return sketches
        return build_blocks(drawing, tolerance=job.tolerance)
    except DrawingError as error:
        for finding in error.findings:
            say(job.source, worded_finding(finding).beside(job.source))
    except OSError as error:
        say(job.source, f"cannot be read: {error.strerror or error}")
    return None


def _status(mending: Mending) -> int:
    """Return the exit status for one block."""
    return STRAIGHT if mending.reached else HARD_CORNERS


def _to_json(source: str, mendings: Sequence[Mending]) -> dict[str, object]:
    """Return the object that is printed; each alternative names its block."""
    from seamtree.schemas import MEND

    return {
        "schema": MEND,
        "source": source,
        "alternatives": [{"block": m.sketch.name, **entry} for m in mendings for entry in m.to_json()],
        "blocks": [
            {
                "name": m.sketch.name,
                "nothing_to_mend": m.nothing_to_mend,
                "reasons": _reasons(m),
            }
            for m in mendings
        ],
    }


def _reasons(mending: Mending) -> list[str]:
    """Return why there is no alternative, or what keeps the goal from being reached."""
    return [worded_finding(reason).message for reason in mending.reasons]


# -- the file -------------------------------------------------------------------------------------------------


def _write(output: Path, mendings: Sequence[Mending], job: Job) -> bool:
    """Write the mended drawing whole or not at all, and only if it reads back as what it is."""
    from seamtree.mending.files import mended_file

    if any(m.best is None for m in mendings):
        say(str(output), "not written, since nothing was found that can be sewn")
        return False
    text, note = mended_file(
        mendings, job.source, kind=output.suffix.lower(), tolerance=job.tolerance, width=job.width
    )
    write_whole(output, text)
    if note:
        say(str(output), note)
    return True


# -- for people -----------------------------------------------------------------------------------------------


def _show(mendings: Sequence[Mending], written: Sequence[Path]) -> None:
    console = Output()
    for number, mending in enumerate(mendings):
        if number:
            console.print()
        for line in render_mending(mending):
            console.print(line)
    for file in written:
        console.print(Text(f"written: {plain(str(file))}"), soft_wrap=True)
    console.file.flush()


def render_mending(mending: Mending) -> Iterator[Text]:
    """Yield what there is to say about one block, line by line."""
    from seamtree.mending.words import describe_change, describe_straightening

    sketch = mending.sketch
    _, _, right, bottom = sketch.bounds
    yield Text.assemble((plain(sketch.name), "bold"), f", {dimensions(right, bottom)}")
    if mending.nothing_to_mend:
        few = mending.before is not None and mending.before.counts.units
        done = {1: "the block is a single unit"}.get(few or 0, f"{few} units sew it")
        yield Text(
            f"nothing to mend: {'straight seams sew it' if mending.goal == 'straight seams' else done}", "green"
        )
        return
    if mending.before is not None:
        yield Text(f"as drawn: {_figures(mending.before.counts)}")
    else:
        places = count(len(sketch.faults), "place")
        yield Text(
            f"as drawn: {count(len(sketch.areas), 'patch', 'patches')}; at {places} no seam reaches what is drawn"
        )
    yield from _listed(describe_straightening(mending))
    if mending.straightened and mending.after_straightening is not None:
        yield Text(f"with straight seams: {_figures(mending.after_straightening.counts)}")
    if mending.goal == "frontier":
        yield from _rungs(mending)
    else:
        several = len(mending.alternatives) > 1
        for number, alternative in enumerate(mending.alternatives, 1):
            if several:
                yield Text(f"alternative {number}:", "bold")
            yield from _listed(describe_change(alternative))
            clean = not alternative.plan.counts.hard_corners
            yield Text(f"mended: {_figures(alternative.plan.counts)}", "green" if clean else "yellow")
            yield Text(_proof(mending.goal, alternative), "" if alternative.proven else "yellow")
            if several:
                yield Text(_equals(alternative))
    for reason in _reasons(mending):
        yield Text(plain(reason), "yellow")


def _rungs(mending: Mending) -> Iterator[Text]:
    """Yield what added patches buy, line by line."""
    if mending.before is not None and not mending.before.counts.hard_corners:
        yield Text(f"  {count(mending.before.counts.units, 'unit')} as drawn")
    for rung in mending.alternatives:
        more = count(rung.added_patches, "patch", "patches")
        proof = "proven" if rung.proven else f"not proven, at least {rung.least}"
        style = "" if rung.proven else "yellow"
        yield Text(f"  {count(rung.plan.counts.units, 'unit')} with {more} more ({proof})", style)


def _equals(alternative: Alternative) -> str:
    """Say what tells equally small changes apart."""
    counts = alternative.plan.counts
    turns = (
        f", {alternative.symmetries} of the drawing's turns and mirrors kept" if alternative.symmetries > 1 else ""
    )
    return (
        f"{count(counts.matched_points, 'matched point')}, {count(counts.foundations, 'different foundation')}{turns}"
    )


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
        least = f" (at least {alternative.least} more patches)" if alternative.least > 0 else ""
        return f"not proven: a smaller change may do as well{least}{what}"
    if goal == "merged":
        return f"proven: dropping fewer seams does not do{what}"
    units = (
        ", nor do as few with fewer units" if alternative.units_proven and alternative.plan.counts.units > 1 else ""
    )
    return f"proven: no fewer added patches do{units}{what}"

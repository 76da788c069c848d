"""The command `seamtree mend`."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
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
from seamtree_cli.picture_files import check_picture, write_picture
from seamtree_cli.progress import Progress
from seamtree_cli.remedies import worded_finding
from seamtree_cli.streams import Output, put_json, say
from seamtree_cli.wording import count, dimensions, plain
from seamtree_cli.work import STDIN, Job, is_pattern

if TYPE_CHECKING:  # other commands start without what mends
    from seamtree.block.model import Block
    from seamtree.block.sketch import Sketch
    from seamtree.drawing.drawn import Drawing
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
            metavar="FILE",
            help="Write a picture of the drawing before and after, side by side, to this SVG or PNG file.",
            show_default=False,
        ),
    ] = None,
    within: Annotated[
        float | None,
        typer.Option(
            metavar="LENGTH",
            parser=options.read_length,
            help="Mend slips of the hand up to this size first, moving as little as possible: gaps, overlaps, "
            "overshoots, loose ends, small bends, doubled lines, an open outline, a frame not drawn: 0.15in, 4mm.",
            rich_help_panel=CHANGING,
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

    With --within, slips of the hand are mended first: ends that miss or overshoot, lines with a small bend and the
    like. Seams that stop inside the block are carried straight on, through as few patches as possible. A motif on a
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
    _check_files(output, picture, sources=() if drawing == STDIN else (drawing,))
    job = job._replace(source=drawing)
    with Progress() as progress, deadline(job.time_limit):
        progress.working_on(drawing, 1, 1)
        read = _read(job, within)
        if read is None:
            return WRONG
        from seamtree.mending.find import mend as mend_block

        mendings = [
            _in_place(
                mend_block(
                    block,
                    goal=goal,
                    units=units,
                    spare=spare or (),
                    curve_tolerance=curve_tolerance,
                    alternatives=alternatives,
                    time_limit=job.time_limit,
                ),
                sketch,
            )
            for block, sketch in read.blocks
        ]
        if (
            within is None
            and read.after is not None
            and any(m.before and m.before.counts.hard_corners for m in mendings)
        ):
            mendings = _with_hint(mendings, read.after, tolerance=job.tolerance, time_limit=job.time_limit)
    written = output is not None and _write(output, mendings, read, job)
    if picture is not None:
        from seamtree.picture.before_after import draw_before_after

        write_picture(picture, draw_before_after(mendings, drawn=read.before))
    if as_json:
        put_json(_to_json(drawing, mendings))
    else:
        _show(
            mendings,
            asked=alternatives,
            written=[file for file in (output if written else None, picture) if file is not None],
        )
    return max(map(_status, mendings))


def _check_files(output: Path | None, picture: Path | None, *, sources: Sequence[str]) -> None:
    """Refuse files that cannot be written, before anything is worked out."""
    if output is not None:
        if output.suffix.lower() not in SUFFIXES:
            raise OptionError(
                f"the mended drawing is an SVG, GeoJSON or WKT file, so its name has to end in .svg, .geojson or "
                f".wkt, not {output.name!r}"
            )
        check_target(output, what="the mended drawing", suffix=output.suffix.lower(), sources=sources)
    if picture is not None:
        check_picture(picture, sources=sources)
        if output is not None and picture.resolve() == output.resolve():
            raise OptionError("the mended drawing and the picture need different names")


@dataclass(frozen=True, slots=True)
class _Read:
    """Blocks, or sketches where patches float, each with its sketch; the drawing before and after slips."""

    blocks: Sequence[tuple[Block | Sketch, Sketch]]
    before: Drawing | None = None
    after: Drawing | None = None


def _read(job: Job, within: float | None) -> _Read | None:
    """Read the drawing and mend its slips; say what is wrong if it cannot be read."""
    from seamtree.block.build import build_blocks, build_sketches
    from seamtree.block.sketch import sketch_of
    from seamtree.drawing.read import read_drawing
    from seamtree.mending.slips import advice, mend_slips, with_slips

    drawing = mended = None
    try:
        if is_pattern(job.source):
            if within is not None:
                raise OptionError("--within mends a drawing: give that itself, not the pattern file that names it")
            return _Read([(block, sketch_of(block)) for block in job.read()])
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
        after = drawing
        if within is not None:
            mended = mend_slips(drawing, within=within, tolerance=job.tolerance, time_limit=job.time_limit)
            after = drawing if mended.left else mended.drawing
        sketches = build_sketches(after, tolerance=job.tolerance)
        if mended is not None:
            sketches = with_slips(sketches, mended.slips)
        if any(sketch.faults for sketch in sketches):
            return _Read([(sketch, sketch) for sketch in sketches], drawing, after)
        blocks = build_blocks(after, tolerance=job.tolerance)
        return _Read(list(zip(blocks, sketches, strict=True)), drawing, after)
    except DrawingError as error:
        findings = list(error.findings)
        if drawing is not None:
            findings += advice(drawing, mended, within=within, tolerance=job.tolerance, time_limit=job.time_limit)
        for finding in findings:
            say(job.source, worded_finding(finding).beside(job.source))
    except OSError as error:
        say(job.source, f"cannot be read: {error.strerror or error}")
    return None


def _has_corners(mending: Mending) -> bool:
    return mending.before is not None and mending.before.counts.hard_corners > 0


def _in_place(mending: Mending, sketch: Sketch) -> Mending:
    """Return a change that knows where its block lies in the drawing and which slips were mended in it."""
    return replace(mending, sketch=replace(mending.sketch, corner=sketch.corner, slips=sketch.slips))


def _with_hint(
    mendings: Sequence[Mending], drawing: Drawing, *, tolerance: float, time_limit: float
) -> list[Mending]:
    """Return changes with a word about slips of the hand in blocks that have fewer hard corners without them."""
    from seamtree.mending.slips import harmful_slips, with_slips
    from seamtree.mending.words import hint

    before = [m.before for m in mendings]
    slips = harmful_slips(drawing, before, tolerance=tolerance, time_limit=time_limit)
    sketches = with_slips([m.sketch for m in mendings], slips)
    return [
        replace(m, reasons=(*m.reasons, hint(s.slips))) if s.slips else m
        for m, s in zip(mendings, sketches, strict=True)
    ]


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
                "slips": m.slips_to_json(),
                "reasons": _reasons(m),
            }
            for m in mendings
        ],
    }


def _reasons(mending: Mending) -> list[str]:
    """Return why there is no alternative, or what keeps the goal from being reached."""
    return [worded_finding(reason).message for reason in mending.reasons]


# -- the file -------------------------------------------------------------------------------------------------


def _write(output: Path, mendings: Sequence[Mending], read: _Read, job: Job) -> bool:
    """Write the mended drawing whole or not at all, and only if it reads back as what it is."""
    from seamtree.mending.files import mended_file

    if any(m.best is None for m in mendings):
        say(str(output), "not written, since nothing was found that can be sewn")
        return False
    moved = None if read.before is None or read.after is None else (read.before, read.after)
    text, note = mended_file(
        mendings, job.source, kind=output.suffix.lower(), tolerance=job.tolerance, width=job.width, moved=moved
    )
    write_whole(output, text)
    if note:
        say(str(output), note)
    return True


# -- for people -----------------------------------------------------------------------------------------------


def _show(mendings: Sequence[Mending], *, asked: int, written: Sequence[Path]) -> None:
    console = Output()
    for number, mending in enumerate(mendings):
        if number:
            console.print()
        for line in render_mending(mending, asked=asked):
            console.print(line)
    for file in written:
        console.print(Text(f"written: {plain(str(file))}"), soft_wrap=True)
    console.file.flush()


def render_mending(mending: Mending, *, asked: int = 1) -> Iterator[Text]:
    """Yield what there is to say about one block, line by line; `asked` is how many alternatives were wanted."""
    from seamtree.mending.words import describe_slips, describe_straightening

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
    if mending.slips:
        yield Text(f"mended first: {count(len(mending.slips), 'slip')} of the hand")
        yield from _listed(describe_slips(mending))
    yield _before(mending)
    yield from _listed(describe_straightening(mending))
    if mending.straightened and mending.after_straightening is not None:
        yield Text(f"with straight seams: {_figures(mending.after_straightening.counts)}")
    if mending.goal == "frontier":
        yield from _rungs(mending)
    else:
        yield from _changes(mending, asked)
    if mending.slips and mending.reached and not mending.alternatives and mending.goal == "straight seams":
        yield Text("nothing more to mend: straight seams sew it", "green")
    for reason in _reasons(mending):
        yield Text(plain(reason), "yellow")


def _changes(mending: Mending, asked: int) -> Iterator[Text]:
    """Yield the alternatives, line by line, and whether there are fewer than were asked for."""
    from seamtree.mending.words import describe_change

    several = len(mending.alternatives) > 1
    for number, alternative in enumerate(mending.alternatives, 1):
        if several:
            yield Text(f"alternative {number}:", "bold")
        yield from _listed(describe_change(alternative))
        clean = not alternative.plan.counts.hard_corners
        yield Text(f"mended: {_figures(alternative.plan.counts)}", "green" if clean else "yellow")
        yield Text(_proof(mending.goal, alternative), "" if alternative.proven else "yellow")
        if several or asked > 1:
            yield Text(_equals(alternative))
    if 0 < len(mending.alternatives) < asked:
        yield Text("no other change as small was found, but for the same one turned or mirrored")


def _before(mending: Mending) -> Text:
    """Say what the drawing takes before seams are added or dropped."""
    as_drawn = "without them" if mending.slips else "as drawn"
    if mending.before is not None:
        return Text(f"{as_drawn}: {_figures(mending.before.counts)}")
    patches, places = len(mending.sketch.areas), count(len(mending.sketch.faults), "place")
    return Text(f"{as_drawn}: {count(patches, 'patch', 'patches')}; at {places} no seam reaches what is drawn")


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

"""The command `seamtree rate`."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from seamtree.errors import OptionError
from seamtree.words import inches
from seamtree_cli import options
from seamtree_cli.answers import BlockByBlock, answer_each
from seamtree_cli.exits import STRAIGHT, WRONG
from seamtree_cli.guard import command
from seamtree_cli.rate_course import CourseWishes, drawings_below, rate_course
from seamtree_cli.rate_times import calibrated
from seamtree_cli.rating_tables import render_brief, render_rating, render_sizes, told_calibration
from seamtree_cli.streams import Output, put_json, say
from seamtree_cli.work import Grading, Job, Outcome

if TYPE_CHECKING:  # other commands start without what rates
    from rich.console import RenderableType

    from seamtree.rating import Scale

JUDGING = "How it is judged"
COURSE = "The course"

_MOST_WIDTHS = 20

_WIDE = 5000

Drawings = Annotated[
    list[str] | None,
    typer.Argument(
        metavar="DRAWING...",
        help="Drawings to rate: SVG, PDF, DXF, GeoJSON or WKT files; - reads one from standard input.",
        show_default=False,
    ),
]


@command
@options.about_drawings
@options.about_plans
def rate(
    drawings: Drawings = None,
    *,
    course: Annotated[
        Path | None,
        typer.Option(
            "--course",
            metavar="FOLDER",
            help="Instead, put all drawings below a folder in the order of a course: each step adds few new skills.",
            show_default=False,
        ),
    ] = None,
    widths: Annotated[
        str | None,
        typer.Option(
            "--widths",
            metavar="W,W,...",
            help="Rate at several finished widths of the whole drawing, like 4,6,8,12 (inches, or with a unit), "
            "and say from which width on each level holds.",
            rich_help_panel=options.SHOWING,
            show_default=False,
        ),
    ] = None,
    brief: Annotated[
        bool,
        typer.Option("--brief", help="One line for each drawing.", rich_help_panel=options.SHOWING),
    ] = False,
    practice: Annotated[
        int,
        typer.Option(
            "--practice",
            metavar="N",
            min=0,
            help="How many blocks to practise are named after each lesson; the others are folded.",
            rich_help_panel=COURSE,
        ),
    ] = 3,
    max_level: Annotated[
        int | None,
        typer.Option(
            "--max-level",
            metavar="N",
            min=1,
            help="Leave out what is above this level.",
            rich_help_panel=COURSE,
            show_default=False,
        ),
    ] = None,
    start_with: Annotated[
        list[str] | None,
        typer.Option(
            "--start-with",
            metavar="NAME",
            help="A drawing of the folder that comes first, or a skill that the class has already; may be given "
            "several times.",
            rich_help_panel=COURSE,
            show_default=False,
        ),
    ] = None,
    report: Annotated[
        Path | None,
        typer.Option(
            "--report",
            metavar="FILE.html",
            help="Write the course as a page to print: picture, new skills, size, fabrics and time of every lesson.",
            rich_help_panel=COURSE,
            show_default=False,
        ),
    ] = None,
    table: Annotated[
        Path | None,
        typer.Option(
            "--csv",
            metavar="FILE.csv",
            help="Write the course as a table.",
            rich_help_panel=COURSE,
            show_default=False,
        ),
    ] = None,
    scale: Annotated[
        str | None,
        typer.Option(
            "--scale",
            metavar="machine|hand|FILE.toml",
            help="The scale for sewing by machine on foundations (the default) or for piecing by hand; or your "
            "own points, levels, skills and minutes: a changed copy of what --print-scale prints.",
            rich_help_panel=JUDGING,
            show_default=False,
        ),
    ] = None,
    print_scale: Annotated[
        bool,
        typer.Option(
            "--print-scale",
            help="Print the scale, to be saved, changed and passed with --scale; with --times as the times of your "
            "class make it.",
            rich_help_panel=JUDGING,
        ),
    ] = False,
    times: Annotated[
        Path | None,
        typer.Option(
            "--times",
            metavar="FILE.csv",
            help="Times that your class took, columns drawing, minutes and, if it was not sewn as drawn, width: they "
            "calibrate the estimates of time.",
            rich_help_panel=JUDGING,
            show_default=False,
        ),
    ] = None,
    job: Job,
    asked: options.Asked,
    workers: options.Workers = 1,
    as_json: options.Json = False,
) -> int:
    """Say how hard a drawing is to sew: a level from 1, beginner, to 5, advanced, and why.

    Everything that makes a block hard is counted or measured at its finished size and gives points on a scale; their
    sum decides the level. The table tells what gave how many points, and where. Then the changes follow that would
    lower the score most, each by itself: other seams are really planned and scored again, all else is scored as if
    nothing but this one thing changed. Patch ids are those of `seamtree check`; places are counted in inches from the
    top left corner of the block, to the right and down.

    With --widths, the drawing is read and rated anew at each width, and the table says from which width on, in steps
    of half an inch, each level holds.

    A course has a section for each level; its level never falls by more than one. Within that it adds as few skills
    as possible at a time, and none before its prerequisites. Each lesson says which are new and on which lessons it
    builds; blocks with nothing new follow it for practice.

    How long a block takes is estimated from the minutes in the scale; --times calibrates them and tells how far the
    times of a class stray.

    The exit status is 0 when everything is rated, and 2 when a drawing cannot be read or the command is wrong.
    """
    if sum((bool(drawings), course is not None, print_scale)) != 1:
        raise OptionError("give drawings to rate, or --course with a folder, or --print-scale: one of the three")
    if print_scale and times is None:
        return _print_scale(scale)
    wishes = None
    if course is not None:
        wishes = CourseWishes(str(course), practice, max_level, tuple(start_with or ()), report, table)
    elif max_level is not None or start_with or report or table:
        raise OptionError("--max-level, --start-with, --report and --csv are for a course: give --course as well")
    _check_several(course, job.width, widths, brief=brief, as_json=as_json)
    sizes = _widths(widths)
    sources = () if print_scale else drawings or drawings_below(course or Path())
    job = job._replace(wishes=asked.wishes())
    text, judge = _scale(scale)
    if times is not None:
        calibration = calibrated(times, judge, job, workers=workers)
        say(str(times), told_calibration(calibration))
        judge = calibration.scale
    if print_scale:
        return _print_calibrated(text, judge)
    changes = wishes is None and not brief and not sizes
    grading = Grading(judge, changes=changes, with_plans=wishes is not None and wishes.with_plans)
    jobs = [job._replace(source=source, grading=grading, widths=sizes) for source in sources]
    if wishes is not None:
        return rate_course(jobs, wishes, judge, workers=workers, as_json=as_json)
    rated: list[Outcome] = []
    show = rated.append if brief else _show_json if as_json else BlockByBlock(lambda outcome: _told(outcome, judge))
    partly = _Partly(show, aloud=brief or as_json)
    status = answer_each(jobs, workers=workers, show=partly, judge=_status)
    if rated:
        console = Output()
        console.width = _WIDE  # a long name makes a long line, not two
        console.print(render_brief([(one.source, one.sizes or one.ratings) for one in rated]))
        console.file.flush()
    return max(status, partly.status)


def _check_several(
    course: Path | None, width: float | None, widths: str | None, *, brief: bool, as_json: bool
) -> None:
    """Refuse what does not go together where one line is printed for each drawing or width."""
    if widths is not None and (course is not None or width is not None):
        raise OptionError("--widths rates drawings at several widths; leave --width and --course out")
    if brief and (course is not None or as_json):
        raise OptionError("--brief is one line a drawing for people; leave --course and --json out")


class _Partly:
    """Shows outcomes and notes where a drawing could be rated at some widths only.

    Parameters
    ----------
    show
        Shows an outcome.
    aloud
        Whether what is wrong at a width is told on standard error, since what is shown has no room for it.
    """

    def __init__(self, show: Callable[[Outcome], None], *, aloud: bool) -> None:
        self._show = show
        self._aloud = aloud
        self.status = STRAIGHT

    def __call__(self, outcome: Outcome) -> None:
        """Show an outcome."""
        for row in outcome.sizes.rows if outcome.sizes is not None else ():
            if row.fault:
                self.status = WRONG
                if self._aloud:
                    say(outcome.source, f"{inches(row.width)} in wide: {row.fault}")
        self._show(outcome)


def _told(outcome: Outcome, scale: Scale) -> Iterable[Iterable[RenderableType]]:
    """Return what is told of the blocks of a drawing, or of the drawing at all widths."""
    if outcome.sizes is not None:
        return [render_sizes(outcome.source, outcome.sizes)]
    return [render_rating(rating, scale) for rating in outcome.ratings]


def _widths(text: str | None) -> tuple[float, ...]:
    """Read a list of widths."""
    from seamtree.pattern.lengths import parse_length

    if text is None:
        return ()
    widths = sorted({parse_length(part) for part in text.split(",")})
    if len(widths) > _MOST_WIDTHS or not widths[0] > 0:
        raise OptionError(f"--widths takes 1 to {_MOST_WIDTHS} widths above zero, like 4,6,8,12, not {text!r}")
    return tuple(widths)


def _print_scale(scale: str | None) -> int:
    from seamtree.rating import SCALES, scale_text

    name = scale or SCALES[0]
    if name not in SCALES:
        raise OptionError(
            "--print-scale prints a scale that comes with the program (--scale machine or --scale hand), or any that "
            "--times calibrates"
        )
    sys.stdout.write(scale_text(name))
    return STRAIGHT


def _print_calibrated(text: str, scale: Scale) -> int:
    from seamtree.rating.scale import calibrated_text

    sys.stdout.write(calibrated_text(text, scale))
    return STRAIGHT


def _scale(name: str | None) -> tuple[str, Scale]:
    """Return the text of a scale and what it says."""
    from seamtree.rating.scale import SCALES, named_scale, parse_scale, read_scale_text, scale_text

    if name is None or name in SCALES:
        known = name or SCALES[0]
        return scale_text(known), named_scale(known)
    text = read_scale_text(name)
    return text, parse_scale(text, source=name)


def _status(outcome: Outcome) -> int:
    """Return the exit status for one drawing; one that can be rated at some of the widths is still shown."""
    if outcome.sizes is not None:
        return STRAIGHT if any(row.ratings for row in outcome.sizes.rows) else WRONG
    return STRAIGHT if outcome.ratings else WRONG


def _show_json(outcome: Outcome) -> None:
    """Print one object on one line."""
    from seamtree.rating.judgement import drawing_json

    if outcome.sizes is not None:
        put_json(outcome.sizes.to_json(outcome.source))
        return
    put_json(drawing_json(outcome.source, outcome.ratings))

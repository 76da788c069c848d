"""The command `seamtree rate`."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from seamtree.errors import OptionError
from seamtree.tolerances import TOLERANCE
from seamtree_cli import options
from seamtree_cli.answers import BlockByBlock, answer_each
from seamtree_cli.exits import STRAIGHT, WRONG
from seamtree_cli.guard import command
from seamtree_cli.rate_course import CourseWishes, drawings_below, rate_course
from seamtree_cli.rate_times import calibrated
from seamtree_cli.rating_tables import render_rating, told_calibration
from seamtree_cli.streams import put_json, say
from seamtree_cli.work import Grading, Job, Outcome

if TYPE_CHECKING:  # other commands start without what rates
    from seamtree.rating import Scale

JUDGING = "How it is judged"
COURSE = "The course"

Drawings = Annotated[
    list[str] | None,
    typer.Argument(
        metavar="DRAWING...",
        help="Drawings to rate: SVG, GeoJSON or WKT files; - reads one from standard input.",
        show_default=False,
    ),
]


@command
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
            help="Print the scale, to be saved, changed and passed with --scale.",
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
    width: options.Width = None,
    tolerance: options.Tolerance = TOLERANCE,
    skip_layer: options.SkipLayer = None,
    time_limit: options.TimeLimit = 10.0,
    workers: options.Workers = 1,
    as_json: options.Json = False,
) -> int:
    """Say how hard a drawing is to sew: a level from 1, beginner, to 5, advanced, and why.

    Everything that makes a block hard is counted or measured at its finished size and gives points on a scale; their
    sum decides the level. The table tells what gave how many points, and where. Then the changes follow that would
    lower the score most, each by itself: other seams are really planned and scored again, all else is scored as if
    nothing but this one thing changed. Patch ids are those of `seamtree check`; places are counted in inches from the
    top left corner of the block, to the right and down.

    A course has a section for each level; its level never falls by more than one. Within that it adds as few skills
    as possible at a time, and none before its prerequisites. Each lesson says which are new and on which lessons it
    builds; blocks with nothing new follow it for practice.

    How long a block takes is estimated from the minutes in the scale; --times calibrates them and tells how far the
    times of a class stray.

    The exit status is 0 when everything is rated, and 2 when a drawing cannot be read or the command is wrong.
    """
    if sum((bool(drawings), course is not None, print_scale)) != 1:
        raise OptionError("give drawings to rate, or --course with a folder, or --print-scale: one of the three")
    if print_scale:
        return _print_scale(scale)
    wishes = None
    if course is not None:
        wishes = CourseWishes(str(course), practice, max_level, tuple(start_with or ()), report, table)
    elif max_level is not None or start_with or report or table:
        raise OptionError("--max-level, --start-with, --report and --csv are for a course: give --course as well")
    sources = drawings or drawings_below(course or Path())
    pattern = Job("", width, tolerance, tuple(skip_layer or ()), time_limit)
    judge = _scale(scale)
    if times is not None:
        calibration = calibrated(times, judge, pattern, workers=workers)
        say(str(times), told_calibration(calibration))
        judge = calibration.scale
    grading = Grading(judge, changes=wishes is None, with_plans=wishes is not None and wishes.with_plans)
    jobs = [pattern._replace(source=source, grading=grading) for source in sources]
    if wishes is not None:
        return rate_course(jobs, wishes, judge, workers=workers, as_json=as_json)
    show = (
        _show_json
        if as_json
        else BlockByBlock(lambda outcome: (render_rating(rating, judge) for rating in outcome.ratings))
    )
    return answer_each(jobs, workers=workers, show=show, judge=_status)


def _print_scale(scale: str | None) -> int:
    from seamtree.rating import SCALES, scale_text

    name = scale or SCALES[0]
    if name not in SCALES:
        raise OptionError("--print-scale prints a scale that comes with the program: --scale machine or --scale hand")
    sys.stdout.write(scale_text(name))
    return STRAIGHT


def _scale(name: str | None) -> Scale:
    from seamtree.rating import SCALES, default_scale, named_scale, read_scale

    if name is None:
        return default_scale()
    return named_scale(name) if name in SCALES else read_scale(name)


def _status(outcome: Outcome) -> int:
    """Return the exit status for one drawing."""
    return STRAIGHT if outcome.ratings else WRONG


def _show_json(outcome: Outcome) -> None:
    """Print one object on one line."""
    from seamtree.rating.model import drawing_json

    put_json(drawing_json(outcome.source, outcome.ratings))

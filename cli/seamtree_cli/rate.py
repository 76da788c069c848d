"""The command `seamtree rate`."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from seamtree.errors import OptionError
from seamtree.tolerances import TOLERANCE
from seamtree_cli import options
from seamtree_cli.answers import BlockByBlock, answer_each
from seamtree_cli.exits import STRAIGHT, WRONG
from seamtree_cli.guard import command
from seamtree_cli.rating_tables import render_course, render_rating
from seamtree_cli.streams import Output, put_json
from seamtree_cli.work import Grading, Job, Outcome

if TYPE_CHECKING:  # other commands start without what rates
    from seamtree.rating import Course, Scale

JUDGING = "How it is judged"

Drawings = Annotated[
    list[str] | None,
    typer.Argument(
        metavar="DRAWING...",
        help="Drawings to rate: SVG, PDF, DXF, GeoJSON or WKT files; - reads one from standard input.",
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
    scale: Annotated[
        Path | None,
        typer.Option(
            "--scale",
            metavar="FILE.toml",
            help="Your own points, levels and skills: a changed copy of what --print-scale prints.",
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
    width: options.Width = None,
    tolerance: options.Tolerance = TOLERANCE,
    skip_layer: options.SkipLayer = None,
    pdf_page: options.PdfPage = None,
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

    A course starts with the skills that are easiest to come by and adds as few as possible at a time; each step says
    which are new.

    The exit status is 0 when everything is rated, and 2 when a drawing cannot be read or the command is wrong.
    """
    if sum((bool(drawings), course is not None, print_scale)) != 1:
        raise OptionError("give drawings to rate, or --course with a folder, or --print-scale: one of the three")
    if print_scale:
        return _print_scale(scale)
    judge = _scale(scale)
    grading = Grading(judge, changes=course is None)
    sources = drawings or _below(course)
    layers = tuple(skip_layer or ())
    jobs = [
        Job(source, width, tolerance, layers, time_limit, pdf_page=pdf_page, grading=grading) for source in sources
    ]
    if course is not None:
        return _rate_course(jobs, str(course), workers=workers, as_json=as_json)
    show = (
        _show_json
        if as_json
        else BlockByBlock(lambda outcome: (render_rating(rating, judge) for rating in outcome.ratings))
    )
    return answer_each(jobs, workers=workers, show=show, judge=_status)


def _print_scale(scale: Path | None) -> int:
    from seamtree.rating import default_scale_text

    if scale is not None:
        raise OptionError("--print-scale prints the scale that comes with the program; leave --scale out")
    sys.stdout.write(default_scale_text())
    return STRAIGHT


def _scale(path: Path | None) -> Scale:
    from seamtree.rating import default_scale, read_scale

    return default_scale() if path is None else read_scale(path)


def _below(course: Path | None) -> list[str]:
    """List the drawings of a course."""
    from seamtree.audit.run import find_drawings

    if course is None or not course.is_dir():
        raise OptionError(f"there is no folder {str(course)!r} to make a course of")
    return find_drawings([str(course)])


def _status(outcome: Outcome) -> int:
    """Return the exit status for one drawing."""
    return STRAIGHT if outcome.ratings else WRONG


def _show_json(outcome: Outcome, **more: Any) -> None:
    """Print one object on one line."""
    from seamtree.rating.model import drawing_json

    answer = {**drawing_json(outcome.source, outcome.ratings), **more}
    put_json(answer)


# -- a course -------------------------------------------------------------------------------------------------


def _rate_course(jobs: list[Job], folder: str, *, workers: int, as_json: bool) -> int:
    """Rate all drawings, then put them in order."""
    from seamtree.rating.course import Lesson, plan_course

    rated: list[Outcome] = []
    status = answer_each(jobs, workers=workers, show=rated.append, judge=_status)
    course = plan_course([Lesson(outcome.source, outcome.ratings) for outcome in rated])
    if as_json:
        _show_course_json(course, {outcome.source: outcome for outcome in rated})
    elif course.steps:
        console = Output()
        for part in render_course(course, folder):
            console.print(part)
        console.file.flush()
    return status


def _show_course_json(course: Course, outcomes: dict[str, Outcome]) -> None:
    for number, step in enumerate(course.steps, 1):
        _show_json(outcomes[step.lesson.source], step=number, new_skills=list(step.new_skills))

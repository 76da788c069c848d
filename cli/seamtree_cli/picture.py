"""The command `seamtree picture`."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer
from rich.text import Text

from seamtree_cli import options
from seamtree_cli.answers import answer_each, judge_plans
from seamtree_cli.guard import command
from seamtree_cli.picture_files import RESOLUTION, check_picture, write_picture
from seamtree_cli.streams import Output
from seamtree_cli.wording import plain
from seamtree_cli.work import STDIN, Job, Outcome


@command
@options.about_drawings
@options.about_plans
def picture(
    drawing: options.Drawing,
    *,
    output: Annotated[
        Path,
        typer.Option(
            "--output",
            "-o",
            metavar="FILE",
            help="The file to write, SVG or PNG by its suffix.",
            show_default=False,
        ),
    ],
    fabrics: Annotated[
        bool,
        typer.Option(
            "--fabrics",
            help="Give patches the colours of their fabrics instead of a tint for each unit.",
            rich_help_panel=options.SHOWING,
        ),
    ] = False,
    resolution: Annotated[
        float,
        typer.Option(
            metavar="PIXELS",
            help="Pixels to an inch of a PNG picture.",
            rich_help_panel=options.SHOWING,
        ),
    ] = RESOLUTION,
    job: Job,
    asked: options.Asked,
    watch: options.Watch = False,
) -> int:
    """Draw a block with its units, patch numbers and joins, as an SVG or PNG file.

    Units that lie side by side differ in tint and hatching. Joins are the heavier the later they are sewn, and bear
    their numbers. Hard corners and matched points are marked, and markings of the drawing dashed; a legend explains
    all signs. The picture is legible in black and white and to colour-blind readers. Several blocks of one drawing
    stand side by side.

    The exit status is that of `seamtree check`: 0 when straight seams sew everything, 1 when a block has a hard
    corner, and 2 when the drawing cannot be read or the command is wrong; then no file is written.
    """
    check_picture(output, sources=() if drawing == STDIN else (drawing,))

    def write(outcome: Outcome) -> None:
        from seamtree.picture import Look, draw_plans

        write_picture(output, draw_plans(outcome.plans, look=Look(fabrics=fabrics)), resolution=resolution)
        Output().print(Text(f"written: {plain(str(output))}"))

    job = job._replace(source=drawing, wishes=asked.wishes())
    if watch:
        from seamtree_cli.watching import watch_each

        return watch_each([job], show=write, judge=judge_plans)
    return answer_each([job], workers=1, show=write, judge=judge_plans)

"""The command `seamtree audit`."""

from __future__ import annotations

import contextlib
import json
import os
import sys
from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import Executor
from pathlib import Path
from typing import Annotated

import typer

from seamtree.audit import Limits, Record, Settings, Store, audit as audit_all, find_drawings, local_executor, parse_rules
from seamtree.errors import OptionError
from seamtree.tolerances import TOLERANCE
from seamtree_cli import options
from seamtree_cli.audit_tables import csv_text, render_failures, render_summary
from seamtree_cli.bar import Bar
from seamtree_cli.exits import BROKEN_RULE, STRAIGHT, WRONG
from seamtree_cli.files import check_target, write_whole
from seamtree_cli.guard import command
from seamtree_cli.streams import Output

LIMITS = "What one drawing may take"
RESULTS = "Where results go"

STDOUT = "-"


@command
def audit(
    places: Annotated[
        list[str],
        typer.Argument(
            metavar="PLACE...",
            help="Folders, below which every SVG, GeoJSON (.geojson) and WKT file is audited, and single files.",
            show_default=False,
        ),
    ],
    *,
    width: options.Width = None,
    tolerance: options.Tolerance = TOLERANCE,
    skip_layer: options.SkipLayer = None,
    time_limit: options.TimeLimit = 10.0,
    proofread: Annotated[
        bool,
        typer.Option(
            "--proofread",
            help="Also prove or refute the numbers printed on drawings that have some.",
            rich_help_panel=options.WORKING,
        ),
    ] = False,
    workers: Annotated[
        int | None,
        typer.Option(
            metavar="N",
            min=1,
            max=64,
            help="How many drawings to work on at the same time; without it as many as there are processors.",
            rich_help_panel=options.WORKING,
            show_default=False,
        ),
    ] = None,
    cut_off: Annotated[
        float,
        typer.Option(
            metavar="SECONDS",
            help="Cut a drawing off that takes longer than this by the clock.",
            rich_help_panel=LIMITS,
        ),
    ] = Limits.seconds,
    memory: Annotated[
        int,
        typer.Option(
            metavar="MB",
            help="Cut a drawing off that needs more memory than this, beyond what the program itself takes.",
            rich_help_panel=LIMITS,
        ),
    ] = Limits.megabytes,
    fail_on: Annotated[
        list[str] | None,
        typer.Option(
            metavar="RULE",
            help="What makes the exit status 1: a word (hard-corners, unproven, refuted, warned; faulty for nothing "
            "but what always fails) or a comparison such as units>6, matched-points>=10, width<4. May be given "
            "several times. Without it: hard-corners, and with --proofread also refuted.",
            show_default=False,
        ),
    ] = None,
    csv: Annotated[
        str | None,
        typer.Option(
            "--csv",
            metavar="FILE.csv",
            help="Write a table with a line for each block; - writes it to standard output.",
            rich_help_panel=RESULTS,
            show_default=False,
        ),
    ] = None,
    json_lines: Annotated[
        str | None,
        typer.Option(
            "--json-lines",
            metavar="FILE.jsonl",
            help="Write one JSON object a drawing, each on a line; - writes them to standard output.",
            rich_help_panel=RESULTS,
            show_default=False,
        ),
    ] = None,
    store: Annotated[
        Path | None,
        typer.Option(
            metavar="FILE",
            help="Where finished drawings are kept, so that the next audit does only what has changed. Without it: a "
            "file in your cache folder.",
            rich_help_panel=RESULTS,
            show_default=False,
        ),
    ] = None,
) -> int:
    """Check a whole catalogue: every drawing below a folder, many at a time.

    Prints how many drawings there are of each verdict and a table of those that failed. Finished drawings are kept:
    the next audit does only those that are new or have changed, and one that was interrupted goes on where it
    stopped. A drawing that takes too long, needs too much memory or crashes the program is reported, and the others
    go on.

    The exit status is 0 when all is well, 1 when a drawing breaks a rule of --fail-on, and 2 when a drawing is
    faulty, was cut off or crashed, or the command is wrong.
    """
    settings = Settings(
        width=width, tolerance=tolerance, skip_layers=tuple(skip_layer or ()), time_limit=time_limit, proofread=proofread
    )
    settings.check()
    limits = Limits(cut_off, memory)
    rules = parse_rules(fail_on or (["hard-corners", "refuted"] if proofread else ["hard-corners"]))
    sources = find_drawings(places)
    targets = _Targets(sources)
    targets.add(csv, ".csv", "the table", csv_text)
    targets.add(json_lines, ".jsonl", "the list of results", _json_text)
    records = _gather(sources, settings, limits, store or _default_store(), lambda: _executor(workers, limits))
    targets.write(records)
    console = Output(stderr=targets.takes_stdout)
    console.print(render_summary(records, proofread=proofread))
    failures = render_failures(records, rules)
    if failures is not None:
        console.print(failures)
    console.file.flush()
    return _status(records, rules)

"""The command `seamtree audit`."""

from __future__ import annotations

import json
import os
import sys
from collections.abc import Callable, Sequence
from concurrent.futures import Executor
from contextlib import AbstractContextManager
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from seamtree.errors import OptionError
from seamtree.tolerances import TOLERANCE
from seamtree_cli import options
from seamtree_cli.exits import BROKEN_RULE, STRAIGHT, WRONG
from seamtree_cli.files import check_target, write_whole
from seamtree_cli.guard import command
from seamtree_cli.streams import Output

if TYPE_CHECKING:  # other commands start without what audits
    from seamtree.auditing import Limits, Record, Rule, Settings, Store

LIMITS = "What one drawing may take"
RESULTS = "Where results go"

STDOUT = "-"

MOST_WORKERS = 64


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
    marks: options.Marks = None,
    lines: options.Lines = False,
    white: options.White = None,
    time_limit: options.TimeLimit = 10.0,
    proofread: Annotated[
        bool,
        typer.Option(
            "--proofread",
            help="Also prove or refute the numbers printed on drawings that have some.",
            rich_help_panel=options.WORKING,
        ),
    ] = False,
    rate: Annotated[
        bool,
        typer.Option("--rate", help="Also rate how hard each block is to sew.", rich_help_panel=options.WORKING),
    ] = False,
    workers: Annotated[
        int | None,
        typer.Option(
            metavar="N",
            min=1,
            max=MOST_WORKERS,
            help="How many drawings to work on at the same time; without it as many as there are processors.",
            rich_help_panel=options.WORKING,
            show_default=False,
        ),
    ] = None,
    cluster: Annotated[
        str | None,
        typer.Option(
            metavar="ADDRESS",
            help="Work on the workers of this Dask scheduler instead, for example tcp://127.0.0.1:8786.",
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
    ] = 120.0,
    memory: Annotated[
        int,
        typer.Option(
            metavar="MB",
            help="Cut a drawing off that needs more memory than this, beyond what the program itself takes.",
            rich_help_panel=LIMITS,
        ),
    ] = 2000,
    fail_on: Annotated[
        list[str] | None,
        typer.Option(
            metavar="RULE",
            help="What makes the exit status 1: a word (hard-corners, unproven, refuted, warned; faulty for nothing "
            "but what always fails) or a comparison such as units>6, matched-points>=10, level>3. May be given "
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
    report: Annotated[
        str | None,
        typer.Option(
            "--report",
            metavar="FILE.html",
            help="Write a page with a picture of every block, to look at in a browser and to print.",
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
    from seamtree.auditing import Limits, Settings, Store, find_drawings, parse_rules
    from seamtree_cli.audit_tables import csv_text, render_failures, render_summary

    settings = Settings(
        width=width,
        tolerance=tolerance,
        skip_layers=tuple(skip_layer or ()),
        marks=tuple(marks or ()),
        lines=lines,
        white=white,
        time_limit=time_limit,
        proofread=proofread,
        rate=rate,
        pictures=report is not None,
    )
    settings.check()
    if cluster is not None and workers is not None:
        raise OptionError("--workers counts processes on this machine, so it says nothing about a --cluster")
    limits = Limits(cut_off, memory)
    rules = parse_rules(fail_on or ["hard-corners", *(["refuted"] if proofread else [])])
    _check_rules(rules, proofread=proofread, rate=rate)
    sources = find_drawings(places)
    results = _Results(sources)
    results.add(csv, ".csv", "the table of results", partial(csv_text, proofread=proofread))
    results.add(json_lines, ".jsonl", "the list of results", _json_text)
    results.add(report, ".html", "the page", partial(_page, rules=rules, proofread=proofread, rate=rate))
    with Store(store or _default_store()) as kept, _executor(workers, cluster, limits) as executor:
        records = _gather(sources, settings, executor=executor, store=kept, limits=limits, rules=rules)
    results.write(records)
    console = Output(stderr=results.on_stdout)
    console.print(render_summary(records, proofread=proofread))
    failures = render_failures(records, rules)
    if failures is not None:
        console.print(failures)
    console.file.flush()
    return _status(records, rules)


def _check_rules(rules: Sequence[Rule], *, proofread: bool, rate: bool) -> None:
    """Refuse rules about what nobody asked for."""
    for rule in rules:
        if (rule.needs == "proofread" and not proofread) or (rule.needs == "rate" and not rate):
            raise OptionError(f"the rule {rule.text} needs --{rule.needs}")


def _gather(
    sources: Sequence[str],
    settings: Settings,
    *,
    executor: Executor,
    store: Store,
    limits: Limits,
    rules: Sequence[Rule],
) -> list[Record]:
    """Audit the drawings with a bar that shows how far it is; their records in the order of the drawings."""
    from seamtree.auditing import audit as audit_all
    from seamtree.auditing.rules import fails
    from seamtree_cli.bar import Bar

    found: dict[str, Record] = {}
    with Bar(len(sources), "auditing") as bar:
        for record in audit_all(sources, settings, executor=executor, store=store, limits=limits):
            found[record.source] = record
            bar.step(failed=fails(record, rules))
    return [found[source] for source in sources]


def _executor(workers: int | None, cluster: str | None, limits: Limits) -> AbstractContextManager[Executor]:
    if cluster is not None:
        from seamtree.auditing.cluster import cluster_executor

        return cluster_executor(cluster, limits=limits)
    from seamtree.auditing import local_executor

    return local_executor(workers=workers or min(_processors(), MOST_WORKERS), limits=limits)


def _processors() -> int:
    """Return how many processors this process may use."""
    return len(os.sched_getaffinity(0)) if sys.platform == "linux" else os.cpu_count() or 1


def _default_store() -> Path:
    from platformdirs import user_cache_path

    return user_cache_path("seamtree", appauthor=False) / "audit.sqlite"


def _status(records: Sequence[Record], rules: Sequence[Rule]) -> int:
    """Return the exit status for all drawings."""
    from seamtree.auditing.rules import fails

    if any(record.state != "audited" for record in records):
        return WRONG
    return BROKEN_RULE if any(fails(record, rules) for record in records) else STRAIGHT


def _page(records: Sequence[Record], *, rules: Sequence[Rule], proofread: bool, rate: bool) -> str:
    from seamtree.auditing.page import render_page

    return render_page(records, rules, proofread=proofread, rate=rate)


def _json_text(records: Sequence[Record]) -> str:
    """Return one object a drawing, each on a line."""
    return "".join(json.dumps(record.to_json(), allow_nan=False) + "\n" for record in records)


class _Results:
    """Files that results go to: checked before any work is done, written when all is done."""

    def __init__(self, sources: Sequence[str]) -> None:
        self._sources = sources
        self._targets: list[tuple[str, Callable[[Sequence[Record]], str]]] = []

    @property
    def on_stdout(self) -> bool:
        """Whether one goes to standard output, where nothing else may go then."""
        return any(target == STDOUT for target, _ in self._targets)

    def add(self, target: str | None, suffix: str, what: str, render: Callable[[Sequence[Record]], str]) -> None:
        """Ask for a file; None asks for none.

        Raises
        ------
        OptionError
            If it cannot be written, or two are to go to the same place.
        """
        if target is None:
            return
        if target in (other for other, _ in self._targets):
            where = "standard output" if target == STDOUT else target
            raise OptionError(f"only one kind of results can go to {where}")
        if target != STDOUT:
            check_target(Path(target), what=what, suffix=suffix, sources=self._sources)
        self._targets.append((target, render))

    def write(self, records: Sequence[Record]) -> None:
        """Write the files, each whole or not at all."""
        for target, render in self._targets:
            if target == STDOUT:
                sys.stdout.write(render(records))
                sys.stdout.flush()
            else:
                write_whole(Path(target), render(records))

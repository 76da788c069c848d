"""The command `seamtree audit`."""

from __future__ import annotations

import json
import os
import sys
from collections.abc import Callable, Iterator, Mapping, Sequence
from concurrent.futures import Executor
from contextlib import AbstractContextManager, ExitStack, contextmanager
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from seamtree.errors import OptionError, SeamtreeError
from seamtree.tolerances import TOLERANCE
from seamtree_cli import options
from seamtree_cli.exits import BROKEN_RULE, STRAIGHT, WRONG
from seamtree_cli.files import check_target, write_whole
from seamtree_cli.guard import command
from seamtree_cli.remedies import worded_record
from seamtree_cli.streams import Output, say, writing

if TYPE_CHECKING:  # other commands start without what audits
    from seamtree.auditing import Limits, Record, Rule, Settings, Store
    from seamtree.auditing.accept import Acceptance, Known
    from seamtree.auditing.earlier import Changed
    from seamtree.auditing.equal import Equals
    from seamtree.auditing.page import Note
    from seamtree.auditing.places import Found

LIMITS = "What one drawing may take"
RESULTS = "Where results go"

STDOUT = "-"

MOST_WORKERS = 64

AHEAD = 4
"""Drawings that are claimed for each process: enough to keep it busy, few enough to leave work to another audit."""


@command
@options.about_plans
def audit(
    places: Annotated[
        list[str],
        typer.Argument(
            metavar="PLACE...",
            help="Folders, below which every SVG, PDF, DXF, GeoJSON (.geojson) and WKT file is audited, and single "
            "files.",
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
    pdf_page: options.PdfPage = None,
    asked: options.Asked,
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
    follow_links: Annotated[
        bool,
        typer.Option(
            "--follow-links",
            help="Also look into folders that are linked, each once.",
            rich_help_panel=options.READING,
        ),
    ] = False,
    retry: Annotated[
        bool,
        typer.Option(
            "--retry",
            help="When all others are done, try drawings that were cut off or crashed once more, one at a time, with "
            "twice the time and memory.",
            rich_help_panel=LIMITS,
        ),
    ] = False,
    accept: Annotated[
        Path | None,
        typer.Option(
            "--accept",
            metavar="FILE.toml",
            help="Known exceptions: tables [[accept]] with a drawing, the failure (a rule, or the code of a fault; "
            "without it any) and the reason. They are listed and do not change the exit status.",
            show_default=False,
        ),
    ] = None,
    since: Annotated[
        Path | None,
        typer.Option(
            "--since",
            metavar="FILE.jsonl",
            help="Tell what is new, gone, better or worse since an earlier audit: what --json-lines wrote then.",
            rich_help_panel=RESULTS,
            show_default=False,
        ),
    ] = None,
    csv: Annotated[
        str | None,
        typer.Option(
            "--csv",
            metavar="FILE.csv",
            help="Write a table with a line for each block and each thing skipped; - writes it to standard output.",
            rich_help_panel=RESULTS,
            show_default=False,
        ),
    ] = None,
    json_lines: Annotated[
        str | None,
        typer.Option(
            "--json-lines",
            metavar="FILE.jsonl",
            help="Write one JSON object for each drawing and each thing skipped, a line each; - writes them to "
            "standard output.",
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

    Prints how many drawings there are of each verdict and a table of those that failed, then totals by folder, which
    drawings are equal, and what was skipped. Finished drawings are kept: the next audit does only those that are new
    or have changed, one that was interrupted goes on where it stopped, and two at the same time share the work. A
    drawing that takes too long, needs too much memory or crashes the program is reported, and the others go on.

    The exit status is 0 when all is well, 1 when a drawing breaks a rule of --fail-on, and 2 when a drawing is
    faulty, was cut off, crashed or was not audited, a folder or result could not be read or written, or the command
    is wrong.
    """
    from seamtree.auditing import Limits, Settings, parse_rules, search_places
    from seamtree.auditing.accept import read_known
    from seamtree.auditing.earlier import read_earlier

    settings = Settings(
        width=width,
        tolerance=tolerance,
        skip_layers=tuple(skip_layer or ()),
        marks=tuple(marks or ()),
        lines=lines,
        white=white,
        pdf_page=pdf_page,
        time_limit=time_limit,
        proofread=proofread,
        rate=rate,
        pictures=report is not None,
        wishes=asked.wishes(),
    )
    settings.check()
    if cluster is not None and workers is not None:
        raise OptionError("--workers counts processes on this machine, so it says nothing about a --cluster")
    limits = Limits(cut_off, memory)
    rules = parse_rules(fail_on or ["hard-corners", *(["refuted"] if proofread else [])])
    _check_rules(rules, proofread=proofread, rate=rate)
    known = () if accept is None else read_known(accept)
    earlier = None if since is None else read_earlier(since)
    found = search_places(places, follow_links=follow_links)
    results = _Results(found.drawings)
    results.add(csv, ".csv", "the table of results", partial(_csv, proofread=proofread))
    results.add(json_lines, ".jsonl", "the list of results", _json_text)
    results.add(report, ".html", "the page", partial(_page, rules=rules, proofread=proofread, rate=rate))
    work = _Work(cluster, settings, rules)
    processes = workers or min(_processors(), MOST_WORKERS)
    work.gather(found.drawings, store, limits, workers=processes, retry=retry)
    outcome = _judge([work.records[source] for source in found.drawings], found, rules, known, earlier)
    complaints = [*work.complaints, *results.write(outcome)]
    complaints += _print(outcome, proofread=proofread, stderr=results.on_stdout)
    for complaint in complaints:
        say("seamtree", complaint)
    return WRONG if complaints else _status(outcome)


def _check_rules(rules: Sequence[Rule], *, proofread: bool, rate: bool) -> None:
    """Refuse rules about what nobody asked for."""
    for rule in rules:
        if (rule.needs == "proofread" and not proofread) or (rule.needs == "rate" and not rate):
            raise OptionError(f"the rule {rule.text} needs --{rule.needs}")


@dataclass(frozen=True, slots=True)
class _Outcome:
    """All that an audit has found out."""

    records: Sequence[Record]
    found: Found
    rules: Sequence[Rule]
    acceptance: Acceptance
    equals: Equals
    changes: Sequence[Changed] | None

    def notes(self, *, urgent: bool) -> Iterator[Note]:
        """Say what there is beside verdicts and failures; of what was skipped only what is urgent, or all."""
        from seamtree_cli import audit_tables as tables

        if self.changes is not None:
            yield tables.change_note(self.changes, len(self.records))
        yield from tables.accepted_notes(self.acceptance)
        folders = tables.folder_note(self.records, self.rules, self.acceptance.reasons)
        if folders is not None:
            yield folders
        yield from tables.equal_notes(self.equals)
        yield from tables.skipped_notes(self.found.skipped, urgent=urgent)


def _judge(
    records: Sequence[Record],
    found: Found,
    rules: Sequence[Rule],
    known: Sequence[Known],
    earlier: Mapping[str, Record] | None,
) -> _Outcome:
    """Compare the records with each other, with known exceptions, and with those of an earlier audit."""
    from seamtree.auditing.accept import accept
    from seamtree.auditing.earlier import compare
    from seamtree.auditing.equal import find_equals

    changes = None if earlier is None else compare(records, earlier)
    return _Outcome(records, found, rules, accept(records, rules, known), find_equals(records), changes)


class _Work:
    """Where drawings are worked on, and what has come of it: records by file name, and what went wrong on the way."""

    def __init__(self, cluster: str | None, settings: Settings, rules: Sequence[Rule]) -> None:
        self._cluster = cluster
        self._settings = settings
        self._rules = rules
        self.records: dict[str, Record] = {}
        self.complaints: list[str] = []

    def gather(
        self, sources: Sequence[str], store: Path | None, limits: Limits, *, workers: int, retry: bool
    ) -> None:
        """Audit the drawings; if wanted, those that were cut off or crashed once more."""
        from seamtree.auditing import Store

        kept = Store(store or _default_store(), ours=store is None)
        try:
            with _kept_open(kept, self.complaints):
                self._audit(sources, kept, limits, workers=workers)
                again = [source for source in sources if self.records[source].state in ("cut off", "crashed")]
                if retry and again:
                    twice = replace(limits, seconds=2 * limits.seconds, megabytes=2 * limits.megabytes)
                    self._audit(again, kept, twice, workers=1)
        finally:
            for note in kept.notes:
                say("seamtree", note)
        lost = sum(record.state == "not audited" for record in self.records.values())
        if lost:
            drawings = "1 drawing was" if lost == 1 else f"{lost:,} drawings were"
            self.complaints.append(
                f"the scheduler at {self._cluster} has gone: {drawings} not audited; start it and give the same "
                "command again, which goes on where this one stopped"
            )

    def _audit(self, sources: Sequence[str], store: Store, limits: Limits, *, workers: int) -> None:
        """Audit drawings with a bar that shows how far it is."""
        from seamtree.auditing import audit as audit_all
        from seamtree.auditing.rules import fails
        from seamtree.auditing.run import WINDOW
        from seamtree.auditing.store import StoreError
        from seamtree_cli.bar import Bar

        ahead = WINDOW if self._cluster is not None and workers > 1 else AHEAD * workers
        with self._executor(workers, limits) as executor, Bar(len(sources), "auditing") as bar:
            records = audit_all(sources, self._settings, executor=executor, store=store, limits=limits, ahead=ahead)
            try:
                for record in records:
                    self.records[record.source] = worded_record(record)
                    bar.step(failed=fails(record, self._rules))
            except StoreError as error:
                self.complaints.append(f"{error}; what came after that is in the results, but not kept")

    def _executor(self, workers: int, limits: Limits) -> AbstractContextManager[Executor]:
        if self._cluster is not None:
            from seamtree.auditing.cluster import cluster_executor

            return cluster_executor(self._cluster, limits=limits)
        from seamtree.auditing import local_executor

        return local_executor(workers=workers, limits=limits)


@contextmanager
def _kept_open(store: Store, complaints: list[str]) -> Iterator[None]:
    """Close a store in the end; results that are there are worth more than that it can be closed well."""
    from seamtree.auditing.store import StoreError

    with ExitStack() as stack:
        stack.push(store.__exit__)
        yield
        stack.pop_all()
        try:
            store.close()
        except StoreError as error:
            if not complaints:
                complaints.append(str(error))


def _processors() -> int:
    """Return how many processors this process may use."""
    return len(os.sched_getaffinity(0)) if sys.platform == "linux" else os.cpu_count() or 1


def _default_store() -> Path:
    from platformdirs import user_cache_path

    return user_cache_path("seamtree", appauthor=False) / "audit.sqlite"


def _status(outcome: _Outcome) -> int:
    """Return the exit status for all drawings."""
    from seamtree.auditing.rules import fails

    accepted = outcome.acceptance.reasons
    failing = [record for record in outcome.records if fails(record, outcome.rules, accepted)]
    closed = any(entry.reason == "no permission" for entry in outcome.found.skipped)
    if closed or any(record.state != "audited" for record in failing):
        return WRONG
    return BROKEN_RULE if failing else STRAIGHT


def _print(outcome: _Outcome, *, proofread: bool, stderr: bool) -> list[str]:
    """Print what people read; return what kept it from being printed."""
    from seamtree_cli.audit_tables import balance, render_failures, render_note, render_summary

    console = Output(stderr=stderr)
    failures = render_failures(outcome.records, outcome.rules, outcome.acceptance.reasons, width=console.width)
    try:
        with writing():
            console.print(render_summary(outcome.records, proofread=proofread))
            if failures is not None:
                console.print(failures)
            for note in outcome.notes(urgent=True):
                console.print(render_note(note))
            console.print(balance(outcome.records, outcome.found.skipped), markup=False)
            console.file.flush()
    except SeamtreeError as error:
        return [str(error)]
    return []


def _csv(outcome: _Outcome, *, proofread: bool) -> str:
    from seamtree_cli.audit_tables import csv_text

    return csv_text(outcome.records, outcome.found.skipped, proofread=proofread, accepted=outcome.acceptance.reasons)


def _page(outcome: _Outcome, *, rules: Sequence[Rule], proofread: bool, rate: bool) -> str:
    from seamtree.auditing.page import render_page

    return render_page(
        outcome.records,
        rules,
        proofread=proofread,
        rate=rate,
        accepted=outcome.acceptance.reasons,
        notes=list(outcome.notes(urgent=False)),
    )


def _json_text(outcome: _Outcome) -> str:
    """Return one object a drawing, then one for each thing that was skipped, each on a line."""
    lines = []
    for record in outcome.records:
        reason = outcome.acceptance.reasons.get(record.source)
        more = {} if reason is None else {"accepted": reason}
        lines.append(record.to_json() | more)
    lines += [entry.to_json() for entry in outcome.found.skipped]
    return "".join(json.dumps(line, allow_nan=False) + "\n" for line in lines)


class _Results:
    """Files that results go to: checked before any work is done, written when all is done."""

    def __init__(self, sources: Sequence[str]) -> None:
        self._sources = sources
        self._targets: list[tuple[str, Callable[[_Outcome], str]]] = []

    @property
    def on_stdout(self) -> bool:
        """Whether one goes to standard output, where nothing else may go then."""
        return any(target == STDOUT for target, _ in self._targets)

    def add(self, target: str | None, suffix: str, what: str, render: Callable[[_Outcome], str]) -> None:
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

    def write(self, outcome: _Outcome) -> list[str]:
        """Write the files, each whole or not at all, whatever becomes of the others; return what went wrong."""
        complaints = []
        for target, render in self._targets:
            try:
                # Whatever text came from, it can be written: what is no character in it becomes an escape.
                text = render(outcome).encode("utf-8", "backslashreplace").decode("utf-8")
                if target == STDOUT:
                    with writing():
                        sys.stdout.write(text)
                else:
                    write_whole(Path(target), text)
            except SeamtreeError as error:
                complaints.append(str(error))
        return complaints

"""The command `seamtree follow`."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer
from rich.text import Text

from seamtree.errors import OptionError, SeamtreeError
from seamtree_cli import options
from seamtree_cli.answers import answer_each, judge_plans
from seamtree_cli.exits import WRONG
from seamtree_cli.files import check_target, write_whole
from seamtree_cli.guard import command
from seamtree_cli.pattern_work import open_pattern, pattern_jobs, put_drawings_together, put_together
from seamtree_cli.streams import Output, say
from seamtree_cli.wording import plain
from seamtree_cli.work import STDIN, Job, Outcome, is_pattern

if TYPE_CHECKING:  # what is needed for paper is loaded when there is something to show
    from seamtree.pattern import Options, Work
    from seamtree.planning.model import Plan
    from seamtree_cli.page_server import PageServer


@command
@options.about_drawings
def follow(
    drawing: options.Drawing,
    *,
    output: Annotated[
        Path | None,
        typer.Option(
            "--output",
            "-o",
            metavar="FILE.html",
            help="The page to write. With --watch there need be none, for the page is served on this machine.",
            show_default=False,
        ),
    ] = None,
    metric: Annotated[
        bool, typer.Option("--metric", help="Write lengths in centimetres.", rich_help_panel=options.CLOTH)
    ] = False,
    allowance: options.Allowance = "0.25in",
    margin: options.Margin = "0.5in",
    round_up: options.RoundUp = None,
    job: Job,
    watch: options.Watch = False,
) -> int:
    """Write a page to sew by: every piece and every join in turn, with pictures, for the screen beside the machine.

    The page shows what is sewn already, the line to sew, the piece to take and the result, from the fabric side or
    from the printed side; for each join the pins, where allowances nest, where to press and which paper comes off. It
    is complete in itself, remembers where you were, and prints as a list. A pattern file gives one page for all of
    its blocks.

    With --watch the page is served to browsers on this machine, at the address that is told, and shows by itself what
    has changed whenever the drawing is saved.

    The exit status is that of `seamtree check`: 0 when straight seams sew everything, 1 when a block has a hard
    corner, and 2 when the drawing cannot be read or the command is wrong; then no file is written. With --watch it is
    130, as for everything that Ctrl-C ends.
    """
    if output is None and not watch:
        raise OptionError("say where to write: -o FILE.html; or --watch, to look at it in a browser on this machine")
    if output is not None:
        check_target(output, what="the page", suffix=".html", sources=() if drawing == STDIN else (drawing,))
    job = job._replace(source=drawing)
    how = _options(allowance, margin, round_up, metric=metric)
    if not watch:
        state = _work_on(job, how, metric=metric, output=output)
        if state.work is not None and output is not None:
            _write(output, state.work, state.how)
        return state.status
    return _go_on(job, how, metric=metric, output=output)


@dataclass(slots=True)
class _State:
    """What became of a drawing: a pattern, or what is wrong."""

    status: int
    how: Options
    work: Work | None = None
    plans: tuple[Plan, ...] = ()
    faults: list[str] = field(default_factory=list)
    misused: bool = False


def _options(allowance: str, margin: str, round_up: str | None, *, metric: bool) -> Options:
    """Read what is said as text; refuse what makes no sense before any work is done."""
    from seamtree.pattern import Options
    from seamtree.pattern.lengths import Lengths, parse_length

    return Options(
        allowance=parse_length(allowance),
        margin=parse_length(margin),
        step=None if round_up is None else parse_length(round_up),
        lengths=Lengths(metric),
    )


def _work_on(job: Job, how: Options, *, metric: bool, output: Path | None) -> _State:
    """Read a drawing or pattern file and make a pattern of it; what is wrong is told.

    Raises
    ------
    SeamtreeError
        If a pattern file is wrong in itself.
    """
    file = None
    if is_pattern(job.source):
        if job.width is not None or job.pdf_page is not None:
            raise OptionError("the pattern file says widths, and pages cannot be chosen for it")
        from dataclasses import replace

        from seamtree.pattern.lengths import Lengths

        file = open_pattern(job.source)
        how = replace(how, lengths=Lengths(metric or bool(file.metric)))
    state = _State(WRONG, how)
    outcomes: list[Outcome] = []

    def judged(outcome: Outcome) -> int:
        status = judge_plans(outcome)
        if status == WRONG:
            told = [*outcome.faults, *([] if outcome.misuse is None else [outcome.misuse])]
            named = [f"{Path(outcome.source).name}: {fault}" for fault in told]
            state.faults += [fault for fault in named if fault not in state.faults]
            state.misused = state.misused or outcome.misuse is not None
        return status

    jobs = [job] if file is None else pattern_jobs(file, job)
    state.status = answer_each(jobs, workers=1, show=outcomes.append, judge=judged)
    if state.status != WRONG:
        state.plans = tuple(plan for outcome in outcomes for plan in outcome.plans)
        state.work = (
            put_drawings_together(state.plans, 1, output)
            if file is None
            else put_together(file, [outcome.plans for outcome in outcomes])
        )
    return state


def _write(output: Path, work: Work, how: Options) -> None:
    from seamtree.following import render_follow_page

    write_whole(output, render_follow_page(work, how))
    console = Output()
    console.print(Text(f"written: {plain(str(output))}"), soft_wrap=True)
    console.file.flush()


def _go_on(job: Job, how: Options, *, metric: bool, output: Path | None) -> int:
    """Serve the page, and a new one whenever the drawing is saved, until Ctrl-C."""
    from seamtree_cli.page_server import PageServer
    from seamtree_cli.watched_files import watch_files
    from seamtree_cli.watching import Chronicle, Sources, check_watchable, put_news, say_watching

    check_watchable([job.source])
    sources, chronicle = Sources([job.source]), Chronicle()
    changes = watch_files(sources.files)

    def answer(server: PageServer) -> _State:
        state = _work_on_anyway(job, how, metric=metric, output=output)
        if state.work is None:
            chronicle.note_fault(job.source)
            server.tell_faults(state.faults)
            return state
        news = chronicle.news(job.source, state.plans)
        if news is not None:
            put_news(job.source, news)
        _serve(server, state.work, state.how, news or ())
        if output is not None:
            _write(output, state.work, state.how)
        return state

    with PageServer() as server:
        server.show(_waiting, policy=_WAITING_POLICY)
        state = answer(server)
        if state.misused:
            return state.status
        console = Output()
        console.print(Text(f"open in a browser on this machine: {server.address}"), soft_wrap=True)
        console.file.flush()
        say_watching(sources.files())
        for _ in changes:
            if answer(server).work is None:
                say("seamtree", "waiting until it is saved again")
    return state.status


def _work_on_anyway(job: Job, how: Options, *, metric: bool, output: Path | None) -> _State:
    """Make a pattern of a drawing or pattern file; whatever is wrong is told and may be mended."""
    try:
        return _work_on(job, how, metric=metric, output=output)
    except SeamtreeError as error:
        state = _State(WRONG, how, faults=str(error).splitlines(), misused=isinstance(error, OptionError))
        for fault in state.faults:
            say("seamtree", fault)
        return state


def _serve(server: PageServer, work: Work, how: Options, news: tuple[str, ...]) -> None:
    from seamtree.following.page import Live, page_policy, render_follow_page

    def render(events: str) -> str:
        return render_follow_page(work, how, live=Live(events, news))

    server.show(render, policy=page_policy(live=True))


_WAITING_POLICY = "default-src 'none'; img-src data:"


def _waiting(_events: str) -> str:
    """Return the page that is shown until there is a plan; it is loaded again every few seconds."""
    return (
        '<!DOCTYPE html><html lang="en"><head><meta charset="utf-8"><meta http-equiv="refresh" content="2">'
        '<link rel="icon" href="data:,"><title>Waiting</title></head><body><main><h1>Waiting</h1><p>There are no '
        "steps yet: what is wrong with the drawing stands in the terminal. This page goes on by itself when it is "
        "mended and saved.</p></main></body></html>"
    )

"""The command `seamtree check`."""

from __future__ import annotations

import textwrap
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer
from rich.table import Table

from seamtree.errors import Finding, OptionError
from seamtree.planning.model import Plan
from seamtree_cli import options
from seamtree_cli.answers import answer_each, judge_plans
from seamtree_cli.files import check_target, write_whole
from seamtree_cli.guard import command
from seamtree_cli.sewing_tree import render_notes, render_plan, render_rows, render_warnings
from seamtree_cli.streams import Output, put_json
from seamtree_cli.terminal_picture import LEAST_ROWS, MOST_ROWS, render_picture
from seamtree_cli.wording import plain
from seamtree_cli.work import STDIN, Job, Outcome

if TYPE_CHECKING:
    from seamtree.planning.explain import Explanation


@command
@options.about_drawings
@options.about_plans
def check(
    drawings: options.Drawings,
    *,
    job: Job,
    asked: options.Asked,
    workers: options.Workers = 1,
    watch: options.Watch = False,
    explain: Annotated[
        bool,
        typer.Option(
            "--explain",
            help="Say why each block takes as many units as it does, and what every choice of a seam costs.",
            rich_help_panel=options.SHOWING,
        ),
    ] = False,
    compare: Annotated[
        bool,
        typer.Option(
            "--compare",
            help="Also show what each wish makes of a block: fewest units, fits A4, fits Letter, repeats first.",
            rich_help_panel=options.SHOWING,
        ),
    ] = False,
    proof: Annotated[
        Path | None,
        typer.Option(
            "--proof",
            metavar="FILE.json",
            help="Write why no order has fewer hard corners or units, or with repeats first fewer different "
            "foundations, to this file, for seamtree recheck; for one drawing at a time.",
            rich_help_panel=options.SHOWING,
            show_default=False,
        ),
    ] = None,
    as_json: options.Json = False,
    picture: Annotated[
        bool | None,
        typer.Option(
            "--picture/--no-picture",
            help="Draw each block with its patch numbers. Without either: on a terminal that is wide enough. With "
            "--json: each block gets a picture as SVG text.",
            rich_help_panel=options.SHOWING,
            show_default=False,
        ),
    ] = None,
) -> int:
    """Find the sewing order of a drawing: fewest units, how to join them, and a number for every patch.

    Tells for each block of each drawing whether straight seams can sew it. If they can, the block is divided
    into as few units as possible: parts that are sewn on one foundation each, patch by patch, A1, A2, A3 and so
    on. The tree that is printed is read from top to bottom: sew each unit as it comes, and each join when its
    line is reached. All sizes are finished sizes in inches; places are counted from the top left corner of the
    block, to the right and down, as seen from the fabric side.

    The exit status is 0 when straight seams sew everything, 1 when a block has a hard corner, where the sewist
    has to stop and pivot, and 2 when a drawing cannot be read or the command is wrong. With --watch it is 130, as for
    everything that Ctrl-C ends.
    """
    if proof is not None:
        if watch:
            raise OptionError("--proof is for a drawing as it is; leave out --watch")
        if len(drawings) > 1:
            raise OptionError("--proof is for one drawing at a time")
        check_target(proof, what="the proof", suffix=".json", sources=[d for d in drawings if d != STDIN])
    job = job._replace(wishes=asked.wishes(), papers=("a4", "letter"))
    jobs = [job._replace(source=source) for source in drawings]
    effort = job.time_limit if explain else None
    compared = job.time_limit if compare else None
    show: Callable[[Outcome], None] = _Printer(picture, effort, compared)
    if as_json:
        show = _JsonLines(effort, compared, picture=bool(picture))
    if proof is not None:
        show = _WithProof(show, proof)
    if watch:
        from seamtree_cli.watching import watch_each

        return watch_each(jobs, workers=workers, show=show, judge=judge_plans, data=as_json)
    return answer_each(jobs, workers=workers, show=show, judge=judge_plans)


class _WithProof:
    """Writes the proof of a drawing before it is shown."""

    def __init__(self, show: Callable[[Outcome], None], target: Path) -> None:
        self._show, self._target = show, target

    def __call__(self, outcome: Outcome) -> None:
        import json

        from seamtree.proofs.files import proofs_json

        told = proofs_json(outcome.source, ((plan.block.name, plan.proof) for plan in outcome.plans))
        write_whole(self._target, json.dumps(told) + "\n")
        self._show(outcome)


class _JsonLines:
    """Prints one object on one line, with explanations if there is effort for them, and pictures if wanted."""

    def __init__(self, effort: float | None, compared: float | None, *, picture: bool) -> None:
        self._effort, self._compared = effort, compared
        self._picture = picture

    def __call__(self, outcome: Outcome) -> None:
        from seamtree.planning.report import drawing_json

        answer = drawing_json(outcome.source, outcome.plans)
        if self._effort is not None:
            for block, plan in zip(answer["blocks"], outcome.plans, strict=True):
                block["explanation"] = _explain(plan, self._effort).to_json()
        if self._compared is not None:
            from seamtree.comparison import compare

            for block, plan in zip(answer["blocks"], outcome.plans, strict=True):
                block["compared"] = [row.to_json() for row in compare(plan.block, time_limit=self._compared)]
        if self._picture:
            from seamtree.picture import render_svg

            for number, (block, plan) in enumerate(zip(answer["blocks"], outcome.plans, strict=True), 1):
                block["picture"] = render_svg(plan, prefix=f"block-{number}", declaration=False)
        put_json(answer)


def _set_in(sentence: str, indent: int, width: int) -> str:
    """Wrap a sentence, all of its lines set in by some columns."""
    margin = " " * indent
    return textwrap.fill(sentence, width, initial_indent=margin, subsequent_indent=margin)


def _explain(plan: Plan, effort: float) -> Explanation:
    from seamtree.planning.explain import explain

    return explain(plan, time_limit=effort)


def _compared(plan: Plan, effort: float) -> Table:
    from seamtree.comparison import compare

    return render_rows(compare(plan.block, time_limit=effort))


def _common_warnings(plans: Sequence[Plan]) -> tuple[Finding, ...]:
    """Return the warnings that all of several blocks have, word for word: those about the drawing as a whole."""
    if len(plans) < 2:
        return ()
    shared = set.intersection(*({_words(warning) for warning in plan.warnings} for plan in plans))
    return tuple(warning for warning in plans[0].warnings if _words(warning) in shared)


def _words(warning: Finding) -> tuple[str, str]:
    return warning.code, warning.message


class _Printer:
    """Prints plans for people; an empty line stands between blocks."""

    def __init__(self, picture: bool | None, effort: float | None, compared: float | None) -> None:
        self._console = Output()
        self._effort, self._compared = effort, compared
        self._picture = self._console.is_terminal if picture is None else picture
        self._colour = self._console.color_system is not None and not self._console.no_color
        self._first = True

    def __call__(self, outcome: Outcome) -> None:
        common = _common_warnings(outcome.plans)
        said = set(map(_words, common))
        for plan in outcome.plans:
            if not self._first:
                self._console.print()
            self._first = False
            if self._picture:
                self._print_picture(plan)
            self._console.print(render_plan(plan, colour=self._colour))
            for line in render_notes(plan.notes):
                self._console.print(line)
            self._print_warnings(warning for warning in plan.warnings if _words(warning) not in said)
            if self._effort is not None:
                for depth, sentence in _explain(plan, self._effort).sentences():
                    self._console.print(_set_in(sentence, 2 * depth, self._console.width), markup=False)
            if self._compared is not None:
                self._console.print(_compared(plan, self._compared))
        if common:
            self._console.print(f"\nIn all {len(outcome.plans)} blocks of {plain(outcome.source)}:", markup=False)
            self._print_warnings(common)
        self._console.file.flush()

    def _print_warnings(self, warnings: Iterable[Finding]) -> None:
        for line in render_warnings(tuple(warnings)):
            self._console.print(line)

    def _print_picture(self, plan: Plan) -> None:
        """Print the picture if there is room; on a terminal it is no higher than the screen."""
        width, height = self._console.size
        rows = max(LEAST_ROWS, height - 2) if self._console.is_terminal else MOST_ROWS
        picture = render_picture(plan, columns=width, rows=rows, colour=self._colour)
        if picture is not None:
            self._console.print(picture)

"""The command `seamtree proofread`."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from rich.text import Text

from seamtree_cli import options
from seamtree_cli.answers import BlockByBlock, answer_each
from seamtree_cli.exits import REFUTED, STRAIGHT, WRONG
from seamtree_cli.guard import command
from seamtree_cli.streams import put_json
from seamtree_cli.wording import capital, count, dimensions, plain
from seamtree_cli.work import Job, Outcome

if TYPE_CHECKING:  # other commands start without what proofreads
    from seamtree.proofreading.outcome import PrintedUnit, Proofreading


@command
@options.about_drawings
def proofread(
    drawings: options.Drawings,
    *,
    job: Job,
    workers: options.Workers = 1,
    as_json: options.Json = False,
) -> int:
    """Prove or refute the numbers printed on a drawing: whether it can be sewn exactly as it is numbered.

    A label is text within a patch: a letter for the unit and a number, such as A1, or a number alone if all is one
    unit; a letter for the fabric as well (10L, A3 R) where a printed key or the numbering itself proves that it is
    one. Each unit must be sewn in printed order, every patch with one straight seam onto all before it, and straight
    seams must join the units. For a unit that fails, the first step that cannot be sewn is told, and the valid order
    that renumbers the fewest patches and goes on from the same end; of equal numbers, which one is meant if only one
    can be. Places are inches from the top left corner of the block, to the right and down,
    as seen from the fabric side.

    The exit status is 0 when everything is proven, 1 when something is refuted, and 2 when a drawing cannot be read,
    has no labels to read, or the command is wrong.
    """
    jobs = [job._replace(source=source, proofread=True) for source in drawings]
    show = _show_json if as_json else BlockByBlock(lambda outcome: map(render_proof, outcome.proofs))
    return answer_each(jobs, workers=workers, show=show, judge=_status)


def _status(outcome: Outcome) -> int:
    """Return the exit status for one drawing."""
    if not outcome.proofs:
        return WRONG
    return STRAIGHT if all(proof.proven for proof in outcome.proofs) else REFUTED


def _show_json(outcome: Outcome) -> None:
    """Print one object on one line."""
    from seamtree.schemas import PROOFREAD

    blocks = [proof.to_json() for proof in outcome.proofs]
    answer = {"schema": PROOFREAD, "source": outcome.source, "blocks": blocks}
    put_json(answer)


def render_proof(proof: Proofreading) -> Iterator[Text]:
    """Yield the lines that tell what holds of the printed numbers of a block, and what does not."""
    block = proof.block
    yield Text.assemble((plain(block.name), "bold"), f", {dimensions(block.width, block.height)}")
    printed = f"{count(len(proof.labels), 'labelled patch', 'labelled patches')}, {count(len(proof.units), 'unit')}"
    if proof.proven:
        yield Text(f"proven: can be sewn as printed ({printed})", "green")
        if proof.least_units == len(proof.units):
            yield Text("no sewing order has fewer units")
    else:
        yield Text(f"refuted: {count(len(proof.refutations), 'fault')} ({printed})", "yellow")
    for fault in proof.refutations:
        yield Text.assemble(("fault: ", "yellow"), plain(fault.message))
    if not proof.proven:
        for unit in proof.units:
            yield from _unit(proof, unit)
        if proof.joined and len(proof.units) > 1:
            yield Text("Straight seams join the units.")
    for note in proof.notes:
        yield Text.assemble(("note: ", "cyan"), plain(note.message))


def _unit(proof: Proofreading, unit: PrintedUnit) -> Iterator[Text]:
    """Say what holds of a unit where not everything is proven."""
    from seamtree.proofreading.prove import describe_nearest

    if unit.nearest is not None:
        yield Text(describe_nearest(proof.labels, unit.title, unit.nearest))
    elif unit.chain:
        title = capital(unit.title)
        yield Text(f"{title} can be sewn in printed order, {count(len(unit.patches), 'patch', 'patches')}.")

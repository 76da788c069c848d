"""The command `seamtree recheck`."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from seamtree.errors import DrawingError, ProofError, ProofFileError, SeamtreeError
from seamtree_cli import options
from seamtree_cli.deadline import deadline
from seamtree_cli.exits import REFUTED, STRAIGHT, WRONG
from seamtree_cli.guard import command
from seamtree_cli.streams import Output, say
from seamtree_cli.wording import count, dimensions, plain
from seamtree_cli.work import Job

if TYPE_CHECKING:
    from seamtree.block.model import Block
    from seamtree.proofs.check import Checked
    from seamtree.proofs.claims import Proof
    from seamtree.proofs.repeats import CheckedRepeats

_SECONDS = 60.0
"""Effort by which the clock is set that ends a check in any case."""


@command
@options.about_a_drawing
def recheck(
    proof: Annotated[
        Path,
        typer.Argument(
            metavar="FILE.json", help="Proof that seamtree check --proof has written.", show_default=False
        ),
    ],
    drawing: options.Drawing,
    *,
    job: Job,
) -> int:
    """Check a proof against a drawing: that no sewing order has fewer hard corners or fewer units than it says.

    Nothing is searched for. Each claim of the file is followed on the drawing, by rules of its own; where a search
    had to settle something that cannot be followed, that is told. A proof with repeats first also says how few
    different foundations there can be, and one of a drawing with printed units that straight seams sew these. Read
    the drawing with the same options as when the proof was written, for a proof is about one drawing at one size.

    The exit status is 0 when the proof holds, 1 when a claim fails, the first of which is told, or the proof is about
    another drawing, and 2 when the file or the drawing cannot be used.
    """
    proofs = _read_proofs(proof)
    job = job._replace(source=drawing, time_limit=_SECONDS)
    try:
        with deadline(_SECONDS):
            return _compare(proof, proofs, job.read())
    except DrawingError as error:
        for finding in error.findings:
            say(drawing, finding.beside(drawing))
    except OSError as error:
        say(drawing, f"cannot be read: {error.strerror or error}")
    return WRONG


def _read_proofs(source: Path) -> list[tuple[str, Proof]]:
    from seamtree.proofs.files import read_proofs

    try:
        return read_proofs(source.read_bytes())
    except OSError as error:
        raise SeamtreeError(f"{source}: cannot be read: {error.strerror or error}") from error
    except ProofFileError as error:
        raise ProofFileError(f"{source} {error}") from error


def _compare(source: Path, proofs: Sequence[tuple[str, Proof]], blocks: Sequence[Block]) -> int:
    from seamtree.proofs.check import check_proof

    if len(proofs) != len(blocks):
        say(
            str(source),
            f"is about another drawing: it has proofs for {count(len(proofs), 'block')}, and the drawing has "
            f"{len(blocks)}",
        )
        return REFUTED
    for (_, proof), block in zip(proofs, blocks, strict=True):
        try:
            Output().print(f"{plain(block.name)}: {_told(check_proof(block, proof))}", markup=False)
        except ProofError as error:
            say(str(source), f"does not hold for {block.name}: {error}")
            return REFUTED
    return STRAIGHT


def _told(checked: Checked) -> str:
    """Say what a proof that holds shows."""
    told = _units_told(checked)
    if checked.repeats is not None:
        told += f". {_repeats_told(checked.repeats)}"
    if checked.kept_units == 1:
        told += ". The one unit that is printed is given, not searched for; each of its steps was followed"
    elif checked.kept_units:
        several = count(checked.kept_units, "unit")
        joins = count(checked.kept_units - 1, "join")
        told += f". The {several} that are printed are given, not searched for; their steps and {joins} were followed"
    return told


def _repeats_told(repeats: CheckedRepeats) -> str:
    foundations, units = count(repeats.foundations, "different foundation"), count(repeats.units, "unit")
    which = "" if repeats.largest is None else f" with units no larger than {dimensions(*repeats.largest)}"
    least = (
        f"None{which} lies on fewer than {foundations}, and none that needs no more of them takes fewer than {units}"
    )
    if repeats.units_witnessed:
        return f"{least}; both were followed"
    if repeats.foundations_witnessed:
        return f"{least}; the foundations were followed, the units stand as a search settled them"
    return f"{least}; both stand as a search settled them"


def _units_told(checked: Checked) -> str:
    units = count(checked.units, "unit")
    largest = "" if checked.largest is None else f" with units no larger than {dimensions(*checked.largest)}"
    least = f"no order of straight seams{largest} takes fewer than {units}"
    if checked.hard_corners:
        corners = count(checked.hard_corners, "hard corner")
        none = "none that is best in corners"
        least = f"no order{largest} has fewer than {corners}, and {none} takes fewer than {units}"
    if checked.units_witnessed:
        return f"{least}; every claim was followed"
    patches = sum(len(found.patches) for found in checked.searched)
    settled = f"what {count(patches, 'patch', 'patches')} cost stands as a search settled it"
    return f"{least}; the corners were followed, {settled}" if checked.corners_witnessed else f"{least}; {settled}"

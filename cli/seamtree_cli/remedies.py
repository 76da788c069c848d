"""What would help, in the words of the command line: options in place of arguments of the library."""

from __future__ import annotations

import contextlib
from collections.abc import Collection, Iterator, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from seamtree.errors import DrawingError, Finding, OptionError
from seamtree.remedies import Remedy

if TYPE_CHECKING:
    from seamtree.auditing.record import Record
    from seamtree.block.model import Block
    from seamtree.planning.model import Plan
    from seamtree.proofreading.outcome import Proofreading
    from seamtree.rating.judgement import Rating

WORDS = {
    "width": "--width",
    "tolerance": "--tolerance",
    "skip-layers": "--skip-layer",
    "white-paper": "--white paper",
    "lines": "--lines",
    "within": "--within {}in",
    "fit": "--fit {}",
    "renumber": "--renumber",
    "proofread": "seamtree proofread",
    "pdf-page": "--pdf-page",
    "time-limit": "--time-limit",
    "straighten": "--curve-tolerance",
    "plan": "seamtree check",
    "mend": "'seamtree mend'",
    "mend-straight": "`seamtree mend`",
    "mend-straightened": "`seamtree mend --curve-tolerance {}`",
    "mend-merged": "`seamtree mend --merge`",
    "records": "--json-lines",
    "print-scale": "--print-scale",
}
"""For each remedy what to give a command; its value stands where the braces are."""

KEYS = frozenset({"width", "skip-layers"})
"""Remedies that are keys of a pattern file, by the names that the library has for them."""


def worded(text: str, remedies: Sequence[Remedy]) -> str:
    """Return a text of the library with options in place of arguments."""
    for remedy in remedies:
        text = text.replace(str(remedy), WORDS[remedy.code].format(remedy.value))
    return text


def worded_finding(finding: Finding, *, kept: Collection[str] = ()) -> Finding:
    """Return a finding whose message names options, but for remedies that keep the words of the library."""
    remedies = [remedy for remedy in finding.remedies if remedy.code not in kept]
    return replace(finding, message=worded(finding.message, remedies)) if remedies else finding


def worded_block(block: Block, *, kept: Collection[str] = ()) -> Block:
    """Return a block whose notes name options, but for remedies that keep the words of the library."""
    if not any(note.remedies for note in block.notes):
        return block
    return replace(block, notes=tuple(worded_finding(note, kept=kept) for note in block.notes))


def worded_plan(plan: Plan) -> Plan:
    """Return a plan whose notes name options and commands."""
    if not any(note.remedies for note in plan.notes):
        return plan
    return replace(plan, notes=tuple(map(worded_finding, plan.notes)))


def worded_proof(proof: Proofreading) -> Proofreading:
    """Return what holds of printed numbers, with findings that name options."""
    refutations, notes = (tuple(map(worded_finding, findings)) for findings in (proof.refutations, proof.notes))
    return replace(proof, refutations=refutations, notes=notes)


def worded_rating(rating: Rating) -> Rating:
    """Return a rating whose changes name commands."""
    changes = [
        change if change.remedy is None else replace(change, text=worded(change.text, (change.remedy,)))
        for change in rating.changes
    ]
    return replace(rating, changes=tuple(changes))


def worded_record(record: Record) -> Record:
    """Return a record of an audit whose messages name options."""
    return replace(
        record,
        faults=tuple(map(worded_finding, record.faults)),
        blocks=tuple(
            replace(block, warnings=tuple(map(worded_finding, block.warnings)), proof=_worded_json(block.proof))
            for block in record.blocks
        ),
    )


def _worded_json(value: Any) -> Any:
    """Return plain data whose findings name options."""
    if isinstance(value, list):
        return [_worded_json(entry) for entry in value]
    if isinstance(value, dict):
        found = {key: _worded_json(entry) for key, entry in value.items()}
        if "remedies" in found:
            found["message"] = worded(found["message"], [Remedy(code) for code in found["remedies"]])
        return found
    return value


@contextlib.contextmanager
def worded_errors(*, kept: Collection[str] = ()) -> Iterator[None]:
    """Let errors about drawings name options, but for remedies that keep the words of the library.

    Raises
    ------
    DrawingError
        The one that was raised, in other words.
    """
    try:
        yield
    except DrawingError as error:
        if not any(finding.remedies for finding in error.findings):
            raise
        findings = tuple(worded_finding(finding, kept=kept) for finding in error.findings)
        raise type(error)(findings, source=error.source) from error


def told(error: Exception) -> str:
    """Return what an error says, with options in place of arguments."""
    if isinstance(error, DrawingError):
        return "\n".join(worded_finding(finding).message for finding in error.findings)
    return worded(str(error), error.remedies) if isinstance(error, OptionError) else str(error)

"""What an audit prints and writes: summary, table of failures, table for spreadsheets. Pure functions."""

from __future__ import annotations

import csv
import io
from collections import Counter
from collections.abc import Container, Iterator, Mapping, Sequence
from dataclasses import fields
from pathlib import PurePath
from typing import Any, get_args

from rich.table import Table
from rich.text import Text

from seamtree.auditing.accept import Acceptance
from seamtree.auditing.earlier import CHANGES, Changed
from seamtree.auditing.equal import Equals, Twin
from seamtree.auditing.page import Note
from seamtree.auditing.places import REASONS, Skipped
from seamtree.auditing.record import SKIPPED, VERDICTS, BlockRecord, Record, State, shown_name
from seamtree.auditing.rules import Rule, fails
from seamtree.planning.model import Counts
from seamtree_cli.wording import count, plain

_STYLES: Mapping[str, str] = {
    "single unit": "green",
    "joined units": "green",
    "hard corners": "yellow",
    "faulty": "red",
    "cut off": "red",
    "crashed": "red",
    "not audited": "red",
}

NARROW = 60
"""Columns of a terminal below which a table breaks words to pieces, so that lines stand in its place."""

MOST_LINES = 50
"""Lines that are printed below one title."""

_URGENT = REASONS[:4]
"""Why something is skipped that may have been meant to be audited."""

_FIGURES = tuple(field.name for field in fields(Counts))

COLUMNS = (
    "source",
    "block",
    "verdict",
    "proven",
    "width",
    "height",
    *_FIGURES,
    "hard_corners",
    "least_hard_corners",
    "least_units",
    "numbers",
    "level",
    "score",
    "warnings",
    "faults",
    "first_fault",
    "accepted",
    "skipped",
)
"""Columns of the table for spreadsheets."""


def proof_words(block: BlockRecord) -> str:
    """Say what holds of the numbers printed on a block."""
    if block.proof is None:
        return "no numbers"
    return "proven" if block.proof["proven"] else "refuted"


def render_summary(records: Sequence[Record], *, proofread: bool) -> Table:
    """Count the drawings by verdict, and the blocks by printed numbers and levels if that was asked for."""
    table = Table.grid(padding=(0, 2))
    table.add_column()
    table.add_column(justify="right")
    blocks = [block for record in records for block in record.blocks]
    title = Text(f"{count(len(records), 'drawing')}, {count(len(blocks), 'block')}", "bold")
    table.add_row(title)
    found = Counter(record.verdict for record in records)
    for verdict in VERDICTS:
        if found[verdict]:
            table.add_row(Text(verdict, _STYLES[verdict]), f"{found[verdict]:,}")
    unproven = sum(not block.proven for block in blocks)
    if unproven:
        table.add_row(Text("blocks without a proof", "yellow"), f"{unproven:,}")
    if proofread:
        for words, number in sorted(Counter(map(proof_words, blocks)).items()):
            table.add_row(words if words == "no numbers" else f"numbers {words}", f"{number:,}")
    levels = Counter((block.rating["level"], block.rating["word"]) for block in blocks if block.rating)
    for (level, word), number in sorted(levels.items()):
        table.add_row(f"level {level}, {word}", f"{number:,}")
    return table


def render_failures(
    records: Sequence[Record], rules: Sequence[Rule], accepted: Container[str] = (), *, width: int = 80
) -> Table | Text | None:
    """Return the drawings that could not be audited or break a rule, for so many columns; None if there are none.

    Drawings that nobody worked on are one line together: nothing is wrong with each of them.
    """
    failing = [record for record in records if fails(record, rules, accepted)]
    rows = [(record.source, record.verdict, failure(record, rules)) for record in failing if not _is_lost(record)]
    lost = [record for record in failing if _is_lost(record)]
    if lost:
        rows.append((count(len(lost), "drawing"), lost[0].verdict, lost[0].faults[0].message))
    if not rows:
        return None
    title = count(len(failing), "failure")
    if width < NARROW:
        lines = [Text(title, "bold")]
        for source, verdict, why in rows:
            lines += [Text(_shown(source)), Text(f"  {verdict}", _STYLES[verdict]), Text(f"  {plain(why)}")]
        return Text("\n", overflow="fold").join(lines)
    table = Table(title=title, title_justify="left", title_style="bold", pad_edge=False)
    table.add_column("drawing", overflow="fold")
    table.add_column("verdict", no_wrap=True)
    table.add_column("why", overflow="fold")
    for source, verdict, why in rows:
        table.add_row(Text(_shown(source)), Text(verdict, _STYLES[verdict]), Text(plain(why)))
    return table


def _is_lost(record: Record) -> bool:
    return record.state == "not audited"


def _shown(source: str) -> str:
    return plain(shown_name(source))


def balance(records: Sequence[Record], skipped: Sequence[Skipped]) -> str:
    """Say what became of all that was found."""
    states = Counter(record.state for record in records)
    parts = [
        f"{states[state]:,} {state}" for state in get_args(State) if states[state] or state in ("audited", "faulty")
    ]
    reasons = Counter(entry.reason for entry in skipped)
    why = ", ".join(f"{reasons[reason]:,} {reason}" for reason in REASONS if reasons[reason])
    parts.append(f"{len(skipped):,} skipped" + (f" ({why})" if why else ""))
    return f"{len(records) + len(skipped):,} found: {', '.join(parts)}"


def skipped_notes(skipped: Sequence[Skipped], *, urgent: bool) -> Iterator[Note]:
    """Tell what was skipped, or only what may have been meant to be audited."""
    for reason in _URGENT if urgent else REASONS:
        paths = [_shown(entry.path) for entry in skipped if entry.reason == reason]
        if paths:
            yield Note(f"skipped, {reason}: {len(paths):,}", tuple(paths))


def change_note(changes: Sequence[Changed], drawings: int) -> Note:
    """Tell what has changed since an earlier audit."""
    found = Counter(change.change for change in changes)
    same = drawings - sum(found[kind] for kind in CHANGES if kind != "gone")
    title = ", ".join([*(f"{found[kind]:,} {kind}" for kind in CHANGES), f"{same:,} as before"])
    lines = [
        f"{kind}: {_shown(change.source)}" + (f", {change.how}" if change.how else "")
        for kind in CHANGES
        for change in changes
        if change.change == kind
    ]
    return Note(f"since the earlier result: {title}", tuple(lines))


def equal_notes(equals: Equals) -> Iterator[Note]:
    """Tell which drawings are equal."""
    if equals.contents:
        lines = tuple(" = ".join(map(_shown, sources)) for sources in equals.contents)
        yield Note(f"the same content: {count(len(lines), 'group')} of drawings", lines)
    if equals.blocks:
        lines = tuple(", ".join(map(_twin, twins)) for twins in equals.blocks)
        yield Note(f"the same seams, whatever the fabrics: {count(len(lines), 'group')} of blocks", lines)


def _twin(twin: Twin) -> str:
    name = _shown(twin.source)
    block = plain(twin.block)
    several = "" if PurePath(name).stem == block else f" ({block})"
    return name + several + ("" if twin.how == "as it is" else f" {twin.how}")


def accepted_notes(acceptance: Acceptance) -> Iterator[Note]:
    """Tell which failures are accepted and why, and which exceptions nothing needs any more."""
    if acceptance.reasons:
        lines = tuple(f"{_shown(source)}: {plain(reason)}" for source, reason in acceptance.reasons.items())
        yield Note(f"accepted: {count(len(lines), 'drawing')}", lines)
    if acceptance.idle:
        lines = tuple(
            plain(f"{known.drawing}" + (f", {known.failure}" if known.failure else "")) for known in acceptance.idle
        )
        yield Note(f"exceptions that nothing needs: {len(lines):,}", lines)


def folder_note(records: Sequence[Record], rules: Sequence[Rule], accepted: Container[str]) -> Note | None:
    """Return totals by folder; None if all drawings lie in one."""
    folders: dict[str, list[Record]] = {}
    for record in records:
        folders.setdefault(str(PurePath(_shown(record.source)).parent), []).append(record)
    if len(folders) < 2:
        return None
    lines = []
    for folder, found in sorted(folders.items()):
        verdicts = Counter(record.verdict for record in found)
        kinds = ", ".join(f"{verdicts[verdict]:,} {verdict}" for verdict in VERDICTS if verdicts[verdict])
        failing = count(sum(fails(record, rules, accepted) for record in found), "failure")
        lines.append(f"{folder}: {count(len(found), 'drawing')} ({kinds}), {failing}")
    return Note(f"by folder: {len(lines):,}", tuple(lines))


def render_note(note: Note) -> Text:
    """Return a note for a terminal; what is too long for it says how much more there is."""
    lines = [Text(plain(note.title), "bold"), *(Text(f"  {plain(line)}") for line in note.lines[:MOST_LINES])]
    more = len(note.lines) - MOST_LINES
    if more > 0:
        lines.append(Text(f"  and {more:,} more; --report lists all"))
    return Text("\n", overflow="fold").join(lines)


def failure(record: Record, rules: Sequence[Rule]) -> str:
    """Say why a drawing fails; nothing if it does not."""
    if record.state != "audited":
        more = len(record.faults) - 1
        return record.faults[0].message + (f" (and {count(more, 'more fault')})" if more else "")
    return "; ".join(why for rule in rules if (why := _broken(record, rule)))


def _broken(record: Record, rule: Rule) -> str:
    """Say how a drawing breaks a rule, block by block; nothing if it does not."""
    blocks = [block for block in record.blocks if rule.breaks(block)]
    several = len(record.blocks) > 1
    return ", ".join(_why(block, rule) + (f" in {block.name}" if several else "") for block in blocks)


def _why(block: BlockRecord, rule: Rule) -> str:
    counts = block.counts
    if rule.text == "hard-corners":
        return f"{count(block.hard_corners, 'hard corner')} ({Counts(**counts).corners_by_kind})"
    if rule.text == "refuted" and block.proof is not None:
        faults = block.proof["refutations"]
        more = len(faults) - 1
        return f"numbers refuted: {faults[0]['message']}" + (f" (and {count(more, 'more fault')})" if more else "")
    if rule.text == "unproven":
        bound = block.bound
        if bound["hard_corners"] < block.hard_corners:
            return f"not proven: {count(block.hard_corners, 'hard corner')}, at least {bound['hard_corners']}"
        return f"not proven: {count(counts['units'], 'unit')}, at least {bound['units']}"
    if rule.text == "warned":
        return count(len(block.warnings), "warning") + f", the first: {block.warnings[0].message}"
    return f"{rule.text}: {rule.figure(block):g}" if rule.figure else rule.text


def csv_text(
    records: Sequence[Record],
    skipped: Sequence[Skipped] = (),
    *,
    proofread: bool,
    accepted: Mapping[str, str] | None = None,
) -> str:
    """Return the table for spreadsheets: a line for each block, drawing that could not be audited, or thing skipped.

    Texts that a spreadsheet would take for a formula get an apostrophe before them (OWASP, CSV Injection).
    """
    file = io.StringIO()
    writer = csv.DictWriter(file, COLUMNS, restval="", lineterminator="\r\n")  # as RFC 4180 has it
    writer.writeheader()
    for record in records:
        reason = (accepted or {}).get(record.source, "")
        for line in _lines(record, proofread=proofread):
            row = {**line, "source": shown_name(record.source), "accepted": reason}
            writer.writerow({key: _inert(value) if isinstance(value, str) else value for key, value in row.items()})
    for entry in skipped:
        writer.writerow({"source": _inert(shown_name(entry.path)), "verdict": SKIPPED, "skipped": entry.reason})
    return file.getvalue()


def _inert(text: str) -> str:
    """Return a text that no spreadsheet takes for a formula."""
    return f"'{text}" if text.startswith(("=", "+", "-", "@", "\t", "\r")) else text


def _lines(record: Record, *, proofread: bool) -> Iterator[dict[str, Any]]:
    if record.state != "audited":
        yield {
            "verdict": record.verdict,
            "faults": len(record.faults),
            "first_fault": record.faults[0].message,
        }
    for block in record.blocks:
        yield {
            "block": block.name,
            "verdict": block.verdict,
            "proven": "yes" if block.proven else "no",
            "width": block.width,
            "height": block.height,
            **{name: block.counts[name] for name in _FIGURES},
            "hard_corners": block.hard_corners,
            "least_hard_corners": block.bound["hard_corners"],
            "least_units": block.bound["units"],
            "numbers": proof_words(block) if proofread else "",
            **({name: block.rating[name] for name in ("level", "score")} if block.rating else {}),
            "warnings": len(block.warnings),
            "faults": 0,
        }

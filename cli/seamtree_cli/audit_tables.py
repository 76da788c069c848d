"""What an audit prints and writes: summary, table of failures, table for spreadsheets. Pure functions."""

from __future__ import annotations

import csv
import io
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import fields
from typing import Any

from rich.table import Table
from rich.text import Text

from seamtree.auditing.model import VERDICTS, BlockRecord, Record
from seamtree.auditing.rules import Rule
from seamtree.planning.model import Counts
from seamtree_cli.wording import count, plain

_STYLES: Mapping[str, str] = {
    "single unit": "green",
    "joined units": "green",
    "hard corners": "yellow",
    "faulty": "red",
    "cut off": "red",
    "crashed": "red",
}

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


def render_failures(records: Sequence[Record], rules: Sequence[Rule]) -> Table | None:
    """Return a table of the drawings that could not be audited or break a rule; None if there are none."""
    rows = [(record, why) for record in records if (why := failure(record, rules))]
    if not rows:
        return None
    table = Table(title=count(len(rows), "failure"), title_justify="left", title_style="bold", pad_edge=False)
    table.add_column("drawing", overflow="fold")
    table.add_column("verdict", no_wrap=True)
    table.add_column("why", overflow="fold")
    for record, why in rows:
        table.add_row(Text(plain(record.source)), Text(record.verdict, _STYLES[record.verdict]), Text(plain(why)))
    return table


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


def csv_text(records: Sequence[Record], *, proofread: bool) -> str:
    """Return the table for spreadsheets: a line for each block, or for a drawing that could not be audited."""
    file = io.StringIO()
    writer = csv.DictWriter(file, COLUMNS, restval="", lineterminator="\r\n")  # as RFC 4180 has it
    writer.writeheader()
    for record in records:
        writer.writerows(_lines(record, proofread=proofread))
    return file.getvalue()


def _lines(record: Record, *, proofread: bool) -> Iterator[dict[str, Any]]:
    if record.state != "audited":
        yield {
            "source": record.source,
            "verdict": record.verdict,
            "faults": len(record.faults),
            "first_fault": record.faults[0].message,
        }
    for block in record.blocks:
        yield {
            "source": record.source,
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

"""What has changed since an earlier audit: new drawings, those that are gone, better or worse."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from seamtree.auditing.record import SKIPPED, VERDICTS, Record
from seamtree.errors import OptionError
from seamtree.remedies import RECORDS

Change = Literal["new", "gone", "worse", "better"]

CHANGES: tuple[Change, ...] = ("worse", "better", "new", "gone")
"""In the order in which they are told."""

_FIGURES: Mapping[str, str] = {
    "set_in": "set-in corners",
    "excess_pivots": "excess pivots",
    "units": "units",
    "matched_points": "matched points",
}
"""What is compared after verdict and hard corners, in the order of merit of plans."""


@dataclass(frozen=True, slots=True)
class Changed:
    """A drawing that is not as it was.

    Parameters
    ----------
    source
        Its file name.
    change
        What became of it.
    how
        The first figure that differs, as words: ``units 4 → 6``; empty for new and gone drawings.
    """

    source: str
    change: Change
    how: str = ""


def read_earlier(path: str | Path) -> dict[str, Record]:
    """Read the records of an earlier audit from a file of JSON lines.

    Raises
    ------
    OptionError
        If it cannot be read, or a line is no record.
    """
    try:
        lines = Path(path).read_text(encoding="utf-8").splitlines()
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) and error.strerror else "it is no text in UTF-8"
        raise OptionError(f"the earlier result {str(path)!r} cannot be read: {reason}") from error
    found = {}
    for number, line in enumerate(lines, 1):
        if not line.strip():
            continue
        try:
            data = json.loads(line)
            if data["state"] == SKIPPED:
                continue
            record = Record.from_json(data)
            _standing(record)
        except (AttributeError, KeyError, TypeError, ValueError, RecursionError) as error:
            raise OptionError(
                f"the earlier result {str(path)!r}, line {number}, is no record of an audit; give a file that "
                f"{RECORDS} wrote",
                remedies=(RECORDS,),
            ) from error
        found[record.source] = record
    return found


def compare(records: Sequence[Record], earlier: Mapping[str, Record]) -> tuple[Changed, ...]:
    """Tell drawings that are new, gone, better or worse than in an earlier audit.

    Drawings are the same by their file names. A drawing is better or worse by its verdict, then by the order of merit
    of plans, summed over its blocks, then by its printed numbers.
    """
    now = {record.source: record for record in records}
    found = [_compared(record, earlier.get(record.source)) for record in records]
    gone = [Changed(source, "gone") for source in earlier if source not in now]
    return tuple(change for change in [*found, *gone] if change is not None)


def _compared(record: Record, before: Record | None) -> Changed | None:
    if before is None:
        return Changed(record.source, "new")
    for (name, then), (_, now) in zip(_standing(before), _standing(record), strict=False):
        if name == "refuted numbers" and all(block.proof is None for block in before.blocks):
            continue  # nobody asked for them then
        if then != now:
            words = (VERDICTS[then], VERDICTS[now]) if name == "verdict" else (str(then), str(now))
            how = " → ".join(words)
            return Changed(
                record.source, "worse" if now > then else "better", how if name == "verdict" else f"{name} {how}"
            )
    return None


def _standing(record: Record) -> list[tuple[str, int]]:
    """Return what a drawing is judged by, first what weighs most; smaller is better."""
    verdict = ("verdict", VERDICTS.index(record.verdict))
    if record.state != "audited":
        return [verdict, ("faults", len(record.faults))]
    blocks = record.blocks
    return [
        verdict,
        ("hard corners", sum(block.hard_corners for block in blocks)),
        *((words, sum(block.counts[key] for block in blocks)) for key, words in _FIGURES.items()),
        ("refuted numbers", sum(block.proof is not None and not block.proof["proven"] for block in blocks)),
    ]

"""Known exceptions: failures that somebody has looked at and accepts, each with a reason, in a TOML file.

[[accept]]
drawing = "harbour/ring*.svg"
failure = "hard-corners"
reason = "The ring is set in by hand; the pattern says how."
"""

from __future__ import annotations

import difflib
import tomllib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path, PurePosixPath
from typing import Any

from seamtree.auditing.record import Record, shown_name
from seamtree.auditing.rules import Rule
from seamtree.errors import OptionError

_KEYS = ("drawing", "failure", "reason")

_MOST_BYTES = 10_000_000


@dataclass(frozen=True, slots=True)
class Known:
    """A known exception.

    Parameters
    ----------
    drawing
        File name of a drawing, or its end (``ring.svg``, ``harbour/ring.svg``), with ``*`` and ``?`` for any letters.
    failure
        The rule that it may break, or the code of the fault that it may have; empty: any.
    reason
        Why that is accepted.
    """

    drawing: str
    failure: str
    reason: str

    def covers(self, source: str, failure: str) -> bool:
        """Tell whether a failure of a drawing is this one."""
        return self.failure in ("", failure) and PurePosixPath(shown_name(source)).match(self.drawing)


@dataclass(frozen=True, slots=True)
class Acceptance:
    """Which drawings are accepted, with the reasons, and which exceptions nothing asked for."""

    reasons: dict[str, str]
    idle: tuple[Known, ...]


def read_known(path: str | Path) -> tuple[Known, ...]:
    """Read known exceptions from a TOML file.

    Raises
    ------
    OptionError
        If it cannot be read or something in it makes no sense.
    """
    name = f"the file of known exceptions {str(path)!r}"
    try:
        with Path(path).open("rb") as file:
            content = file.read(_MOST_BYTES + 1)
        data = tomllib.loads(content.decode("utf-8-sig").replace("\r\n", "\n"))
    except OSError as error:
        raise OptionError(f"{name} cannot be read: {error.strerror or error}") from error
    except (ValueError, RecursionError) as error:
        raise OptionError(f"{name} is no valid TOML: {error}") from error
    if len(content) > _MOST_BYTES:
        raise OptionError(f"{name} is larger than 10 MB")
    for key in data:
        if key != "accept":
            raise OptionError(f"{name}: there is no key {key!r}; it can only be [[accept]]")
    entries = data.get("accept", [])
    if not isinstance(entries, list) or not all(isinstance(entry, dict) for entry in entries):
        raise OptionError(f"{name}: write each exception as a table [[accept]]")
    return tuple(_known(entry, f"{name}, exception {number}") for number, entry in enumerate(entries, 1))


def _known(entry: dict[str, Any], where: str) -> Known:
    for key, value in entry.items():
        if key not in _KEYS:
            near = difflib.get_close_matches(key, _KEYS, 1)
            hint = f"write {near[0]}" if near else f"it can be {', '.join(_KEYS)}"
            raise OptionError(f"{where}: there is no key {key!r}; {hint}")
        if not isinstance(value, str) or not value.strip():
            raise OptionError(f"{where}: {key} has to be a text in quotation marks")
    for key in ("drawing", "reason"):
        if key not in entry:
            raise OptionError(f"{where}: {key} is missing")
    return Known(entry["drawing"].strip(), entry.get("failure", "").strip().lower(), entry["reason"].strip())


def accept(records: Iterable[Record], rules: Sequence[Rule], known: Sequence[Known]) -> Acceptance:
    """Tell which failing drawings are accepted: those of which every failure is a known exception."""
    reasons: dict[str, str] = {}
    used: set[Known] = set()
    for record in records:
        failures = _failures(record, rules)
        found = [next((entry for entry in known if entry.covers(record.source, what)), None) for what in failures]
        covering = [entry for entry in found if entry is not None]
        used.update(covering)
        if failures and len(covering) == len(found):
            reasons[record.source] = "; ".join(dict.fromkeys(entry.reason for entry in covering))
    return Acceptance(reasons, tuple(entry for entry in known if entry not in used))


def _failures(record: Record, rules: Sequence[Rule]) -> list[str]:
    """Return the rules that a drawing breaks, or the codes of its faults."""
    if record.state == "audited":
        return [rule.text for rule in rules if rule.broken_by(record)]
    return list(dict.fromkeys(fault.code for fault in record.faults))

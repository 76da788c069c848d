"""Rules that say which records are not accepted, for use in scripts: ``hard-corners``, ``units>6``."""

from __future__ import annotations

import math
import operator
import re
from collections.abc import Callable, Container, Iterable, Mapping
from dataclasses import dataclass, fields
from difflib import get_close_matches
from functools import partial

from seamtree.auditing.record import BlockRecord, Record
from seamtree.errors import OptionError
from seamtree.planning.model import Counts

_COUNTS = tuple(field.name.replace("_", "-") for field in fields(Counts))


def _count(key: str, block: BlockRecord) -> float:
    return block.counts[key]


FIGURES: Mapping[str, Callable[[BlockRecord], float]] = {
    **{name: partial(_count, name.replace("-", "_")) for name in _COUNTS},
    "hard-corners": lambda block: block.hard_corners,
    "width": lambda block: block.width,
    "height": lambda block: block.height,
    "level": lambda block: block.rating["level"] if block.rating else math.nan,
    "score": lambda block: block.rating["score"] if block.rating else math.nan,
}
"""What can be compared with a number, for each block; width and height in inches, level and score of the rating."""

_SIGNS: Mapping[str, Callable[[float, float], bool]] = {
    ">=": operator.ge,
    "<=": operator.le,
    ">": operator.gt,
    "<": operator.lt,
    "=": operator.eq,
}

NAMES: Mapping[str, Callable[[BlockRecord], bool]] = {
    "hard-corners": lambda block: block.hard_corners > 0,
    "unproven": lambda block: not block.proven,
    "refuted": lambda block: block.proof is not None and not block.proof["proven"],
    "warned": lambda block: bool(block.warnings),
    "faulty": lambda _: False,  # a drawing that could not be audited ends with exit status 2 whatever the rules
}
"""The rules that are a word; each tells whether a block breaks it."""

_COMPARISON = re.compile(r"([a-z-]+)\s*(>=|<=|>|<|=)\s*(\d+(?:\.\d+)?)")


@dataclass(frozen=True, slots=True)
class Rule:
    """A rule.

    Parameters
    ----------
    text
        As it was written.
    breaks
        Tells whether a block breaks it.
    figure
        What it compares; None for a word.
    needs
        What must have been asked for so that the rule makes sense: ``proofread``, ``rate`` or nothing.
    """

    text: str
    breaks: Callable[[BlockRecord], bool]
    figure: Callable[[BlockRecord], float] | None = None
    needs: str = ""

    def broken_by(self, record: Record) -> bool:
        """Whether a block of a drawing breaks the rule; no drawing does that could not be audited."""
        return any(map(self.breaks, record.blocks))


def fails(record: Record, rules: Iterable[Rule], accepted: Container[str] = ()) -> bool:
    """Tell whether a drawing could not be audited or breaks a rule, and is not among those accepted."""
    wrong = record.state != "audited" or any(rule.broken_by(record) for rule in rules)
    return wrong and record.source not in accepted


def parse_rules(texts: Iterable[str]) -> tuple[Rule, ...]:
    """Read rules.

    Parameters
    ----------
    texts
        Each a word of `NAMES`, a comparison of one of `FIGURES` with a number (``units>6``), or several of these with
        commas between them.

    Raises
    ------
    OptionError
        If one is neither; the message lists what there is.
    """
    return tuple(_parse(part.strip()) for text in texts for part in text.split(","))


def _parse(text: str) -> Rule:
    wanted = text.lower()
    if wanted in NAMES:
        return Rule(wanted, NAMES[wanted], needs="proofread" if wanted == "refuted" else "")
    match = _COMPARISON.fullmatch(wanted)
    if match and match[1] in FIGURES:
        figure, compare, number = FIGURES[match[1]], _SIGNS[match[2]], float(match[3])
        needs = "rate" if match[1] in ("level", "score") else ""
        return Rule(wanted.replace(" ", ""), lambda block: compare(figure(block), number), figure, needs)
    name = match[1] if match else re.split(r"[<>=\s]", wanted)[0]
    near = get_close_matches(name, [*NAMES, *FIGURES], 1)
    hint = f" Did you mean '{near[0]}'?" if near and near[0] != name else ""
    raise OptionError(
        f"'{text}' is no rule.{hint} A rule is one of {', '.join(NAMES)}, or a comparison such as units>6 "
        f"(with >, >=, <, <= or =) of {', '.join(FIGURES)}."
    )

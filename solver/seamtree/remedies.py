"""What would help, as data: a finding names its remedies, and whoever tells it has words of their own for them.

A message holds the words for somebody who calls the library; `Remedy` stands in it by its `str`, so that the commands
can put the options of theirs in its place (`seamtree_cli.wording`).

Examples
--------
>>> f"Give its width in inches with {WIDTH}."
'Give its width in inches with `width`.'
"""

from __future__ import annotations

from dataclasses import dataclass

_WORDS = {
    "width": "`width`",
    "tolerance": "`tolerance`",
    "skip-layers": "`skip_layers`",
    "white-paper": "`white='paper'`",
    "lines": "`lines=True`",
    "within": "`within={}`",
    "fit": "`fit='{}'`",
    "renumber": "`renumber=True`",
    "proofread": "`proofread`",
    "pdf-page": "`pdf_page`",
    "time-limit": "`time_limit`",
    "straighten": "`curve_tolerance`",
    "plan": "`plan`",
    "mend": "`mend`",
    "mend-straight": "`mend`",
    "mend-straightened": "`mend(curve_tolerance={})`",
    "mend-merged": "`mend(goal='merged')`",
    "records": "`Record.to_json`",
    "print-scale": "`scale_text`",
}
"""For each code the arguments and functions of the library; a value stands where the braces are."""

CODES = tuple(_WORDS)
"""All codes of remedies."""


@dataclass(frozen=True, slots=True)
class Remedy:
    """Something that would help.

    Parameters
    ----------
    code
        One of `CODES`.
    value
        What it is given, where that matters.
    """

    code: str
    value: str = ""

    def __post_init__(self) -> None:
        if self.code not in _WORDS:
            raise ValueError(f"there is no remedy {self.code!r}")

    def __str__(self) -> str:
        return _WORDS[self.code].format(self.value)


WIDTH = Remedy("width")
TOLERANCE = Remedy("tolerance")
SKIP_LAYERS = Remedy("skip-layers")
WHITE_PAPER = Remedy("white-paper")
LINES = Remedy("lines")
PDF_PAGE = Remedy("pdf-page")
TIME_LIMIT = Remedy("time-limit")
STRAIGHTEN = Remedy("straighten")
RENUMBER = Remedy("renumber")
PROOFREAD = Remedy("proofread")
MEND = Remedy("mend")
PLAN = Remedy("plan")
RECORDS = Remedy("records")
PRINT_SCALE = Remedy("print-scale")

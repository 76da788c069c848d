"""Paper and what of it can be printed on."""

from __future__ import annotations

from dataclasses import dataclass

from seamtree.errors import OptionError
from seamtree.pattern.lengths import CM

MARGIN = 0.375
"""Inches on every side that home printers may leave blank; common practice is a quarter to a half inch. Not more, so
that a unit of 7 in, which is 7 1/2 in with its allowances, fits on A4, and one of 7 × 9 1/2 in on US Letter."""

FOOTER = 0.25
"""Inches at the foot of a page for one line, and on foundation sheets for a ruler."""

ALLOWANCE = 0.25
"""Inches of seam allowance round a unit: common practice."""


@dataclass(frozen=True, slots=True)
class Paper:
    """A size of paper, upright, inches."""

    name: str
    width: float
    height: float

    @property
    def room(self) -> tuple[float, float]:
        """Width and height of what is free for content: within the margins, above the footer."""
        return self.width - 2 * MARGIN, self.height - 2 * MARGIN - FOOTER

    def holds(self, allowance: float = ALLOWANCE) -> tuple[float, float]:
        """Return width and height (inches, finished size) of the largest unit that a sheet holds."""
        wide, high = self.room
        return wide - 2 * allowance, high - 2 * allowance


PAPERS = {
    "a4": Paper("A4", 21.0 / CM, 29.7 / CM),  # ISO 216
    "letter": Paper("US Letter", 8.5, 11.0),
}


def find_paper(name: str) -> Paper:
    """Return a paper by its name.

    Raises
    ------
    OptionError
        If there is none of that name.
    """
    paper = PAPERS.get(name.strip().lower())
    if paper is None:
        raise OptionError(f"there is no paper {name!r}; choose {' or '.join(PAPERS)}")
    return paper

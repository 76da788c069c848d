"""How hard a drawing is at several widths, and from which width on each level holds.

At every width the drawing is read, planned and rated anew, because the tolerance stays what it is: nothing is only
scaled.
"""

from __future__ import annotations

import functools
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

from seamtree.errors import DrawingError
from seamtree.rating.judgement import SCHEMA, Rating
from seamtree.rating.times import Estimate, together
from seamtree.words import inches

STEP = 0.5
"""Where a level begins is told to this much, inches."""


@dataclass(frozen=True, slots=True)
class Sized:
    """A drawing at one width.

    Parameters
    ----------
    width
        Finished width of the whole drawing, inches.
    ratings
        Of its blocks; empty if it cannot be rated at this width.
    fault
        Why it cannot be rated, otherwise empty.
    """

    width: float
    ratings: tuple[Rating, ...]
    fault: str = ""

    @property
    def hardest(self) -> Rating | None:
        """Rating of the hardest block."""
        return max(self.ratings, key=lambda rating: rating.score, default=None)

    @property
    def level(self) -> float:
        """Level of the hardest block; infinite if it cannot be rated."""
        return math.inf if self.hardest is None else self.hardest.level

    @property
    def time(self) -> Estimate | None:
        """How long all blocks take."""
        return together([rating.time for rating in self.ratings])


@dataclass(frozen=True, slots=True)
class Sizes:
    """A drawing at several widths.

    Parameters
    ----------
    rows
        One for each width, the smallest first.
    begins
        Levels with the width from which on they hold, for every level that is reached between two of the widths, the
        hardest first; at half an inch less the level is harder.
    """

    rows: tuple[Sized, ...]
    begins: tuple[tuple[int, float], ...]

    @property
    def told(self) -> str:
        """Where the levels begin, in words."""
        if self.begins:
            return ", ".join(f"level {level} from {inches(width)} in" for level, width in self.begins)
        levels = {row.level for row in self.rows}
        only = next(iter(levels))
        if len(levels) == 1 and math.isfinite(only):
            return f"level {only} at every one of these widths" if len(self.rows) > 1 else f"level {only}"
        return "no level is the same from some width on"

    def to_json(self, source: str) -> dict[str, Any]:
        """Return the object for a drawing as plain data."""
        return {
            "schema": SCHEMA,
            "source": source,
            "widths": [
                {
                    "width": row.width,
                    "level": None if row.hardest is None else row.hardest.level,
                    "score": None if row.hardest is None else row.hardest.score,
                    "minutes": None if row.time is None else row.time.minutes,
                    "fault": row.fault or None,
                    "blocks": [rating.to_json() for rating in row.ratings],
                }
                for row in self.rows
            ],
            "begins": [{"level": level, "width": width} for level, width in self.begins],
        }


def rate_at_widths(rated_at: Callable[[float], tuple[Rating, ...]], widths: Sequence[float]) -> Sizes:
    """Rate a drawing at several widths and find where its levels begin.

    Parameters
    ----------
    rated_at
        Reads, plans and rates the drawing at a width (inches); what it raises as `DrawingError` is told in the row.
    widths
        Inches, in any order.

    Raises
    ------
    DrawingError
        If it cannot be rated at any of the widths: what is wrong at the largest.
    """

    @functools.cache
    def sized(width: float) -> Sized:
        try:
            return Sized(width, rated_at(width))
        except DrawingError as error:
            return Sized(width, (), " ".join(finding.message for finding in error.findings))

    rows = tuple(map(sized, sorted(set(widths))))
    if not any(row.ratings for row in rows):
        rated_at(rows[-1].width)
    begins: dict[int, float] = {}
    for narrow, wide in pairwise(rows):
        for level in _reached(narrow, wide, rows):
            begins[level] = _begin(sized, narrow.width, wide.width, level)
    return Sizes(rows, tuple(sorted(begins.items(), reverse=True)))


def _reached(narrow: Sized, wide: Sized, rows: Sequence[Sized]) -> list[int]:
    """Return the levels that begin to hold between two widths and hold at all wider ones."""
    if not math.isfinite(wide.level):
        return []
    hardest_after = max(row.level for row in rows if row.width >= wide.width)
    highest = narrow.level - 1 if math.isfinite(narrow.level) else wide.level
    return [level for level in range(int(wide.level), int(highest) + 1) if level >= hardest_after]


def _begin(sized: Callable[[float], Sized], narrow: float, wide: float, level: int) -> float:
    """Return the least width in whole steps at which a level holds; at the narrow one it does not."""
    low, high = math.floor(narrow / STEP), math.ceil(wide / STEP)
    while high - low > 1:
        middle = (low + high) // 2
        if sized(min(middle * STEP, wide)).level <= level:
            high = middle
        else:
            low = middle
    return min(high * STEP, wide)

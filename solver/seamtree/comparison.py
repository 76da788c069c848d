"""What each wish makes of a block: one plan for each, with its figures side by side."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from seamtree.pattern.pack import Options, make_pack
from seamtree.pattern.paper import PAPERS, Paper
from seamtree.planning.build import open_item, plan
from seamtree.planning.model import Plan
from seamtree.planning.wishes import RENUMBERED, Wishes
from seamtree.rating import rate

if TYPE_CHECKING:
    from seamtree.block.model import Block

_USUAL = "a4"


@dataclass(frozen=True, slots=True)
class Row:
    """A plan for one wish.

    Parameters
    ----------
    wish
        What was asked, in words.
    plan
        The plan.
    paper
        What its foundations are printed on.
    sheets
        How many sheets of foundations that takes.
    level, levels
        How hard the block is to sew so, and the hardest level there is.
    """

    wish: str
    plan: Plan
    paper: str
    sheets: int
    level: int
    levels: int

    @property
    def proof(self) -> str:
        """Whether the plan is proven the best for its wish, or its bound."""
        counts, bound, wishes = self.plan.counts, self.plan.bound, self.plan.wishes
        if self.plan.proven:
            return "proven"
        if wishes.repeats:
            return f"at least {bound.foundations} foundation{'s' * (bound.foundations != 1)}"
        if counts.units > bound.units and self.plan.open_item == "units":
            return f"at least {bound.units} unit{'s' * (bound.units != 1)}"
        return f"not proven: {open_item(self.plan)}"

    def to_json(self) -> dict[str, Any]:
        """Return the row as plain data."""
        counts, bound = self.plan.counts, self.plan.bound
        return {
            "wish": self.wish,
            "proven": self.plan.proven,
            "units": counts.units,
            "least_units": bound.units,
            "hard_corners": counts.hard_corners,
            "foundations": counts.foundations,
            "matched_points": counts.matched_points,
            "paper": self.paper,
            "sheets": self.sheets,
            "level": self.level,
        }


def compare(block: Block, *, time_limit: float = 10.0) -> tuple[Row, ...]:
    """Plan a block for one wish after the other.

    Parameters
    ----------
    block
        What is to be sewn.
    time_limit
        Effort for each plan, as for `seamtree.plan`.

    Returns
    -------
    tuple of Row
        Fewest units; units that fit A4, and US Letter; repeats first; and as printed where that is not the first.
    """
    return tuple(_row(block, *wish, time_limit=time_limit) for wish in _asked(block))


def _asked(block: Block) -> Iterator[tuple[str, Wishes, Paper]]:
    usual = PAPERS[_USUAL]
    if all(patch.label for patch in block.patches):
        yield "as printed", Wishes(), usual
    yield "fewest units", RENUMBERED, usual
    for paper in PAPERS.values():
        yield f"fits {paper.name}", Wishes(paper.holds(), paper.name, renumber=True), paper
    yield "repeats first", Wishes(repeats=True, renumber=True), usual


def _row(block: Block, wish: str, wishes: Wishes, paper: Paper, *, time_limit: float) -> Row:
    found = plan(block, time_limit=time_limit, wishes=wishes)
    pack = make_pack([found], Options(paper=paper, pages=("foundations",)))
    rating = rate(found, changes=False)
    sheets = sum(len(printed.sheets) * printed.times for printed in pack.printed)
    return Row(wish, found, paper.name, sheets, rating.level, rating.levels)

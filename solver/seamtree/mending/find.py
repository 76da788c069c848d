"""From a block to the smallest change that makes it sewable: the stages one after the other."""

from __future__ import annotations

from typing import Protocol

from seamtree.block.model import Block
from seamtree.errors import OptionError
from seamtree.mending import curves
from seamtree.mending.extend import Extended, extend, reads_back, used_rays
from seamtree.mending.merge import merge
from seamtree.mending.model import Alternative, Goal, Mending
from seamtree.mending.network import Network, locked_parts
from seamtree.mending.one_unit import make_one_unit
from seamtree.mending.words import Names
from seamtree.planning.build import plan
from seamtree.planning.model import Plan

MOST_ALTERNATIVES = 5
"""Equally small changes that may be asked for."""

_COUNTING_SHARE = 0.2
"""Share of the effort that may go into counting the hard corners of a drawing that is to be changed anyway."""


def mend(
    block: Block,
    *,
    goal: Goal = "straight seams",
    curve_tolerance: float | None = None,
    alternatives: int = 1,
    time_limit: float = 10.0,
    before: Plan | None = None,
) -> Mending:
    """Find the smallest change of a block that makes it sewable with straight seams.

    Parameters
    ----------
    block
        The block as drawn.
    goal
        ``straight seams``: carry seams on, adding as few patches as possible. ``one unit``: carry on as few seams as
        possible so that the block is a single unit. ``merged``: drop as few seams as possible between neighbours of
        the same fabric, so that there are no hard corners, or fewer of them, or fewer units.
    curve_tolerance
        Replace curved seams by straight ones within this distance first (inches); None leaves them curved.
    alternatives
        How many equally small changes are wanted, 1 to 5.
    time_limit
        Effort in seconds of an ordinary machine; counted, not clocked.
    before
        The plan of the block as drawn, where there is one already: its patch ids are then used.

    Returns
    -------
    Mending
        The changes and the plans before and after.

    Raises
    ------
    OptionError
        If an option makes no sense.
    """
    if not 1 <= alternatives <= MOST_ALTERNATIVES:
        raise OptionError(f"the number of alternatives must be 1 to {MOST_ALTERNATIVES}, not {alternatives}")
    if curve_tolerance is not None and not 0 < curve_tolerance < float("inf"):
        raise OptionError(f"the distance for curves must be a length above 0 in, not {curve_tolerance:g}")
    before = before or plan(block, time_limit=time_limit * _COUNTING_SHARE)
    straight, done = (block, ()) if curve_tolerance is None else curves.straighten(block, distance=curve_tolerance)
    base = plan(straight, time_limit=time_limit * _COUNTING_SHARE) if done else before
    names = Names(before, straight)
    straightened = tuple(names.straightened(block, s, before) for s in done)
    found, reasons = _FINDERS[goal](straight, base, names, alternatives=alternatives, time_limit=time_limit)
    return Mending(before, goal, tuple(found), straightened, base, tuple(reasons))


def _carry_on(
    block: Block, base: Plan, names: Names, *, alternatives: int, time_limit: float
) -> tuple[list[Alternative], list[str]]:
    if not base.counts.hard_corners or not locked_parts(block):
        return [], []
    answer = extend(block, alternatives=alternatives, time_limit=time_limit)
    found = [
        _alternative(block, answer.network, e, names, proven=answer.proven, time_limit=time_limit)
        for e in answer.found
        if reads_back(e.block)
    ]
    return found, [_stuck(block, part, certain, names) for part, certain in answer.stuck]


def _stuck(block: Block, part: int, certain: bool, names: Names) -> str:
    """Say which part stays locked, and what may help."""
    patches = [p for p in range(len(block.patches)) if part >> p & 1]
    outline = block.boundary_junctions()
    inside = [
        j
        for j in range(len(block.junctions))
        if j not in outline
        and any(j in block.patches[p].ring for p in patches)
        and not any(j in patch.ring for p, patch in enumerate(block.patches) if p not in patches)
    ]
    x, y = block.junctions[inside[len(inside) // 2]]
    where = f"round {x:.2f}, {y:.2f} ({', '.join(sorted(names.id(p) for p in patches))})"
    seams = [block.edges[k] for k in block.interior_edges]
    if any(edge.curve is not None and part >> edge.left & part >> edge.right & 1 for edge in seams):
        return f"The part {where} has curved seams: --curve-tolerance replaces them by straight ones."
    if certain:
        return f"In the part {where} no seam can be carried on so that straight seams sew it."
    return f"For the part {where} nothing was found in time; a longer --time-limit may help."


def _to_one_unit(
    block: Block, base: Plan, names: Names, *, alternatives: int, time_limit: float
) -> tuple[list[Alternative], list[str]]:
    if base.counts.units == 1:
        return [], []
    answer = make_one_unit(block, alternatives=alternatives, time_limit=time_limit)
    found = [
        _alternative(block, answer.network, e, names, proven=answer.proven, time_limit=time_limit)
        for e in answer.found
        if reads_back(e.block)
    ]
    if found:
        return found, []
    if answer.obstacles:
        x, y = block.junctions[answer.obstacles[0]]
        more = f", nor at {len(answer.obstacles) - 1} other places" if len(answer.obstacles) > 1 else ""
        return [], [
            f"Carrying seams on cannot make this block a single unit: no patch spans the seams that meet at "
            f"{x:.2f}, {y:.2f}{more}."
        ]
    if answer.proven:
        return [], ["Carrying seams on cannot make this block a single unit: every way was tried."]
    return [], ["No way to a single unit was found in time; a longer --time-limit may help."]


def _merged(
    block: Block, base: Plan, names: Names, *, alternatives: int, time_limit: float
) -> tuple[list[Alternative], list[str]]:
    if base.counts.units == 1:
        return [], []
    answer = merge(block, alternatives=alternatives, time_limit=time_limit)
    found = []
    for merged in answer.found:
        after = plan(merged.block, time_limit=time_limit)
        dropped = tuple(names.dropped(pair) for pair in merged.pairs)
        fewer = len(merged.block.patches) - len(block.patches)
        found.append(Alternative(after, (), dropped, fewer, 0, answer.proven))
    if found:
        return found, []
    return [], ["No seam between neighbours of the same fabric was found whose loss saves hard corners or units."]


class _Finder(Protocol):
    def __call__(
        self, block: Block, base: Plan, names: Names, *, alternatives: int, time_limit: float
    ) -> tuple[list[Alternative], list[str]]: ...


_FINDERS: dict[Goal, _Finder] = {"straight seams": _carry_on, "one unit": _to_one_unit, "merged": _merged}


def _alternative(
    block: Block, network: Network, extended: Extended, names: Names, *, proven: bool, time_limit: float
) -> Alternative:
    added = tuple(names.added(network, r, length) for r, length in used_rays(network, extended.seams))
    after = plan(extended.block, time_limit=time_limit)
    more = len(extended.block.patches) - len(block.patches)
    return Alternative(after, added, (), more, extended.awkward, proven)

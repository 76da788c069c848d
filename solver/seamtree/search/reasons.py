"""Why a block takes as many units as it does: where joins are needed, and what each choice of a seam costs.

Some seams are joins in every best order. What they leave that is no unit is a knot: for each, this module looks up
what every seam across it would cost if it were sewn last there, and finds a witness: a few patches of which none can
be sewn on last.
"""

from __future__ import annotations

from dataclasses import dataclass

from seamtree.block.model import Block
from seamtree.search.effort import SOLVER_SHARE
from seamtree.search.joined import state_budget
from seamtree.search.peel import interior_edges, peel, peel_off
from seamtree.search.straight.clusters import Run
from seamtree.search.straight.parts import Locked, PartsGraph
from seamtree.search.straight.tight import Comparison, choose_cuts
from seamtree.search.tree import Grown, Merit
from seamtree.search.view import SeamView, bits, build_view, runs_of

_CUTS = 60
"""As many seams across a knot are valued."""


@dataclass(frozen=True, slots=True)
class CutCost:
    """A seam across a knot: its edges, and the joins that the knot takes when this seam is sewn last.

    With `exact` false, fewer may do.
    """

    cut: Run
    joins: int
    exact: bool


@dataclass(frozen=True, slots=True)
class Knot:
    """A part that needs joins, and that no join cuts up that is certain.

    Parameters
    ----------
    patches
        Its patches.
    joins
        The fewest joins it takes; a locked part in it counts as one.
    cuts
        The seams across it, the cheapest first.
    witness
        Patches of which none can be sewn on last; with each the junction where its seam would turn, or None where
        it would be in several stretches.
    """

    patches: tuple[int, ...]
    joins: int
    cuts: tuple[CutCost, ...]
    witness: tuple[tuple[int, int | None], ...]


@dataclass(frozen=True, slots=True)
class Reasons:
    """Where a block needs joins.

    Parameters
    ----------
    certain
        Seams that are joins in every best order: nothing crosses them, and other seams end on them from both sides.
    knots
        What else needs joins once these are sewn.
    locked
        The parts that straight seams cannot sew, each with its patches.
    comparison
        How the orders with as few units compare; None where they were not compared.
    """

    certain: tuple[Run, ...]
    knots: tuple[Knot, ...]
    locked: tuple[tuple[int, ...], ...]
    comparison: Comparison | None


def find_reasons(block: Block, *, time_limit: float) -> Reasons:
    """Find out why a block takes as many units as it does.

    Parameters
    ----------
    block
        The block.
    time_limit
        Effort in seconds of an ordinary machine; counted, not clocked.
    """
    view = build_view(block)
    graph = PartsGraph(view, _leave_locked, budget=state_budget(block, time_limit))
    certain, parts = _cut_safely(graph)
    knots = [_tie(graph, part) for part in parts]
    graph.solve_part(view.all_patches)
    comparison = None
    if not graph.map.locked and not graph.cut_short:
        comparison = choose_cuts(graph, view.all_patches, effort=SOLVER_SHARE * time_limit).comparison
    return Reasons(
        certain=tuple(certain),
        knots=tuple(knot for knot in knots if knot.cuts),
        locked=graph.locked_parts(),
        comparison=comparison,
    )


def _cut_safely(graph: PartsGraph) -> tuple[list[Run], list[int]]:
    """Cut a block at all safe cuts; return them, and the parts that are left and are no units."""
    view = graph.view
    cuts, left = [], []
    waiting = [view.all_patches]
    while waiting:
        part = waiting.pop()
        if peel(view, part) is not None:
            continue
        runs = (run for cluster in graph.map.clusters_in(graph.map.slots_inside(part)) for run in runs_of(cluster))
        safe = next((run for run in runs if view.is_cut(run) and view.is_safe(run)), None)
        if safe is None:
            left.append(part)
        else:
            cuts.append(view.run_edges(safe))
            waiting += graph.map.split(part, cuts[-1])
    return sorted(cuts), sorted(left)


def _leave_locked(patches: int) -> Locked:
    """Count a locked part as one join: which it takes, its hard corners decide."""
    merit = Merit(hard_corners=1, units=2)
    return Locked(patches, Grown(tuple(bits(patches))), merit, merit, proven=False)


def _tie(graph: PartsGraph, part: int) -> Knot:
    joins = graph.solve_part(part).joins
    options = graph.part_options(part)
    costs = [
        CutCost(option.cut, 1 + sum(graph.solve_part(side).joins for side in option.parts), exact=not graph.cut_short)
        for option in options[:_CUTS]
    ]
    return Knot(
        patches=tuple(bits(part)),
        joins=joins,
        cuts=tuple(sorted(costs, key=lambda cost: (cost.joins, cost.cut))),
        witness=_witness(graph, _smallest(graph, part)),
    )


def _smallest(graph: PartsGraph, part: int) -> int:
    """Cut a part that is no unit down to one whose sides are units whichever way it is cut."""
    while True:
        sides = [
            side
            for cluster in graph.map.clusters_in(graph.map.slots_inside(part))
            for run in runs_of(cluster)
            if graph.view.is_cut(run)
            for side in graph.map.split(part, graph.view.run_edges(run))
            if peel(graph.view, side) is None
        ]
        if not sides:
            return part
        part = min(sides, key=lambda side: (side.bit_count(), side))


def _witness(graph: PartsGraph, part: int) -> tuple[tuple[int, int | None], ...]:
    """Name the patches that are left when all that can be is taken off, each with the place where its seam turns."""
    core, _ = peel_off(graph.view, part)
    inside = interior_edges(graph.view, core)
    return tuple((p, _turn(graph.view, p, inside)) for p in bits(core))


def _turn(view: SeamView, patch: int, inside: int) -> int | None:
    """Return the first junction at which the boundary of a patch with a part goes on in another line."""
    ring, edges = view.block.patches[patch].ring, view.block.patches[patch].edges
    for before, j, after in zip((edges[-1], *edges[:-1]), ring, edges, strict=True):
        if inside >> before & 1 and inside >> after & 1 and not view.block.in_line(before, after):
            return j
    return None

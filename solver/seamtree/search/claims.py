"""What the search has found, handed over as claims that can be checked.

Claims are checked as they are handed over: the check asks for the numbers that it needs, from what is claimed down,
and what it has asked for is the whole claim.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Literal, TypeVar

from seamtree.errors import ProofError
from seamtree.proofs.claims import (
    NOTHING,
    Added,
    Claims,
    Cost,
    Potentials,
    RowSums,
    Searched,
    Sum,
    Swept,
    Tried,
)
from seamtree.proofs.costs import CostChecker
from seamtree.proofs.planar import Junctions, Patches, Planar
from seamtree.search.straight.parts import Locked, PartsGraph
from seamtree.search.tree import Merit
from seamtree.search.view import bits, union

if TYPE_CHECKING:
    from seamtree.search.rows.program import Best
    from seamtree.search.straight.sweep import Sweep

_Value = TypeVar("_Value")

_THOUSANDTHS = 1_000


def claim_joins(graph: PartsGraph, joins: int) -> Claims:
    """Claim and check that no straight order of a block has fewer joins.

    Parameters
    ----------
    graph
        The solved parts graph of the block.
    joins
        The number to be proven.

    Raises
    ------
    ProofError
        If the proof has a gap.
    """
    return _claim(graph, Cost(joins=joins), _Known(graph, ()))


def claim_costs(graph: PartsGraph, locked: Sequence[Locked]) -> Claims:
    """Claim and check what a block with locked parts costs at least.

    Parts of which all paths were tried are handed over with what they fall into; what the solver has settled, or what
    takes too much to follow, as searched.

    Parameters
    ----------
    graph
        The solved parts graph of the block.
    locked
        The locked parts of its answer.
    """
    known = _Known(graph, locked)
    cost = known.of_part(graph.view.all_patches)
    for attempt in (known, _Known(graph, locked, by_paths=False)):
        try:
            return _claim(graph, cost, attempt)
        except ProofError:  # a bound that leans on what the block as a whole may cost cannot be followed part by part
            continue
    whole = Searched(
        tuple(range(len(graph.view.block.patches))),
        cost,
        "paths" if all(part.costs for part in locked) else "model",
        sum(_thousandths(part) for part in locked),
    )
    return Claims(cost, units=Potentials({}, {}, (), {}, {}, (whole,)))


def _thousandths(part: Locked) -> int:
    return round(_THOUSANDTHS * part.spent)


def _claim(graph: PartsGraph, cost: Cost, known: _Known) -> Claims:
    planar = Planar(graph.view.block)
    checker = CostChecker(planar, known)
    checker.check(planar.whole, cost)
    straight = checker.straight
    return Claims(
        cost,
        units=Potentials(
            clusters=_told(straight.clusters),
            apart=_told(straight.apart),
            swept=tuple(straight.swept.values()),
            parts=_told(straight.parts),
            costs=_told(checker.costs),
            searched=tuple(checker.searched.values()),
        ),
    )


def _told(found: Mapping[int, _Value]) -> dict[tuple[int, ...], _Value]:
    return {tuple(bits(mask)): value for mask, value in found.items()}


def least_cost(merit: Merit, bound: Merit) -> Cost:
    """Return what orders cost at least, from the bounds of items that hold if all before them are the least."""
    least = Cost(bound.hard_corners, bound.set_in, bound.excess_pivots, bound.units - 1)
    for n, item in enumerate(least[:-1]):
        if item < merit[n]:
            return Cost(*least[: n + 1])
    return least


class _Known:
    """What the search knows of clusters and parts.

    Parameters
    ----------
    graph
        The solved parts graph.
    locked
        The locked parts of its answer.
    by_paths
        Whether small ones are followed through all paths; otherwise what was found of them is taken as it is.
    """

    def __init__(self, graph: PartsGraph, locked: Sequence[Locked], *, by_paths: bool = True) -> None:
        self._graph = graph
        self._names: dict[Junctions, int] = {}
        self._locked = {part.patches: part for part in locked}
        self._by_paths = by_paths

    def _slots(self, cluster: Junctions) -> int:
        """Return the name under which the search keeps a cluster."""
        name = self._names.get(cluster)
        if name is None:
            name = self._names[cluster] = union(self._graph.view.junction_slots, cluster)
        return name

    def cluster(self, cluster: Junctions) -> int:
        """Return the joins of a cluster."""
        return self._joins(self._slots(cluster))

    def _joins(self, slots: int) -> int:
        solved = self._graph.solved.get(slots)
        return solved.joins if solved is not None and solved.exact else self._graph.low.get(slots, 0)

    def part(self, patches: Patches) -> int | None:
        """Return the joins of a part with several clusters."""
        known = self._graph.parts.get(patches)
        if known is not None and known.exact:
            return known.joins
        cost = self._by_all_paths(patches)
        return cost.joins if cost is not None and cost == Cost(joins=cost.joins) else None

    def apart(self, cluster: Junctions) -> tuple[int, ...]:
        """Return crossings of a cluster that share no line."""
        return self._graph.apart.get(self._slots(cluster), ())

    def swept(self, cluster: Junctions) -> Swept | None:
        """Return the numbers of all parts of a bundle of crossing lines."""
        swept = self._graph.swept.get(self._slots(cluster))
        return None if swept is None else claim_swept(swept)

    def cost(self, patches: Patches) -> Cost | None:
        """Return what a part costs at least: as all paths say, or as its clusters do."""
        return self._by_all_paths(patches) or self.of_part(patches)

    def _by_all_paths(self, patches: Patches) -> Cost | None:
        for part in self._locked.values():
            if part.costs is not None and self._by_paths and not patches & ~part.patches:
                return part.costs(patches)
        return None

    def searched(self, patches: Patches) -> Searched | None:
        """Return what is known of a locked part without the parts that it falls into."""
        part = self._locked.get(patches)
        if part is None or (part.costs is not None and self._by_paths):
            return None
        by: Literal["paths", "model"] = "model" if part.costs is None else "paths"
        return Searched(tuple(bits(patches)), least_cost(part.merit, part.bound), by, _thousandths(part))

    def of_part(self, patches: Patches) -> Cost:
        """Return what a part costs at least, from what its clusters are made of."""
        total = NOTHING
        graph = self._graph
        known = graph.parts.get(patches)
        parts = [] if known is None else [patches]
        clusters = list(graph.map.clusters_in(graph.map.slots_inside(patches))) if known is None else []
        while parts or clusters:
            if clusters:
                slots = clusters.pop()
                solved = graph.solved.get(slots)
                if solved is None or not slots & graph.map.locked:
                    total = total.plus(Cost(joins=self._joins(slots)))
                    continue
            else:
                part = parts.pop()
                solved = graph.parts[part]
                if not graph.map.slots_inside(part) & graph.map.locked:
                    joins = solved.joins if solved.exact else graph.least_of_part(part)
                    total = total.plus(Cost(joins=joins))
                    continue
            if solved.locked is not None:
                total = total.plus(least_cost(solved.locked.merit, solved.locked.bound))
            elif solved.option is not None:
                total = total.plus(Cost(joins=int(solved.option.cut[0] <= solved.option.cut[1])))
                clusters += solved.option.clusters
                parts += solved.option.parts
            else:
                total = total.plus(Cost(joins=len(solved.cuts)))
        return total


def claim_swept(swept: Sweep) -> Swept:
    """Return the numbers of a sweep as a claim."""
    bundle = swept.bundle

    def places(words: Sequence[int]) -> tuple[int, ...]:
        return tuple(bits(sum(int(word) << 64 * n for n, word in enumerate(words))))

    lines = zip(bundle.lines, bundle.left, bundle.right, strict=True)
    sides = tuple((line, places(left), places(right)) for line, left, right in lines)
    return Swept(bundle.junctions, sides, swept.rows, swept.all_joins())


# -- rows ------------------------------------------------------------------------------------------------------


def claim_rows(best: Best, possible: Sequence[Added]) -> RowSums:
    """Return a proof by rows as a claim; rows that are not counted are left out.

    Parameters
    ----------
    best
        The number with its proofs.
    possible
        The additions that were not left out as impossible.
    """
    used: dict[int, int] = {}
    components = tuple(replace(proof, tree=_tree(proof.tree, used)) for proof in best.proofs)
    return RowSums(best.most, tuple(possible), components, tuple(best.rows[n] for n in used))


def _tree(tree: Sum | Tried, used: dict[int, int]) -> Sum | Tried:
    """Return a tree of sums with its rows numbered by their first use."""
    if isinstance(tree, Tried):
        return Tried(tree.choice, _tree(tree.no, used), _tree(tree.yes, used))
    return Sum({used.setdefault(n, len(used)): weight for n, weight in tree.weights.items()})

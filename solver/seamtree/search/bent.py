"""Fewest units where straight cuts cross above locked parts.

Cutting at full straight cuts first never adds hard corners, but it may add units: an order may be better that first
parts a block along a seam with corners. In an order with the fewest hard corners all of them lie inside locked parts,
in each just as many as the part needs by itself: restricted to a locked part, any order turns at least as many there.
So besides the straight cuts only *bent cuts* have to be tried: paths from outline to outline that go straight on
everywhere but at junctions inside locked parts, where they may turn as often as the part allows.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from seamtree.search.parts import Locked, PartsGraph
from seamtree.search.view import bits

Corners = tuple[int, int, int]
"""Hard corners, set-in ones among them, excess pivots."""

_PATHS = 20_000
"""Bent cuts of one cluster after which the search gives up."""

_STATES = 3_000
"""Clusters after which the search gives up."""

FREE = 2
"""Hard corners of a join that are no excess pivots."""


class TooBentError(Exception):
    """The search cannot say for certain: too many cuts, or seams that it does not understand."""


@dataclass(frozen=True, slots=True)
class BentCut:
    """A path from outline to outline: its edges in turn, the junctions inside it, and its corners."""

    edges: tuple[int, ...]
    junctions: tuple[int, ...]
    corners: Corners


@dataclass(frozen=True, slots=True)
class Best:
    """The fewest joins of a cluster, the edges of its first cut (none if it is left to the parts graph), the rest."""

    joins: int
    edges: tuple[int, ...] = ()
    below: tuple[int, ...] = ()


@dataclass(slots=True)
class BentSearch:
    """Searches clusters with locked parts in them over straight and bent cuts.

    Parameters
    ----------
    graph
        The parts graph, solved over straight cuts.
    locked
        The locked parts of the block, all of them proven in hard corners, set-in seams and excess pivots.
    """

    graph: PartsGraph
    locked: Sequence[Locked]
    best: dict[int, Best] = field(default_factory=dict)
    _corners: dict[int, Corners] = field(default_factory=dict)
    _home: dict[int, int] = field(default_factory=dict)
    _onward: dict[tuple[int, int], int] = field(default_factory=dict)
    _arms: dict[int, list[int]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        view = self.graph.view
        edges = view.block.edges
        if any(edges[k].curve is not None for k in view.block.interior_edges) or view.bent_slots:
            raise TooBentError
        for n, part in enumerate(self.locked):
            for slot in bits(self.graph.slots_inside(part.patches)):
                self._home[view.slot_junction[slot]] = n
        for k in view.block.interior_edges:
            for j in (edges[k].start, edges[k].end):
                self._arms.setdefault(j, []).append(k)
        for line in view.block.lines:
            for k in range(line.first, line.stop - 1):
                j = edges[k].end
                self._onward[k, j] = k + 1
                self._onward[k + 1, j] = k

    # -- corners -----------------------------------------------------------------------------------------------

    def corners(self, cluster: int) -> Corners:
        """Return the corners that every good order of a cluster turns."""
        known = self._corners.get(cluster)
        if known is None:
            known = self._corners[cluster] = self._find_corners(cluster)
        return known

    def _find_corners(self, cluster: int) -> Corners:
        graph = self.graph
        cuts = graph.cuts(cluster)
        if cuts:
            return self._sum(graph.clusters_in(cluster & ~graph.view.closure(cuts[0])))
        graph.solve(cluster)
        locked = graph.solved[cluster].locked
        if locked is None:
            return (0, 0, 0)
        if locked.merit[:3] != locked.bound[:3]:
            raise TooBentError
        return locked.merit[:3]

    def _sum(self, clusters: Sequence[int]) -> Corners:
        total = [0, 0, 0]
        for cluster in clusters:
            total = [a + b for a, b in zip(total, self.corners(cluster), strict=True)]
        return total[0], total[1], total[2]

    # -- the search --------------------------------------------------------------------------------------------

    def solve(self, cluster: int) -> int:
        """Return the fewest joins of a cluster, where joins add up over the clusters that a cut leaves.

        Raises
        ------
        TooBentError
            If that cannot be said for certain.
        """
        known = self.best.get(cluster)
        if known is None:
            if len(self.best) >= _STATES or self.graph.cut_short:
                raise TooBentError
            known = self.best[cluster] = self._search(cluster)
        return known.joins

    def _search(self, cluster: int) -> Best:
        graph = self.graph
        straight = graph.cuts(cluster)
        if not straight or not self.corners(cluster)[0]:
            joins = graph.solve(cluster)
            locked = graph.solved[cluster].locked
            if locked is not None and not locked.proven:
                raise TooBentError
            return Best(joins)
        best: Best | None = None
        for edges, below in self._cuts(cluster, straight):
            least = 1 + sum(map(self._least, below))
            if best is not None and least >= best.joins:
                continue
            joins = 1 + sum(map(self.solve, below))
            if best is None or joins < best.joins:
                best = Best(joins, edges, below)
        if best is None:
            raise TooBentError
        return best

    def _least(self, cluster: int) -> int:
        """Return a lower bound of the joins; what the parts graph knows holds for straight seams only."""
        known = self.best.get(cluster)
        if known is not None:
            return known.joins
        return 1 if self.corners(cluster)[0] else self.graph.least(cluster)

    def _cuts(self, cluster: int, straight: Sequence[int]) -> Iterator[tuple[tuple[int, ...], tuple[int, ...]]]:
        """Yield the edges of each cut and the clusters that it leaves."""
        graph = self.graph
        for run in straight:
            first, last = graph.view.run_edges(run)
            yield tuple(range(first, last + 1)), graph.clusters_in(cluster & ~graph.view.closure(run))
        if len(straight) == 1 and graph.is_safe(graph.view.run_edges(straight[0])):
            return
        wanted = self.corners(cluster)
        for cut in self._bent_cuts(cluster):
            passed = 0
            for j in cut.junctions:
                passed |= graph.view.junction_slots[j]
            below = graph.clusters_in(cluster & ~passed)
            left = self._sum(below)
            if all(a + b == c for a, b, c in zip(cut.corners, left, wanted, strict=True)):
                yield cut.edges, below

    # -- bent cuts ---------------------------------------------------------------------------------------------

    def _bent_cuts(self, cluster: int) -> Iterator[BentCut]:
        """Yield every path with corners from outline to outline of a cluster once."""
        view = self.graph.view
        inside = {view.slot_junction[slot] for slot in bits(cluster)}
        count = 0
        for j in sorted(inside):
            for k in self._arms[j]:
                edge = view.block.edges[k]
                start = edge.start if edge.end == j else edge.end
                if start in inside:
                    continue
                for cut in self._walk([k], [j], inside, {}, 0):
                    count += 1
                    if count > _PATHS:
                        raise TooBentError
                    if cut.edges[0] <= cut.edges[-1]:
                        yield cut

    def _walk(
        self, edges: list[int], junctions: list[int], inside: set[int], turned: dict[int, int], set_in: int
    ) -> Iterator[BentCut]:
        """Carry a path on from its last junction; `turned` counts the corners in each locked part."""
        block = self.graph.view.block
        at = junctions[-1]
        if at not in inside:
            total = sum(turned.values())
            if total:
                yield BentCut(tuple(edges), tuple(junctions[:-1]), (total, set_in, max(0, total - FREE)))
            return
        onward = self._onward.get((edges[-1], at))
        home = self._home.get(at)
        spare = home is not None and turned.get(home, 0) < self.locked[home].merit.hard_corners
        for k in self._arms[at]:
            if k == edges[-1] or (k != onward and not spare):
                continue
            after = block.edges[k].end if block.edges[k].start == at else block.edges[k].start
            if after in junctions:
                continue
            now, more = turned, set_in
            if k != onward and home is not None:
                now = turned | {home: turned.get(home, 0) + 1}
                # A corner is partial where one of its edges goes on in line, and set-in everywhere else.
                more += onward is None and (k, at) not in self._onward
            yield from self._walk([*edges, k], [*junctions, after], inside, now, more)

    # -- reading the answer ------------------------------------------------------------------------------------

    def chosen(self, clusters: Sequence[int]) -> tuple[list[tuple[int, ...]], list[Locked]]:
        """List the cuts for clusters, each after the ones it needs, and their locked parts."""
        cuts: list[tuple[int, ...]] = []
        locked: list[Locked] = []
        stack = list(reversed(clusters))
        while stack:
            cluster = stack.pop()
            best = self.best[cluster]
            if best.edges:
                cuts.append(best.edges)
                stack += reversed(best.below)
            else:
                runs, more = self.graph.chosen(self.graph.solved[cluster])
                cuts += [tuple(range(first, last + 1)) for first, last in runs]
                locked += more
        return cuts, locked

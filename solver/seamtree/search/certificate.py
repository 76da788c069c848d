"""The proof, checked again: lower bounds that anyone can follow in one pass.

The search leaves a number with every cluster that it needed: no order of it has fewer joins. Such numbers are
potentials. A number is right if the cluster has no unspanned junction and the number is 0; or crossings that share no
line are as many; or every cut leaves clusters whose numbers, and one for the cut, come to no less. All of that is
done here once more with plain sets and walks along the lines, apart from the code that searched.

Clusters that were swept are checked in arrays (see `seamtree.search.sweep.Sweep.check`).
"""

from __future__ import annotations

from collections.abc import Iterator

from seamtree.block.model import Block
from seamtree.errors import ProofError
from seamtree.search.parts import PartsGraph

Junctions = frozenset[int]


def check_certificate(graph: PartsGraph, joins: int) -> None:
    """Check that no order of a block that straight seams can sew has fewer joins.

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
    checker = _Checker(graph)
    whole = frozenset(range(len(graph.view.block.patches)))
    checker.require_part(whole, joins)
    checker.run()


class _Checker:
    """Follows the claims from the whole block down."""

    def __init__(self, graph: PartsGraph) -> None:
        self._graph = graph
        self._block = block = graph.view.block
        outline = block.boundary_junctions()
        self._around: dict[int, set[int]] = {j: set() for j in range(len(block.junctions)) if j not in outline}
        for p, patch in enumerate(block.patches):
            for j in patch.ring:
                if j in self._around:
                    self._around[j].add(p)
        self._spanned = _spanned(block)
        self._edges = {j: [] for j in self._around}  # type: dict[int, list[int]]
        for k in block.interior_edges:
            for j in (block.edges[k].start, block.edges[k].end):
                if j in self._around:
                    self._edges[j].append(k)
        self._line = {k: n for n, line in enumerate(block.lines) for k in range(line.first, line.stop)}
        self._claims: dict[Junctions, int] = {}
        self._part_claims: dict[frozenset[int], int] = {}
        self._waiting: list[Junctions | tuple[frozenset[int], int]] = []

    # -- claims ------------------------------------------------------------------------------------------------

    def require_part(self, patches: frozenset[int], joins: int) -> None:
        """Claim that a part takes so many joins at least."""
        if joins > self._part_claims.get(patches, 0):
            self._part_claims[patches] = joins
            self._waiting.append((patches, joins))

    def _require(self, cluster: Junctions, joins: int) -> None:
        if joins > self._claims.get(cluster, 0):
            self._claims[cluster] = joins
            self._waiting.append(cluster)

    def run(self) -> None:
        """Justify every claim that waits."""
        while self._waiting:
            claim = self._waiting.pop()
            if isinstance(claim, tuple):
                self._justify_part(*claim)
            else:
                self._justify(claim, self._claims[claim])

    def _justify_part(self, patches: frozenset[int], joins: int) -> None:
        inside = self._inside(patches)
        clusters = list(self._clusters(inside))
        numbers = [self._number(cluster) for cluster in clusters]
        if sum(numbers) >= joins:
            for cluster, number in zip(clusters, numbers, strict=True):
                self._require(cluster, number)
            return
        for run in self._part_cuts(patches, inside):
            self._require_sides(self._sides(patches, run), joins)

    def _justify(self, cluster: Junctions, joins: int) -> None:
        swept = self._graph.swept.get(self._slots(cluster))
        if swept is not None:
            if not swept.check() or swept.joins() < joins:
                raise ProofError("the values of a bundle of crossing lines do not prove its joins")
            return
        if joins <= self._separate_crossings(cluster):
            return
        if cluster <= self._spanned and self._peels(cluster):
            raise ProofError(f"a unit round {len(cluster)} junctions was claimed to need a join")
        cuts = list(self._cuts(cluster))
        safe = next((run for run in cuts if self._is_safe(run)), None)
        for run in [safe] if safe else cuts:
            self._justify_cut(cluster, run, joins)

    def _justify_cut(self, cluster: Junctions, run: tuple[int, ...], joins: int) -> None:
        rest = list(self._clusters(cluster - self._passed(run)))
        numbers = [self._number(c) for c in rest]
        if 1 + sum(numbers) < joins and not self._is_idle(cluster, run):
            patches = frozenset(p for j in cluster for p in self._around[j])
            self._require_sides(self._sides(patches, run), joins)
            return
        for c, number in zip(rest, numbers, strict=True):
            self._require(c, number)

    def _require_sides(self, sides: tuple[frozenset[int], frozenset[int]], joins: int) -> None:
        """Claim for both sides of a cut what the search knows of them; one more has to come to so many joins."""
        least = [self._part_number(side) for side in sides]
        if 1 + sum(least) < joins:
            raise ProofError(f"a cut leaves parts of {len(sides[0])} and {len(sides[1])} patches with too few joins")
        for side, number in zip(sides, least, strict=True):
            self.require_part(side, number)

    def _part_number(self, patches: frozenset[int]) -> int:
        known = self._graph.parts.get(self._mask(patches))
        if known is not None and known.exact:
            return known.joins
        return sum(map(self._number, self._clusters(self._inside(patches))))

    def _inside(self, patches: frozenset[int]) -> Junctions:
        return frozenset(j for j, around in self._around.items() if around <= patches)

    def _number(self, cluster: Junctions) -> int:
        slots = self._slots(cluster)
        solved = self._graph.solved.get(slots)
        return solved.joins if solved is not None and solved.exact else self._graph.low.get(slots, 0)

    def _slots(self, cluster: Junctions) -> int:
        total = 0
        for j in cluster:
            total |= self._graph.view.junction_slots[j]
        return total

    @staticmethod
    def _mask(patches: frozenset[int]) -> int:
        return sum(1 << p for p in patches)

    # -- plain geometry of the planar map ----------------------------------------------------------------------

    def _clusters(self, junctions: Junctions) -> Iterator[Junctions]:
        left = set(junctions)
        while left:
            found = {left.pop()}
            fresh = list(found)
            while fresh:
                for k in self._edges[fresh.pop()]:
                    for j in (self._block.edges[k].start, self._block.edges[k].end):
                        if j in left:
                            left.discard(j)
                            found.add(j)
                            fresh.append(j)
            yield frozenset(found)

    def _cuts(self, cluster: Junctions) -> Iterator[tuple[int, ...]]:
        """Walk along the lines and yield the full straight cuts through junctions of a cluster."""
        edges = self._block.edges
        for number in sorted({self._line[k] for j in cluster for k in self._edges[j]}):
            line = self._block.lines[number]
            run: list[int] = []
            for k in range(line.first, line.stop):
                if run or edges[k].start not in cluster:
                    run.append(k)
                if run and edges[k].end not in cluster:
                    if len(run) > 1 and k <= line.reach[run[0] - line.first]:
                        yield tuple(run)
                    run = []

    def _part_cuts(self, patches: frozenset[int], inside: Junctions) -> Iterator[tuple[int, ...]]:
        yield from self._cuts(inside)
        for k in self._block.interior_edges:
            edge = self._block.edges[k]
            if {edge.left, edge.right} <= patches and edge.start not in inside and edge.end not in inside:
                yield (k,)

    def _passed(self, run: tuple[int, ...]) -> Junctions:
        return frozenset(self._block.edges[k].end for k in run[:-1])

    def _sides(self, patches: frozenset[int], run: tuple[int, ...]) -> tuple[frozenset[int], frozenset[int]]:
        edges = self._block.edges
        barred = set(run)
        side = {edges[run[0]].left}
        fresh = list(side)
        while fresh:
            for k in self._block.patches[fresh.pop()].edges:
                if k not in barred:
                    for p in (edges[k].left, edges[k].right):
                        if p in patches and p not in side:
                            side.add(p)
                            fresh.append(p)
        return frozenset(side), patches - side

    def _is_safe(self, run: tuple[int, ...]) -> bool:
        """Tell whether no other line crosses a cut and no single patch spans it."""
        edges = self._block.edges
        crossed = any(len(self._inner_lines(j)) > 1 for j in self._passed(run))
        return not crossed and len({edges[k].left for k in run}) > 1 and len({edges[k].right for k in run}) > 1

    def _is_idle(self, cluster: Junctions, run: tuple[int, ...]) -> bool:
        """Tell whether a cut crosses just one other line, where lines only cross, and other cuts exist."""
        if any(j in self._spanned for j in cluster) or any(self._ends_at(j) for j in cluster):
            return False
        passed = self._passed(run)
        return len(passed) == 1 and all(len(self._edges[j]) == 4 for j in passed) and len(cluster) > 1

    def _inner_lines(self, junction: int) -> list[int]:
        """Return the edges after which a line goes on through a junction."""
        block = self._block
        return [k for k in self._edges[junction] if self._goes_on(k) and block.edges[k].end == junction]

    def _ends_at(self, junction: int) -> bool:
        return 2 * len(self._inner_lines(junction)) < len(self._edges[junction])

    def _goes_on(self, edge: int) -> bool:
        line = self._line[edge]
        return edge + 1 < self._block.lines[line].stop

    def _separate_crossings(self, cluster: Junctions) -> int:
        """Count the crossings of a cluster that the search says share no line, if that is true."""
        if any(j in self._spanned for j in cluster):
            return 0 if cluster <= self._spanned else 1
        taken: set[int] = set()
        witnesses = self._graph.apart.get(self._slots(cluster), ())
        for j in witnesses:
            stretches = {self._stretch(k, cluster) for k in self._inner_lines(j)}
            if j not in cluster or stretches & taken:
                raise ProofError("crossings that were said to share no line do share one")
            taken |= stretches
        return max(1, len(witnesses))

    def _stretch(self, edge: int, cluster: Junctions) -> int:
        """Return the first edge of the stretch of line inside a cluster that an edge belongs to."""
        first = self._block.lines[self._line[edge]].first
        while edge > first and self._block.edges[edge].start in cluster:
            edge -= 1
        return edge

    def _peels(self, cluster: Junctions) -> bool:
        """Tell whether the patches round a cluster can be peeled one by one."""
        left = {p for j in cluster for p in self._around[j]}
        peeled = True
        while peeled and len(left) > 1:
            peeled = False
            for p in sorted(left):
                if self._can_peel(p, left):
                    left.discard(p)
                    peeled = True
        return len(left) == 1

    def _can_peel(self, patch: int, left: set[int]) -> bool:
        edges = self._block.edges
        run = sorted(
            k
            for k in self._block.patches[patch].edges
            if edges[k].interior and {edges[k].left, edges[k].right} <= left
        )
        if not run or run[-1] - run[0] != len(run) - 1:
            return False
        line = self._block.lines[self._line[run[0]]]
        if run[-1] > line.reach[run[0] - line.first]:
            return False
        return all(self._around.get(edges[k].end, {-1}) <= left for k in run[:-1])


def _spanned(block: Block) -> frozenset[int]:
    """Return the junctions with a pair of edges in line that one patch spans."""
    spanned = set()
    for line in block.lines:
        for k in range(line.first, line.stop - 1):
            before, after = block.edges[k], block.edges[k + 1]
            if before.left == after.left or before.right == after.right:
                spanned.add(before.end)
    return frozenset(spanned)

"""The proof, checked again: lower bounds that anyone can follow in one pass.

The search leaves a number with every cluster that it needed: no order of it has fewer joins. Such numbers are
potentials. A number is right if the cluster has no unspanned junction and the number is 0; or crossings that share no
line are as many; or every cut leaves clusters whose numbers, and one for the cut, come to no less. All of that is
done here once more with plain sets (as bits) of junctions and patches and walks along the lines, apart from the code
that searched.

Clusters that were swept are checked in arrays (see `seamtree.search.sweep.Sweep.check`).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from seamtree.block.model import Block
from seamtree.errors import ProofError
from seamtree.search.parts import PartsGraph
from seamtree.search.view import bits, union

Junctions = int
"""Junctions inside the block, as a bit set."""

Patches = int
"""Patches, as a bit set."""


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
    checker.require_part((1 << len(graph.view.block.patches)) - 1, joins)
    checker.run()


class _Checker:
    """Follows the claims from the whole block down."""

    def __init__(self, graph: PartsGraph) -> None:
        self._graph = graph
        self._block = block = graph.view.block
        outline = block.boundary_junctions()
        # On the outline also a patch that there is not, so that no part has all patches round such a junction.
        self._around = [1 << len(block.patches) if j in outline else 0 for j in range(len(block.junctions))]
        for p, patch in enumerate(block.patches):
            for j in patch.ring:
                self._around[j] |= 1 << p
        self._inner = [j for j in range(len(block.junctions)) if j not in outline]
        self._line = [line for line in block.lines for _ in range(line.first, line.stop)]
        self._degree = [0] * len(block.junctions)
        self._linked = [0] * len(block.junctions)
        self._through: list[list[int]] = [[] for _ in block.junctions]
        self._beside: list[list[tuple[int, Patches]]] = [[] for _ in block.patches]
        for k, line in enumerate(self._line):
            edge = block.edges[k]
            self._beside[edge.left].append((k, 1 << edge.right))
            self._beside[edge.right].append((k, 1 << edge.left))
            self._degree[edge.start] += 1
            self._degree[edge.end] += 1
            self._linked[edge.start] |= 1 << edge.end
            self._linked[edge.end] |= 1 << edge.start
            if k + 1 < line.stop:
                self._through[edge.end].append(k)
        self._spanned = _spanned(block)
        self._ended = sum(1 << j for j in self._inner if 2 * len(self._through[j]) < self._degree[j])
        self._names: dict[Junctions, int] = {}
        self._claims: dict[Junctions, int] = {}
        self._part_claims: dict[Patches, int] = {}
        self._waiting: list[tuple[Junctions, None] | tuple[Patches, int]] = []

    # -- claims ------------------------------------------------------------------------------------------------

    def require_part(self, patches: Patches, joins: int) -> None:
        """Claim that a part takes so many joins at least."""
        if joins > self._part_claims.get(patches, 0):
            self._part_claims[patches] = joins
            self._waiting.append((patches, joins))

    def _require(self, cluster: Junctions, joins: int) -> None:
        if joins > self._claims.get(cluster, 0):
            self._claims[cluster] = joins
            self._waiting.append((cluster, None))

    def run(self) -> None:
        """Justify every claim that waits."""
        while self._waiting:
            claimed, joins = self._waiting.pop()
            if joins is None:
                self._justify(claimed, self._claims[claimed])
            else:
                self._justify_part(claimed, joins)

    def _justify_part(self, patches: Patches, joins: int) -> None:
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
        cuts = list(self._cuts(cluster))
        safe = next((run for run in cuts if self._is_safe(run)), None)
        if safe:  # sewn in one step in any order, and never by adding a single patch: no unit
            cuts = [safe]
        elif not cluster & ~self._spanned and self._peels(cluster):
            raise ProofError(f"a unit round {cluster.bit_count()} junctions was claimed to need a join")
        else:
            cuts = [run for run in cuts if not self._is_idle(cluster, run)] or cuts[:1]
        for run in cuts:
            self._justify_cut(cluster, run, joins)

    def _justify_cut(self, cluster: Junctions, run: range, joins: int) -> None:
        rest = cluster
        for j in self._passed(run):
            rest &= ~(1 << j)
        clusters = list(self._clusters(rest))
        numbers = [self._number(c) for c in clusters]
        if 1 + sum(numbers) < joins:
            self._require_sides(self._sides(self._patches_round(cluster), run), joins)
            return
        for c, number in zip(clusters, numbers, strict=True):
            self._require(c, number)

    def _require_sides(self, sides: tuple[Patches, Patches], joins: int) -> None:
        """Claim for both sides of a cut what the search knows of them; one more has to come to so many joins."""
        least = [self._part_number(side) for side in sides]
        if 1 + sum(least) < joins:
            one, other = map(int.bit_count, sides)
            raise ProofError(f"a cut leaves parts of {one} and {other} patches with too few joins")
        for side, number in zip(sides, least, strict=True):
            self.require_part(side, number)

    def _part_number(self, patches: Patches) -> int:
        known = self._graph.parts.get(patches)
        if known is not None and known.exact:
            return known.joins
        return sum(map(self._number, self._clusters(self._inside(patches))))

    def _number(self, cluster: Junctions) -> int:
        slots = self._slots(cluster)
        solved = self._graph.solved.get(slots)
        return solved.joins if solved is not None and solved.exact else self._graph.low.get(slots, 0)

    def _slots(self, cluster: Junctions) -> int:
        """Return the name under which the search keeps a cluster."""
        name = self._names.get(cluster)
        if name is None:
            name = self._names[cluster] = union(self._graph.view.junction_slots, cluster)
        return name

    # -- plain geometry of the planar map ----------------------------------------------------------------------

    def _inside(self, patches: Patches) -> Junctions:
        return sum(1 << j for j in self._inner if not self._around[j] & ~patches)

    def _patches_round(self, cluster: Junctions) -> Patches:
        return union(self._around, cluster)

    def _clusters(self, junctions: Junctions) -> Iterator[Junctions]:
        left = junctions
        while left:
            found = fresh = left & -left
            while fresh:
                fresh = union(self._linked, fresh) & left & ~found
                found |= fresh
            left ^= found
            yield found

    def _cuts(self, cluster: Junctions) -> Iterator[range]:
        """Walk along the lines that enter a cluster and yield the full straight cuts through junctions of it."""
        edges = self._block.edges
        for first in sorted(k for j in bits(cluster) for k in self._through[j] if not cluster >> edges[k].start & 1):
            line = self._line[first]
            last = first
            while last < line.stop and cluster >> edges[last].end & 1:
                last += 1
            if last <= line.reach[first - line.first]:
                yield range(first, last + 1)

    def _part_cuts(self, patches: Patches, inside: Junctions) -> Iterator[range]:
        yield from self._cuts(inside)
        for k in self._block.interior_edges:
            edge = self._block.edges[k]
            if patches >> edge.left & patches >> edge.right & ~(inside >> edge.start | inside >> edge.end) & 1:
                yield range(k, k + 1)

    def _passed(self, run: range) -> Iterator[int]:
        """Yield the junctions that a cut passes."""
        return (self._block.edges[k].end for k in run[:-1])

    def _sides(self, patches: Patches, run: range) -> tuple[Patches, Patches]:
        side = fresh = 1 << self._block.edges[run[0]].left
        while fresh:
            reached = 0
            for p in bits(fresh):
                for k, other in self._beside[p]:
                    if k not in run:
                        reached |= other
            fresh = reached & patches & ~side
            side |= fresh
        return side, patches & ~side

    def _is_safe(self, run: range) -> bool:
        """Tell whether no other line crosses a cut and no single patch spans it."""
        edges = self._block.edges
        crossed = any(len(self._through[j]) > 1 for j in self._passed(run))
        return not crossed and len({edges[k].left for k in run}) > 1 and len({edges[k].right for k in run}) > 1

    def _is_idle(self, cluster: Junctions, run: range) -> bool:
        """Tell whether a cut crosses just one other line, where lines only cross: others are as good."""
        if cluster & (self._spanned | self._ended):
            return False
        return len(run) == 2 and all(self._degree[j] == 4 for j in self._passed(run)) and cluster.bit_count() > 1

    def _separate_crossings(self, cluster: Junctions) -> int:
        """Count the crossings of a cluster that the search says share no line, if that is true."""
        if not cluster & ~self._spanned:
            return 0
        taken: set[int] = set()
        witnesses = self._graph.apart.get(self._slots(cluster), ())
        for j in witnesses:
            stretches = {self._stretch(k, cluster) for k in self._through[j]}
            if not (cluster & ~self._spanned) >> j & 1 or stretches & taken:
                raise ProofError("crossings that were said to share no line do share one, or are spanned by a patch")
            taken |= stretches
        return max(1, len(witnesses))

    def _stretch(self, edge: int, cluster: Junctions) -> int:
        """Return the first edge of the stretch of line inside a cluster that an edge belongs to."""
        first = self._line[edge].first
        while edge > first and cluster >> self._block.edges[edge].start & 1:
            edge -= 1
        return edge

    def _peels(self, cluster: Junctions) -> bool:
        """Tell whether the patches round a cluster can be peeled one by one."""
        left = waiting = self._patches_round(cluster)
        while waiting:
            p = waiting.bit_length() - 1
            waiting ^= 1 << p
            run = [k for k, other in self._beside[p] if left & other]
            if self._is_straight(run, left):
                left ^= 1 << p
                for k in run:
                    edge = self._block.edges[k]
                    waiting |= 1 << (edge.left if edge.right == p else edge.right)
        return not left & (left - 1)

    def _is_straight(self, run: Sequence[int], left: Patches) -> bool:
        """Tell whether some edges are one straight stretch with nothing but the patches that are left beside it."""
        if not run or run[-1] - run[0] != len(run) - 1:
            return False
        line = self._line[run[0]]
        if run[-1] > line.reach[run[0] - line.first]:
            return False
        return not any(self._around[self._block.edges[k].end] & ~left for k in run[:-1])


def _spanned(block: Block) -> Junctions:
    """Return the junctions with a pair of edges in line that one patch spans."""
    spanned = 0
    for line in block.lines:
        for k in range(line.first, line.stop - 1):
            before, after = block.edges[k], block.edges[k + 1]
            if before.left == after.left or before.right == after.right:
                spanned |= 1 << before.end
    return spanned

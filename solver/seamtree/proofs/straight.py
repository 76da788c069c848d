"""Joins of straight orders: numbers that follow from each other over every cut.

A number is right for a cluster of junctions if the cluster has no unspanned junction and the number is 0; or
crossings that share no line are as many; or every cut leaves clusters whose numbers, and one for the cut, come to
no less. (A safe cut may come first, and an idle one need not: where lines only cross, a cut that crosses just one
other line parts the rest into two sides that never meet again, so giving their crossing to the other line costs no
join.) A number is right for a part if those of its clusters come to as many, or every cut of the part leaves sides
whose numbers do.

Only numbers that others rest on are looked up, from what is claimed down, so that what was looked up is the whole
claim.
"""

from __future__ import annotations

from typing import Protocol

from seamtree.errors import ProofError
from seamtree.proofs.claims import Swept
from seamtree.proofs.planar import Junctions, Patches, Planar
from seamtree.proofs.swept import check_swept


class Numbers(Protocol):
    """What is claimed of clusters and parts."""

    def cluster(self, cluster: Junctions) -> int:
        """Return the joins of a cluster."""

    def part(self, patches: Patches) -> int | None:
        """Return the joins of a part where its clusters do not come to as many."""

    def apart(self, cluster: Junctions) -> tuple[int, ...]:
        """Return crossings of a cluster that share no line."""

    def swept(self, cluster: Junctions) -> Swept | None:
        """Return the numbers of all parts of a bundle of crossing lines."""


class StraightChecker:
    """Follows claims from a part down.

    Parameters
    ----------
    planar
        The block.
    numbers
        What is claimed.

    Attributes
    ----------
    clusters, parts, apart, swept
        The numbers above 0 that the claims rest on, with what they follow from.
    """

    def __init__(self, planar: Planar, numbers: Numbers) -> None:
        self._planar = planar
        self._numbers = numbers
        self.clusters: dict[Junctions, int] = {}
        self.parts: dict[Patches, int] = {}
        self.apart: dict[Junctions, tuple[int, ...]] = {}
        self.swept: dict[Junctions, Swept] = {}
        self._waiting: list[tuple[Junctions, None] | tuple[Patches, int]] = []

    def check(self, patches: Patches, joins: int) -> None:
        """Check that no straight order of a part has fewer joins.

        Raises
        ------
        ProofError
            If a claim does not follow.
        """
        self._require_part(patches, joins)
        while self._waiting:
            claimed, joins_of_part = self._waiting.pop()
            if joins_of_part is None:
                self._justify(claimed, self.clusters[claimed])
            else:
                self._justify_part(claimed, joins_of_part)

    # What is known to be asked for already is not justified again; it would come to the same.

    def _require_part(self, patches: Patches, joins: int) -> None:
        if joins > self.parts.get(patches, 0):
            self.parts[patches] = joins
            self._waiting.append((patches, joins))

    def _require(self, cluster: Junctions, joins: int) -> None:
        if joins > self.clusters.get(cluster, 0):
            self.clusters[cluster] = joins
            self._waiting.append((cluster, None))

    def _justify_part(self, patches: Patches, joins: int) -> None:
        inside = self._planar.inside(patches)
        clusters = list(self._planar.clusters(inside))
        numbers = [self._numbers.cluster(cluster) for cluster in clusters]
        if sum(numbers) >= joins:
            for cluster, number in zip(clusters, numbers, strict=True):
                self._require(cluster, number)
            return
        if self._planar.peels(patches):
            raise ProofError(f"a unit of {patches.bit_count()} patches was claimed to need a join")
        for run in self._planar.part_cuts(patches, inside):
            self._require_sides(self._planar.cut_sides(patches, run), joins)

    def _justify(self, cluster: Junctions, joins: int) -> None:
        swept = self._numbers.swept(cluster)
        if swept is not None:
            if check_swept(self._planar, cluster, swept) < joins:
                raise ProofError("the numbers of a bundle of crossing lines come to fewer joins than are claimed")
            self.swept[cluster] = swept
            return
        if joins <= self._separate_crossings(cluster):
            return
        cuts = list(self._planar.cuts(cluster))
        safe = next((run for run in cuts if self._planar.is_safe(run)), None)
        if safe:
            cuts = [safe]
        elif not cluster & ~self._planar.spanned and self._planar.peels(self._planar.patches_round(cluster)):
            raise ProofError(f"a unit round {cluster.bit_count()} junctions was claimed to need a join")
        else:
            cuts = [run for run in cuts if not self._is_idle(cluster, run)]
        for run in cuts:
            self._justify_cut(cluster, run, joins)

    def _justify_cut(self, cluster: Junctions, run: range, joins: int) -> None:
        rest = cluster
        for j in self._planar.passed(run):
            rest &= ~(1 << j)
        clusters = list(self._planar.clusters(rest))
        numbers = [self._numbers.cluster(c) for c in clusters]
        if 1 + sum(numbers) < joins:  # numbers of whole parts may come to more; where either do, both are right
            self._require_sides(self._planar.cut_sides(self._planar.patches_round(cluster), run), joins)
            return
        for c, number in zip(clusters, numbers, strict=True):
            self._require(c, number)

    def _require_sides(self, sides: tuple[Patches, Patches], joins: int) -> None:
        """Claim for both sides of a cut what is known of them; one more has to come to so many joins."""
        least = [self._part_number(side) for side in sides]
        if 1 + sum(least) < joins:
            one, other = map(int.bit_count, sides)
            raise ProofError(f"a cut leaves parts of {one} and {other} patches with too few joins")
        for side, number in zip(sides, least, strict=True):
            self._require_part(side, number)

    def _part_number(self, patches: Patches) -> int:
        known = self._numbers.part(patches)
        if known is not None:
            return known
        return sum(map(self._numbers.cluster, self._planar.clusters(self._planar.inside(patches))))

    def _is_idle(self, cluster: Junctions, run: range) -> bool:
        """Tell whether a cut crosses just one other line, where lines only cross: others are as good."""
        if cluster & (self._planar.spanned | self._planar.ended):
            return False
        crossing = all(len(self._planar.arms[j]) == 4 for j in self._planar.passed(run))
        return len(run) == 2 and crossing and cluster.bit_count() > 1

    def _separate_crossings(self, cluster: Junctions) -> int:
        """Count the crossings of a cluster that are said to share no line, if that is true."""
        if not cluster & ~self._planar.spanned:
            return 0
        taken: set[int] = set()
        witnesses = self._numbers.apart(cluster)
        for j in witnesses:
            stretches = {self._stretch(k, cluster) for k in self._planar.through[j]}
            if not (cluster & ~self._planar.spanned) >> j & 1:
                raise ProofError("a crossing that was said to need a join is spanned by a patch, or lies elsewhere")
            if stretches & taken:
                raise ProofError("crossings that were said to share no line do share one")
            taken |= stretches
        if witnesses:
            self.apart[cluster] = witnesses
        return max(1, len(witnesses))

    def _stretch(self, edge: int, cluster: Junctions) -> int:
        """Return the first edge of the stretch of line inside a cluster that an edge belongs to."""
        first = self._planar.line[edge].first
        while edge > first and cluster >> self._planar.block.edges[edge].start & 1:
            edge -= 1
        return edge

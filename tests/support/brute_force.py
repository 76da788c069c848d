"""Exhaustive search over all binary sewing orders of a small block.

Written as the definitions read, with sets of patches and nothing else, so that it can serve as the yardstick for
the real search: every way to put two connected parts together is tried, every junction is looked at when the last
cloth around it closes, and nothing is pruned. Good for about ten patches.
"""

from __future__ import annotations

import math
from functools import cache
from itertools import combinations, product

import numpy as np

from seamtree.block.model import Block
from seamtree.geometry.straight import is_straight


class BruteForce:
    """All sewing orders of a set of patches of a block."""

    def __init__(self, block: Block, patches=None, largest=None):
        self.block = block
        self.largest = largest
        self.patches = frozenset(range(len(block.patches)) if patches is None else patches)
        self.sides = {
            k: frozenset((e.left, e.right))
            for k, e in enumerate(block.edges)
            if e.left in self.patches and e.right in self.patches
        }
        self.at = {}
        for k, e in enumerate(block.edges):
            for j in (e.start, e.end):
                self.at.setdefault(j, []).append(k)
        self.inner = {j for j, here in self.at.items() if all(k in self.sides for k in here)}
        self.line_of = {k: n for n, line in enumerate(block.lines) for k in range(line.first, line.stop)}

    # -- parts ---------------------------------------------------------------------------------------

    def connected(self, group: frozenset[int]) -> bool:
        seen = {min(group)}
        while True:
            more = {p for s in self.sides.values() if s <= group and s & seen for p in s} - seen
            if not more:
                return seen == group
            seen |= more

    def splits(self, group: frozenset[int]):
        first, *rest = sorted(group)
        for size in range(len(rest)):
            for extra in combinations(rest, size):
                one = frozenset((first, *extra))
                other = group - one
                if self.connected(one) and self.connected(other):
                    yield one, other

    def holds(self, group: frozenset[int]) -> bool:
        """Whether a unit is no larger than the largest foundation, at one of some thousand angles."""
        if self.largest is None:
            return True
        at = np.array([self.block.junctions[j] for p in group for j in self.block.patches[p].ring]) @ (1, 1j)
        turned = np.multiply.outer(np.exp(1j * np.linspace(0, math.pi, 4001)), at)
        across, along = np.ptp(turned.real, axis=1), np.ptp(turned.imag, axis=1)
        return bool(((across <= self.largest[0] + 1e-4) & (along <= self.largest[1] + 1e-4)).any())

    # -- one step ------------------------------------------------------------------------------------

    def seams(self, one: frozenset[int], other: frozenset[int]) -> list[tuple[list[int], list[int]]]:
        """The seams of a step: edges in turn, and the junctions between them."""
        sewn = {k for k, s in self.sides.items() if s & one and s & other}
        whole = one | other
        link = {}
        for j in self.inner:
            here = [k for k in self.at[j] if k in sewn]
            if here and all(self.sides[k] <= whole for k in self.at[j]):
                assert len(here) == 2
                link[j] = here
        seams = []
        left = set(sewn)
        while left:
            ends = [k for k in left if sum(k in pair for pair in link.values()) < 2]
            at = min(ends or left)
            edges, junctions = [at], []
            left.discard(at)
            while True:
                onward = [
                    (j, k)
                    for j, pair in sorted(link.items())
                    if edges[-1] in pair and j not in junctions
                    for k in pair
                    if k != edges[-1]
                ]
                if not onward:
                    break
                j, k = onward[0]
                junctions.append(j)
                if k == edges[0]:
                    break
                edges.append(k)
                left.discard(k)
            seams.append((edges, junctions))
        return seams

    def kind(self, a: int, b: int, j: int) -> str:
        edges = self.block.edges
        lower, upper = sorted((a, b))
        if upper == lower + 1 and self.line_of[a] == self.line_of[b] and edges[lower].end == j == edges[upper].start:
            return "line"
        if edges[a].curve is not None and edges[a].curve == edges[b].curve:
            return "curve"
        for k in (a, b):
            for n in self.at[j]:
                lower, upper = sorted((k, n))
                if n not in (a, b) and upper == lower + 1 and self.line_of[n] == self.line_of[k]:
                    return "partial"
        return "set-in"

    def corners(self, edges: list[int], junctions: list[int]) -> tuple[int, int]:  # noqa: C901
        """Fewest hard corners of a seam, and the fewest set-in ones among them."""
        ring = len(edges) == len(junctions)
        following = edges[1:] + edges[:1]
        kinds = [self.kind(edges[i], following[i], j) for i, j in enumerate(junctions)]
        fixed = sum(k in ("partial", "set-in") for k in kinds)
        fixed_set_in = kinds.count("set-in")
        same = [
            self.block.edges[edges[i]].curve is not None
            and self.block.edges[edges[i]].curve == self.block.edges[following[i]].curve
            and kinds[i] in ("line", "curve")
            for i in range(len(junctions))
        ]
        # Runs of curve vertices, as sets of positions.
        runs, previous = [], False
        for i, flag in enumerate(same):
            if flag and previous:
                runs[-1].add(i)
            elif flag:
                runs.append({i})
            previous = flag
        if ring and len(runs) > 1 and same[0] and same[-1]:
            runs[0] |= runs.pop()
        # Stretches in line, and those of them that are not straight.
        bad = []
        count = len(edges)
        for start in range(count):
            for length in range(1, count if not ring else count + 1):
                span = [(start + d) % count for d in range(length)]
                if not ring and start + length > count - 1:
                    break
                if any(i >= len(kinds) or kinds[i] != "line" for i in span):
                    break
                if not self.straight([edges[(start + d) % count] for d in range(length + 1)]):
                    bad.append(set(span))
        must = [run for run in runs if any(kinds[i] == "curve" for i in run) or any(b <= run for b in bad)]
        eased = set().union(*must) if must else set()
        open_bad = [b for b in bad if not b & eased]
        choices = [({i}, 1) for i, k in enumerate(kinds) if k == "line" and not same[i]]
        choices += [(run, 0) for run in runs if run not in must]
        choices = [c for c in choices if any(c[0] & b for b in open_bad)]
        for size in range(len(choices) + 1):
            costs = [
                sum(c[1] for c in pick)
                for pick in combinations(choices, size)
                if all(any(c[0] & b for c in pick) for b in open_bad)
            ]
            if costs:
                return fixed + len(must) + size, fixed_set_in + min(costs)
        raise AssertionError

    def straight(self, edges: list[int]) -> bool:
        first, second = self.block.edges[edges[0]], self.block.edges[edges[1]]
        forward = first.end in (second.start, second.end)
        at = first.start if forward else first.end
        run = [at]
        for k in edges:
            e = self.block.edges[k]
            at = e.end if e.start == at else e.start
            run.append(at)
        return is_straight([self.block.junctions[j] for j in run], tolerance=self.block.tolerance)

    # -- all orders ----------------------------------------------------------------------------------

    def best(self) -> tuple[int, int, int, int]:
        """Least (hard corners, set-in, excess pivots, units) over all sewing orders."""

        @cache
        def costs(group: frozenset[int]) -> tuple[tuple[int, int, int, int], bool]:
            # A unit costs no corners and is one unit, which no other order of the same patches beats.
            if len(group) == 1:
                return (0, 0, 0, 1), True
            found = []
            for one, other in self.splits(group):
                (cost_one, unit_one), (cost_other, unit_other) = costs(one), costs(other)
                seams = self.seams(one, other)
                if len(seams) > 1 or len(seams[0][0]) == len(seams[0][1]):
                    continue  # a step sews one unbroken seam; no part has a hole
                counted = [self.corners(*seam) for seam in seams]
                straight = counted[0][0] == 0
                grows = straight and unit_one and unit_other and 1 in (len(one), len(other)) and self.holds(group)
                hard = sum(c[0] for c in counted)
                cost = (
                    cost_one[0] + cost_other[0] + hard,
                    cost_one[1] + cost_other[1] + sum(c[1] for c in counted),
                    cost_one[2] + cost_other[2] + sum(max(0, c[0] - 2) for c in counted),
                    1 if grows else cost_one[3] + cost_other[3],
                )
                found.append((cost, not grows))
            if not found:  # a part with a hole
                return (10**6,) * 4, False
            cost, joined = min(found)
            return cost, not joined

        return costs(self.patches)[0]

    def best_plans(self) -> tuple[tuple[int, int, int, int, int], set[tuple[tuple[frozenset[int], ...], float]]]:
        """Least (hard corners, set-in, excess pivots, units, matched points), and the plans that reach it.

        A plan is given by its units and the total length of its joins. What adds up over the joins may be compared
        part by part; units and lengths are kept for all plans that are level.
        """

        @cache
        def plans(group: frozenset[int]):
            if self.is_unit(group):
                return (0, 0, 0, 1, 0), {((group,), 0.0)}
            best, level = (10**6,) * 5, set()
            for one, other in self.splits(group):
                seams = self.seams(one, other)
                if len(seams) > 1 or len(seams[0][0]) == len(seams[0][1]):
                    continue
                (edges, junctions), (hard, set_in) = seams[0], self.corners(*seams[0])
                (cost_one, level_one), (cost_other, level_other) = plans(one), plans(other)
                own = (hard, set_in, max(0, hard - 2), 0, sum(self.matched(j, one, other) for j in junctions))
                cost = tuple(map(sum, zip(own, cost_one, cost_other, strict=True)))
                if cost > best:
                    continue
                if cost < best:
                    best, level = cost, set()
                length = sum(self.block.edge_length(k) for k in edges)
                level |= {
                    (tuple(sorted(a + b, key=sorted)), round(length + m + n, 6))
                    for (a, m), (b, n) in product(level_one, level_other)
                }
            return best, level

        return plans(self.patches)

    @cache  # noqa: B019 - lives as long as its test
    def is_unit(self, group: frozenset[int]) -> bool:
        """Whether some order adds patch after patch by straight seams."""
        return len(group) == 1 or any(self.grows(group - {p}, p) and self.is_unit(group - {p}) for p in group)

    def grows(self, group: frozenset[int], p: int) -> bool:
        if not self.connected(group):
            return False
        seams = self.seams(group, frozenset([p]))
        return len(seams) == 1 and len(seams[0][0]) > len(seams[0][1]) and self.corners(*seams[0])[0] == 0

    def matched(self, j: int, one: frozenset[int], other: frozenset[int]) -> bool:
        """Whether seams arrive at a junction from both sides of a join."""
        return all(any(self.sides[k] <= part for k in self.at[j]) for part in (one, other))


def brute_force(block: Block, patches=None, largest=None) -> tuple[int, int, int, int]:
    """Least (hard corners, set-in, excess pivots, units) of a block, or of some of its patches, over all orders."""
    return BruteForce(block, patches, largest).best()

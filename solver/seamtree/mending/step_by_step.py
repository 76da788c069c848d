"""What added seams buy, one seam after the other: for drawings too large for the model, and for a first answer.

Every seam that stops may be carried on to the next seam it meets, which is one patch more. All of these are tried,
and the one that saves most units is taken; what others save is looked at again only while it may still be the most,
for a seam hardly ever saves more when others are there already. Where no single seam saves units any more, pairs are
tried, the nearest to each other first. With one patch more every way is tried, so what is said of that is proven.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import combinations

from seamtree.errors import Point
from seamtree.mending.arrangement import Arrangement
from seamtree.mending.choose import Candidate, Chooser
from seamtree.mending.locked import locked_parts
from seamtree.mending.redraw import redraw
from seamtree.mending.seams import Choice
from seamtree.search.find import find_order
from seamtree.search.tree import count_units

Way = tuple[int, bool]
"""A chain of an arrangement, and whether it is carried on from its first end."""

_TRIALS_PER_SECOND = 150
"""How many drawings tried count as a second; counted, not clocked."""

_SIZE = 60
"""A drawing with so many patches takes twice as long to try as a small one."""

_ORDER_LIMIT = 0.5
"""Seconds of effort for the units of a drawing that is tried."""


@dataclass(slots=True)
class Steps:
    """Adds one seam after the other.

    Parameters
    ----------
    chooser
        Of a drawing that straight seams can sew, with seams that are carried on through few patches.
    units
        How many units the drawing takes.
    trials
        How many drawings may still be tried.
    edges
        What was added so far.
    refused, known
        What cannot be added, and the units of what can.
    certain
        Whether all of these are proven.
    singles
        The fewest units with one patch more, once every way was tried.
    """

    chooser: Chooser
    units: int
    trials: int
    edges: frozenset[int] = frozenset()
    refused: set[frozenset[int]] = field(default_factory=set)
    known: dict[frozenset[int], int] = field(default_factory=dict)
    certain: bool = True
    singles: int | None = None

    @classmethod
    def of(cls, chooser: Chooser, units: int, *, time_limit: float) -> Steps:
        """Return the steps for a drawing, with effort in seconds of an ordinary machine."""
        share = _SIZE / (_SIZE + len(chooser.sketch.areas))
        return cls(chooser, units, int(time_limit * _TRIALS_PER_SECOND * share))

    def rungs(self) -> Iterator[Candidate]:
        """Yield drawings with fewer and fewer units; `singles` is then the fewest that one patch more can do."""
        gains = {way: self._gain(self._more(way)) for way in self._ways()}
        if self.trials > 0 and self.certain:
            self.singles = self.units - max(gains.values(), default=0)
        while self.trials > 0 and self.units > 1:
            edges = self._best_single(gains) or self._best_pair(gains)
            if edges is None:
                return
            found = self.chooser.candidate(Choice(edges, self._patches(edges), 0, False, 0))
            if found is None or found.plan.counts.hard_corners or found.plan.counts.units >= self.units:
                self.refused.add(edges)
                continue
            self.edges, self.units = edges, found.plan.counts.units
            gains |= {way: 1 for way in self._ways() if way not in gains}
            yield found

    def _ways(self) -> list[Way]:
        chains = self._arrangement.chains
        return [(n, first) for n, c in enumerate(chains) for first in (True, False) if (c.first if first else c.last)]

    @property
    def _arrangement(self) -> Arrangement:
        return self.chooser.parts.arrangement

    def _more(self, way: Way, edges: frozenset[int] | None = None) -> frozenset[int] | None:
        """Return the edges that carry a seam on to the next one that is there; None if it is carried on already."""
        there = self.edges if edges is None else edges
        chain = self._arrangement.chains[way[0]]
        run = chain.edges if way[1] else chain.edges[::-1]
        added: list[int] = []
        for n, k in enumerate(run):
            if k in self.chooser.absent:
                return None
            if k in there:
                if added:
                    return None
                continue
            added.append(k)
            end = self._end(run, n)
            if end in self._arrangement.on_outline or self._is_reached(end, there, set(run)):
                return there | set(added)
        return there | set(added) if added else None

    def _end(self, run: tuple[int, ...], n: int) -> int:
        """Return the place at which an edge of a chain ends."""
        ends = self._arrangement.edges
        if n + 1 < len(run):
            return next(iter(set(ends[run[n]]) & set(ends[run[n + 1]])))
        if n:
            return next(v for v in ends[run[n]] if v not in ends[run[n - 1]])
        a, b = ends[run[n]]
        return b if self._is_reached(a, self.edges, set(run)) else a

    def _is_reached(self, v: int, there: frozenset[int], own: set[int]) -> bool:
        drawn = self._arrangement.drawn
        return any((drawn[k] or k in there) and k not in own for k in self._around(v))

    def _around(self, v: int) -> list[int]:
        if not self.chooser.around:
            self.chooser.around.update(enumerate(self._arrangement.around()))
        return self.chooser.around[v]

    def _gain(self, edges: frozenset[int] | None) -> int:
        """Return how many units a drawing saves; a negative number where it cannot be."""
        if edges is None or edges in self.refused:
            return -1
        if edges not in self.known:
            if self.trials <= 0:
                return -1
            self.trials -= 1
            block = redraw(self._arrangement, edges)
            if block is None or locked_parts(block):
                self.refused.add(edges)
                return -1
            found = find_order(block, time_limit=_ORDER_LIMIT)
            self.certain &= found.proven
            self.known[edges] = count_units(found.order)
        return self.units - self.known[edges]

    def _best_single(self, gains: dict[Way, int]) -> frozenset[int] | None:
        """Return the drawing with the seam that saves most units, None if none saves any."""
        fresh: dict[Way, frozenset[int]] = {}
        while self.trials > 0:
            way = max(gains, key=lambda w: (gains[w], w in fresh, -w[0], w[1]), default=None)
            if way is None or gains[way] < 1:
                return None
            if way in fresh:
                return fresh[way]
            edges = self._more(way)
            gains[way] = self._gain(edges)
            if edges is not None:
                fresh[way] = edges
        return None

    def _best_pair(self, gains: dict[Way, int]) -> frozenset[int] | None:
        """Return the drawing with the first two seams that save units together, the nearest to each other first."""
        middles: dict[Way, Point] = {}
        for way in gains:
            edges = self._more(way)
            if edges is not None and edges not in self.refused:
                middles[way] = self._middle(edges - self.edges)
        pairs = sorted(
            (round(math.dist(middles[a], middles[b]), 6), a, b) for a, b in combinations(sorted(middles), 2)
        )
        for _, first, second in pairs:
            if self._gain(edges := self._more(second, self._more(first))) > 0:
                return edges
            if self.trials <= 0:
                return None
        return None

    def _middle(self, edges: frozenset[int]) -> Point:
        places = [self._arrangement.points[v] for k in sorted(edges) for v in self._arrangement.edges[k]]
        return sum(x for x, _ in places) / len(places), sum(y for _, y in places) / len(places)

    def _patches(self, edges: frozenset[int]) -> int:
        block = redraw(self._arrangement, edges)
        return 0 if block is None else len(block.patches) - len(self.chooser.sketch.areas)

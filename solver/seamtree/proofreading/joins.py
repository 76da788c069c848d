"""Joining printed units by straight seams.

Seen from above, the block is cut at full straight cuts that part no unit, until single units are left. Which cut
comes first does not matter: a cut that is there stays there, or falls into cuts of the parts, when another one is
made. So one greedy pass decides whether straight seams join the units.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

from seamtree.errors import Finding, Point
from seamtree.proofreading.labels import place, shortened
from seamtree.proofreading.outcome import PrintedJoin
from seamtree.search.peel import interior_edges
from seamtree.search.pieces import pieces
from seamtree.search.view import SeamView, bits

_CORNERS_TOLD = 3
"""As many corners of one locked group of units are told, each in a sentence."""


def join_units(view: SeamView, units: Mapping[str, Sequence[int]]) -> tuple[tuple[PrintedJoin, ...], list[Finding]]:
    """Join units by straight seams.

    Parameters
    ----------
    view
        Bit sets of the block.
    units
        The patches of every unit; each hangs together by edges, and all patches of the block are in one.

    Returns
    -------
    tuple
        The joins in sewing order as far as there are any, and a finding for every set of units that straight seams
        cannot join.
    """
    table = _Units(view, {name: sum(1 << p for p in patches) for name, patches in units.items()})
    joins: list[PrintedJoin] = []
    locked: list[Finding] = []
    stack = [view.all_patches]
    while stack:
        part = stack.pop()
        names = table.names(part)
        if len(names) == 1:
            continue
        cut = table.find_cut(part)
        if cut is None:
            locked.append(table.why_locked(part))
            continue
        path, (one, other) = cut
        first, second = sorted((table.names(one), table.names(other)), key=lambda side: _rank(side[0]))
        joins.append(PrintedJoin((first, second), path))
        stack += [one, other]
    return tuple(reversed(joins)), locked


def _rank(name: str) -> tuple[int, str]:
    return len(name), name


@dataclass(frozen=True, slots=True)
class _Stretch:
    """A run of seam on one line, from one place on the boundary of a part to the next."""

    edges: range
    straight: bool


class _Units:
    """The printed units as bit sets."""

    def __init__(self, view: SeamView, masks: Mapping[str, int]) -> None:
        self._view = view
        self._block = view.block
        self._masks = masks
        self._owner = {p: name for name, mask in masks.items() for p in bits(mask)}

    def names(self, part: int) -> tuple[str, ...]:
        """Return the units of a part, by name."""
        return tuple(sorted((name for name, mask in self._masks.items() if mask & part), key=_rank))

    # -- cuts ----------------------------------------------------------------------------------------------------

    def find_cut(self, part: int) -> tuple[tuple[int, ...], tuple[int, int]] | None:
        """Find a full straight cut of a part that parts no unit: its junctions in turn, and the two sides."""
        for stretch in self._through(part):
            sides = pieces(self._view, part, _mask(stretch)) if stretch.straight else []
            if len(sides) == 2 and all(self._parts(k, sides[0]) for k in stretch.edges):
                edges = self._block.edges
                path = (edges[stretch.edges[0]].start, *(edges[k].end for k in stretch.edges))
                return path, (sides[0], sides[1])
        return None

    def _parts(self, edge: int, side: int) -> bool:
        e = self._block.edges[edge]
        return (side >> e.left & 1) != (side >> e.right & 1)

    def _through(self, part: int) -> Iterator[_Stretch]:
        """Yield what runs between units on one line from the boundary of a part to its boundary."""
        seams = self._seams(part)
        for line in self._block.lines:
            first = None
            for k in range(line.first, line.stop):
                if not seams >> k & 1:
                    first = None
                    continue
                if self._is_open(self._block.edges[k].start, part):
                    first = k
                if first is not None and self._is_open(self._block.edges[k].end, part):
                    yield _Stretch(range(first, k + 1), line.reach[first - line.first] >= k)
                    first = None

    def _seams(self, part: int) -> int:
        """Return the edges of a part between its units."""
        edges = self._block.edges
        return sum(
            1 << k
            for k in bits(interior_edges(self._view, part))
            if self._owner[edges[k].left] != self._owner[edges[k].right]
        )

    def _is_open(self, junction: int, part: int) -> bool:
        """Tell whether a junction lies on the boundary of a part."""
        return bool(self._view.junction_patches[junction] & ~part)

    # -- why not -------------------------------------------------------------------------------------------------

    def why_locked(self, part: int) -> Finding:
        """Say why straight seams cannot join the units of a part."""
        names = self.names(part)
        told = list(self._corners(part))
        reasons = "; ".join(reason for reason, _ in told[:_CORNERS_TOLD])
        if len(told) > _CORNERS_TOLD:
            more = len(told) - _CORNERS_TOLD
            reasons += f"; and so at {more:,} more place{'s' * (more != 1)}"
        if not told:
            reasons = "no seam between them runs straight from edge to edge: each one ends on another"
        message = f"Straight seams cannot join units {shortened(names)}: {reasons}."
        patches = tuple(str(name) for name in names)
        return Finding("units-not-joined", message, told[0][1] if told else self._stop(part), patches)

    def _corners(self, part: int) -> Iterator[tuple[str, Point]]:
        """Yield the places inside a part where no seam between units can run on straight."""
        seams = self._seams(part)
        arms: dict[int, list[int]] = {}
        for k in bits(seams):
            for j in (self._block.edges[k].start, self._block.edges[k].end):
                if not self._is_open(j, part):
                    arms.setdefault(j, []).append(k)
        curves: set[int] = set()
        for j in sorted(arms):
            if any(self._block.in_line(a, b) for a, b in combinations(arms[j], 2)):
                continue
            curve = self._curve(arms[j])
            if curve is None or curve not in curves:
                yield self._corner(j, arms[j])
            if curve is not None:
                curves.add(curve)
        for stretch in self._through(part):
            if not stretch.straight:
                at = self._block.junctions[self._block.edges[stretch.edges[len(stretch.edges) // 2]].start]
                how = (
                    "bends more than cloth forgives at"
                    if self._curve(stretch.edges) is None
                    else "follows a curve through"
                )
                yield f"the seam between units {shortened(self._between(stretch.edges))} {how} {place(at)}", at

    def _corner(self, junction: int, arms: Sequence[int]) -> tuple[str, Point]:
        at = self._block.junctions[junction]
        units = shortened(self._between(arms))
        if self._curve(arms) is not None:
            return f"the seam between units {units} follows a curve through {place(at)}", at
        if len(arms) == 2:
            return f"the seam between units {units} has a corner at {place(at)}", at
        return f"{len(arms)} seams of units {units} meet at {place(at)}, no two of them in line", at

    def _curve(self, arms: Sequence[int]) -> int | None:
        """Return the drawn curve that edges are all chords of."""
        curves = {self._block.edges[k].curve for k in arms}
        return curves.pop() if len(curves) == 1 else None

    def _between(self, edges: Sequence[int]) -> tuple[str, ...]:
        sides = (self._block.edges[k] for k in edges)
        return tuple(sorted({self._owner[p] for e in sides for p in (e.left, e.right)}, key=_rank))

    def _stop(self, part: int) -> Point | None:
        """Return the first place inside a part where a seam between units ends on another."""
        for k in bits(self._seams(part)):
            for j in (self._block.edges[k].start, self._block.edges[k].end):
                if not self._is_open(j, part):
                    return self._block.junctions[j]
        return None


def _mask(stretch: _Stretch) -> int:
    return (1 << stretch.edges.stop) - (1 << stretch.edges.start)

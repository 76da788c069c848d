"""Units in printed order: the first step that cannot be sewn, and why."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from seamtree.block.model import Block
from seamtree.errors import Finding, Point
from seamtree.proofreading.labels import place, shortened
from seamtree.proofreading.outcome import Label, middle
from seamtree.search.peel import can_peel, interior_edges
from seamtree.search.pieces import pieces
from seamtree.search.view import SeamView, bits
from seamtree.words import capital

Run = list[int]
"""Edges of a patch that follow each other in one straight stretch."""


def first_failure(view: SeamView, labels: Mapping[int, Label], patches: Sequence[int]) -> Finding | None:
    """Find the first step of a unit that cannot be sewn.

    Parameters
    ----------
    view
        Bit sets of the block.
    labels
        Labels of the patches.
    patches
        The patches of the unit in sewing order.

    Returns
    -------
    Finding or None
        Which patch, where and why; None if the unit is a chain.
    """
    part = 0
    for p in patches:
        before, part = part, part | 1 << p
        if before and not can_peel(view, p, part, interior_edges(view, part)):
            return _Step(view, labels, p, before).failure()
    return None


def unit_pieces(view: SeamView, labels: Mapping[int, Label], title: str, patches: Sequence[int]) -> Finding | None:
    """Say so if the patches of a unit do not hang together by edges."""
    found = pieces(view, sum(1 << p for p in patches), 0)
    if len(found) == 1:
        return None
    groups = [[str(labels[p]) for p in patches if piece >> p & 1] for piece in found]
    groups.sort(key=len, reverse=True)
    message = f"{capital(title)} is in {len(found)} pieces that share no edge: " + "; ".join(
        shortened(group) for group in groups
    )
    smallest = next(p for p in patches if str(labels[p]) == groups[-1][0])
    return Finding("unit-apart", f"{message}.", middle(view.block, smallest), tuple(groups[-1]))


@dataclass(frozen=True, slots=True)
class _Step:
    """A patch that cannot be sewn onto the patches before it."""

    view: SeamView
    labels: Mapping[int, Label]
    patch: int
    before: int

    @property
    def block(self) -> Block:
        return self.view.block

    def failure(self) -> Finding:
        """Say why."""
        name = str(self.labels[self.patch])
        stretches = self._stretches()
        if not stretches:
            return self._apart(name)
        others = self._neighbours([k for stretch in stretches for run in stretch for k in run])
        names = shortened([str(self.labels[p]) for p in others])
        concerned = (name, *(str(self.labels[p]) for p in others))
        reason, at = self._reason(stretches)
        return Finding("step-not-sewn", f"{name} meets {names} {reason}.", at, concerned)

    def _apart(self, name: str) -> Finding:
        """Say that no edge is shared; perhaps a corner is."""
        for j in self.block.patches[self.patch].ring:
            touched = list(bits(self.view.junction_patches[j] & self.before))
            if touched:
                at = self.block.junctions[j]
                others = [str(self.labels[p]) for p in sorted(touched, key=lambda p: self.labels[p].number)]
                message = (
                    f"{name} touches {shortened(others)} only with a corner, at {place(at)}, and nothing else before."
                )
                return Finding("step-not-sewn", message, at, (name, *others))
        at = middle(self.block, self.patch)
        return Finding("step-not-sewn", f"{name} at {place(at)} touches nothing sewn before it.", at, (name,))

    def _reason(self, stretches: Sequence[Sequence[Run]]) -> tuple[str, Point]:
        middles = [self._middle([k for run in stretch for k in run]) for stretch in stretches]
        if len(stretches) > 1:
            lines = {self.block.line_of(run[0]) for stretch in stretches for run in stretch}
            how = f"along {len(stretches)} separate stretches" + (" of one line" if len(lines) == 1 else "")
            return f"{how}, at {'; '.join(map(place, middles))}", middles[1]
        (runs,) = stretches
        if self._is_curve(runs):
            return f"along a curve, through {place(middles[0])}", middles[0]
        if len(runs) == 1:
            return f"along a line that bends more than cloth forgives, at {place(middles[0])}", middles[0]
        turns = [(self._between(a[-1], b[0]), a[-1], b[0]) for a, b in pairwise(runs)]
        at = self.block.junctions[turns[0][0]]
        if all(self.block.in_line(a, b) for _, a, b in turns):
            return f"along a line that is broken at {place(at)}, where the patches there are not all sewn yet", at
        where = "; ".join(place(self.block.junctions[j]) for j, _, _ in turns[:4])
        if len(turns) == 1:
            return f"along two different lines, with a corner at {where}", at
        more = f" and {len(turns) - 4} more" if len(turns) > 4 else ""
        return f"along {len(runs)} different lines, with corners at {where}{more}", at

    def _is_curve(self, runs: Sequence[Run]) -> bool:
        """Tell whether edges are all chords of one drawn curve."""
        curves = {self.block.edges[k].curve for run in runs for k in run}
        return len(curves) == 1 and None not in curves

    def _stretches(self) -> list[list[Run]]:
        """Return the boundary with the patches before: unbroken stretches, each as its straight runs in turn."""
        around = self.block.patches[self.patch].edges
        met = [self._other(k) >= 0 and self.before >> self._other(k) & 1 == 1 for k in around]
        start = next((i for i, there in enumerate(met) if there and not met[i - 1]), 0)
        stretches: list[list[Run]] = []
        previous = None
        for i in range(start, start + len(around)):
            k = around[i % len(around)]
            if not met[i % len(around)]:
                previous = None
                continue
            if previous is None:
                stretches.append([[k]])
            elif self._unbroken(previous, k):
                stretches[-1][-1].append(k)
            else:
                stretches[-1].append([k])
            previous = k
        return stretches

    def _other(self, edge: int) -> int:
        e = self.block.edges[edge]
        return e.left if e.right == self.patch else e.right

    def _unbroken(self, a: int, b: int) -> bool:
        """Tell whether two edges are in line and nothing is missing where they meet."""
        around = self.view.junction_patches[self._between(a, b)]
        return self.block.in_line(a, b) and not around & ~(self.before | 1 << self.patch)

    def _between(self, a: int, b: int) -> int:
        """Return the junction where two edges that follow each other round the patch meet."""
        first, second = self.block.edges[a], self.block.edges[b]
        return min({first.start, first.end} & {second.start, second.end})

    def _middle(self, stretch: Sequence[int]) -> Point:
        edge = self.block.edges[stretch[len(stretch) // 2]]
        (ax, ay), (bx, by) = self.block.junctions[edge.start], self.block.junctions[edge.end]
        return (ax + bx) / 2, (ay + by) / 2

    def _neighbours(self, edges: Sequence[int]) -> list[int]:
        return sorted({self._other(k) for k in edges}, key=lambda p: self.labels[p].number)

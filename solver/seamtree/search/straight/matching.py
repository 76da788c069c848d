"""A crossing for every cut, none on a line of another: as many joins are needed at least."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from seamtree.search.nested import Nested, follow
from seamtree.search.view import SeamView, bits, runs_of


def one_crossing_each(view: SeamView, cluster: int, cuts: Sequence[int]) -> tuple[int, ...] | None:
    """Choose a crossing on every cut so that no line passes two of them.

    Parameters
    ----------
    view
        Bit sets of the block.
    cluster
        Slots of a cluster.
    cuts
        Slots of cuts of it that do not cross.

    Returns
    -------
    tuple of int or None
        The junctions, one for each cut: no single patch spans it, so it lies inside a join, and there are as many
        joins at least. None if no such choice is found.
    """
    run_at = {slot: n for n, run in enumerate(runs_of(cluster)) for slot in bits(run & ~view.ends)}
    free = cluster & ~view.tee
    lines_at = []
    for run in cuts:
        junctions = [view.slot_junction[slot] for slot in bits(run & free)]
        slots = {j: view.junction_slots[j] & ~view.ends for j in junctions}
        lines_at.append({j: {run_at[slot] for slot in bits(slots[j])} for j in junctions})
    matching = _Matching(lines_at)
    return matching.crossings() if all(follow(matching.place(cut, set())) for cut in range(len(cuts))) else None


class _Matching:
    """A crossing for every cut, by augmenting paths.

    Parameters
    ----------
    lines_at
        Per cut, the crossings on it with the lines through each.
    """

    def __init__(self, lines_at: Sequence[Mapping[int, set[int]]]) -> None:
        self._lines_at = lines_at
        self._holder: dict[int, int] = {}
        self._chosen: dict[int, int] = {}

    def crossings(self) -> tuple[int, ...]:
        """Return the crossings by cut."""
        return tuple(self._chosen[cut] for cut in range(len(self._lines_at)))

    def place(self, cut: int, tried: set[int]) -> Nested[bool]:
        """Choose a crossing on a cut; if need be, that of another cut is moved."""
        rivals: dict[int, int] = {}
        for j, lines in self._lines_at[cut].items():
            others = {self._holder[line] for line in lines if line in self._holder}
            if not others:
                self._take(cut, j)
                return True
            if len(others) == 1:
                rivals[j] = others.pop()
        for j, other in rivals.items():
            if j not in tried and (yield self._oust(cut, j, other, tried)):
                return True
        return False

    def _oust(self, cut: int, j: int, other: int, tried: set[int]) -> Nested[bool]:
        """Take a crossing although it shares a line with that of another cut, if this cut has another one."""
        tried.add(j)
        before = self._chosen.pop(other)
        for line in self._lines_at[other][before]:
            del self._holder[line]
        self._take(cut, j)
        if (yield self.place(other, tried)):
            return True
        for line in self._lines_at[cut][self._chosen.pop(cut)]:
            del self._holder[line]
        self._take(other, before)
        return False

    def _take(self, cut: int, j: int) -> None:
        self._chosen[cut] = j
        self._holder.update(dict.fromkeys(self._lines_at[cut][j], cut))

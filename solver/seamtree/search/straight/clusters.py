"""Clusters: the sets of junctions inside a part that decide what it is, and the cuts through them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from seamtree.search.peel import is_unit
from seamtree.search.view import SeamView, bits, runs_of, union

Run = tuple[int, int]
"""First and last edge of a cut."""

NO_CUT: Run = (0, -1)
"""Where a part is put together from its clusters."""


class ClusterMap:
    """The clusters of a block and of its parts (see `search.straight.parts`).

    Parameters
    ----------
    view
        Bit sets of the block.

    Attributes
    ----------
    locked
        The slots of locked parts.
    """

    def __init__(self, view: SeamView) -> None:
        self.view = view
        self._split: dict[int, tuple[int, ...]] = {}
        self._closures: dict[int, int] = {}
        self.locked = self._find_locked()

    def _find_locked(self) -> int:
        """Return the slots that are left when all full cuts are made, again and again: those of locked parts.

        Cuts that cross are made together: what is left of the one when the other has been made is a cut as well.
        """
        left = self.view.all_slots
        while True:
            cuts = sum(run for run in runs_of(left) if self.view.is_cut(run))  # runs have no slot in common
            if not cuts:
                return left
            left &= ~self.view.closure(cuts)

    def clusters_in(self, slots: int) -> tuple[int, ...]:
        """Split a set of interior junctions into its clusters, lowest first."""
        known = self._split.get(slots)
        if known is None:
            known = self._split[slots] = self._find_clusters(slots)
        return known

    def _find_clusters(self, slots: int) -> tuple[int, ...]:
        found = []
        left, waiting = slots, runs_of(slots)
        while left:
            cluster = self.closure(waiting.pop(0))
            growing = True
            while growing and cluster != left:
                apart = []
                for run in waiting:
                    if run & cluster:
                        cluster |= self.closure(run)
                    else:
                        apart.append(run)
                growing = len(apart) < len(waiting)
                waiting = apart
            found.append(cluster)
            left ^= cluster
        return tuple(found)

    def closure(self, run: int) -> int:
        """Return all slots of the junctions that have a slot in a run."""
        closure = self._closures.get(run)
        if closure is None:
            closure = self._closures[run] = self.view.closure(run)
        return closure

    def patches_round(self, slots: int) -> int:
        """Return the patches round a set of junctions."""
        patches = 0
        for slot in bits(slots):
            patches |= self.view.junction_patches[self.view.slot_junction[slot]]
        return patches

    def slots_inside(self, part: int) -> int:
        """Return the slots of the junctions that lie inside a part: round its patches, and round no others."""
        view = self.view
        inside = met = 0
        for p in bits(part):
            inside |= view.patch_slots[p]
            met |= view.patches_met[p]
        return inside & ~union(view.patch_slots, met & ~part)

    def tees(self, clusters: Iterable[int]) -> int:
        """Count the clusters with tees."""
        tee = self.view.tee
        return sum(1 for cluster in clusters if cluster & tee)

    def round_one(self, cluster: int) -> int:
        """Return the patches round one junction of a cluster."""
        return self.view.junction_patches[self.view.slot_junction[cluster.bit_length() - 1]]

    def split(self, part: int, cut: Run) -> tuple[int, int]:
        """Return the two sides (left, right) of a part that is cut along a run of edges."""
        start = barrier = 0
        for edge in self.view.block.edges[cut[0] : cut[1] + 1]:
            start |= 1 << edge.left
            barrier |= 1 << edge.right
        allowed = part & ~barrier
        side = fresh = start
        while fresh:
            fresh = union(self.view.neighbours, fresh) & allowed & ~side
            side |= fresh
        return side, part & ~side

    def cuts(self, cluster: int) -> list[int]:
        """Return the slots of the cuts of a cluster: of one if a safe cut exists, else of all."""
        view = self.view
        cuts = [run for run in runs_of(cluster) if view.is_cut(run)]
        safe = next((run for run in cuts if view.is_safe(run)), None)
        return cuts if safe is None else [safe]

    def parts_safely(self, run: int) -> bool:
        """Tell whether a cut is safe where hard corners have to be turned: no drawn curve goes on across it."""
        if not self.view.is_safe(run):
            return False
        return not any(self._curve_goes_through(self.view.slot_junction[slot]) for slot in bits(run))

    def _curve_goes_through(self, junction: int) -> bool:
        edges = self.view.block.edges
        met = union(self.view.patch_edges, self.view.junction_patches[junction])
        curves = [
            edges[k].curve
            for k in bits(met)
            if junction in (edges[k].start, edges[k].end) and edges[k].curve is not None
        ]
        return len(set(curves)) < len(curves)

    def is_unit(self, cluster: int, cuts: Sequence[int]) -> bool:
        """Tell whether the patches round a cluster with some cuts are a unit."""
        view = self.view
        if cluster & ~view.tee or any(map(view.is_safe, cuts)):  # a safe cut adds no single patch
            return False
        return is_unit(view, self.patches_round(cluster))

    def is_safe(self, cut: Run) -> bool:
        """Tell whether nothing crosses a cut and no single patch spans it: it is a join in every best order."""
        view = self.view
        if cut == NO_CUT:
            return True
        slots = 0
        for k in range(cut[0], cut[1]):
            slots |= view.junction_slots[view.block.edges[k].end]
        return view.is_safe(slots & view.line_slots(view.block.line_of(cut[0])))

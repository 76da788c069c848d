"""The fewest seams carried on that make a block a single unit.

A unit may hold a junction in its inside only if some pair of edges in line passes it with a patch that spans the
pair on one side. A seam carried on through a junction where a pair in line passes makes a crossing that nothing
spans; so only junctions without such a pair (bends, and Ys whose seams all leave to one side) can be put right, each
by one of its own seams, and the extension has to end in the patch that it first goes through.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from seamtree.block.model import Block
from seamtree.errors import Point
from seamtree.geometry.straight import cross
from seamtree.mending.extend import Extended
from seamtree.mending.network import Network, build_network
from seamtree.mending.quality import is_awkward, is_distinct
from seamtree.mending.rebuild import Rebuilder
from seamtree.mending.search import MOST_SOLUTIONS, edges_of
from seamtree.search.peel import peel
from seamtree.search.view import build_view

_NODES_PER_SECOND = 2_000


@dataclass(frozen=True, slots=True)
class OneUnit:
    """What making a block one unit comes to.

    Parameters
    ----------
    network
        The network that the seams belong to.
    found
        From the best on.
    proven
        Whether these are the fewest seams, or that there is no way.
    obstacles
        Junctions that no extension can put right.
    """

    network: Network
    found: tuple[Extended, ...]
    proven: bool
    obstacles: tuple[int, ...]


def make_one_unit(block: Block, *, alternatives: int, time_limit: float) -> OneUnit:
    """Find the fewest seams to carry on so that a block is a single unit.

    Parameters
    ----------
    block
        A block that is no single unit.
    alternatives
        How many equally small changes are wanted.
    time_limit
        Effort in seconds of an ordinary machine.
    """
    network = build_network(block, [(1 << len(block.patches)) - 1], most_pieces=1)
    passed = network.base & network.base << 1
    starts = _ways_to_span(network)
    hopeless = [j for j in _unspanned(block) if network.vertex_slots[j] & passed or not starts.get(j)]
    if hopeless:
        return OneUnit(network, (), proven=True, obstacles=tuple(hopeless))
    search = _Search(network, starts, nodes=int(time_limit * _NODES_PER_SECOND))
    search.run(network.base, 0)
    fewest = min((seams for _, seams in search.found), default=0)
    found = [extended for extended, seams in search.found if seams == fewest]
    found.sort(key=lambda e: (e.awkward, e.seams))
    return OneUnit(network, tuple(found[:alternatives]), not search.cut_short, ())


def _unspanned(block: Block) -> list[int]:
    """Return the interior junctions that no unit can hold in its inside."""
    view = build_view(block)
    return [j for j, slots in enumerate(view.junction_slots) if slots and not slots & view.tee]


def _ways_to_span(network: Network) -> dict[int, list[int]]:
    """Return for each junction the rays from it that leave all other seams there on one side."""
    block = network.block
    ends: dict[int, list[Point]] = {}
    for k in block.interior_edges:
        edge = block.edges[k]
        ends.setdefault(edge.start, []).append(block.junctions[edge.end])
        ends.setdefault(edge.end, []).append(block.junctions[edge.start])
    starts: dict[int, list[int]] = {}
    for r, ray in enumerate(network.rays):
        j = ray.vertices[0]
        here, ahead = network.vertices[j].at, network.vertices[ray.vertices[1]].at
        line = block.lines[ray.source[0]]
        edge = block.edges[line.first if ray.source[1] == 0 else line.stop - 1]
        own = block.junctions[edge.start + edge.end - j]
        sides = {cross(here, ahead, end) > 0 for end in ends[j] if end != own}
        if len(sides) < 2:
            starts.setdefault(j, []).append(r)
    return starts


class _Search:
    """Tries every way to carry on one seam at every junction that no pair in line passes."""

    def __init__(self, network: Network, starts: Mapping[int, Sequence[int]], *, nodes: int) -> None:
        self._network = network
        self._rebuilder = Rebuilder(network)
        self._nodes = nodes
        self._starts = starts
        self.found: list[tuple[Extended, int]] = []
        self.cut_short = False
        self._fewest = len(network.vertices)

    def run(self, sewn: int, seams: int) -> None:
        """Put the first junction right that no pair in line passes, in every way."""
        if self._nodes <= 0:
            self.cut_short = True
            return
        self._nodes -= 1
        network = self._network
        stopped = self._stopped(sewn)
        if seams > self._fewest or (stopped and seams == self._fewest):
            return
        if not stopped:
            self._end(sewn & ~network.base, seams)
            return
        # An extension that ends loose in a patch may yet meet one that starts elsewhere.
        junctions = [v for v in stopped if network.vertices[v].junction >= 0]
        for r in self._starts.get(junctions[0], ()) if junctions else ():
            for length in range(1, len(network.rays[r].edges) + 1):
                self.run(sewn | edges_of(network, r, length), seams + 1)

    def _stopped(self, sewn: int) -> list[int]:
        """Return the vertices in use that no string passes."""
        network = self._network
        passed = sewn & sewn << 1
        there = (sewn | sewn << 1) & network.interior
        return [v for v, slots in enumerate(network.vertex_slots) if slots & there and not slots & passed]

    def _end(self, added: int, seams: int) -> None:
        tolerance = self._network.block.tolerance
        patches = self._rebuilder.new_patches(added)
        if not all(is_distinct(corners, tolerance=tolerance) for corners in patches):
            return
        block = self._rebuilder.add_seams(added)
        view = build_view(block)
        if peel(view, view.all_patches) is None:
            return
        if seams < self._fewest:
            self.found.clear()
            self._fewest = seams
        known = {extended.seams for extended, _ in self.found}
        if len(self.found) < MOST_SOLUTIONS and added not in known:
            self.found.append((Extended(added, block, 1, sum(map(is_awkward, patches))), seams))

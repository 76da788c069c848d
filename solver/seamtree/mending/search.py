"""The search for the fewest added patches.

A knot stays a knot unless a seam is carried on through one of its vertices: before the first cut that reaches it can
be made, some string must pass one of its vertices on which it stopped, or was not sewn at all, before. So each knot
is a *demand*: one of the extensions that pass one of its vertices has to be used, at least so far. A vertex that no
sewn string passes at all (a Y, a bend, the loose end of an extension) is a demand of its own. The search branches on
the demand that can be met in the fewest ways; whoever comes later among the ways of one branch may not meet the
demand in an earlier way, so that no set of seams is looked at twice.

Every piece of an extension (its way through one patch) adds a patch, and every crossing of two extensions inside a
patch adds one more. Demands that can only be met by different pieces therefore add up to a lower bound, and the
search is deepened patch by patch until it finds a solution: the first ones found are proven to be the fewest.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from seamtree.mending.network import Network
from seamtree.search.parts import deep_calls
from seamtree.search.view import bits

MOST_SOLUTIONS = 64
"""As many equally small solutions are kept for each group of locked parts."""


class _OutOfNodes(Exception):  # noqa: N818 - a signal, not an error
    """The search has used up its nodes."""


NEVER = 1 << 30
"""Added patches of a solution that does not exist."""


@dataclass(frozen=True, slots=True)
class Answer:
    """What the search found for a group of locked parts.

    Parameters
    ----------
    solutions
        Sets of optional edges, all with the same number of added patches; empty if none was found.
    added
        Their added patches; `NEVER` without a solution.
    bound
        No solution among the candidates adds fewer patches; `NEVER` if there is none at all.
    complete
        Whether all equally small solutions are listed.
    """

    solutions: tuple[int, ...]
    added: int
    bound: int
    complete: bool


@dataclass(frozen=True, slots=True)
class Group:
    """Knots and the rays that may loosen them; no ray leads from one group to another.

    Parameters
    ----------
    slots
        Slots of the vertices that are inside parts, as far as they matter to the group.
    caps
        For each ray of the network how many of its edges may be used: 0 for those of other groups.
    patches
        The patches round its knots, as a bit set.
    """

    slots: int
    caps: tuple[int, ...]
    patches: int


def group_knots(network: Network) -> list[Group]:
    """Divide the knots of a block and their rays into groups that have nothing to do with each other."""
    rest = network.cut(network.base, network.interior)
    gone = network.all_slots_of(network.interior & (network.base | network.base << 1) & ~rest)
    parts = [(knot, _patches_round(network, knot)) for knot in network.knots(rest)]
    root = list(range(len(parts) + len(network.rays)))

    def find(n: int) -> int:
        while root[n] != n:
            root[n] = root[root[n]]
            n = root[n]
        return n

    met: dict[int, int] = {}
    for r, ray in enumerate(network.rays, len(parts)):
        through = {network.piece_patches[piece] for piece in ray.pieces}
        for k, (_, patches) in enumerate(parts):
            if any(patches >> p & 1 for p in through):
                root[find(r)] = find(k)
        for v in ray.vertices:
            if network.vertices[v].patch >= 0:
                root[find(r)] = find(met.setdefault(v, r))
    groups = []
    for leader in sorted({find(k) for k in range(len(parts))}):
        mine = [k for k in range(len(parts)) if find(k) == leader]
        others = sum(knot for k, (knot, _) in enumerate(parts) if k not in mine)
        caps = tuple(len(ray.edges) if find(r) == leader else 0 for r, ray in enumerate(network.rays, len(parts)))
        patches = 0
        for k in mine:
            patches |= parts[k][1]
        groups.append(Group(network.interior & ~gone & ~network.all_slots_of(others), caps, patches))
    return groups


def _patches_round(network: Network, knot: int) -> int:
    patches = 0
    for slot in bits(knot):
        patches |= network.patches_round(network.slot_vertex[slot])
    return patches


@dataclass(frozen=True, slots=True)
class Demand:
    """Ways to loosen a knot.

    Parameters
    ----------
    ways
        Rays, and how many of their edges have to be used.
    pieces
        Pieces of which at least one must be sewn; empty if one is sewn already.
    """

    ways: tuple[tuple[int, int], ...]
    pieces: frozenset[int]


def edges_of(network: Network, ray: int, length: int) -> int:
    """Return the first edges of a ray as a bit set."""
    edges = 0
    for slot in network.rays[ray].edges[:length]:
        edges |= 1 << slot
    return edges


class Demands:
    """Finds what has to be sewn before the rest of a block can be.

    Parameters
    ----------
    network
        The network.
    """

    def __init__(self, network: Network) -> None:
        self._network = network
        self.piece_of: dict[int, int] = {}
        self._ways: list[list[tuple[int, int]]] = [[] for _ in network.vertices]
        for r, ray in enumerate(network.rays):
            self.piece_of.update(zip(ray.edges, ray.pieces, strict=True))
            # To pass a vertex takes the edge after it; at the end of a line that the ray runs into there is one.
            for n, v in enumerate(ray.vertices[:-1], 1):
                self._ways[v].append((r, n))
            if ray.onto:
                self._ways[ray.vertices[-1]].append((r, len(ray.edges)))

    def find(self, sewn: int, rest: int, caps: Sequence[int]) -> list[Demand]:
        """Return a demand for every knot, and for every vertex of a knot that no string passes."""
        network = self._network
        pieces = self.pieces(sewn)
        passed = sewn & sewn << 1
        found = []
        for knot in network.knots(rest):
            vertices = sorted({network.slot_vertex[slot] for slot in bits(knot)})
            found.append(self._demand(vertices, sewn, pieces, caps))
            found += [
                self._demand((v,), sewn, pieces, caps) for v in vertices if not network.vertex_slots[v] & passed
            ]
        return found

    def pieces(self, sewn: int) -> frozenset[int]:
        """Return the pieces that are sewn, at least in part."""
        return frozenset(self.piece_of[slot] for slot in bits(sewn & ~self._network.base))

    def _demand(self, vertices: Sequence[int], sewn: int, pieces: frozenset[int], caps: Sequence[int]) -> Demand:
        shortest: dict[int, int] = {}
        for v in vertices:
            for r, length in self._ways[v]:
                if length <= caps[r] and not sewn >> self._network.rays[r].edges[length - 1] & 1:
                    shortest[r] = min(length, shortest.get(r, length))
        needed = frozenset(self._network.rays[r].pieces[length - 1] for r, length in shortest.items())
        ways = sorted(shortest.items(), key=lambda way: (way[1], way[0]))
        return Demand(tuple(ways), frozenset() if needed & pieces else needed)


def bound(demands: Iterable[Demand]) -> int:
    """Return how many patches demands add at least: those are counted that have no piece in common."""
    taken: set[int] = set()
    count = 0
    for demand in sorted(demands, key=lambda d: len(d.pieces)):
        if demand.pieces and not demand.pieces & taken:
            taken |= demand.pieces
            count += 1
    return count


def cost(network: Network, sewn: int, pieces: int) -> int:
    """Return the patches that sewn pieces add at least, whatever is sewn beside them."""
    passed = sewn & sewn << 1 & network.inner
    vertices = {network.slot_vertex[slot] for slot in bits(passed)}
    return pieces + passed.bit_count() - len(vertices)


class Search:
    """Searches a network for the smallest sets of optional edges that leave no knot.

    Parameters
    ----------
    network
        The network.
    demands
        Its demands.
    group
        The knots to be loosened and the rays for it.
    accept
        Tells whether a solution (optional edges) leaves patches that can be told apart.
    nodes
        How many nodes may be searched.
    """

    def __init__(
        self, network: Network, demands: Demands, group: Group, *, accept: Callable[[int], bool], nodes: int
    ) -> None:
        self._network = network
        self._accept = accept
        self._demands = demands
        self._group = group
        self._nodes = nodes
        self._found: dict[int, None] = {}
        self._deeper = False
        self.searched = 0

    def solve(self, *, upper: int) -> Answer:
        """Search for all smallest solutions.

        Parameters
        ----------
        upper
            Give up beyond so many added patches.
        """
        network = self._network
        caps, slots = self._group.caps, self._group.slots
        depth = bound(self._demands.find(network.base, network.cut(network.base, slots), caps))
        while depth <= upper:
            self._deeper = False
            try:
                with deep_calls():
                    self._deepen(network.base, caps, slots, depth)
            except _OutOfNodes:
                return self._answer(depth, complete=False)
            if self._found:
                return self._answer(depth, complete=len(self._found) < MOST_SOLUTIONS)
            if not self._deeper:
                return Answer((), NEVER, NEVER, complete=True)
            depth += 1
        return Answer((), NEVER, depth, complete=False)

    def _answer(self, depth: int, *, complete: bool) -> Answer:
        return Answer(tuple(self._found), depth if self._found else NEVER, depth, complete)

    def _end(self, seams: int, cost: int, depth: int) -> None:
        """Take note of a solution; those with fewer patches were looked at, and not accepted, before."""
        if cost == depth and seams not in self._found:
            if self._accept(seams):
                self._found[seams] = None
            else:
                self._deeper = True

    def _deepen(self, sewn: int, caps: Sequence[int], slots: int, depth: int) -> None:
        if self.searched >= self._nodes:
            raise _OutOfNodes
        self.searched += 1
        network = self._network
        rest = network.cut(sewn, slots)
        so_far = cost(network, sewn, len(self._demands.pieces(sewn)))
        demands = self._demands.find(sewn, rest, caps) if so_far <= depth else []
        if any(not demand.ways for demand in demands):
            return
        if so_far + bound(demands) > depth:
            self._deeper = True
            return
        if not rest:
            self._end(sewn & ~network.base, so_far, depth)
            return
        # What a cut took to the outline of a part stays there, whatever is added.
        slots &= ~network.all_slots_of(slots & (sewn | sewn << 1) & ~rest)
        caps = list(caps)
        for r, length in min(demands, key=lambda d: len(d.ways)).ways:
            if len(self._found) < MOST_SOLUTIONS and length <= caps[r]:
                self._deepen(sewn | edges_of(network, r, length), caps, slots, depth)
                caps[r] = length - 1

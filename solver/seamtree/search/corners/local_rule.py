"""What the local rule needs to know about a part: its edges, junctions and the pairs that may be sewn last.

The last two edges sewn at an interior junction are always sewn by the same step, and every hard corner of a
sewing order shows at such a *last pair*. Edges that are linked by last pairs form a *seam*: a path that ends at
the outline of the part or on seams sewn later, or (rarely) a closed ring. A part is therefore described by its
interior junctions with the pairs that are possible there; a sewing order is a choice of one pair for each junction
such that the seams do not wait for each other in a circle.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from itertools import combinations

from seamtree.block.model import Block
from seamtree.geometry.straight import is_smooth
from seamtree.proofs.claims import Cost
from seamtree.search.tree import Merit, Order


@dataclass(frozen=True, slots=True)
class Pair:
    """Two edges that meet at an interior junction and may be the last ones sewn there.

    Parameters
    ----------
    junction
        Where they meet.
    edges
        The two edges, smaller index first.
    straight
        Whether they are in line there.
    curved
        Whether they are chords of the same smooth drawn curve.
    partial
        Whether one of them goes on in line beyond the junction, with another edge than its partner.
    """

    junction: int
    edges: tuple[int, int]
    straight: bool
    curved: bool
    partial: bool

    @property
    def hard(self) -> bool:
        """Whether a seam along this pair always turns a hard corner of its own."""
        return not (self.straight or self.curved)

    @property
    def set_in(self) -> bool:
        """Whether that hard corner is a set-in one."""
        return self.hard and not self.partial


@dataclass(frozen=True, slots=True)
class Window:
    """A least run of edges in line that is not straight as a whole.

    Parameters
    ----------
    pairs
        The pairs in line strictly inside the run, in turn.
    curve
        Whether all its edges are chords of one curve.
    """

    pairs: tuple[Pair, ...]
    curve: bool


@dataclass(frozen=True, slots=True)
class CurveChain:
    """Chords of one drawn curve, in turn, that a seam can follow without leaving the curve.

    Parameters
    ----------
    edges
        The chords in turn.
    junctions
        ``junctions[i]`` lies between ``edges[i]`` and the next chord; a closed chain has one for every chord.
    """

    edges: tuple[int, ...]
    junctions: tuple[int, ...]

    @property
    def closed(self) -> bool:
        """Whether the chain runs into itself."""
        return len(self.edges) == len(self.junctions)


@dataclass(frozen=True, slots=True)
class Part:
    """A part of a block, as the local rule sees it.

    Parameters
    ----------
    block
        The block.
    patches
        Its patches in ascending order.
    edges
        The edges with a patch of the part on both sides, ascending.
    around
        For each junction strictly inside the part its edges in turn.
    pairs
        For each of these junctions the pairs that may be last there.
    windows, curves
        See `Window`, `CurveChain`.
    windows_from
        The windows by the junction of their first pair.
    """

    block: Block
    patches: tuple[int, ...]
    edges: tuple[int, ...]
    around: Mapping[int, tuple[int, ...]]
    pairs: Mapping[int, tuple[Pair, ...]]
    windows: tuple[Window, ...]
    curves: tuple[CurveChain, ...]
    windows_from: Mapping[int, tuple[Window, ...]]

    def pair(self, junction: int, edges: Iterable[int]) -> Pair:
        """Return the pair of two edges at a junction."""
        wanted = tuple(sorted(edges))
        return next(pair for pair in self.pairs[junction] if pair.edges == wanted)

    def ends(self, edge: int) -> tuple[int, int]:
        """Return the two junctions of an edge."""
        return self.block.edges[edge].start, self.block.edges[edge].end

    def sides(self, edge: int) -> tuple[int, int]:
        """Return the two patches of an edge."""
        return self.block.edges[edge].left, self.block.edges[edge].right


@dataclass(frozen=True, slots=True)
class PartResult:
    """The best sewing order found for a part.

    Parameters
    ----------
    order, merit
        The order and what it costs.
    bound
        For each of the first four items what no order can go below, given that the items before it are as in
        `merit`; the others are 0.
    levels
        For each of the first four items whether it and all items before it are proven.
    tidied
        Whether matched points, then different foundations, then the length of joins are proven as well.
    spent
        Deterministic seconds of the solver that it took.
    costs
        Where all paths were tried: what is known of the parts (patches as bits) that it falls into.
    """

    order: Order
    merit: Merit
    bound: Merit
    levels: tuple[bool, bool, bool, bool]
    tidied: tuple[bool, bool, bool]
    spent: float = 0.0
    costs: Callable[[int], Cost | None] | None = None

    @property
    def proven(self) -> bool:
        """Whether all four items are proven."""
        return all(self.levels)


def build_part(block: Block, patches: Iterable[int]) -> Part:
    """Build the view of a part.

    Parameters
    ----------
    block
        The block.
    patches
        An edge-connected set of its patches.
    """
    members = frozenset(patches)
    edges = tuple(
        k for k in block.interior_edges if block.edges[k].left in members and block.edges[k].right in members
    )
    around = _edges_around(block, edges)
    before = {k: k - 1 for line in block.lines for k in range(line.first + 1, line.stop)}
    chords = {j: _curve_partners(block, j, here) for j, here in around.items()}
    pairs = {
        j: tuple(
            _describe_pair(block, j, pair, before=before, here=here, chords=chords[j])
            for pair in combinations(sorted(here), 2)
        )
        for j, here in around.items()
    }
    windows = tuple(_windows(block, frozenset(edges), pairs))
    windows_from: dict[int, tuple[Window, ...]] = {}
    for window in windows:
        first = window.pairs[0].junction
        windows_from[first] = (*windows_from.get(first, ()), window)
    return Part(
        block=block,
        patches=tuple(sorted(members)),
        edges=edges,
        around=around,
        pairs=pairs,
        windows=windows,
        curves=tuple(_curve_chains(block, edges, chords)),
        windows_from=windows_from,
    )


def _edges_around(block: Block, edges: tuple[int, ...]) -> dict[int, tuple[int, ...]]:
    """Find the junctions strictly inside the part and their edges by direction."""
    inside = frozenset(edges)
    around: dict[int, list[int]] = {}
    reached: set[int] = set()
    for k, edge in enumerate(block.edges):
        for j in (edge.start, edge.end):
            if k in inside:
                around.setdefault(j, []).append(k)
            else:
                reached.add(j)

    return {
        j: tuple(sorted(here, key=lambda k: block.direction(j, k)))
        for j, here in sorted(around.items())
        if j not in reached
    }


def _curve_partners(block: Block, junction: int, here: tuple[int, ...]) -> dict[int, int]:
    """Pair up the chords of the same curve at a junction; where it crosses itself the least turns go together.

    Chords that turn sharply there are no stretch of one curve: others of it have become one with lines nearby.
    """

    def far(k: int) -> tuple[float, float]:
        edge = block.edges[k]
        return block.junctions[edge.end if edge.start == junction else edge.start]

    at = block.junctions[junction]

    def turn(a: int, b: int) -> float:
        (ax, ay), (bx, by) = far(a), far(b)
        cosine = (at[0] - ax) * (bx - at[0]) + (at[1] - ay) * (by - at[1])
        return -cosine / (math.dist((ax, ay), at) * math.dist((bx, by), at))

    candidates = [
        (round(turn(a, b), 9), a, b)
        for a, b in combinations(sorted(here), 2)
        if block.edges[a].curve is not None and block.edges[a].curve == block.edges[b].curve
        if is_smooth(far(a), at, far(b), tolerance=block.tolerance)
    ]
    partner: dict[int, int] = {}
    for _, a, b in sorted(candidates):
        if a not in partner and b not in partner:
            partner[a], partner[b] = b, a
    return partner


def _describe_pair(
    block: Block,
    junction: int,
    pair: tuple[int, int],
    *,
    before: Mapping[int, int],
    here: tuple[int, ...],
    chords: Mapping[int, int],
) -> Pair:
    """Tell what a seam along two edges (smaller first) costs at their junction, where the edges `here` meet."""
    a, b = pair

    def goes_on(k: int, barred: int) -> bool:
        beside = [n for n in here if before.get(n) == k or before.get(k) == n]
        return any(n != barred and junction in (block.edges[n].start, block.edges[n].end) for n in beside)

    straight = before.get(b) == a and block.edges[a].end == junction
    curved = chords.get(a) == b
    partial = not (straight or curved) and (goes_on(a, b) or goes_on(b, a))
    return Pair(junction, pair, straight, curved, partial)


def _windows(block: Block, inside: frozenset[int], pairs: Mapping[int, tuple[Pair, ...]]) -> Iterable[Window]:
    """Yield the least runs in line that are not straight as a whole, as far as they lie inside the part."""
    for line in block.lines:
        for k in range(line.first, line.stop - 1):
            reach = line.reach[k - line.first]
            if reach + 1 >= line.stop or line.reach[k + 1 - line.first] == reach:
                continue
            run = range(k, reach + 2)
            if inside.issuperset(run) and all(block.edges[e].end in pairs for e in run[:-1]):
                numbers = {block.edges[e].curve for e in run}
                links = tuple(next(p for p in pairs[block.edges[e].end] if p.edges == (e, e + 1)) for e in run[:-1])
                yield Window(links, curve=len(numbers) == 1 and None not in numbers)


def _curve_chains(
    block: Block, edges: tuple[int, ...], chords: Mapping[int, Mapping[int, int]]
) -> Iterable[CurveChain]:
    """Yield the chains of chords."""
    done: set[int] = set()
    for k in edges:
        if block.edges[k].curve is None or k in done:
            continue
        back, passed = _follow(block, k, block.edges[k].start, chords)
        if len(passed) < len(back):
            on, ahead = _follow(block, k, block.edges[k].end, chords)
            back, passed = [*back[:0:-1], *on], [*passed[::-1], *ahead]
        done.update(back)
        if passed:
            yield CurveChain(tuple(back), tuple(passed))


def _follow(
    block: Block, first: int, at: int, chords: Mapping[int, Mapping[int, int]]
) -> tuple[list[int], list[int]]:
    """Follow a curve from one chord through one of its ends; a ring ends with the junction at the other end."""
    chain, passed = [first], []
    while (after := chords.get(at, {}).get(chain[-1])) is not None:
        passed.append(at)
        if after == first:
            break
        chain.append(after)
        edge = block.edges[after]
        at = edge.end if edge.start == at else edge.start
    return chain, passed

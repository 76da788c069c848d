"""A small, though not proven the smallest, set of added seams where the search takes too long."""

from __future__ import annotations

from seamtree.mend.network import Network
from seamtree.mend.search import Demand, Demands, Group, edges_of

_MOST_WAYS = 20
"""Ways that are compared before each step, if there are so many."""

_MOST_TRIALS = 300
"""How often it is tried to take something back at the end."""


def mend_greedily(network: Network, demands: Demands, group: Group) -> int | None:
    """Carry on whichever seam loosens most for the patches that it adds, until no knot is left.

    Parameters
    ----------
    network, demands, group
        See `seamtree.mend.search.Search`.

    Returns
    -------
    int or None
        Optional edges as a bit set; None if nothing more can be carried on and a knot is left.
    """
    sewn, slots = network.base, group.slots
    rest = network.cut(sewn, slots)
    while rest:
        ways = _ways(demands.find(sewn, rest, group.caps))
        best: tuple[float, int, int, int] | None = None
        for r, shortest in ways:
            longer = sewn | edges_of(network, r, _supported(network, sewn, r, shortest))
            left = network.cut(longer, slots)
            more = len(demands.pieces(longer & ~sewn))
            gain = _left_to_do(sewn, rest) - _left_to_do(longer, left)
            score = -gain / max(more, 1) if gain > 0 else (1 - gain) * more
            if best is None or (score, more, r) < best[:3]:
                best = (score, more, r, longer)
        if best is None:
            return None
        sewn = best[3]
        rest = network.cut(sewn, slots)
        # What a cut took to the outline of a part stays there, whatever is added.
        slots &= ~network.all_slots_of(slots & (sewn | sewn << 1) & ~rest)
    return _shorten(network, group, sewn) & ~network.base


def _left_to_do(sewn: int, rest: int) -> float:
    """Return a number that grows with what is still to be loosened: slots where a string stops count most."""
    return (rest & (sewn ^ sewn << 1)).bit_count() + rest.bit_count() / 8


def _ways(demands: list[Demand]) -> list[tuple[int, int]]:
    """Return the ways to meet the demands that leave least choice."""
    ways: set[tuple[int, int]] = set()
    for demand in sorted(demands, key=lambda d: len(d.ways)):
        ways |= set(demand.ways)
        if len(ways) >= _MOST_WAYS:
            break
    return sorted(ways)


def _supported(network: Network, sewn: int, r: int, shortest: int) -> int:
    """Return how far a ray has to go on so that it does not end loose inside a patch."""
    ray = network.rays[r]
    there = sewn | sewn << 1
    for length in range(shortest, len(ray.edges)):
        v = ray.vertices[length]
        if network.vertices[v].patch < 0 or network.vertex_slots[v] & there:
            return length
    return len(ray.edges)


def _shorten(network: Network, group: Group, sewn: int) -> int:
    """Take back what turns out not to be needed, ray by ray from their far ends."""
    trials = 0
    for r, ray in enumerate(network.rays):
        used = sum(1 for slot in ray.edges if sewn >> slot & 1)
        if group.caps[r] == 0 or sewn & edges_of(network, r, used) != edges_of(network, r, used):
            continue
        for length in range(used if trials < _MOST_TRIALS else 0):
            trials += 1
            shorter = sewn & ~edges_of(network, r, used) | edges_of(network, r, length)
            if not network.cut(shorter, group.slots):
                sewn = shorter
                break
    return sewn

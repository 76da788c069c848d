"""A small, though not proven the smallest, set of added seams where the search takes too long.

Cut after cut: some seam inside a locked part is carried on at both ends as far as the part reaches, which makes it a
full cut. Of all seams the one is taken that passes the most for the patches that it adds.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

from seamtree.mending.network import Network
from seamtree.mending.search import Demands, Group, edges_of
from seamtree.search.view import bits, runs_of

_MOST_TRIALS = 300
"""How often it is tried to take something back at the end."""


def mend_greedily(
    network: Network, demands: Demands, group: Group, *, accept: Callable[[int, int], bool]
) -> int | None:
    """Carry on one seam after the other as far as its part reaches, until no knot is left.

    Parameters
    ----------
    network, demands, group
        See `seamtree.mending.search.Search`.
    accept
        Tells whether seams (optional edges), of which some are new, leave patches that can be told apart.

    Returns
    -------
    int or None
        Optional edges as a bit set; None if no seam can be carried on so far and a knot is left.
    """
    optional = 0
    for r, cap in enumerate(group.caps):
        optional |= edges_of(network, r, cap)
    sewn, slots = network.base, group.slots
    while rest := network.cut(sewn, slots):
        # What a cut took to the outline of a part stays there, whatever is added.
        slots &= ~network.all_slots_of(slots & (sewn | sewn << 1) & ~rest)
        for new in _by_merit(network, demands, sewn=sewn, optional=optional, slots=slots, rest=rest):
            if accept((sewn | new) & ~network.base, new):
                sewn |= new
                break
        else:
            return None
    shorter = _shorten(network, group, sewn) & ~network.base
    return shorter if accept(shorter, shorter) else sewn & ~network.base


def _by_merit(
    network: Network, demands: Demands, *, sewn: int, optional: int, slots: int, rest: int
) -> Iterator[int]:
    """Yield the edges to be added for a full cut, those first that pass the most for the patches that they add."""
    merits: dict[int, tuple[float, int]] = {}
    for run in runs_of(rest):
        new = _missing(run, sewn, optional, slots)
        if new:
            # Of every run the vertices on the string count, whether it passes them already or not.
            first, last = (new | run & -run) & -(new | run & -run), max(new << 1, run)
            passed = ((1 << last.bit_length()) - first) & rest
            pieces = len({demands.piece_of[slot] for slot in bits(new)})
            merits[new] = (-network.all_slots_of(passed).bit_count() / pieces, pieces)
    yield from sorted(merits, key=lambda new: (*merits[new], new))


def _missing(run: int, sewn: int, optional: int, slots: int) -> int:
    """Return the optional edges that make a run of slots a full cut of its part; 0 if it cannot be made one."""
    low, high = (run & -run).bit_length() - 1, run.bit_length() - 1
    edges = sewn | optional
    while slots >> low & 1:
        if low == 0 or not edges >> (low - 1) & 1:
            return 0
        low -= 1
    while slots >> high & 1:
        if not edges >> high & 1:
            return 0
        high += 1
    return ((1 << high) - (1 << low)) & ~sewn


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

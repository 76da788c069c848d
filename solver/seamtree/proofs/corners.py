"""Places that cost one hard corner each, whatever the order: checked one by one, and that they share nothing.

At every junction inside the block the last two edges are sewn by one step; where they are not in line, that costs a
hard corner there, or a curved one on the drawn curve that both belong to. So if some junctions cannot all have last
pairs in line, one of them costs a corner. Witnesses that share neither junctions nor drawn curves add up, for a hard
corner lies at one junction, and a curved one on one curve.

What shows that junctions cannot all have last pairs in line:

- no two edges are in line there (`Corner`): a Y, or a bend between the same two patches;
- edges in line that are not straight as a whole would be one seam (`Bend`);
- along a closed walk each edge would be sewn no earlier than the one before it (`Ring`): then all are one seam that
  runs into itself, or some wait for each other. Neither can be sewn, for no part of cloth has a hole;
- one of these for each pair that may be last at a junction where there are several (`Fork`).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from seamtree.errors import ProofError
from seamtree.proofs.claims import Bend, Corner, Fork, Ring, Witness
from seamtree.proofs.planar import Planar

Place = tuple[str, int]
"""A junction or a drawn curve."""


def check_corners(planar: Planar, witnesses: Sequence[Witness]) -> None:
    """Check that each of some witnesses costs a hard corner by itself.

    Raises
    ------
    ProofError
        If one does not, or two share a junction or a drawn curve.
    """
    taken: set[Place] = set()
    for number, witness in enumerate(witnesses, 1):
        places = places_of(planar, witness)
        if places & taken:
            raise ProofError(f"hard corner {number} shares a junction or a drawn curve with one before it")
        taken |= places


def places_of(planar: Planar, witness: Witness) -> set[Place]:
    """Check that a witness costs a hard corner, and return where that may lie.

    Raises
    ------
    ProofError
        If it does not.
    """
    places: set[Place] = set()
    waiting: list[tuple[Witness, Mapping[int, int]]] = [(witness, {})]
    while waiting:
        witness, chosen = waiting.pop()
        if isinstance(witness, Fork):
            ways = _pairs(planar, witness.junction)
            if witness.junction in chosen or sorted(way for way, _ in witness.ways) != sorted(ways):
                raise ProofError("a fork does not take every pair in line at a junction once")
            places |= _places(planar, witness.junction)
            waiting += [(below, {**chosen, witness.junction: way}) for way, below in witness.ways]
        elif isinstance(witness, Corner):
            if _pairs(planar, witness.junction):
                raise ProofError("a junction was said to have no two edges in line, but has")
            places |= _places(planar, witness.junction)
        elif isinstance(witness, Bend):
            places |= _check_bend(planar, witness, chosen)
        else:
            places |= _check_ring(planar, witness, chosen)
    return places


def _pairs(planar: Planar, junction: int) -> list[int]:
    """Return the first edges of the pairs in line at a junction inside the block."""
    if planar.around[junction] >> len(planar.block.patches):
        raise ProofError("a hard corner was said to lie on the outline, where there is none")
    return planar.through[junction]


def _sole(planar: Planar, junction: int, chosen: Mapping[int, int]) -> tuple[int, int]:
    """Return the one pair in line that can be last at a junction."""
    pairs = _pairs(planar, junction)
    first = chosen.get(junction, pairs[0] if len(pairs) == 1 else None)
    if first is None:
        raise ProofError("at a junction more than one pair in line may be last, or none")
    return first, first + 1


def _places(planar: Planar, junction: int) -> set[Place]:
    """Return where it is paid for that the last pair of a junction is not in line."""
    curves = [c for k in planar.arms[junction] if (c := planar.block.edges[k].curve) is not None]
    return {("junction", junction), *(("curve", c) for c in curves if curves.count(c) > 1)}


def _check_bend(planar: Planar, bend: Bend, chosen: Mapping[int, int]) -> set[Place]:
    if planar.reach(bend.first) >= bend.last:
        raise ProofError("edges were said to be one line that is not straight as a whole, and are not")
    run = range(bend.first, bend.last + 1)
    places: set[Place] = set()
    for k in run[:-1]:
        junction = planar.block.edges[k].end
        if _sole(planar, junction, chosen) != (k, k + 1):
            raise ProofError("edges in line were said to be one seam that need not be")
        places |= _places(planar, junction)
    return places | {("curve", c) for k in run if (c := planar.block.edges[k].curve) is not None}


def _check_ring(planar: Planar, ring: Ring, chosen: Mapping[int, int]) -> set[Place]:
    if not ring.walk or len({junction for junction, _ in ring.walk}) < len(ring.walk):
        raise ProofError("a ring of seams does not pass some junctions, each once")
    places: set[Place] = set()
    for (before, arriving), (junction, leaving) in zip((ring.walk[-1], *ring.walk[:-1]), ring.walk, strict=True):
        if set(planar.ends(arriving)) != {before, junction}:
            raise ProofError("the walk round a ring of seams does not lead from each junction to the next")
        if leaving not in _sole(planar, junction, chosen):
            raise ProofError("a seam in a ring need not wait for the one before it")
        places |= _places(planar, junction)
    return places

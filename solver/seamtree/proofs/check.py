"""Check what is claimed about a block."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from seamtree.block.largest import Largest, Size
from seamtree.block.model import Block
from seamtree.errors import ProofError
from seamtree.proofs.claims import (
    Added,
    Bend,
    Claims,
    Corner,
    Cost,
    Fork,
    Limited,
    Potentials,
    Proof,
    Ring,
    RowSums,
    Searched,
    Swept,
    Through,
    Tried,
    Witness,
)
from seamtree.proofs.corners import check_corners
from seamtree.proofs.costs import CostChecker
from seamtree.proofs.cuts import FullCuts
from seamtree.proofs.digest import digest
from seamtree.proofs.kept import check_kept
from seamtree.proofs.limited import LimitedChecker, Weights
from seamtree.proofs.planar import Junctions, Patches, Planar, mask_of
from seamtree.proofs.repeats import CheckedRepeats, check_repeats
from seamtree.proofs.rows import check_rows


@dataclass(frozen=True, slots=True)
class Checked:
    """What a proof that holds shows about a block.

    Parameters
    ----------
    hard_corners, units
        No order has fewer hard corners; none that is best in hard corners, set-in seams and excess pivots has fewer
        units.
    corners_witnessed, units_witnessed
        Whether that was followed to the end, and not taken from a record of what a search has settled.
    searched
        Those records.
    largest
        Width and height (inches) that no unit may be larger than for this to hold; None if it holds of all.
    repeats
        What is shown of different foundations; None if nothing is claimed of them.
    kept_units
        How many units were given and sewn again by straight seams; none if no units were given.
    """

    hard_corners: int
    units: int
    corners_witnessed: bool
    units_witnessed: bool
    searched: tuple[Searched, ...] = ()
    largest: Size | None = None
    repeats: CheckedRepeats | None = None
    kept_units: int = 0


def check_proof(block: Block, proof: Proof) -> Checked:
    """Check a proof.

    Parameters
    ----------
    block
        The block that it is about.
    proof
        What is claimed, and why.

    Returns
    -------
    Checked
        What it shows.

    Raises
    ------
    ProofError
        If the proof is about another block, or a claim does not follow.
    """
    if proof.block != digest(block):
        raise ProofError("it is about another block, or about the same one read in another way")
    return check_claims(block, proof.claims)


def check_claims(block: Block, claims: Claims) -> Checked:
    """Check what is claimed about a block; see `check_proof`."""
    _Ranges(block).check(claims)
    planar = Planar(block)
    check_corners(planar, claims.corners)
    searched = _check_units(planar, claims)
    witnessed = len(claims.corners) >= claims.cost.hard_corners or not searched
    size = claims.units.size if isinstance(claims.units, Limited) else None
    kept = claims.kept
    if kept is not None:
        check_kept(planar, kept)
    return Checked(
        claims.cost.hard_corners,
        claims.cost.joins + 1,
        witnessed,
        not searched,
        searched,
        size,
        repeats=_check_repeats(planar, claims),
        kept_units=0 if kept is None else len(kept.units),
    )


def _check_repeats(planar: Planar, claims: Claims) -> CheckedRepeats | None:
    if claims.repeats is None:
        return None
    cost, units = claims.cost, claims.units
    if cost != Cost(joins=cost.joins):
        raise ProofError("different foundations are claimed of a block that straight seams do not sew")
    if isinstance(units, Limited) and units.size != claims.repeats.largest:
        raise ProofError("different foundations are claimed of units of another size")
    return check_repeats(planar, claims.repeats, least_units=cost.joins + 1)


def _check_units(planar: Planar, claims: Claims) -> tuple[Searched, ...]:
    cost, units = claims.cost, claims.units
    if isinstance(units, Potentials):
        checker = CostChecker(planar, Table(units))
        checker.check(planar.whole, cost)
        return tuple(checker.searched.values())
    if isinstance(units, Limited):
        cuts, largest = FullCuts(planar), Largest(planar.block, units.size)
        weights = Weights(units.weights, len(planar.block.patches)) if units.weights else None
        if weights:
            weights.check(cuts, largest)
        limited = LimitedChecker(cuts, largest, LimitedTable(units), weights)
        limited.check(planar.whole, cost)
        return tuple(limited.searched.values())
    shown = Cost(hard_corners=len(claims.corners))
    if isinstance(units, RowSums):
        check_rows(planar.block, units)
        shown = max(shown, Cost(joins=len(planar.block.patches) - units.most - 1))
    if cost > shown:
        raise ProofError(f"nothing shows that {_in_words(cost)} are the least")
    return ()


def _in_words(cost: Cost) -> str:
    return f"{cost.hard_corners} hard corners and {cost.joins + 1} units"


class Table:
    """The numbers of a claim, to be looked up."""

    def __init__(self, claim: Potentials) -> None:
        self._clusters = {mask_of(cluster): joins for cluster, joins in claim.clusters.items()}
        self._apart = {mask_of(cluster): found for cluster, found in claim.apart.items()}
        self._swept = {mask_of(swept.junctions): swept for swept in claim.swept}
        self._parts = {mask_of(patches): joins for patches, joins in claim.parts.items()}
        self._costs = {mask_of(patches): cost for patches, cost in claim.costs.items()}
        self._searched = {mask_of(found.patches): found for found in claim.searched}

    def cluster(self, cluster: Junctions) -> int:
        """Return the joins of a cluster."""
        return self._clusters.get(cluster, 0)

    def part(self, patches: Patches) -> int | None:
        """Return the joins of a part."""
        return self._parts.get(patches)

    def apart(self, cluster: Junctions) -> tuple[int, ...]:
        """Return crossings of a cluster that share no line."""
        return self._apart.get(cluster, ())

    def swept(self, cluster: Junctions) -> Swept | None:
        """Return the numbers of all parts of a bundle of crossing lines."""
        return self._swept.get(cluster)

    def cost(self, patches: Patches) -> Cost | None:
        """Return what a part costs at least."""
        return self._costs.get(patches)

    def searched(self, patches: Patches) -> Searched | None:
        """Return what a search has settled of a part."""
        return self._searched.get(patches)


class LimitedTable:
    """What is claimed of parts with limited units, to be looked up."""

    def __init__(self, claim: Limited) -> None:
        self._costs = {mask_of(patches): cost for patches, cost in claim.parts.items()}
        self._searched = {mask_of(found.patches): found for found in claim.searched}

    def cost(self, patches: Patches) -> Cost | None:
        """Return what a part costs at least."""
        return self._costs.get(patches)

    def searched(self, patches: Patches) -> Searched | None:
        """Return what a search has settled of a part."""
        return self._searched.get(patches)


class _Ranges:
    """Refuses numbers of what there is not in a block."""

    def __init__(self, block: Block) -> None:
        self._counts = {
            "junction": len(block.junctions),
            "edge": block.interior_edges.stop,
            "patch": len(block.patches),
            "line": len(block.lines),
        }

    def check(self, claims: Claims) -> None:
        """Refuse claims about what there is not."""
        for witness in claims.corners:
            self._check_witness(witness)
        if isinstance(claims.units, Potentials):
            self._check_potentials(claims.units)
        elif isinstance(claims.units, Limited):
            for patches in (*claims.units.parts, *(found.patches for found in claims.units.searched)):
                self._within("patch", patches)
        elif claims.units is not None:
            self._check_rows(claims.units)

    def _within(self, what: str, numbers: Iterable[int]) -> None:
        for number in numbers:
            if not 0 <= number < self._counts[what]:
                raise ProofError(f"a claim is about {what} {number}, and the block has {self._counts[what]}")

    def _check_witness(self, witness: Witness) -> None:
        waiting = [witness]
        while waiting:
            match waiting.pop():
                case Corner(junction):
                    self._within("junction", [junction])
                case Bend(first, last):
                    self._within("edge", [first, last])
                case Ring(walk):
                    self._within("junction", [junction for junction, _ in walk])
                    self._within("edge", [edge for _, edge in walk])
                case Fork(junction, ways):
                    self._within("junction", [junction])
                    waiting += [below for _, below in ways]

    def _check_potentials(self, claim: Potentials) -> None:
        for cluster in (*claim.clusters, *claim.apart, *claim.apart.values()):
            self._within("junction", cluster)
        for patches in (*claim.parts, *claim.costs, *(found.patches for found in claim.searched)):
            self._within("patch", patches)
        for swept in claim.swept:
            self._within("junction", swept.junctions)
            self._within("line", (line for line, _, _ in swept.sides))

    def _check_rows(self, claim: RowSums) -> None:
        self._check_choices(claim.possible)
        for row in claim.rows:
            self._check_choices(choice for choice, _ in row.terms)
            match row.kind:
                case "through":
                    self._within("junction", row.witness)
                case "patch":
                    self._within("patch", row.witness)
                case "stem":
                    self._within("junction", row.witness[:1])
                    self._within("edge", row.witness[1:])
                case _:  # which end of a stretch is a number of an edge as well
                    self._within("edge", row.witness)
        for component in claim.components:
            self._check_choices(component.choices)
            waiting = [component.tree]
            while waiting:
                node = waiting.pop()
                if isinstance(node, Tried):
                    self._check_choices([node.choice])
                    waiting += [node.no, node.yes]

    def _check_choices(self, choices: Iterable[Through | Added]) -> None:
        for choice in choices:
            if isinstance(choice, Through):
                self._within("junction", [choice.junction])
                self._within("line", [choice.line])
            else:
                self._within("edge", [choice.edge])
                self._within("patch", [choice.patch])

"""What is claimed about a block: frozen records with block data only.

Junctions, edges, lines and patches are meant by their numbers in the block.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal, NamedTuple

import numpy as np
import numpy.typing as npt

FREE_PIVOTS = 2
"""Hard corners of one seam that cost no excess pivot."""


class Cost(NamedTuple):
    """What an order costs, in the order of merit: one cost is less than another as tuples are."""

    hard_corners: int = 0
    set_in: int = 0
    excess_pivots: int = 0
    joins: int = 0

    def plus(self, other: Cost) -> Cost:
        """Return both costs together, item by item."""
        return Cost(*(a + b for a, b in zip(self, other, strict=True)))


NOTHING = Cost()


# -- hard corners ----------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Corner:
    """A junction where no two edges are in line: a Y, or a bend between two patches."""

    junction: int


@dataclass(frozen=True, slots=True)
class Bend:
    """Edges in line, from the first to the last, that are not straight as a whole, and that one seam sews."""

    first: int
    last: int


@dataclass(frozen=True, slots=True)
class Ring:
    """Seams that wait for each other.

    Parameters
    ----------
    walk
        Junctions in turn, each with the edge by which a closed walk leaves it. At each of them this edge is in the
        last pair, if that pair is in line, and so is sewn no earlier than the edge by which the walk arrives.
    """

    walk: tuple[tuple[int, int], ...]


@dataclass(frozen=True, slots=True)
class Fork:
    """A junction where several pairs are in line, with what costs a corner whichever of them is last.

    Parameters
    ----------
    junction
        Where.
    ways
        For each pair in line, by its smaller edge.
    """

    junction: int
    ways: tuple[tuple[int, Witness], ...]


Witness = Corner | Bend | Ring | Fork
"""Some place that costs one hard corner by itself."""


# -- joins -----------------------------------------------------------------------------------------------------


@dataclass(frozen=True, eq=False, slots=True)
class Swept:
    """Joins of all parts of a bundle of crossing lines.

    Parameters
    ----------
    junctions
        The crossings; their places here are the bits of the parts.
    sides
        Per line that passes some of them, its number and the crossings (places) on either side of it.
    parts
        Shape (parts, words): crossings of each part, 64 to a word.
    joins
        Shape (parts,): no straight order of the part has fewer.
    """

    junctions: tuple[int, ...]
    sides: tuple[tuple[int, tuple[int, ...], tuple[int, ...]], ...]
    parts: npt.NDArray[np.uint64]
    joins: npt.NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Searched:
    """What a part costs at least, settled by a search that no record can be followed of.

    Parameters
    ----------
    patches
        The part.
    cost
        No order of it costs less.
    by
        ``paths`` where every path from outline to outline was tried, ``model`` for the constraint solver.
    spent
        Thousandths of a second of an ordinary machine, counted and not clocked.
    """

    patches: tuple[int, ...]
    cost: Cost
    by: Literal["paths", "model"]
    spent: int


@dataclass(frozen=True, slots=True)
class Potentials:
    """Numbers for sets of junctions and for parts, each of which follows from others over every cut.

    Parameters
    ----------
    clusters
        Per set of junctions that edges link: straight orders of the patches round it have no fewer joins.
    apart
        Per cluster, crossings that share no line: each needs a join of its own.
    swept
        Clusters with all of their parts.
    parts
        Per part (patches): straight orders of it have no fewer joins.
    costs
        Per part: no order of it costs less.
    searched
        The parts of which the cost is known by a search only.
    """

    clusters: Mapping[tuple[int, ...], int]
    apart: Mapping[tuple[int, ...], tuple[int, ...]]
    swept: tuple[Swept, ...]
    parts: Mapping[tuple[int, ...], int]
    costs: Mapping[tuple[int, ...], Cost]
    searched: tuple[Searched, ...] = ()


@dataclass(frozen=True, slots=True)
class Limited:
    """What parts cost at least if no unit of several patches may be larger than a rectangle, turned by any angle.

    Parameters
    ----------
    size
        Width and height of the rectangle, inches.
    parts
        Per part (patches): no order of it with such units costs less.
    searched
        The parts of which that is known by a search only.
    weights
        What patches weigh, one way after the other, so that no such unit weighs more than one in any of them; see
        `seamtree.proofs.limited`. Empty if that is not made use of.
    """

    size: tuple[float, float]
    parts: Mapping[tuple[int, ...], Cost]
    searched: tuple[Searched, ...] = ()
    weights: tuple[int, ...] = ()


# -- rows ------------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, order=True)
class Through:
    """A choice: a line goes through a crossing."""

    junction: int
    line: int


@dataclass(frozen=True, slots=True, order=True)
class Added:
    """A choice: a stretch (named by its first edge) adds a single patch."""

    edge: int
    patch: int


Choice = Through | Added


@dataclass(frozen=True, slots=True)
class Row:
    """A sum of choices that is at most a number in every straight order.

    Parameters
    ----------
    kind
        Which rule it follows; see `seamtree.proofs.rows`.
    witness
        What it is about: a junction, a patch, edges.
    terms
        The choices with their factors.
    most
        What the sum is at most.
    """

    kind: str
    witness: tuple[int, ...]
    terms: tuple[tuple[Choice, int], ...]
    most: int


@dataclass(frozen=True, slots=True)
class Sum:
    """A bound proven by a sum of rows, with the choices that were tried taken as given.

    Parameters
    ----------
    weights
        Per row (by its number) how often it is counted.
    """

    weights: Mapping[int, Fraction]


@dataclass(frozen=True, slots=True)
class Tried:
    """A bound proven for a choice not taken and for the choice taken."""

    choice: Choice
    no: Sum | Tried
    yes: Sum | Tried


@dataclass(frozen=True, slots=True)
class Component:
    """That some choices add no more patches than a number."""

    choices: tuple[Choice, ...]
    most: int
    tree: Sum | Tried


@dataclass(frozen=True, slots=True)
class RowSums:
    """That no straight order adds more patches to units than a number.

    Parameters
    ----------
    most
        The number.
    possible
        The additions that were not left out as impossible.
    components
        Each a proof of its own.
    rows
        What the proofs refer to.
    """

    most: int
    possible: tuple[Added, ...]
    components: tuple[Component, ...]
    rows: tuple[Row, ...]


# -- what was asked --------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class SearchedSets:
    """Foundations and units that no straight order ranks before, settled by a search that cannot be followed.

    Parameters
    ----------
    foundations, units
        No straight order has fewer different foundations, and none that has as few has fewer units.
    tried
        Sets of foundations that were chosen by the constraint solver and tried one by one.
    spent
        Thousandths of a second of an ordinary machine that choosing took, counted and not clocked.
    """

    foundations: int
    units: int
    tried: int
    spent: int


@dataclass(frozen=True, slots=True)
class Weighing:
    """Weights that tell how many there must be of what together weighs as much as the block.

    Parameters
    ----------
    patches
        What each patch weighs; less than nothing for some.
    each
        What every unit weighs besides.
    """

    patches: tuple[int, ...]
    each: int


@dataclass(frozen=True, slots=True)
class Repeats:
    """What ranks first if fewer different foundations come before fewer units.

    Parameters
    ----------
    foundations, units
        No straight order has fewer different foundations, and none that has as few has fewer units.
    fabrics
        For each patch the number of its fabric, from 0 in order of first appearance.
    few
        Shows that there are so many foundations, see `seamtree.proofs.repeats`; None if it is not made use of.
    then
        Shows that so few foundations take so many units; None if it is not made use of.
    searched
        What a search has settled; None if nothing rests on it.
    largest
        Width and height (inches) of a rectangle that no unit of several patches is larger than; None if any may be.
    """

    foundations: int
    units: int
    fabrics: tuple[int, ...]
    few: Weighing | None = None
    then: Weighing | None = None
    searched: SearchedSets | None = None
    largest: tuple[float, float] | None = None


@dataclass(frozen=True, slots=True)
class KeptJoin:
    """A join of kept units.

    Parameters
    ----------
    parts
        The two parts: a unit by its number, a join by its number plus the number of units.
    edges
        The edges that it sews, in turn.
    """

    parts: tuple[int, int]
    edges: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Kept:
    """Units that are printed on the drawing: given, not searched for.

    Parameters
    ----------
    units
        The patches of each unit in an order that can be sewn.
    joins
        All joins in sewing order.
    """

    units: tuple[tuple[int, ...], ...]
    joins: tuple[KeptJoin, ...]


# -- all of it -------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Claims:
    """What is claimed about a block.

    Parameters
    ----------
    cost
        No order of the block costs less, in the order of merit; joins are units less one.
    corners
        Places that cost one hard corner each, and share none.
    units
        Why; None where nothing is to be shown, as for a single unit.
    repeats
        What no straight order ranks before if fewer different foundations come first; None if that is not claimed.
    kept
        Printed units that an order of straight seams has; None if none are kept.
    """

    cost: Cost = NOTHING
    corners: tuple[Witness, ...] = ()
    units: Potentials | RowSums | Limited | None = None
    repeats: Repeats | None = None
    kept: Kept | None = None


@dataclass(frozen=True, slots=True)
class Proof:
    """Claims about one block.

    Parameters
    ----------
    block
        Digest of the block: its planar map, to a millionth of an inch.
    claims
        What is claimed.
    """

    block: str
    claims: Claims

    def __repr__(self) -> str:
        cost = self.claims.cost
        return f"<Proof: no fewer than {cost.hard_corners} hard corners, then {cost.joins + 1} units>"

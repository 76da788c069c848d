"""The answer: a sewing order as a tree of units and joins, with what is proven about it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, Literal

from seamtree.block.model import Block
from seamtree.errors import Finding

SeamKind = Literal["straight", "partial", "set-in", "curved"]
CornerKind = Literal["set-in", "partial", "curved"]
Verdict = Literal["single unit", "joined units", "hard corners"]


@dataclass(frozen=True, slots=True)
class HardCorner:
    """A place in a join where the sewist must stop and pivot, or the curve that she must ease.

    Parameters
    ----------
    kind
        ``set-in``, ``partial`` or ``curved``.
    junction
        Where; for a curve its middle junction within the join.
    reason
        Why, in plain words.
    """

    kind: CornerKind
    junction: int
    reason: str


@dataclass(frozen=True, slots=True)
class Seam:
    """The seam of a join.

    Parameters
    ----------
    kind
        The hardest of its corners (set-in, then partial, then curved), or straight.
    path
        Junctions in turn.
    length
        Inches.
    corners
        Its hard corners along the path.
    matched
        Junctions strictly inside where seams arrive from both sides.
    """

    kind: SeamKind
    path: tuple[int, ...]
    length: float
    corners: tuple[HardCorner, ...] = ()
    matched: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Unit:
    """A part sewn on one foundation.

    Parameters
    ----------
    name
        A, B, … Z, AA, … in sewing order.
    patches
        Patches of the block in sewing order.
    """

    name: str
    patches: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Join:
    """A seam between two parts.

    Parameters
    ----------
    step
        Numbers the joins in sewing order from 1.
    seam, parts
        What is sewn.
    press
        The part toward which the allowance is pressed: 0 or 1.
    nests
        Matched points of the seam at which the allowances that meet fall on opposite sides.
    """

    step: int
    seam: Seam
    parts: tuple[Node, Node]
    press: int = 0
    nests: tuple[int, ...] = ()


Node = Unit | Join


@dataclass(frozen=True, slots=True)
class Counts:
    """The figures of a plan, in the words of the trade.

    `excess_pivots` are hard corners beyond two in a join; `nesting_points` are the matched points whose allowances
    nest; `foundations` are the units that differ in shape or fabrics, turned ones counted once.
    """

    patches: int
    units: int
    joins: int
    single_patches: int
    set_in: int
    partial: int
    curved: int
    excess_pivots: int
    matched_points: int
    nesting_points: int = 0
    foundations: int = 0

    @property
    def hard_corners(self) -> int:
        """Set-in, partial and curved corners together."""
        return self.set_in + self.partial + self.curved

    @property
    def corners_by_kind(self) -> str:
        """The hard corners in words: ``1 set-in, 2 curved``; empty where there are none."""
        kinds = ((self.set_in, "set-in"), (self.partial, "partial"), (self.curved, "curved"))
        return ", ".join(f"{number} {kind}" for number, kind in kinds if number)


@dataclass(frozen=True, slots=True)
class Bound:
    """What no plan can go below."""

    hard_corners: int
    units: int


@dataclass(frozen=True, slots=True)
class Plan:
    """A sewing order for a block.

    Parameters
    ----------
    block
        What is sewn.
    verdict
        ``single unit``, ``joined units`` or ``hard corners``.
    tree
        Root node.
    counts, bound, proven
        The figures, what no plan can go below, and whether the figures are proven to be the least.
    warnings
        Findings about the drawing and the plan.
    repeats
        Names of units that are sewn on the same foundation, in groups of two or more.
    unproven
        Figures below the units in the order of merit that may not be the best, in words.
    """

    block: Block
    verdict: Verdict
    tree: Node
    counts: Counts
    bound: Bound
    proven: bool
    warnings: tuple[Finding, ...] = ()
    repeats: tuple[tuple[str, ...], ...] = ()
    unproven: tuple[str, ...] = ()

    def units(self) -> Iterator[Unit]:
        """Yield the units in sewing order."""
        return units_of(self.tree)

    def joins(self) -> Iterator[Join]:
        """Yield the joins in sewing order."""
        return joins_of(self.tree)

    def to_json(self) -> dict[str, Any]:
        """Return the plan as plain data (see `seamtree.report.block_json`)."""
        from seamtree.report import block_json

        return block_json(self)

    def patch_ids(self) -> dict[int, str]:
        """Return the printed id of every patch, for example ``A1``."""
        return {p: f"{unit.name}{k}" for unit in self.units() for k, p in enumerate(unit.patches, 1)}


def nodes_in_turn(tree: Node) -> Iterator[Node]:
    """Yield the nodes of a tree in sewing order, the parts of a join before the join; trees may be deep."""
    stack: list[tuple[Node, bool]] = [(tree, False)]
    while stack:
        node, ready = stack.pop()
        if ready or isinstance(node, Unit):
            yield node
        else:
            stack += [(node, True), (node.parts[1], False), (node.parts[0], False)]


def units_of(tree: Node) -> Iterator[Unit]:
    """Yield the units of a tree in sewing order."""
    return (node for node in nodes_in_turn(tree) if isinstance(node, Unit))


def joins_of(tree: Node) -> Iterator[Join]:
    """Yield the joins of a tree in sewing order."""
    return (node for node in nodes_in_turn(tree) if isinstance(node, Join))


def id_order(name: str) -> tuple[int, str, int]:
    """Return the sorting key of a patch id: by unit, then by number."""
    unit = name.rstrip("0123456789")
    return len(unit), unit, int(name[len(unit) :])

"""The answer: a sewing order as a tree of units and joins, with what is proven about it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, Literal

from seamtree import arguments
from seamtree.block.model import Block
from seamtree.errors import Finding, OptionError
from seamtree.planning.wishes import NO_WISHES, Wishes
from seamtree.proofs.claims import Claims, Proof
from seamtree.words import count

if TYPE_CHECKING:
    import networkx as nx

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

    def __repr__(self) -> str:
        corners = count(len(self.corners), "hard corner")
        matched = count(len(self.matched), "matched point")
        return f"<Seam: {self.kind}, {self.length:.2f} in, {corners}, {matched}>"


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

    def __repr__(self) -> str:
        return f"<Unit {self.name}: {count(len(self.patches), 'patch', 'patches')}>"


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

    def __repr__(self) -> str:
        one, other = (f"join {part.step}" if isinstance(part, Join) else f"unit {part.name}" for part in self.parts)
        return f"<Join {self.step}: {self.seam.kind} seam of {self.seam.length:.2f} in between {one} and {other}>"

    @property
    def patches(self) -> tuple[int, ...]:
        """Patches of the block that are one piece of cloth after this join, in sewing order."""
        return tuple(p for unit in units_of(self) for p in unit.patches)


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


PROVEN_ITEMS = {
    "hard_corners": ("hard corner", "hard corners"),
    "set_in": ("set-in corner", "set-in corners"),
    "excess_pivots": ("pivot beyond two in a join", "pivots beyond two in a join"),
    "units": ("unit", "units"),
}
"""The items of merit that are the least in a plan that is proven, in order, each in words for one and for several."""


@dataclass(frozen=True, slots=True)
class Bound:
    """What no plan can go below that is as good in all items before, in the order of merit.

    The items in that order: hard corners, set-in ones among them, excess pivots, units, matched points, foundations,
    and the length of all joins together in inches.
    """

    hard_corners: int
    units: int
    set_in: int = 0
    excess_pivots: int = 0
    matched_points: int = 0
    foundations: int = 0
    join_length: float = 0.0


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
    claims
        Why no order has fewer hard corners or units, and what was asked for ranks first; see `proof`.
    wishes
        What was asked of it besides; `bound` and `proven` speak of plans that grant it.
    notes
        What these wishes cost, and what else is good to know.
    locked
        The parts that straight seams cannot sew, each with its patches.
    kept
        What is as printed on the drawing: ``numbers`` (and units), ``units``, or nothing.
    free_units
        The units of the best order that was found without wishes, and whatever is printed.
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
    claims: Claims = field(default_factory=Claims, compare=False)
    wishes: Wishes = NO_WISHES
    notes: tuple[Finding, ...] = ()
    locked: tuple[tuple[int, ...], ...] = ()
    kept: str = ""
    free_units: int | None = None

    def __repr__(self) -> str:
        counts = self.counts
        corners = count(counts.hard_corners, "hard corner")
        figures = f"{count(counts.patches, 'patch', 'patches')}, {count(counts.units, 'unit')}, {corners}"
        proven = "proven" if self.proven else "not proven"
        return f"<Plan of {self.block.name[:60]!r}: {self.verdict}, {figures}, {proven}>"

    @property
    def open_item(self) -> str | None:
        """The first item of merit, from hard corners to units, that may not be the least; None if all are."""
        return next((item for item in PROVEN_ITEMS if getattr(self.counts, item) > getattr(self.bound, item)), None)

    def unit(self, name: str) -> Unit:
        """Return a unit by its name.

        Parameters
        ----------
        name
            A, B, … Z, AA, …

        Raises
        ------
        OptionError
            If the plan has no unit of that name.

        Examples
        --------
        >>> import seamtree
        >>> (block,) = seamtree.read("samples/buoy.svg")
        >>> seamtree.plan(block).unit("B")
        <Unit B: 2 patches>
        """
        arguments.text("name", name)
        for unit in self.units():
            if unit.name == name:
                return unit
        last = max(self.units(), key=lambda unit: (len(unit.name), unit.name)).name
        raise OptionError(f"name must be a unit of the plan, A to {last}, not {name[:40]!r}", argument="name")

    def walk(self) -> Iterator[Node]:
        """Yield the units and joins in sewing order: whatever a join sews together comes before it.

        Every node has `patches`: the patches that are one piece of cloth once it is sewn.

        Examples
        --------
        >>> import seamtree
        >>> (block,) = seamtree.read("samples/buoy.svg")
        >>> for node in list(seamtree.plan(block).walk())[:3]:
        ...     print(node, node.patches)
        <Unit A: 4 patches> (23, 22, 24, 25)
        <Unit B: 2 patches> (20, 21)
        <Join 1: straight seam of 7.54 in between unit A and unit B> (23, 22, 24, 25, 20, 21)
        """
        return nodes_in_turn(self.tree)

    @property
    def proof(self) -> Proof:
        """What is claimed of all orders of the block, for `seamtree.check_proof`.

        Examples
        --------
        >>> import seamtree
        >>> (block,) = seamtree.read("samples/buoy.svg")
        >>> seamtree.plan(block).proof
        <Proof: no fewer than 0 hard corners, then 8 units>
        """
        from seamtree.proofs.digest import digest

        return Proof(digest(self.block), self.claims)

    def units(self) -> Iterator[Unit]:
        """Yield the units in sewing order."""
        return units_of(self.tree)

    def joins(self) -> Iterator[Join]:
        """Yield the joins in sewing order."""
        return joins_of(self.tree)

    def to_json(self) -> dict[str, Any]:
        """Return the plan as plain data: a block of the schema ``seamtree/1`` (see `seamtree.schemas`)."""
        from seamtree.planning.report import block_json

        return block_json(self)

    def to_networkx(self) -> nx.DiGraph:
        """Return the tree of units and joins as a directed graph, edges leading from a join to its two parts.

        Returns
        -------
        networkx.DiGraph
            Nodes are the names of units and the numbers of joins. All have `kind` (``unit`` or ``join``) and
            `patches` (ids in sewing order). Joins have `seam` (kind), `length` (inches), `path` (places, inches),
            `hard_corners` and `matched_points` (how many). Edges have `part` (0 or 1, as in `Join.parts`) and
            `pressed_here` (whether the allowance is pressed toward that part). The graph has `name`, `verdict` and
            `proven`.

        Examples
        --------
        >>> import seamtree
        >>> (block,) = seamtree.read("samples/buoy.svg")
        >>> graph = seamtree.plan(block).to_networkx()
        >>> graph.nodes["B"]["patches"]
        ('B1', 'B2')
        >>> sorted(graph.nodes[7])
        ['hard_corners', 'kind', 'length', 'matched_points', 'patches', 'path', 'seam']
        """
        from seamtree.graphs import plan_graph

        return plan_graph(self)

    def _repr_svg_(self) -> str:
        """Return the plan as a picture, for notebooks."""
        from seamtree.picture.draw import draw_plan
        from seamtree.picture.render import notebook_svg

        return notebook_svg(draw_plan(self))

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

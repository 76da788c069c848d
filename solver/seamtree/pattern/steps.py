"""Every step of sewing a block as data: what lies on the table, what is added to it, and how.

Whoever shows the steps (pages of a pack, a page on a screen) draws and tells them from here. Places are inches from
the top left corner of the block, x to the right and y down, seen from the fabric side; the foundations are mirror
images. The words for a step are in `seamtree.pattern.directions`.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from itertools import groupby, pairwise

from seamtree.block.model import OUTSIDE
from seamtree.errors import Point
from seamtree.pattern.cutting import PatchCloth, build_cloths
from seamtree.pattern.fabrics import Fabric
from seamtree.pattern.foundation import ALLOWANCE
from seamtree.pattern.pieces import Piece, Segment, Site, build_sites, lay_piece
from seamtree.planning.model import CornerKind, Join, Plan, Unit, id_order, nodes_in_turn
from seamtree.planning.naming import units_by_node


@dataclass(frozen=True, slots=True)
class Addition:
    """A piece that is put onto a foundation.

    Parameters
    ----------
    number
        Its place in the order of the unit, from 1.
    patch, name
        The patch of the block that it becomes, and its printed number.
    fabric
        What it is cut from: code, name, colour.
    piece
        The size to cut: inches along the line, inches square to it, and what shape.
    before
        Patches of the block that are sewn on this foundation before it, in sewing order.
    line
        The ends of the line that it is sewn on; None for the first piece, which is laid and pinned.
    onto
        Printed numbers of the patches on the other side of that line.
    laid
        Corners of the piece where it lies once it is flipped open.
    """

    number: int
    patch: int
    name: str
    fabric: Fabric
    piece: Piece
    before: tuple[int, ...]
    line: Segment | None
    onto: tuple[str, ...]
    laid: tuple[Point, ...]


@dataclass(frozen=True, slots=True)
class UnitStep:
    """A unit that is sewn on its foundation, or the single patch that is cut by a template.

    Parameters
    ----------
    unit
        The unit.
    alike
        Names of the other units that are sewn the same way, on the same foundation in the same order.
    additions
        Its pieces in sewing order.
    """

    unit: Unit
    alike: tuple[str, ...]
    additions: tuple[Addition, ...]

    @property
    def is_template(self) -> bool:
        """Whether it is a single patch, with nothing to sew on it."""
        return len(self.additions) == 1


@dataclass(frozen=True, slots=True)
class MatchedPoint:
    """A place within a join where seams from both sides must meet.

    Parameters
    ----------
    at
        Where.
    patches
        Printed numbers of the patches round it.
    nests
        Whether the allowances that meet fall on opposite sides, so that they lock into each other.
    """

    at: Point
    patches: tuple[str, ...]
    nests: bool


@dataclass(frozen=True, slots=True)
class CornerPlace:
    """A hard corner of a join: its kind, where it is, the patches round it, and why."""

    kind: CornerKind
    at: Point
    patches: tuple[str, ...]
    reason: str


@dataclass(frozen=True, slots=True)
class JoinStep:
    """A join.

    Parameters
    ----------
    join
        The join; the index of the part that its allowance is pressed to is `join.press`.
    parts
        Names of the units of either part.
    path
        The seam, from end to end.
    matched, corners
        What lies within it, along the path.
    paper_off
        Names of the units whose paper may come off now, for they are sewn to others all round.
    """

    join: Join
    parts: tuple[tuple[str, ...], tuple[str, ...]]
    path: tuple[Point, ...]
    matched: tuple[MatchedPoint, ...]
    corners: tuple[CornerPlace, ...]
    paper_off: tuple[str, ...]


Step = UnitStep | JoinStep


def build_steps(
    plan: Plan, cloths: Iterable[PatchCloth] | None = None, *, allowance: float = ALLOWANCE
) -> tuple[Step, ...]:
    """Return the steps of a plan in the order of work: every unit, and every join when it is its turn.

    Parameters
    ----------
    plan
        The plan.
    cloths
        The pieces of its patches, of this block alone; None for those of `build_cloths` as it is.
    allowance
        Seam allowance, inches; the one that the pieces were sized with.
    """
    by_patch = {cloth.patch: cloth for cloth in (build_cloths([(plan, 1)]) if cloths is None else cloths)}
    sites = build_sites(plan)
    group_of = {name: group for group in plan.repeats for name in group}
    parts, paper_off = units_by_node(plan.tree), dict(paper_off_early(plan))
    around = _patches_around(plan)
    steps: list[Step] = []
    for node in nodes_in_turn(plan.tree):
        if isinstance(node, Unit):
            alike = tuple(name for name in group_of.get(node.name, ()) if name != node.name)
            steps.append(UnitStep(node, alike, tuple(_additions(plan, node, sites, by_patch, allowance))))
            continue
        junctions, seam = plan.block.junctions, node.seam
        steps.append(
            JoinStep(
                node,
                (parts[id(node.parts[0])], parts[id(node.parts[1])]),
                tuple(junctions[j] for j in seam.path),
                tuple(MatchedPoint(junctions[j], around[j], j in node.nests) for j in seam.matched),
                tuple(CornerPlace(c.kind, junctions[c.junction], around[c.junction], c.reason) for c in seam.corners),
                paper_off.get(node.step, ()),
            )
        )
    return tuple(steps)


def _additions(
    plan: Plan, unit: Unit, sites: Mapping[int, Site], cloths: Mapping[int, PatchCloth], allowance: float
) -> Iterator[Addition]:
    edges = plan.block.edges
    for number, p in enumerate(unit.patches, 1):
        site, cloth = sites[p], cloths[p]
        before = unit.patches[: number - 1]
        beside = {edges[k].left for k in plan.block.patches[p].edges} | {
            edges[k].right for k in plan.block.patches[p].edges
        }
        yield Addition(
            number,
            p,
            site.name,
            cloth.fabric,
            cloth.piece,
            before,
            site.line if number > 1 else None,
            tuple(sites[q].name for q in before if q in beside),
            lay_piece(site, cloth.piece, allowance=allowance),
        )


def _patches_around(plan: Plan) -> dict[int, tuple[str, ...]]:
    """Return the printed numbers of the patches round every junction."""
    ids = plan.patch_ids()
    around: dict[int, list[str]] = {}
    for p, patch in enumerate(plan.block.patches):
        for j in patch.ring:
            around.setdefault(j, []).append(ids[p])
    return {j: tuple(sorted(names, key=id_order)) for j, names in around.items()}


def paper_off_early(plan: Plan) -> Iterator[tuple[int, tuple[str, ...]]]:
    """Yield the units that touch no edge of the block, by the join that sews the last of their edges."""
    block = plan.block
    owner = {p: unit.name for unit in plan.units() for p in unit.patches}
    outer = {owner[e.left if e.right == OUTSIDE else e.right] for e in block.edges if not e.interior}
    last: dict[str, int] = {}
    between = block.edge_between()
    for join in plan.joins():
        for ends in pairwise(join.seam.path):
            edge = block.edges[between[frozenset(ends)]]
            for patch in (edge.left, edge.right):
                last[owner[patch]] = join.step
    inner = sorted(((last[name], name) for name in last if name not in outer), key=lambda entry: entry[0])
    for step, group in groupby(inner, key=lambda entry: entry[0]):
        yield step, tuple(name for _, name in group)

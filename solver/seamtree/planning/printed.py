"""Units and numbers that are printed on a drawing and can be sewn: they are kept.

Numbers are kept if `seamtree.proofreading` would prove them. Letters alone, one in every patch, ask for units only;
they are taken for letters of fabrics where every letter stands on one fabric.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from seamtree.block.model import Block
from seamtree.errors import DrawingError, Finding
from seamtree.proofs.claims import Kept, KeptJoin
from seamtree.proofs.kept import check_kept
from seamtree.proofs.planar import Planar
from seamtree.search.peel import is_unit
from seamtree.search.tree import Grown, Joined, Order, units_in
from seamtree.search.view import SeamView, build_view

_LETTERS = re.compile(r"\s*([A-Za-z]{1,2})\s*")

_NAME = re.compile("[A-Z]{0,2}")


@dataclass(frozen=True, slots=True)
class Printed:
    """What is printed on a block.

    Parameters
    ----------
    order
        The units in an order that straight seams can sew; None if there is none, or no unit is printed.
    names
        Per patch the letters of its unit.
    numbered
        Whether the order of the patches of each unit is printed as well.
    asked
        Whether letters ask for units, and nothing else is printed.
    faults
        What is wrong with what is printed.
    """

    order: Order | None = None
    names: Mapping[int, str] | None = None
    numbered: bool = False
    asked: bool = False
    faults: tuple[Finding, ...] = ()

    @property
    def kept(self) -> str:
        """What is kept of it, in a word: ``numbers``, ``units`` or nothing."""
        return "" if self.order is None else "numbers" if self.numbered else "units"


NOTHING_PRINTED = Printed()


def read_printed(block: Block) -> Printed:
    """Read the units, and numbers if there are any, that are printed on a block, and prove that they can be sewn."""
    texts = [patch.label for patch in block.patches]
    if not all(texts):
        return NOTHING_PRINTED
    letters = [_LETTERS.fullmatch(text or "") for text in texts]
    if all(letters):
        return _units_asked(block, [m[1].upper() for m in letters if m])
    return _numbers(block)


def _numbers(block: Block) -> Printed:
    from seamtree.proofreading.chains import first_failure
    from seamtree.proofreading.labels import printed_order, read_labels

    try:
        reading = read_labels(block)
    except DrawingError:
        return NOTHING_PRINTED
    units = printed_order(reading.labels)
    if reading.unsure or not all(map(_NAME.fullmatch, units)):
        return NOTHING_PRINTED
    if reading.faults:
        return Printed(faults=reading.faults)
    view = build_view(block)
    failures = (first_failure(view, reading.labels, patches) for patches in units.values())
    faults = tuple(failure for failure in failures if failure is not None)
    if faults:
        return Printed(faults=faults)
    return _joined(view, units, numbered=True)


def _units_asked(block: Block, letters: Sequence[str]) -> Printed:
    units: dict[str, list[int]] = {}
    fabrics: dict[str, set[str | None]] = {}
    for p, name in enumerate(letters):
        units.setdefault(name, []).append(p)
        fabrics.setdefault(name, set()).add(block.patches[p].fabric)
    several = any(len(patches) > 1 for patches in units.values())
    if not several or (
        None not in set().union(*fabrics.values()) and all(len(worn) == 1 for worn in fabrics.values())
    ):
        return NOTHING_PRINTED
    view = build_view(block)
    faults = tuple(fault for name in sorted(units) for fault in _unit_faults(view, name, units[name]))
    if faults:
        return Printed(asked=True, faults=faults)
    return _joined(
        view, {name: tuple(units[name]) for name in sorted(units, key=lambda n: (len(n), n))}, numbered=False
    )


def _unit_faults(view: SeamView, name: str, patches: Sequence[int]) -> list[Finding]:
    """Say what is wrong with a unit of which only the patches are given."""
    from seamtree.proofreading.chains import unit_pieces
    from seamtree.proofreading.outcome import Label, middle

    part = sum(1 << p for p in patches)
    labels = {p: Label(name, k) for k, p in enumerate(patches, 1)}
    apart = unit_pieces(view, labels, f"unit {name}", patches)
    if apart is not None:
        where = f"Unit {name} is in several pieces that share no edge."
        return [Finding(apart.code, where, apart.at, (name,))]
    if not is_unit(view, part):
        where = f"Unit {name} cannot be sewn patch by patch with straight seams, in any order."
        return [Finding("unit-locked", where, middle(view.block, patches[0]), (name,))]
    return []


def _joined(view: SeamView, units: Mapping[str, Sequence[int]], *, numbered: bool) -> Printed:
    from seamtree.proofreading.joins import join_units

    joins, locked = join_units(view, units)
    if locked:
        return Printed(asked=not numbered, faults=tuple(locked))
    between = view.block.edge_between()
    nodes: dict[frozenset[str], Order] = {frozenset((name,)): Grown(tuple(ps)) for name, ps in units.items()}
    for join in joins:
        first, second = (nodes.pop(frozenset(part)) for part in join.parts)
        edges = tuple(between[frozenset(ends)] for ends in pairwise(join.path))
        nodes[frozenset((*join.parts[0], *join.parts[1]))] = Joined(edges, (first, second))
    (order,) = nodes.values()
    if not numbered:
        order = _peeled(view, order)
    names = {p: name or "A" for name, patches in units.items() for p in patches}
    return Printed(order, names, numbered, asked=not numbered)


def _peeled(view: SeamView, order: Order) -> Order:
    """Return an order whose units are in some order that can be sewn."""
    from seamtree.search.peel import peel

    if isinstance(order, Joined):
        return Joined(order.edges, (_peeled(view, order.parts[0]), _peeled(view, order.parts[1])))
    chain = peel(view, sum(1 << p for p in order.patches))
    if chain is None:
        raise AssertionError("a unit can be peeled")
    return Grown(chain)


def claim_kept(block: Block, order: Order) -> Kept:
    """Return units that are kept as a claim, sewn again and joined by the check."""
    units = {unit.patches: n for n, unit in enumerate(units_in(order))}
    joins: list[KeptJoin] = []
    finished: list[int] = []
    stack: list[tuple[Order, bool]] = [(order, False)]
    while stack:
        node, ready = stack.pop()
        if isinstance(node, Grown):
            finished.append(units[node.patches])
        elif ready:
            second, first = finished.pop(), finished.pop()
            finished.append(len(units) + len(joins))
            joins.append(KeptJoin((first, second), tuple(sorted(node.edges))))
        else:
            stack += [(node, True), (node.parts[1], False), (node.parts[0], False)]
    kept = Kept(tuple(units), tuple(joins))
    check_kept(Planar(block), kept)
    return kept

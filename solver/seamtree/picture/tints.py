"""Tints and hatching that tell units apart, also in black and white and for colour-blind readers.

Neighbouring units differ in lightness (CIE L*), which print in grey and every kind of colour vision keeps, and in
their hatching; hue comes on top. All tints are so light that black on them has a contrast of 7 to 1 or more (WCAG
2.2, success criterion 1.4.6).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from seamtree.planning.model import Plan

Hatching = Literal["none", "rising", "dotted", "falling", "crossed", "steep"]


@dataclass(frozen=True, slots=True)
class Tint:
    """How the patches of a unit look: their colour, the hatching on it and the colour of that."""

    fill: str
    hatching: Hatching
    ink: str


FOUR = (
    Tint("#fbf8ee", "none", "#fbf8ee"),
    Tint("#9dbcd1", "rising", "#4f7596"),
    Tint("#efd59f", "dotted", "#8a6420"),
    Tint("#c18c77", "falling", "#7d4632"),
)
"""Enough for nearly all blocks; their lightness is L* 98, 75, 86 and 63."""

SIX = (
    Tint("#fbf9f3", "none", "#fbf9f3"),
    Tint("#a9c0d4", "rising", "#4f7596"),
    Tint("#d7e7d5", "crossed", "#4c7d46"),
    Tint("#e3d0a4", "dotted", "#8a6420"),
    Tint("#b8a3b8", "steep", "#74466e"),
    Tint("#b78e7d", "falling", "#7d4632"),
)
"""Enough for all: units are connected, so their neighbourhoods are a planar graph, which has an order in which no
node meets more than five nodes before it."""


def unit_tints(plan: Plan) -> tuple[Tint, ...]:
    """Return a tint for every unit of a plan, in sewing order; units with a common boundary have different ones."""
    colours = colour_graph(unit_neighbours(plan))
    palette = FOUR if max(colours) < len(FOUR) else SIX
    return tuple(palette[colour] for colour in colours)


def unit_neighbours(plan: Plan) -> tuple[frozenset[int], ...]:
    """Return for every unit the units that it has an edge in common with."""
    unit_of = {p: n for n, unit in enumerate(plan.units()) for p in unit.patches}
    neighbours: list[set[int]] = [set() for _ in plan.units()]
    for edge in plan.block.edges:
        if edge.interior and unit_of[edge.left] != unit_of[edge.right]:
            neighbours[unit_of[edge.left]].add(unit_of[edge.right])
            neighbours[unit_of[edge.right]].add(unit_of[edge.left])
    return tuple(map(frozenset, neighbours))


def colour_graph(neighbours: Sequence[frozenset[int]]) -> tuple[int, ...]:
    """Give every node of a graph the first colour that no neighbour has, in smallest-last order.

    The order is that of D. W. Matula and L. L. Beck, 'Smallest-last ordering and clustering and graph coloring
    algorithms', Journal of the ACM 30 (1983): the node with the fewest neighbours is taken away and coloured last. A
    planar graph takes at most six colours so, for it always has a node with five neighbours or fewer.

    Parameters
    ----------
    neighbours
        For every node the nodes beside it.

    Returns
    -------
    tuple of int
        Colours from 0.
    """
    left = {node: set(beside) for node, beside in enumerate(neighbours)}
    taken: list[int] = []
    while left:
        node = min(left, key=lambda n: (len(left[n]), -n))
        for other in left.pop(node):
            left[other].discard(node)
        taken.append(node)
    colours: dict[int, int] = {}
    for node in reversed(taken):
        colours[node] = _first_free(colours, neighbours[node])
    return tuple(colours[node] for node in range(len(neighbours)))


def _first_free(colours: Mapping[int, int], neighbours: frozenset[int]) -> int:
    used = {colours[n] for n in neighbours if n in colours}
    return next(colour for colour in range(len(used) + 1) if colour not in used)

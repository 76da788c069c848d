"""What parts of a plan are called: by their units."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from itertools import groupby

from seamtree.block.model import Block
from seamtree.errors import Point
from seamtree.planning.model import Node, Unit, id_order, nodes_in_turn

_FEW = 8
"""As many patches of a part are named one by one."""


def units_by_node(tree: Node) -> dict[int, tuple[str, ...]]:
    """Return the unit names of every node of a tree, in sewing order, by the identity of the node."""
    found: dict[int, tuple[str, ...]] = {}
    for node in nodes_in_turn(tree):
        found[id(node)] = (
            (node.name,) if isinstance(node, Unit) else found[id(node.parts[0])] + found[id(node.parts[1])]
        )
    return found


def sort_ids(ids: Mapping[int, str], patches: Iterable[int]) -> list[str]:
    """Return the printed ids of some patches, by unit and number."""
    return sorted((ids[p] for p in patches), key=id_order)


def name_patches(ids: Mapping[int, str], patches: Iterable[int]) -> str:
    """Name the first few of some patches: ``A1, A2, B1``, ``A1, …``."""
    names = sort_ids(ids, patches)
    return ", ".join(names if len(names) <= _FEW else [*names[:_FEW], "…"])


def middle_of(block: Block, patches: Iterable[int]) -> Point:
    """Return the middle of the corners of some patches (inches)."""
    corners = {block.junctions[j] for p in patches for j in block.patches[p].ring}
    x, y = (sum(place[axis] for place in corners) / len(corners) for axis in (0, 1))
    return x, y


def name_units(units: Sequence[str]) -> str:
    """Name a part by its units: ``unit A``, ``units A–C``, ``units A, C–E``."""
    runs = [list(run) for _, run in groupby(enumerate(units), key=lambda pair: _number(pair[1]) - pair[0])]
    words = [run[0][1] if len(run) == 1 else f"{run[0][1]}–{run[-1][1]}" for run in runs]
    return f"unit{'s' * (len(units) > 1)} {', '.join(words)}"


def _number(name: str) -> int:
    """Return the number of a unit's name: A is 1, Z is 26, AA is 27."""
    number = 0
    for letter in name:
        number = number * 26 + ord(letter) - ord("A") + 1
    return number

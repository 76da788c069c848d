"""What parts of a plan are called: by their units."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby

from seamtree.planning.model import Join, Node, Unit


def units_by_node(tree: Node) -> dict[int, tuple[str, ...]]:
    """Return the unit names of every node of a tree, in sewing order, by the identity of the node."""
    order: list[Node] = [tree]
    for node in order:
        if isinstance(node, Join):
            order += node.parts
    found: dict[int, tuple[str, ...]] = {}
    for node in reversed(order):
        names = (node.name,) if isinstance(node, Unit) else found[id(node.parts[0])] + found[id(node.parts[1])]
        found[id(node)] = tuple(sorted(names, key=lambda name: (len(name), name)))
    return found


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

"""Plans made by hand, so that what is printed can be tested without the search."""

from __future__ import annotations

from dataclasses import replace

import shapely

from seamtree.block.build import block_from_polygons
from seamtree.block.model import Block
from seamtree.errors import Finding
from seamtree.planning.model import Bound, Counts, HardCorner, Join, Node, Plan, Seam, Unit


def rectangle(left, top, right, bottom):
    return [(left, top), (right, top), (right, bottom), (left, bottom)]


def patch_at(block: Block, x: float, y: float) -> int:
    return next(
        p for p in range(len(block.patches)) if shapely.intersects_xy(shapely.Polygon(block.polygon(p)), x, y)
    )


def junction_at(block: Block, x: float, y: float) -> int:
    return next(j for j, at in enumerate(block.junctions) if abs(at[0] - x) + abs(at[1] - y) < 1e-6)


def unit_name(number: int) -> str:
    return chr(ord("A") + number) if number < 26 else unit_name(number // 26 - 1) + unit_name(number % 26)


def counts_of(patches: int, tree: Node, **more: int) -> Counts:
    units, joins, single, matched = 0, 0, 0, 0
    stack = [tree]
    while stack:
        node = stack.pop()
        if isinstance(node, Unit):
            units += 1
            single += len(node.patches) == 1
        else:
            joins += 1
            matched += len(node.seam.matched)
            stack += node.parts
    zero = {"set_in": 0, "partial": 0, "curved": 0, "excess_pivots": 0}
    return Counts(patches, units, joins, single, matched_points=matched, **(zero | more))


def dinghy(**changes) -> Plan:
    """A dinghy under sail: the picture is one unit, the hull below it another."""
    block = block_from_polygons(
        [
            rectangle(0, 0, 8, 2),
            [(0, 2), (3, 2), (3, 6)],
            [(0, 2), (3, 6), (0, 6)],
            [(3, 2), (8, 6), (3, 6)],
            [(3, 2), (8, 2), (8, 6)],
            rectangle(0, 6, 8, 7),
            rectangle(0, 7, 3, 8),
            rectangle(3, 7, 8, 8),
        ],
        fabrics=["#87ceeb", "#87ceeb", "#fdfdf8", "#c8102e", "#87ceeb", "#7f4f24", "#1f3a5f", "#1f3a5f"],
        labels=["sky", None, None, "main sail", None, None, None, None],
        name="dinghy",
    )
    inside = [(2, 3), (0.5, 5), (3.5, 5), (7, 3), (4, 1), (4, 6.5)]
    above = Unit("A", tuple(patch_at(block, *at) for at in inside))
    below = Unit("B", (patch_at(block, 1, 7.5), patch_at(block, 6, 7.5)))
    path = tuple(junction_at(block, x, 7) for x in (0, 3, 8))
    tree = Join(1, Seam("straight", path, 8.0), (above, below))
    plan = Plan(block, "joined units", tree, counts_of(8, tree), Bound(0, 2), True)
    return replace(plan, **changes)


def buoy() -> Plan:
    """Three bands of a buoy: one unit, no colours."""
    block = block_from_polygons([rectangle(0, y, 6, y + 1.5) for y in (0, 1.5, 3)], name="buoy")
    tree = Unit("A", (0, 1, 2))
    return Plan(block, "single unit", tree, counts_of(3, tree), Bound(0, 1), True)


def rope_ring() -> Plan:
    """Four lengths of rope spun round a block: a partial seam."""
    block = block_from_polygons(
        [
            rectangle(0, 0, 4, 2),
            rectangle(4, 0, 6, 4),
            rectangle(2, 4, 6, 6),
            rectangle(0, 2, 2, 6),
            rectangle(2, 2, 4, 4),
        ],
        fabrics=["#d2b48c", "#8b4513", "#d2b48c", "#8b4513", "url-knot"],
        name="rope ring",
    )
    top, right, low, left, middle = (patch_at(block, *at) for at in ((1, 1), (5, 1), (5, 5), (1, 5), (3, 3)))
    corner = junction_at(block, 4, 2)
    units = (Unit("A", (middle, right, low, left)), Unit("B", (top,)))
    path = tuple(junction_at(block, *at) for at in ((0, 2), (2, 2), (4, 2), (4, 0)))
    why = "the seams round A1 wait for each other in a ring"
    tree = Join(1, Seam("partial", path, 6.0, (HardCorner("partial", corner, why),)), units)
    warning = Finding("partial-seam", f"At (4, 2) in {why}.", (4.0, 2.0), ("A1", "B1"))
    return Plan(block, "hard corners", tree, counts_of(5, tree, partial=1), Bound(1, 2), True, warnings=(warning,))


def net(columns: int, rows: int, shape: str = "row by row", *, proven: bool = True) -> Plan:
    """A fishing net of one-inch squares: every row is a unit.

    `shape` says how rows are joined: ``row by row`` from the top, ``from below``, or ``halves`` of halves.
    """
    block = block_from_polygons(
        [rectangle(x, y, x + 1, y + 1) for y in range(rows) for x in range(columns)],
        fabrics=["#2e6f8e" if (x + y) % 2 else "#fdfdf8" for y in range(rows) for x in range(columns)],
        name="net",
    )
    patches = {(round(block.polygon(p)[0][0], 3), round(block.polygon(p)[0][1], 3)): p for p in range(columns * rows)}
    units = [Unit(unit_name(y), tuple(patches[x, y] for x in range(columns))) for y in range(rows)]
    step = 0

    def join(first: int, stop: int) -> Node:
        nonlocal step
        if stop - first == 1:
            return units[first]
        middle = {"row by row": stop - 1, "from below": first + 1, "halves": (first + stop) // 2}[shape]
        parts = (join(first, middle), join(middle, stop))
        step += 1
        path = tuple(junction_at(block, x, middle) for x in range(columns + 1))
        return Join(step, Seam("straight", path, float(columns), matched=path[1:-1]), parts)

    tree = join(0, rows)
    bound = Bound(0, rows if proven else rows - 1)
    return Plan(block, "joined units", tree, counts_of(columns * rows, tree), bound, proven)

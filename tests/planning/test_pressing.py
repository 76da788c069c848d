"""Pressing, against every choice of sides and of orders that are as good, judged by plain geometry."""

import math
import random
from collections.abc import Iterator
from itertools import permutations, product

import pytest
from shapely import box

from seamtree.block.build import block_from_polygons
from seamtree.block.foundations import match_in_order
from seamtree.block.model import Block
from seamtree.planning.build import plan
from seamtree.planning.model import Join, Node, Plan, Unit
from seamtree.search.peel import peel
from seamtree.search.view import build_view
from tests.planning.test_numbering import changes
from tests.search.test_peel import is_chain
from tests.support import layouts
from tests.support.effort import times
from tests.support.random_layouts import random_layout
from tests.support.traditional import churn_dash

MOST_ORDERS = 64
"""Orders of all units together that are tried; a row of n patches has 2 ** (n - 1)."""


class Pressing:
    """Where the allowance of every seam lies, and which matched points nest by it."""

    def __init__(self, answer: Plan, orders: dict[str, tuple[int, ...]], press: dict[int, int]) -> None:
        self.block = answer.block
        self.answer = answer
        self.under: dict[int, int] = {}
        for k in self.block.interior_edges:
            sides = {self.block.edges[k].left, self.block.edges[k].right}
            for order in orders.values():
                if sides <= set(order):
                    self.under[k] = max(sides, key=order.index)
            for join in answer.joins():
                parts = [members(part) for part in join.parts]
                if all(sides & part for part in parts):
                    (self.under[k],) = sides & parts[press[join.step]]

    def nesting(self) -> set[int]:
        return {j for join in self.answer.joins() for j in join.seam.matched if self.nests(join, j)}

    def nests(self, join: Join, at: int) -> bool:
        """Tell whether seams that meet in line have their allowances on opposite sides, looking along the join."""
        place = join.seam.path.index(at)
        a, b = (self.block.junctions[join.seam.path[place + d]] for d in (-1, 1))
        along = (b[0] - a[0], b[1] - a[1])
        parts = [members(part) for part in join.parts]
        ends: list[list[tuple[tuple[float, float], bool]]] = [[], []]
        for k in self.block.interior_edges:
            edge = self.block.edges[k]
            if at in (edge.start, edge.end):
                for part, found in zip(parts, ends, strict=True):
                    if {edge.left, edge.right} <= part:
                        found.append((self.away(k, at), self.forward(k, along)))
        pairs = [
            (math.atan2(abs(p[0] * q[1] - p[1] * q[0]), -(p[0] * q[0] + p[1] * q[1])), x != y)
            for (p, x), (q, y) in product(*ends)
        ]
        least = min(bend for bend, _ in pairs)
        return all(opposed for bend, opposed in pairs if bend <= least + 1e-6)

    def away(self, edge: int, at: int) -> tuple[float, float]:
        ends = self.block.edges[edge].start, self.block.edges[edge].end
        far = ends[0] if ends[1] == at else ends[1]
        (x, y), (fx, fy) = self.block.junctions[at], self.block.junctions[far]
        return (fx - x, fy - y)

    def forward(self, edge: int, along: tuple[float, float]) -> bool:
        """Tell whether the allowance of an edge lies ahead of it, looking along the join."""
        (x, y), (fx, fy) = (
            self.block.junctions[j] for j in (self.block.edges[edge].start, self.block.edges[edge].end)
        )
        normal = (y - fy, fx - x)
        polygon = self.block.polygon(self.under[edge])
        middle = ((x + fx) / 2, (y + fy) / 2)
        reach = max(normal[0] * (px - middle[0]) + normal[1] * (py - middle[1]) for px, py in polygon)
        back = min(normal[0] * (px - middle[0]) + normal[1] * (py - middle[1]) for px, py in polygon)
        sign = 1 if reach > -back else -1  # convex patches lie on one side of their edges
        return sign * (normal[0] * along[0] + normal[1] * along[1]) > 0


def members(node: Node) -> set[int]:
    return set(node.patches) if isinstance(node, Unit) else members(node.parts[0]) | members(node.parts[1])


def as_planned(answer: Plan) -> Pressing:
    return Pressing(
        answer,
        {unit.name: unit.patches for unit in answer.units()},
        {join.step: join.press for join in answer.joins()},
    )


def best_by_all_orders(answer: Plan) -> tuple[int, int]:
    """Try every side of every join, and every order of every unit; repeats are numbered alike."""
    units = {unit.name: unit.patches for unit in answer.units()}
    repeated = {name for names in answer.repeats for name in names[1:]}
    twins = {name: names[0] for names in answer.repeats for name in names[1:]}
    choices = {
        name: [order for order in permutations(patches) if is_chain(answer.block, order)]
        for name, patches in units.items()
        if name not in repeated
    }
    best = (0, -(10**6))
    for orders in product(*choices.values()):
        chosen = dict(zip(choices, orders, strict=True))
        for name, first in twins.items():
            twin = dict(zip(units[first], units[name], strict=True))
            chosen[name] = tuple(twin[p] for p in chosen[first])
        for sides in product((0, 1), repeat=answer.counts.joins):
            nesting = len(Pressing(answer, chosen, dict(enumerate(sides, 1))).nesting())
            best = max(best, (nesting, -sum(changes(answer.block, order) for order in chosen.values())))
    return best


def check(block: Block) -> None:
    answer = plan(block)
    nesting = {j for join in answer.joins() for j in join.nests}
    assert nesting == as_planned(answer).nesting()
    assert answer.counts.nesting_points == len(nesting) <= answer.counts.matched_points
    units = [unit.patches for unit in answer.units()]
    if answer.counts.joins <= 4 and math.prod(2 ** (len(patches) - 1) for patches in units) <= MOST_ORDERS:
        assert (len(nesting), -sum(changes(block, order) for order in units)) == best_by_all_orders(answer)


@pytest.mark.parametrize(
    "polygons", [layouts.squares(2, 2), layouts.squares(3, 2), layouts.squares(3, 3), layouts.kaleidoscope()]
)
@pytest.mark.parametrize("fabrics", ["a", "ab", "aab", "abc"])
def test_traditional_layouts(polygons, fabrics: str) -> None:
    check(block_from_polygons(polygons, fabrics=[fabrics[k % len(fabrics)] for k in range(len(polygons))]))


def joined_layouts(seeds: range) -> Iterator[Block]:
    """Yield the layouts of up to ten patches that take several units, in fabrics at random."""
    for seed in seeds:
        polygons = random_layout(seed)
        if 4 <= len(polygons) <= 10:
            rng = random.Random(seed)
            block = block_from_polygons(polygons, fabrics=[rng.choice("ab") for _ in polygons], tolerance=1e-5)
            if peel(build_view(block), (1 << len(polygons)) - 1) is None and plan(block).verdict == "joined units":
                yield block


def test_a_churn_dash_nests_at_two_of_its_four_points() -> None:
    answer = plan(block_from_polygons(churn_dash()))
    assert (answer.counts.matched_points, answer.counts.nesting_points) == (4, 2)


@pytest.mark.parametrize("first", range(0, times(600, 1500), 300))
def test_random_layouts(first: int) -> None:
    blocks = list(joined_layouts(range(first, first + 300)))
    assert len(blocks) > 10
    for block in blocks:
        check(block)


@pytest.mark.parametrize(("columns", "rows"), [(2, 2), (3, 3), (4, 4), (10, 10), (5, 4)])
def test_every_other_strip_of_a_grid_is_turned(columns: int, rows: int) -> None:
    """Common practice: the rows of a grid are pressed in turns, so that all points nest."""
    answer = plan(block_from_polygons([box(x, y, x + 1, y + 1) for x in range(columns) for y in range(rows)]))
    assert answer.counts.foundations == 1
    assert answer.counts.nesting_points == answer.counts.matched_points == (columns - 1) * (rows - 1)
    first, *others = (unit.patches for unit in answer.units())
    assert all(match_in_order(answer.block, first, other) for other in others)
    assert len(as_planned(answer).nesting()) == answer.counts.nesting_points


def test_strips_that_do_not_lie_on_themselves_are_all_numbered_alike() -> None:
    """Two strips of squares and a longer end: turned, neither covers the other, so nothing nests."""
    columns = [(0, 1), (1, 2), (2, 4)]
    answer = plan(block_from_polygons([box(a, y, b, y + 1) for a, b in columns for y in range(2)]))
    first, second = (unit.patches for unit in answer.units())
    assert match_in_order(answer.block, first, second)

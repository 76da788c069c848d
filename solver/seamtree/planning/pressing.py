"""Pressing: to which side the allowance of every seam goes, so that the seams that meet in a join nest.

A patch that is added to a unit is flipped over its seam and pressed, so the allowance lies under the added patch. The
allowance of a join goes to either side. Where two seams meet across a join, they *nest* when their allowances fall on
opposite sides: the two ridges lock, and the point matches by itself (common practice). Seen from the point, both
allowances then lie the same way round it, both clockwise or both not.

Units on equal foundations are numbered alike. Where such a foundation lies on itself when it is turned, as a strip of
equal squares does, each of them may be laid either way, and its allowances lie the other way then: so every other
strip of a grid begins at the other end (common practice: rows are pressed in turns).

Where all points can nest at once, that is done; else as many as can be, also by numbering units in another order; of
all choices that let as many points nest, the one whose orders are the best stands. What no point decides goes toward
the part with fewer seams arriving at the join, where it lies flatter, then toward the darker fabrics, so that it does
not show through (common practice).
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise, product

from seamtree.block.foundations import Copy, find_symmetries
from seamtree.block.model import Block
from seamtree.fabric import fabric_rgb
from seamtree.planning.model import Join, Node, Unit, nodes_in_turn
from seamtree.planning.numbering import Before, Numbering, best_numberings
from seamtree.search.peel import is_chain
from seamtree.search.settings import End, choose_settings
from seamtree.search.view import SeamView

_EFFORT = 1.0
"""Deterministic seconds for the choice."""

Twin = tuple[int, int]
"""A foundation, and a patch of the first unit that is sewn on it."""

Turn = Mapping[int, int]
"""A way to lay the first unit of a foundation on itself: for each patch the one it covers."""

_CHANGE = 10_000_000
"""What a change of fabric counts in thousandths of an inch of way: more than the way round any unit."""

_SAME_BEND = 1e-6
"""Radians within which two pairs of seams are equally far from being in line."""


@dataclass(frozen=True, slots=True)
class Pressed:
    """How a plan is pressed.

    Parameters
    ----------
    orders
        For each unit its patches in sewing order.
    press
        For each join the part that its allowance is pressed toward, 0 or 1.
    nests
        For each join its matched points that nest.
    proven
        Whether no other choice among the sides and the orders compared lets more points nest.
    """

    orders: tuple[tuple[int, ...], ...]
    press: tuple[int, ...]
    nests: tuple[tuple[int, ...], ...]
    proven: bool


def press_seams(
    view: SeamView, tree: Node, copies: Sequence[Copy], numberings: Sequence[Numbering], *, fixed: bool = False
) -> Pressed:
    """Choose a side for every join, and among orders that are as good, so that as many matched points nest as can.

    Parameters
    ----------
    view
        Bit sets of the block.
    tree
        Units and joins.
    copies
        For each unit, in the order of their names, the foundation that it is sewn on.
    numberings
        For each foundation the order of its first unit.
    fixed
        Whether these orders have to stay.
    """
    sewn = _lay_out(view.block, tree)
    points = [(n, j) for n, join in enumerate(sewn.joins) for j in join.seam.matched]
    meetings = {point: _meetings(view.block, sewn, *point) for point in points}
    stems = {edge for pairs in meetings.values() for pair in pairs for edge in pair}
    twins = _twins(copies)
    orders = [[numbering] for numbering in numberings]
    if not fixed:
        orders = _candidates(view, sewn, copies, numberings, stems)
    exact = all(order.exact for some in orders if len(some) > 1 for order in some)

    def choose(turns: Mapping[int, Sequence[Turn]]) -> Pressed:
        compared = [
            [order.patches for order in (some[:1] if kind in turns else some)] for kind, some in enumerate(orders)
        ]
        switches = _Switches(view.block, sewn, copies, twins, compared, turns=turns)
        choice = choose_settings(
            switches.costs(orders),
            [[(switches.end(a, j), switches.end(b, j)) for a, b in meetings[n, j]] for n, j in points],
            effort=_EFFORT,
        )
        proven = choice.proven and exact
        return switches.press(choice.settings, meetings, proven=proven)

    pressed = choose({})
    if fixed or _nesting(pressed) == len(points):
        return pressed
    turns = _turns(view, copies, [numbering.patches for numbering in numberings])
    if not turns:
        return pressed
    turned = choose(turns)
    best = max(pressed, turned, key=_nesting)  # without turns where they are of no use
    # With turns only the best order of a foundation is compared.
    return replace(
        best, proven=_nesting(best) == len(points) or (turned.proven and all(len(orders[k]) == 1 for k in turns))
    )


def _nesting(pressed: Pressed) -> int:
    return sum(map(len, pressed.nests))


def _turns(view: SeamView, copies: Sequence[Copy], orders: Sequence[Sequence[int]]) -> dict[int, tuple[Turn, ...]]:
    """Return how copies can be turned on foundations that are sewn several times and lie on themselves when turned.

    Of several equal strips side by side every other one can begin at the other end, so that their allowances nest.
    """
    often = Counter(copy.kind for copy in copies)
    twins = _twins(copies)
    found: dict[int, tuple[Turn, ...]] = {}
    for copy in copies:
        if often[copy.kind] == 1 or len(copy.patches) == 1 or copy.kind in found:
            continue
        turns = find_symmetries(view.block, orders[copy.kind])
        mine = [{twins[p][1]: p for p in other.patches} for other in copies if other.kind == copy.kind]
        turned = [
            turn for turn in turns if all(is_chain(view, [own[turn[p]] for p in orders[copy.kind]]) for own in mine)
        ]
        if len(turned) > 1:
            found[copy.kind] = tuple(turned)
    return found


# -- what is sewn where ----------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Sewn:
    """What is sewn in which step.

    Parameters
    ----------
    joins
        In sewing order.
    seconds
        For each join the first unit of its second part.
    unit_of
        For each patch its unit.
    edges
        For each join the edges sewn by it, along the seam.
    join_of
        For each edge sewn by a join, this join.
    arms
        For each junction the edges sewn there.
    """

    joins: tuple[Join, ...]
    seconds: tuple[int, ...]
    unit_of: dict[int, int]
    edges: tuple[tuple[int, ...], ...]
    join_of: dict[int, int]
    arms: tuple[tuple[int, ...], ...]

    def part_of(self, join: int, patch: int) -> int:
        """Return the part of a join that a patch is in, 0 or 1."""
        return int(self.unit_of[patch] >= self.seconds[join])


def _lay_out(block: Block, tree: Node) -> _Sewn:
    units: list[Unit] = []
    joins: list[Join] = []
    seconds: list[int] = []
    starts: list[int] = []
    for node in nodes_in_turn(tree):
        if isinstance(node, Unit):
            starts.append(len(units))
            units.append(node)
        else:
            seconds.append(starts.pop())
            joins.append(node)
    between = block.edge_between()
    edges = [tuple(between[frozenset(ends)] for ends in pairwise(join.seam.path)) for join in joins]
    return _Sewn(
        joins=tuple(joins),
        seconds=tuple(seconds),
        unit_of={p: n for n, unit in enumerate(units) for p in unit.patches},
        edges=tuple(edges),
        join_of={k: n for n, here in enumerate(edges) for k in here},
        arms=block.interior_arms(),
    )


# -- what meets at a point -------------------------------------------------------------------------------------


def _meetings(block: Block, sewn: _Sewn, join: int, junction: int) -> tuple[tuple[int, int], ...]:
    """Return the pairs of seams that meet at a matched point: those in line, else those that come nearest to it."""
    sides = _stems(block, sewn, join, junction)
    pairs = [pair for pair in product(*sides) if block.in_line(*pair)]
    if not pairs:
        bends = {pair: _bend(block, junction, *pair) for pair in product(*sides)}
        pairs = [pair for pair, bend in bends.items() if bend <= min(bends.values()) + _SAME_BEND]
    return tuple(pairs)


def _stems(block: Block, sewn: _Sewn, join: int, junction: int) -> tuple[list[int], list[int]]:
    """Return the seams that arrive at a point of a join from either side, sewn before it."""
    around = sorted(
        (k for k in sewn.arms[junction] if sewn.join_of.get(k, -1) <= join),
        key=lambda k: (block.direction(junction, k), k),
    )
    first, second = (n for n, k in enumerate(around) if sewn.join_of.get(k) == join)
    return around[first + 1 : second], [*around[second + 1 :], *around[:first]]


def _bend(block: Block, junction: int, a: int, b: int) -> float:
    """Return how far two edges are from being in line at a junction, radians."""
    turn = abs(block.direction(junction, a) - block.direction(junction, b)) % (2 * math.pi)
    return abs(math.pi - turn)


# -- orders that are worth comparing ---------------------------------------------------------------------------


def _candidates(
    view: SeamView, sewn: _Sewn, copies: Sequence[Copy], numberings: Sequence[Numbering], stems: set[int]
) -> list[list[Numbering]]:
    """Return for every foundation the orders of its first unit that are worth comparing, the best one first."""
    twins = _twins(copies)
    pairs: list[set[Before]] = [set() for _ in numberings]
    for edge in stems:
        left, right = view.block.edges[edge].left, view.block.edges[edge].right
        if sewn.unit_of[left] == sewn.unit_of[right]:
            (kind, a), (_, b) = twins[left], twins[right]
            pairs[kind].add((min(a, b), max(a, b)))
    copies_of: list[list[dict[int, int]]] = [[] for _ in numberings]
    for copy in copies:
        copies_of[copy.kind].append({twins[p][1]: p for p in copy.patches})
    found = []
    for kind, best in enumerate(numberings):
        some = [best]
        if pairs[kind]:
            part = sum(1 << p for p in best.patches)
            some = [
                order
                for order in best_numberings(view, part, sorted(pairs[kind]))
                if all(is_chain(view, [mine[p] for p in order.patches]) for mine in copies_of[kind])
            ]
        found.append(some or [best])
    return found


def _twins(copies: Sequence[Copy]) -> dict[int, Twin]:
    """Return for every patch the foundation that it is sewn on, and its twin in the first unit on it."""
    firsts = {copy.kind: copy.patches for copy in reversed(copies)}
    return {p: (copy.kind, twin) for copy in copies for p, twin in zip(copy.patches, firsts[copy.kind], strict=True)}


# -- switches --------------------------------------------------------------------------------------------------


class _Switches:
    """Joins, pressed to either side, foundations, numbered in one of several orders, and turned units as switches.

    Setting 0 of a join is the side that it goes to when no point decides.
    """

    def __init__(
        self,
        block: Block,
        sewn: _Sewn,
        copies: Sequence[Copy],
        twins: Mapping[int, Twin],
        orders: Sequence[Sequence[tuple[int, ...]]],
        *,
        turns: Mapping[int, Sequence[Turn]],
    ) -> None:
        self._block = block
        self._sewn = sewn
        self._copies = copies
        self._twins = twins
        self._orders = orders
        self._turns = turns
        turned = [n for n, copy in enumerate(copies) if copy.kind in turns]
        self._switch_of = {n: len(sewn.joins) + len(orders) + k for k, n in enumerate(turned)}
        self._usual = [_usual_side(block, sewn, n) for n in range(len(sewn.joins))]

    def costs(self, orders: Sequence[Sequence[Numbering]]) -> list[list[int]]:
        """Return what each setting of each switch costs: changes of fabric count before the way of the hand."""
        often = Counter(copy.kind for copy in self._copies)
        return [
            *([0, 0] for _ in self._sewn.joins),
            *(
                [often[kind] * (order.changes * _CHANGE + order.way - some[0].way) for order in some[: len(compared)]]
                for kind, (some, compared) in enumerate(zip(orders, self._orders, strict=True))
            ),
            *([0] * len(self._turns[self._copies[n].kind]) for n in self._switch_of),
        ]

    def end(self, edge: int, junction: int) -> End:
        """Return how the lie of a seam at one of its ends depends on a switch: clockwise or not, seen from there."""
        here = self._block.edges[edge]
        ahead, behind = (here.right, here.left) if here.start == junction else (here.left, here.right)
        join = self._sewn.join_of.get(edge)
        if join is not None:
            side = self._sewn.part_of(join, ahead) ^ self._usual[join]
            return End(join, (side == 0, side == 1))
        (kind, one), (_, other) = self._twins[ahead], self._twins[behind]
        unit = self._sewn.unit_of[ahead]
        if unit in self._switch_of:
            order = self._orders[kind][0]
            turned = (order.index(_back(turn, one)) > order.index(_back(turn, other)) for turn in self._turns[kind])
            return End(self._switch_of[unit], tuple(turned))
        lies = (order.index(one) > order.index(other) for order in self._orders[kind])
        return End(len(self._sewn.joins) + kind, tuple(lies))

    def press(
        self, settings: Sequence[int], meetings: dict[tuple[int, int], tuple[tuple[int, int], ...]], *, proven: bool
    ) -> Pressed:
        """Turn settings into sides, orders and the points that nest."""
        sides = settings[: len(self._sewn.joins)]
        chosen = settings[len(self._sewn.joins) :]

        def lies(edge: int, junction: int) -> bool:
            end = self.end(edge, junction)
            return end.lies[settings[end.switch]]

        nests: list[list[int]] = [[] for _ in self._sewn.joins]
        for (join, junction), pairs in meetings.items():
            if all(lies(a, junction) == lies(b, junction) for a, b in pairs):
                nests[join].append(junction)
        orders = []
        for n, copy in enumerate(self._copies):
            mine = {self._twins[p][1]: p for p in copy.patches}
            order = self._orders[copy.kind][chosen[copy.kind]]
            if n in self._switch_of:
                turn = self._turns[copy.kind][settings[self._switch_of[n]]]
                order = tuple(turn[p] for p in order)
            orders.append(tuple(mine[p] for p in order))
        return Pressed(
            orders=tuple(orders),
            press=tuple(usual ^ side for usual, side in zip(self._usual, sides, strict=True)),
            nests=tuple(map(tuple, nests)),
            proven=proven,
        )


def _back(turn: Turn, patch: int) -> int:
    """Return the patch that covers another one."""
    return next(p for p, covered in turn.items() if covered == patch)


def _usual_side(block: Block, sewn: _Sewn, join: int) -> int:
    """Return the part that a join is pressed toward when no point decides: the flatter, then the darker one."""
    arriving, dark = [0, 0], [0.0, 0.0]
    for junction in sewn.joins[join].seam.path[1:-1]:
        for edge in sewn.arms[junction]:
            if sewn.join_of.get(edge, -1) < join:
                arriving[sewn.part_of(join, block.edges[edge].left)] += 1
    for edge in sewn.edges[join]:
        for p in (block.edges[edge].left, block.edges[edge].right):
            dark[sewn.part_of(join, p)] += block.edge_length(edge) * _darkness(block.patches[p].fabric)
    return min((0, 1), key=lambda part: (arriving[part], -round(dark[part], 6), part))


def _darkness(fabric: str | None) -> float:
    """Return how dark a fabric is, 0 to 1, from its colour; a fabric of unknown colour counts as halfway."""
    rgb = fabric_rgb(fabric)
    if rgb is None:
        return 0.5
    red, green, blue = rgb
    # Luma of ITU-R BT.601, from memory: close enough to what the eye sees through a thin cloth.
    return 1 - (0.299 * red + 0.587 * green + 0.114 * blue) / 255

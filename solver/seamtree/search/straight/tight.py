"""The tight graph: all orders with the fewest units, and the choice among them.

From the whole block down, only cuts that keep the units fewest are followed. Units with the same foundation are
counted once, so a pass from below has to keep the shortest joins of every part for each set of foundations that may
be worth while. What is left is small as a rule, and so are these sets; where they are many, a constraint model (one
Boolean a part, one a cut, what flows into a part flows out of it) takes over. Shorter joins decide between what is
left.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from itertools import product
from typing import Any, NamedTuple

from seamtree.block.foundations import classify
from seamtree.block.model import MICRO
from seamtree.search.peel import is_unit
from seamtree.search.solver import new_model, solve_model
from seamtree.search.straight.clusters import Run
from seamtree.search.straight.parts import Option, PartsGraph
from seamtree.search.tree import TIDIED_FIGURES
from seamtree.search.view import SeamView, bits

_PARTS = 1_000
"""Parts up to which orders are compared; beyond, the order found first stands."""

_STATES = 1_000
"""States of the parts graph that may be searched to find them, in a small block."""

_PAIRS = 20_000
"""Pairs of sets of foundations that are put together at most before the constraint model takes over."""

_SINGLES = 16
"""Bits below the lengths of joins in which single patches are counted."""

_JUNCTIONS = 2_000_000
"""In a larger block, so many states times the square of its junctions: each state takes longer there, and more are
needed."""


UNCOMPARED = TIDIED_FIGURES[1:]
"""The figures that are compared here, in the order of merit and in words."""


Path = tuple[int, ...]
"""The edges of a cut, in turn."""

Choice = dict[int, tuple[Path, int, int]]
"""For each part that is cut (patches as a bit set) the cut and both sides."""


class Chosen(NamedTuple):
    """The cuts that were chosen.

    Parameters
    ----------
    cuts
        Each after the ones it needs; None where the order found first stands.
    unproven
        The figures that may not be the best.
    comparison
        How the orders compare, where they were compared.
    """

    cuts: list[Path] | None
    unproven: tuple[str, ...]
    comparison: Comparison | None = None


class Comparison(NamedTuple):
    """How the orders with the fewest units compare.

    Parameters
    ----------
    orders
        In how many ways the block can be cut up with the fewest units, the order of the cuts included.
    shortest, foundations_then
        The shortest that the joins can be together, and the different foundations of that order.
    """

    orders: int
    shortest: float
    foundations_then: int


@dataclass(slots=True)
class TightGraph:
    """Parts of a block that lie on orders with the fewest units.

    Parameters
    ----------
    cuts
        Per part (patches as a bit set) the edges of the cuts that keep units fewest, with both sides; none for a
        unit.
    """

    cuts: dict[int, tuple[tuple[Path, int, int], ...]] = field(default_factory=dict)


def choose_cuts(graph: PartsGraph, whole: int, *, effort: float) -> Chosen:
    """Choose among the orders with the fewest units: fewest different foundations, then shortest joins.

    Parameters
    ----------
    graph
        The solved parts graph of a block that straight seams can sew.
    whole
        All patches.
    effort
        Deterministic seconds for the constraint model.

    Returns
    -------
    Chosen
        None of the cuts where the order found first stands.
    """
    tight: TightGraph | None = None
    with graph.limited(min(_STATES, 1 + _JUNCTIONS // len(graph.view.block.junctions) ** 2)):
        tight = _build_tight(graph, whole)
    if tight is None or graph.cut_short:  # where it was cut short meanwhile, no cut may seem to keep units fewest
        return Chosen(None, UNCOMPARED)
    choice, unproven, comparison = choose_among(graph.view, tight, whole, effort=effort)
    return Chosen(_list_cuts(whole, choice), unproven, comparison)


def choose_among(
    view: SeamView, tight: TightGraph, whole: int, *, effort: float
) -> tuple[Choice, tuple[str, ...], Comparison]:
    """Choose among orders that are equal so far: fewest different foundations, then shortest joins.

    Parameters
    ----------
    view
        The block as bit sets.
    tight
        The orders.
    whole
        All patches that they sew.
    effort
        Deterministic seconds for the constraint model.

    Returns
    -------
    tuple
        For every part that is cut its cut and both sides, the figures that may not be the best, and how the orders
        compare.
    """

    def length(cut: Path) -> int:
        # Of joins that are as long together, those are taken that leave fewer single patches.
        return sum(map(view.lengths.__getitem__, cut)) << _SINGLES

    units = [part for part, cuts in tight.cuts.items() if not cuts]
    kinds = classify(view.block, [list(bits(part)) for part in units])
    kind_of = dict(zip(units, kinds, strict=True))
    shortest = _shortest(tight, length)
    chosen, unproven = _fewest_foundations(tight, whole, kind_of, shortest, length, effort=effort)
    parts = _parts_of(whole, shortest)
    comparison = Comparison(
        orders=_count_orders(tight, whole),
        shortest=sum(view.lengths[k] for part in parts if part in shortest for k in shortest[part][0]) / MICRO,
        foundations_then=len({kind_of[part] for part in parts if part in kind_of}),
    )
    return chosen, unproven, comparison


def _fewest_foundations(
    tight: TightGraph,
    whole: int,
    kind_of: Mapping[int, int],
    shortest: Choice,
    length: Callable[[Path], int],
    *,
    effort: float,
) -> tuple[Choice, tuple[str, ...]]:
    """Choose the cuts that need the fewest kinds of foundation, then the shortest joins; say what is unproven."""
    needed = {kind_of[part] for part in _parts_of(whole, shortest) if part in kind_of}
    if len(set(kind_of.values())) == len(kind_of) or len(needed) == 1:
        return shortest, ()
    fewest = _fewest_kinds(tight, whole, kind_of, length)
    if fewest is not None:
        return fewest, ()
    model = _KindModel(tight, whole, kind_of)
    fewest, unproven = model.solve(length, hint=_parts_of(whole, shortest), effort=effort)
    return fewest or shortest, unproven


def _count_orders(tight: TightGraph, whole: int) -> int:
    """Count the ways to cut a block up with the fewest units."""
    ways: dict[int, int] = {}
    for part in sorted(tight.cuts, key=int.bit_count):
        ways[part] = sum(ways[a] * ways[b] for _, a, b in tight.cuts[part]) if tight.cuts[part] else 1
    return ways[whole]


def _build_tight(graph: PartsGraph, whole: int) -> TightGraph | None:
    tight = TightGraph()
    stack = [whole]
    while stack:
        part = stack.pop()
        if part in tight.cuts:
            continue
        if len(tight.cuts) >= _PARTS:
            return None
        cuts = _tight_cuts(graph, part)
        tight.cuts[part] = tuple((tuple(range(cut[0], cut[1] + 1)), *graph.map.split(part, cut)) for cut in cuts)
        stack += [side for _, *sides in tight.cuts[part] for side in sides]
    return tight


def _tight_cuts(graph: PartsGraph, part: int) -> list[Run]:
    """Return the cuts of a part that keep its units fewest.

    Cuts in different clusters can be made in either order, so only the first cluster that needs a join is looked at,
    unless several clusters have tees: then it matters how their units fit together.
    """
    clusters = graph.map.clusters_in(graph.map.slots_inside(part))
    if graph.map.tees(clusters) > 1:
        if is_unit(graph.view, part):
            return []
        joins = graph.solve_part(part).joins
        return [
            option.cut
            for option in graph.part_options(part)
            if 1 + sum(graph.solve_part(side).joins for side in option.parts) == joins
        ]
    for cluster in clusters:
        joins = graph.solve(cluster)
        if joins:
            options = graph.all_options(cluster)
            return [option.cut for option in options if _keeps(graph, option, joins)]
    return []


def _keeps(graph: PartsGraph, option: Option, joins: int) -> bool:
    """Tell whether a cut is the first of an order with so many joins."""
    return graph.try_option(option, joins) <= joins


def _is_single(part: int) -> int:
    return int(not part & (part - 1))


def _shortest(tight: TightGraph, length: Callable[[Path], int]) -> Choice:
    """Choose for every part the cut that gives the shortest joins below it; the first among equals."""
    best: dict[int, int] = {}
    choice: Choice = {}
    for part in sorted(tight.cuts, key=int.bit_count):
        best[part] = _is_single(part)
        if tight.cuts[part]:
            totals = [(length(cut) + best[a] + best[b], n) for n, (cut, a, b) in enumerate(tight.cuts[part])]
            best[part], n = min(totals)
            choice[part] = tight.cuts[part][n]
    return choice


def _fewest_kinds(
    tight: TightGraph, whole: int, kind_of: Mapping[int, int], length: Callable[[Path], int]
) -> Choice | None:
    """Choose the cuts that need the fewest kinds of foundation, then the shortest joins; None if that takes long.

    From below, every part gets the sets of kinds (bit sets) that it can be sewn with, each with the shortest joins
    and how to get there. A set that has another one in it with joins that are no longer is dropped: whatever uses it
    could use the other one instead.
    """
    sets: dict[int, dict[int, tuple[int, int, int, int]]] = {}
    pairs = 0
    for part in sorted(tight.cuts, key=int.bit_count):
        if not tight.cuts[part]:
            sets[part] = {1 << kind_of[part]: (_is_single(part), 0, 0, 0)}
            continue
        ways: dict[int, tuple[int, int, int, int]] = {}
        for n, (cut, a, b) in enumerate(tight.cuts[part]):
            own = length(cut)
            pairs += len(sets[a]) * len(sets[b])
            if pairs > _PAIRS:
                return None
            for (of_a, way_a), (of_b, way_b) in product(sets[a].items(), sets[b].items()):
                way = (own + way_a[0] + way_b[0], n, of_a, of_b)
                kinds = of_a | of_b
                ways[kinds] = min(way, ways.get(kinds, way))
        sets[part] = _worth_while(ways)
    choice: Choice = {}
    stack = [(whole, min(sets[whole], key=lambda kinds: (kinds.bit_count(), sets[whole][kinds])))]
    while stack:
        part, kinds = stack.pop()
        if tight.cuts[part]:
            _, n, of_a, of_b = sets[part][kinds]
            choice[part] = tight.cuts[part][n]
            stack += [(choice[part][1], of_a), (choice[part][2], of_b)]
    return choice


def _worth_while(ways: dict[int, tuple[int, int, int, int]]) -> dict[int, tuple[int, int, int, int]]:
    kept: dict[int, tuple[int, int, int, int]] = {}
    for kinds in sorted(ways, key=lambda kinds: (kinds.bit_count(), ways[kinds])):
        if not any(other & ~kinds == 0 and kept[other][0] <= ways[kinds][0] for other in kept):
            kept[kinds] = ways[kinds]
    return kept


class _KindModel:
    """The constraint model: which parts come up, how each is cut, and which kinds of foundation that takes."""

    def __init__(self, tight: TightGraph, whole: int, kind_of: Mapping[int, int]) -> None:
        self._tight = tight
        self._model = model = new_model()
        self._used = used = {part: model.new_bool_var(f"part {n}") for n, part in enumerate(tight.cuts)}
        self._kinds = kinds = [model.new_bool_var(f"kind {k}") for k in range(max(kind_of.values()) + 1)]
        self._sewn = sewn = {
            (part, n): model.new_bool_var(f"cut {m} {n}")
            for m, (part, cuts) in enumerate(tight.cuts.items())
            for n in range(len(cuts))
        }
        into: dict[int, list[Any]] = {part: [] for part in tight.cuts}
        for (part, n), cut in sewn.items():
            for side in tight.cuts[part][n][1:]:
                into[side].append(cut)
        for part, cuts in tight.cuts.items():
            model.add(used[part] == (1 if part == whole else sum(into[part])))
            if cuts:
                model.add(sum(sewn[part, n] for n in range(len(cuts))) == used[part])
            else:
                model.add_implication(used[part], kinds[kind_of[part]])

    def solve(
        self, length: Callable[[Path], int], *, hint: set[int], effort: float
    ) -> tuple[Choice | None, tuple[str, ...]]:
        """Choose the cuts that need the fewest kinds of foundation, then the shortest joins; say what is unproven."""
        model = self._model
        for part, variable in self._used.items():
            model.add_hint(variable, part in hint)
        joins = sum(length(self._tight.cuts[part][n][0]) * cut for (part, n), cut in self._sewn.items())
        choice: Choice | None = None
        for n, goal in enumerate((sum(self._kinds), joins)):
            model.minimize(goal)
            solution = solve_model(model, effort=effort / 2)
            if not solution.found:
                return choice, UNCOMPARED[n:]
            taken = (key for key, cut in self._sewn.items() if solution[cut])
            choice = {part: self._tight.cuts[part][n] for part, n in taken}
            if not solution.optimal:
                return choice, UNCOMPARED[n:]
            model.add(goal <= solution.bound)
        return choice, ()


def _parts_of(whole: int, choice: Choice) -> set[int]:
    found = set()
    stack = [whole]
    while stack:
        part = stack.pop()
        found.add(part)
        if part in choice:
            stack += choice[part][1:]
    return found


def _list_cuts(whole: int, choice: Choice) -> list[Path]:
    """List the chosen cuts from the whole block down."""
    cuts = []
    stack = [whole]
    while stack:
        part = stack.pop()
        if part in choice:
            cut, left, right = choice[part]
            cuts.append(cut)
            stack += [right, left]
    return cuts

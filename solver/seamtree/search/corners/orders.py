"""From seams to sewing orders and back: put the steps together, and count what an order costs.

A seam is a set of edges linked by last pairs. Every step sews one seam, and no seam runs into itself: parts are
pieces of cloth without holes, and nobody closes a ring of patches to set its middle in afterwards (common practice).
"""

from __future__ import annotations

import heapq
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass

from seamtree.proofs.claims import FREE_PIVOTS
from seamtree.search.corners.local_rule import Pair, Part
from seamtree.search.tree import Grown, Joined, Merit, Order


@dataclass(frozen=True, slots=True)
class SewnSeam:
    """One seam of a step.

    Parameters
    ----------
    edges
        In turn along the seam.
    pairs
        ``pairs[i]`` links ``edges[i]`` and the next edge; a ring has one for every edge.
    """

    edges: tuple[int, ...]
    pairs: tuple[Pair, ...]

    @property
    def ring(self) -> bool:
        """Whether the seam runs into itself."""
        return len(self.pairs) == len(self.edges)


@dataclass(frozen=True, slots=True)
class Corners:
    """The hard corners of one seam: how many, and how many of them are set-in.

    Parameters
    ----------
    total, set_in
        Their numbers.
    marks
        A junction for each hard corner; for a curve the first junction of its run.
    bends
        The junctions of pairs in line where the seam has to bend all the same.
    curves
        For each curved corner the chords of its run.
    """

    total: int
    set_in: int
    marks: tuple[int, ...]
    bends: tuple[int, ...]
    curves: tuple[tuple[int, ...], ...]


@dataclass(frozen=True, slots=True)
class Step:
    """One sewing step.

    Parameters
    ----------
    parts
        Patches of the two parts.
    seam
        What it sews.
    unit
        Whether it adds a single patch to a unit by one straight seam.
    added
        The single patch, where it does.
    """

    parts: tuple[frozenset[int], frozenset[int]]
    seam: SewnSeam
    unit: bool
    added: int | None


# ------------------------------------------------------------------------------------------------ seams


def trace_seams(part: Part, edges: Iterable[int], last: Mapping[int, Pair]) -> list[SewnSeam]:
    """Cut a set of edges up into seams.

    Parameters
    ----------
    part
        The part that the edges lie in.
    edges
        A set of edges that holds either both edges of a last pair or none.
    last
        The last pair of the junctions that are closed.
    """
    links = {
        e: [pair for j in part.ends(e) if (pair := last.get(j)) is not None and e in pair.edges]
        for e in sorted(edges)
    }
    seams = []
    left = dict.fromkeys(links)
    for e in sorted(links, key=lambda k: (len(links[k]) > 1, k)):
        if e in left:
            seam = _walk(e, links)
            for k in seam.edges:
                del left[k]
            seams.append(seam)
    return sorted(seams, key=lambda seam: min(seam.edges))


def _walk(first: int, links: Mapping[int, Sequence[Pair]]) -> SewnSeam:
    """Follow the links from one end of a seam, or once round a ring."""
    edges, pairs = [first], []
    at, used = first, None
    while onward := next(
        (p for p in links[at] if p is not used and (used is None or p.junction != used.junction)), None
    ):
        pairs.append(onward)
        at, used = onward.edges[onward.edges[0] == at], onward
        if at == first:
            break
        edges.append(at)
    return SewnSeam(tuple(edges), tuple(pairs))


def find_corners(part: Part, seam: SewnSeam) -> Corners:
    """Count the hard corners of a seam, placed so that they are fewest, and as few as possible set-in."""
    hard = [p for p in seam.pairs if p.hard]
    passed = {p.junction: p for p in seam.pairs}
    runs = _curve_runs(seam)
    windows = [
        (w.curve, frozenset(p.junction for p in w.pairs))
        for p in seam.pairs
        for w in part.windows_from.get(p.junction, ())
        if all(passed.get(p.junction) == p for p in w.pairs)
    ]
    bent = [
        any(not passed[j].straight for j in run) or any(curve and run >= window for curve, window in windows)
        for run in runs
    ]
    eased = {j for run, b in zip(runs, bent, strict=True) if b for j in run}
    open_windows = [window for _, window in windows if not eased & window]
    bends, extra = _stab(seam, runs, open_windows)
    curved = [run for run, b in zip(runs, bent, strict=True) if b] + [runs[k] for k in extra]
    order = [p.junction for p in seam.pairs]
    marks = [p.junction for p in hard] + bends + [next(j for j in order if j in run) for run in curved]
    return Corners(
        total=len(marks),
        set_in=sum(p.set_in for p in hard) + len(bends),
        marks=tuple(sorted(marks, key=order.index)),
        bends=tuple(bends),
        curves=tuple(_chords(seam, run) for run in curved),
    )


def _curve_runs(seam: SewnSeam) -> list[frozenset[int]]:
    """Collect the maximal runs of consecutive curve vertices."""
    runs: list[list[int]] = []
    open_run = False
    for pair in seam.pairs:
        if pair.curved:
            if not open_run:
                runs.append([])
            runs[-1].append(pair.junction)
        open_run = pair.curved
    if seam.ring and len(runs) > 1 and seam.pairs[0].curved and seam.pairs[-1].curved:
        runs[0] += runs.pop()
    return [frozenset(run) for run in runs]


def _chords(seam: SewnSeam, run: frozenset[int]) -> tuple[int, ...]:
    return tuple(sorted({e for p in seam.pairs if p.junction in run for e in p.edges}))


def _stab(
    seam: SewnSeam, runs: Sequence[frozenset[int]], windows: Sequence[frozenset[int]]
) -> tuple[list[int], list[int]]:
    """Choose bends, and curve runs to count as curved, such that every window has one; few, then few bends.

    Returns
    -------
    tuple
        Junctions of bends, and positions in `runs`.
    """
    if not windows:
        return [], []
    # Windows are intervals of the seam. The best choice up to a place ends with a stab there; a curve run is one
    # place as long as the run itself.
    run_of = {j: k for k, run in enumerate(runs) for j in run}
    places: list[tuple[frozenset[int], int | None]] = []
    within = frozenset[int]().union(*windows)
    for pair in seam.pairs:
        if pair.junction not in within:
            continue
        k = run_of.get(pair.junction)
        place = (frozenset((pair.junction,)), None) if k is None else (runs[k], k)
        if not places or places[-1] != place:
            places.append(place)
    spans = []
    for window in windows:
        hit = [i for i, (here, _) in enumerate(places) if here & window]
        spans.append((hit[0], hit[-1]))
    best: list[tuple[int, int, tuple[int, ...]] | None] = []
    for i, (_, k) in enumerate(places):
        options: list[tuple[int, int, tuple[int, ...]]] = [(0, 0, ())] if all(b >= i for _, b in spans) else []
        options += [
            chosen
            for h, chosen in enumerate(best)
            if chosen is not None and not any(h < a and b < i for a, b in spans)
        ]
        best.append(min(((n + 1, s + (k is None), (*at, i)) for n, s, at in options), default=None))
    done = [c for i, c in enumerate(best) if c is not None and all(a <= i for a, _ in spans)]
    chosen = min(done)[2]
    bends = [next(iter(places[i][0])) for i in chosen if places[i][1] is None]
    return bends, [k for i in chosen if (k := places[i][1]) is not None]


# ------------------------------------------------------------------------------------------------ orders


def sew(part: Part, last: Mapping[int, Pair], rank: Mapping[int, int], joins: Collection[int] = ()) -> Order:
    """Put seams together to a sewing order.

    Parameters
    ----------
    part
        The part.
    last
        The last pair of every junction strictly inside it.
    rank
        For each edge when it is to be sewn, where there is a choice; earlier first.
    joins
        Edges that are sewn by joins even where they could add a patch to a unit.

    Returns
    -------
    Order

    Raises
    ------
    ValueError
        If the seams wait for each other, or one runs into itself.
    """
    seams = trace_seams(part, part.edges, last)
    seam_of = {e: k for k, seam in enumerate(seams) for e in seam.edges}
    waits = _waiting(part, last, seam_of, len(seams))
    turn = sorted(range(len(seams)), key=lambda k: (rank[seams[k].edges[0]], min(seams[k].edges)))
    if any(seam.ring for seam in seams):
        raise ValueError("a seam runs into itself")
    return _build(part, _in_turn(seams, waits, turn), joins)


def _waiting(part: Part, last: Mapping[int, Pair], seam_of: Mapping[int, int], count: int) -> list[set[int]]:
    """Collect for every seam the seams that end on it and so come before it."""
    waits: list[set[int]] = [set() for _ in range(count)]
    for j, here in part.around.items():
        through = seam_of[last[j].edges[0]]
        waits[through] |= {seam_of[e] for e in here if e not in last[j].edges}
    return waits


def _in_turn(seams: Sequence[SewnSeam], waits: Sequence[set[int]], turn: Sequence[int]) -> list[SewnSeam]:
    """Order the seams: any order in which none waits will do."""
    place = {k: i for i, k in enumerate(turn)}
    blocks: dict[int, list[int]] = {}
    for k, others in enumerate(waits):
        for other in others:
            blocks.setdefault(other, []).append(k)
    missing = [len(others) for others in waits]
    ready = [place[k] for k in turn if not missing[k]]
    heapq.heapify(ready)
    plan: list[SewnSeam] = []
    while ready:
        k = turn[heapq.heappop(ready)]
        plan.append(seams[k])
        for after in blocks.get(k, ()):
            missing[after] -= 1
            if not missing[after]:
                heapq.heappush(ready, place[after])
    if len(plan) < len(seams):
        raise ValueError("seams wait for each other")
    return plan


def _build(part: Part, plan: Sequence[SewnSeam], joins: Collection[int]) -> Order:
    """Build the tree from the steps; a step that adds a single patch to a unit grows it."""
    owner = {p: p for p in part.patches}
    members = {p: [p] for p in part.patches}
    orders: dict[int, Order] = {p: Grown((p,)) for p in part.patches}
    for seam in plan:
        a, b = sorted(owner[p] for p in part.sides(seam.edges[0]))
        first, second = orders.pop(a), orders.pop(b)
        if seam.edges[0] not in joins and _grows(part, seam, first, second):
            orders[a] = _grow(first, second)
        else:
            orders[a] = Joined(seam.edges, (first, second))
        for p in members[b]:
            owner[p] = a
        members[a] += members.pop(b)
    (order,) = orders.values()
    return order


def _grows(part: Part, seam: SewnSeam, first: Order, second: Order) -> bool:
    """Tell whether a step adds a single patch to a unit by one straight seam."""
    if not (isinstance(first, Grown) and isinstance(second, Grown)):
        return False
    return 1 in (len(first.patches), len(second.patches)) and find_corners(part, seam).total == 0


def _grow(first: Order, second: Order) -> Grown:
    if not (isinstance(first, Grown) and isinstance(second, Grown)):
        raise TypeError("only units grow")
    return Grown(first.patches + second.patches if len(second.patches) == 1 else second.patches + first.patches)


# ------------------------------------------------------------------------------------------------ merit


def replay(part: Part, order: Order) -> list[Step]:
    """Sew an order step by step and tell what each step sews.

    Parameters
    ----------
    part
        The part that the order sews.
    order
        A sewing order of exactly its patches.

    Raises
    ------
    ValueError
        If a step's edges are not the whole common boundary of its parts in one unbroken seam, or a unit does not
        grow straight.
    """
    splits = list(_splits(order))
    owner: dict[int, int] = {}
    step_of: dict[int, int] = {}
    for k, (first, second, _) in enumerate(splits):
        owner.update(dict.fromkeys(first, -1 - 2 * k))
        owner.update(dict.fromkeys(second, -2 - 2 * k))
        touching = [e for p in min(first, second, key=len) for e in part.block.patches[p].edges]
        for e in touching:
            if {owner.get(p) for p in part.sides(e)} == {-1 - 2 * k, -2 - 2 * k}:
                step_of[e] = k
    last = last_pairs(part, step_of)
    sewn: list[list[int]] = [[] for _ in splits]
    for e in part.edges:
        sewn[step_of[e]].append(e)
    steps = []
    for k, (first, second, joined) in enumerate(splits):
        closed = {j: pair for j, pair in last.items() if step_of[pair.edges[0]] == k}
        seams = tuple(trace_seams(part, sewn[k], closed))
        if len(seams) != 1 or seams[0].ring:
            raise ValueError("two parts do not meet along one unbroken seam")
        straight = find_corners(part, seams[0]).total == 0
        if joined is None and not straight:
            raise ValueError(f"patch {set(second)} does not grow onto its unit by one straight seam")
        if joined is not None and set(joined) != set(sewn[k]):
            raise ValueError("a join does not sew the whole common boundary of its parts")
        added = next(iter(second)) if joined is None else None
        steps.append(Step((first, second), seams[0], joined is None, added))
    return steps


def _splits(order: Order) -> Iterable[tuple[frozenset[int], frozenset[int], tuple[int, ...] | None]]:
    """Yield the two parts of every step from the first to the last, with the edges of a join."""
    stack: list[tuple[Order, bool]] = [(order, False)]
    finished: list[frozenset[int]] = []
    while stack:
        node, seen = stack.pop()
        if isinstance(node, Grown):
            for k in range(1, len(node.patches)):
                yield frozenset(node.patches[:k]), frozenset((node.patches[k],)), None
            finished.append(frozenset(node.patches))
        elif seen:
            second, first = finished.pop(), finished.pop()
            yield first, second, node.edges
            finished.append(first | second)
        else:
            stack += [(node, True), (node.parts[1], False), (node.parts[0], False)]


def last_pairs(part: Part, step_of: Mapping[int, int]) -> dict[int, Pair]:
    """Return the last two edges of every junction strictly inside the part, given the step of every edge."""
    last = {}
    for j, here in part.around.items():
        latest = max(step_of[e] for e in here)
        last[j] = part.pair(j, (e for e in here if step_of[e] == latest))
    return last


def score(part: Part, order: Order) -> Merit:
    """Count what a sewing order of a part costs."""
    steps = replay(part, order)
    hard = set_in = excess = joins = matched = length = 0
    for step in steps:
        if step.unit:
            continue
        joins += 1
        corners = find_corners(part, step.seam)
        hard += corners.total
        set_in += corners.set_in
        excess += max(0, corners.total - FREE_PIVOTS)
        matched += sum(is_matched(part, pair) for pair in step.seam.pairs)
        length += sum(map(part.block.micro_length, step.seam.edges))
    return Merit(hard, set_in, excess, joins + 1, matched, length)


def is_matched(part: Part, pair: Pair) -> bool:
    """Tell whether seams arrive from both sides at a junction of a join."""
    here = part.around[pair.junction]
    first, second = sorted(here.index(e) for e in pair.edges)
    return second - first > 1 and len(here) - (second - first) > 1

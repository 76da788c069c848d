"""An arrangement with fewer seams to choose from: those that are carried on through few patches only.

Where every line is carried on to the outline, a picture of seventy patches has thousands of elementary edges. Most of
what is worth adding stops at one of the first seams that it meets.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from seamtree.mending.arrangement import Arrangement, Chain, Line, Pair


def nearby(arrangement: Arrangement, *, patches: int) -> Arrangement:
    """Return an arrangement in which seams are carried on through so many patches at most.

    Parameters
    ----------
    arrangement
        All lines carried on.
    patches
        How many drawn patches a seam may be carried through, from either end.
    """
    on_drawn = {v for k, there in enumerate(arrangement.drawn) if there for v in arrangement.edges[k]}
    chains = [part for chain in arrangement.chains for part in _near(arrangement, chain, on_drawn, patches)]
    kept = {k for k, there in enumerate(arrangement.drawn) if there} | {k for c in chains for k in c.edges}
    return _joined(arrangement, kept, chains)


def _near(arrangement: Arrangement, chain: Chain, on_drawn: set[int], patches: int) -> Iterator[Chain]:
    """Yield what of a chain is near its drawn ends."""
    whole = len(chain.edges)
    first = _reach(arrangement, chain.edges, on_drawn, patches) if chain.first else 0
    last = _reach(arrangement, chain.edges[::-1], on_drawn, patches) if chain.last else 0
    if (first + last >= whole and first and last) or max(first, last) == whole:
        yield chain
    else:
        if first:
            yield Chain(chain.edges[:first], True, False)
        if last:
            yield Chain(chain.edges[whole - last :], False, True)


def _reach(arrangement: Arrangement, edges: Sequence[int], on_drawn: set[int], patches: int) -> int:
    """Return how many edges lead from a drawn end through so many patches."""
    ends = arrangement.edges
    at = None
    if len(edges) > 1:
        at = next(v for v in ends[edges[0]] if v not in ends[edges[1]])
    for n, k in enumerate(edges, 1):
        a, b = ends[k]
        at = next(iter(set(ends[k]) & on_drawn), a) if at is None else b if at == a else a
        patches -= at in on_drawn or at in arrangement.on_outline
        if not patches:
            return n
    return len(edges)


def _joined(arrangement: Arrangement, kept: set[int], chains: Sequence[Chain]) -> Arrangement:
    """Return an arrangement without some edges, and without the places that then are none."""
    degree = [0] * len(arrangement.points)
    for k in kept:
        for v in arrangement.edges[k]:
            degree[v] += 1
    known = len(arrangement.sketch.points)
    passed = {v for v, number in enumerate(degree) if number == 2 and v >= known and _goes_on(arrangement, v, kept)}
    name: dict[int, int] = {}
    edges: list[Pair] = []
    origin: list[int] = []
    for run, (a, b) in _runs(arrangement, kept, passed):
        for k in run:
            name[k] = len(edges)
        edges.append((min(a, b), max(a, b)))
        origin.append(run[0])
    lines = [line for whole in arrangement.lines for line in _lines(whole, kept, name)]
    in_line = tuple(
        ()
        if v in passed
        else tuple(
            sorted({_pair(name[a], name[b]) for a, b in pairs if a in kept and b in kept and name[a] != name[b]})
        )
        for v, pairs in enumerate(arrangement.in_line)
    )
    return replace(
        arrangement,
        edges=tuple(edges),
        drawn=tuple(arrangement.drawn[k] for k in origin),
        outline=tuple(arrangement.outline[k] for k in origin),
        curves=tuple(arrangement.curves[k] for k in origin),
        in_line=in_line,
        chains=tuple(Chain(tuple(dict.fromkeys(name[k] for k in c.edges)), c.first, c.last) for c in chains),
        lines=tuple(lines),
    )


def _pair(a: int, b: int) -> Pair:
    return min(a, b), max(a, b)


def _goes_on(arrangement: Arrangement, v: int, kept: set[int]) -> bool:
    """Tell whether the two edges at a place are one line there, both drawn or both not."""
    own = [k for k in kept if v in arrangement.edges[k]]
    alike = len({(arrangement.drawn[k], arrangement.outline[k], arrangement.curves[k]) for k in own}) == 1
    return alike and (arrangement.outline[own[0]] or _pair(own[0], own[1]) in arrangement.in_line[v])


def _runs(arrangement: Arrangement, kept: set[int], passed: set[int]) -> Iterator[tuple[list[int], Pair]]:
    """Yield edges that become one, with their ends."""
    around: dict[int, list[int]] = {}
    for k in sorted(kept):
        for v in arrangement.edges[k]:
            around.setdefault(v, []).append(k)
    done: set[int] = set()
    for k in sorted(kept):
        if k in done:
            continue
        run, ends = [k], []
        for end in arrangement.edges[k]:
            at, before = end, k
            while at in passed:
                before = next(n for n in around[at] if n != before)
                run.append(before)
                a, b = arrangement.edges[before]
                at = b if at == a else a
            ends.append(at)
        done.update(run)
        yield run, (ends[0], ends[1])


def _lines(line: Line, kept: set[int], name: dict[int, int]) -> Iterator[Line]:
    """Yield what is left of a line, parted where edges are missing."""
    points, edges = line
    at: list[int] = []
    run: list[int] = []
    for n, k in enumerate(edges):
        if k not in kept:
            if run:
                yield tuple(at), tuple(run)
            at, run = [], []
            continue
        if not run:
            at = [points[n]]
        if not run or run[-1] != name[k]:
            run.append(name[k])
        else:
            at.pop()
        at.append(points[n + 1])
    if run:
        yield tuple(at), tuple(run)

"""Straight sewing orders as choices at junctions: what may go on, and the rows that every order keeps to.

The parts graph asks which cut comes first, and so holds one part for every way to come by it, although cuts that do
not cross could change places. Here nothing is asked but what goes on at each junction and at each patch, so there is
one variable for each of those, however many parts there are.

- A junction that one patch spans (a tee) has one pair in line, which is therefore its last pair. Edges that tees link
  are sewn at one moment: they are a *stretch*.
- Every other junction inside the block is a *crossing*: one of the lines through it goes *through*, which links the
  stretches on both sides of it. No single patch spans a crossing, so what goes through one is a join.
- A step that adds a single patch to a unit sews one whole stretch that the patch spans from end to end.

n patches take n - 1 steps, so with `added` of them that add a patch there are n - added units: the fewest units are
those with the most patches added. The rows (all of the form: a sum is at most a number) hold for every order that
sews straight seams only:

through
    At a crossing one of its lines goes through.
stretch
    A stretch adds one patch at most, and none where its line goes through the crossing at an end of it.
patch
    A patch is added once at most.
stem
    A unit cannot grow on a join: where a stretch goes through a tee and adds a patch, the stems there add one as
    well, for they are sewn before it, into one of the two parts that it joins.
ring
    Where two lines cross, one of them goes through, so no two stretches of different lines that meet there both add a
    patch. In a closed walk over such pairs with an odd number of stretches, fewer than half of them can.
bend
    Edges in line that are not straight as a whole are not sewn as one seam.
wait
    What goes through a junction is sewn after what ends there, and an added patch before all other seams round it;
    choices that make seams wait for each other in a circle are not all taken.

If choices keep to all rows, `through` to `wait`, the seams can be sewn in turn; so the rows describe straight orders
exactly. Sums of rows are proofs: see `seamtree.proofs.rows`.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cached_property

from seamtree.block.model import Block
from seamtree.proofs.claims import Added, Choice, Row, Through


@dataclass(frozen=True)
class Stretches:
    """The stretches and crossings of a block.

    Parameters
    ----------
    block
        The block.
    line
        Per interior edge, its line.
    first, last
        Per interior edge, the first and the last edge of its stretch.
    around
        Per interior junction, its edges.
    tees
        Per tee, the edge that enters it along the line that goes through.
    crossings
        Per crossing, for each line through it the edge that enters it.
    spans
        Per stretch (by its first edge) that can add a patch, the patches that it can add.
    """

    block: Block
    line: tuple[int, ...]
    first: tuple[int, ...]
    last: tuple[int, ...]
    around: Mapping[int, tuple[int, ...]]
    tees: Mapping[int, int]
    crossings: Mapping[int, Mapping[int, int]]
    spans: Mapping[int, tuple[int, ...]]

    def choices(self, edge: int) -> tuple[Added, ...]:
        """Return the patches that the stretch of an edge can add."""
        first = self.first[edge]
        return tuple(Added(first, patch) for patch in self.spans.get(first, ()))

    def ends(self, edge: int) -> Iterator[tuple[int, Through | None]]:
        """Yield both end junctions of the stretch of an edge, with its line going through where it can."""
        edges, line = self.block.edges, self.line[edge]
        for k, j in (
            (self.first[edge], edges[self.first[edge]].start),
            (self.last[edge], edges[self.last[edge]].end),
        ):
            can = line in self.crossings.get(j, {}) and self.crossings[j][line] in (k - 1, k)
            yield j, Through(j, line) if can else None

    @cached_property
    def all_stretches(self) -> frozenset[int]:
        """The first edges of all stretches."""
        return frozenset(self.first)

    @cached_property
    def tees_on(self) -> dict[int, list[int]]:
        """Per stretch (by its first edge), the tees that it goes through."""
        tees: dict[int, list[int]] = {}
        for j, k in self.tees.items():
            tees.setdefault(self.first[k], []).append(j)
        return tees

    @cached_property
    def stems(self) -> dict[int, set[int]]:
        """Per stretch (by its first edge), the stretches that end at a tee on it."""
        stems: dict[int, set[int]] = {}
        for j, k in self.tees.items():
            for stem in self.around[j]:
                if self.first[stem] != self.first[k]:
                    stems.setdefault(self.first[k], set()).add(self.first[stem])
        return stems

    @cached_property
    def gains(self) -> tuple[Added, ...]:
        """All patches that can be added, by stretch."""
        return tuple(choice for first in sorted(self.spans) for choice in self.choices(first))


def build_stretches(block: Block) -> Stretches | None:
    """Find the stretches and crossings of a block; None where straight seams cannot sew it, or that is not clear."""
    around = _edges_around(block)
    passing = _pairs_in_line(block, around)
    if passing is None:
        return None
    tees = {j: k for j, lines in passing.items() for k in lines.values() if _is_spanned(block, k)}
    if any(not lines or (j in tees and len(lines) > 1) for j, lines in passing.items()):
        return None
    first, last = _stretches(block, tees)
    if any(last[k] > line.reach[k - line.first] for line in block.lines for k in range(line.first, line.stop)):
        return None
    line_of = tuple(n for n, line in enumerate(block.lines) for _ in range(line.first, line.stop))
    crossings = {j: lines for j, lines in passing.items() if j not in tees}
    found = Stretches(block, line_of, first, last, around, tees, crossings, {})
    found = replace(found, spans=_spans(found))
    return replace(found, spans=drop_impossible(found))


def _edges_around(block: Block) -> dict[int, tuple[int, ...]]:
    """Return the edges of the junctions inside a block."""
    outline = block.boundary_junctions()
    around: dict[int, list[int]] = {}
    for k in block.interior_edges:
        for j in (block.edges[k].start, block.edges[k].end):
            if j not in outline:
                around.setdefault(j, []).append(k)
    return {j: tuple(here) for j, here in around.items()}


def _pairs_in_line(block: Block, inside: Iterable[int]) -> dict[int, dict[int, int]] | None:
    """Return for each junction inside the lines through it with the edge that enters it; None if one passes twice."""
    passing: dict[int, dict[int, int]] = {j: {} for j in inside}
    for n, line in enumerate(block.lines):
        for k in range(line.first, line.stop - 1):
            lines = passing.get(block.edges[k].end)
            if lines is None:
                continue
            if n in lines:
                return None
            lines[n] = k
    return passing


def _is_spanned(block: Block, edge: int) -> bool:
    """Tell whether one patch lies along an edge and the next one of its line."""
    one, other = block.edges[edge], block.edges[edge + 1]
    return one.left == other.left or one.right == other.right


def _stretches(block: Block, tees: Mapping[int, int]) -> tuple[tuple[int, ...], tuple[int, ...]]:
    first, last = list(block.interior_edges), list(block.interior_edges)
    for line in block.lines:
        for k in range(line.first + 1, line.stop):
            if tees.get(block.edges[k].start) == k - 1:
                first[k] = first[k - 1]
        for k in range(line.stop - 2, line.first - 1, -1):
            if first[k + 1] == first[k]:
                last[k] = last[k + 1]
    return tuple(first), tuple(last)


def _spans(found: Stretches) -> dict[int, tuple[int, ...]]:
    """Find the patches that each stretch spans from end to end."""
    edges = found.block.edges
    spans = {}
    for k in found.block.interior_edges:
        if found.first[k] == k:
            run = range(k, found.last[k] + 1)
            sides = ({edges[e].left for e in run}, {edges[e].right for e in run})
            spans[k] = tuple(sorted(side.pop() for side in sides if len(side) == 1))
    return spans


# ------------------------------------------------------------------------------------------------ impossible choices


def drop_impossible(found: Stretches) -> dict[int, tuple[int, ...]]:
    """Return the patches that stretches can add when those are left out that rule themselves out.

    Each choice is taken on trial, and what follows from single rows is followed up: the patch is added nowhere else,
    the stems below add a patch each, a stretch that has only one patch left adds that one, and a stretch that has
    none left is a join, as is all that it ends on. A choice that leads to a contradiction is never taken. What is
    left in the end does not depend on the turn in which choices are tried.
    """
    trial = _Trial(found)
    changed = True
    while changed:
        changed = False
        for choice in [Added(k, patch) for k in sorted(trial.open) for patch in sorted(trial.open[k])]:
            if choice.patch in trial.open[choice.edge] and not trial.holds(choice):
                trial.drop(choice)
                changed = True
    return {k: tuple(sorted(patches)) for k, patches in trial.open.items() if patches}


class _Trial:
    """Follows up what a choice implies."""

    def __init__(self, found: Stretches) -> None:
        self.open = {k: set(patches) for k, patches in found.spans.items()}
        self._by_patch: dict[int, set[int]] = {}
        for k, patches in found.spans.items():
            for patch in patches:
                self._by_patch.setdefault(patch, set()).add(k)
        self._stems = found.stems
        self._above: dict[int, set[int]] = {}
        for k, stems in found.stems.items():
            for stem in stems:
                self._above.setdefault(stem, set()).add(k)
        self._beside = meetings(found)

    def drop(self, choice: Added) -> None:
        """Leave a choice out for good."""
        self.open[choice.edge].discard(choice.patch)
        self._by_patch[choice.patch].discard(choice.edge)

    def holds(self, choice: Added) -> bool:
        """Tell whether no contradiction follows from a choice."""
        grown: set[int] = set()
        closed: set[tuple[int, int]] = set()
        waiting = [choice.edge]
        sole = {choice.edge: choice.patch}
        while waiting:
            k = waiting.pop()
            left = {sole[k]} if k in sole else {p for p in self.open[k] if (k, p) not in closed}
            if not left or (k in sole and (k, sole[k]) in closed):
                return False
            gone: list[tuple[int, set[int]]] = []
            if k not in grown:
                grown.add(k)
                waiting += self._stems.get(k, ())
                gone += [(other, self.open[other]) for other in self._beside.get(k, ())]
            if len(left) == 1:
                (patch,) = left
                sole[k] = patch
                gone += [(k, self.open[k] - left)]
                gone += [(other, left) for other in self._by_patch[patch] - {k}]
            if not all(self._close(other, patches, closed, grown, waiting) for other, patches in gone):
                return False
        return True

    def _close(
        self, k: int, patches: Iterable[int], closed: set[tuple[int, int]], grown: set[int], waiting: list[int]
    ) -> bool:
        """Rule out that a stretch adds certain patches, and what follows for the stretches above it."""
        fresh = [(k, set(patches))]
        while fresh:
            at, gone = fresh.pop()
            new = {(at, p) for p in gone & self.open[at]} - closed
            if not new:
                continue
            closed |= new
            if all((at, p) in closed for p in self.open[at]):
                if at in grown:
                    return False
                fresh += [(above, self.open[above]) for above in self._above.get(at, ())]
            elif at in grown:
                waiting.append(at)
        return True


# ------------------------------------------------------------------------------------------------ rows


def standing_rows(found: Stretches) -> Iterator[Row]:
    """Yield the rows that are few enough to be written down at once."""
    for j, lines in sorted(found.crossings.items()):
        yield Row("through", (j,), tuple((Through(j, line), -1) for line in sorted(lines)), -1)
    by_patch: dict[int, list[Added]] = {}
    for k in sorted(found.spans):
        choices = found.choices(k)
        for choice in choices:
            by_patch.setdefault(choice.patch, []).append(choice)
        yield from _stretch_rows(found, k, choices)
    for patch, added in sorted(by_patch.items()):
        if len(added) > 1:
            yield Row("patch", (patch,), tuple((choice, 1) for choice in added), 1)
    for j, k in sorted(found.tees.items()):
        through = found.choices(k)
        for stem in found.around[j] if through else ():
            if found.first[stem] != found.first[k]:
                terms = [(choice, 1) for choice in through] + [(choice, -1) for choice in found.choices(stem)]
                yield Row("stem", (j, stem), tuple(terms), 0)
    yield from _bend_rows(found)


def _stretch_rows(found: Stretches, first: int, choices: Iterable[Added]) -> Iterator[Row]:
    terms: tuple[tuple[Choice, int], ...] = tuple((choice, 1) for choice in choices)
    ends = [(n, through) for n, (_, through) in enumerate(found.ends(first)) if through is not None]
    for n, through in ends:
        yield Row("stretch", (first, n), (*terms, (through, 1)), 1)
    if not ends and len(terms) > 1:
        yield Row("stretch", (first,), terms, 1)


def _bend_rows(found: Stretches) -> Iterator[Row]:
    for number, line in enumerate(found.block.lines):
        for k in range(line.first, line.stop - 1):
            reach = line.reach[k - line.first]
            if reach + 1 >= line.stop or line.reach[k + 1 - line.first] == reach:
                continue  # straight up to the end of the line; or a shorter run bends as well
            passed = [found.block.edges[e].end for e in range(k, reach + 1)]
            if all(j in found.around for j in passed):
                terms = tuple((Through(j, number), 1) for j in passed if j in found.crossings)
                yield Row("bend", (k, reach + 1), terms, len(terms) - 1)


def meetings(found: Stretches) -> dict[int, set[int]]:
    """Return for each stretch those that it meets where just two lines cross; one of both is a join."""
    beside: dict[int, set[int]] = {}
    for lines in found.crossings.values():
        if len(lines) == 2:
            one, other = ({found.first[k], found.first[k + 1]}.intersection(found.spans) for k in lines.values())
            for a in one:
                for b in other:
                    beside.setdefault(a, set()).add(b)
                    beside.setdefault(b, set()).add(a)
    return beside


def ring_row(found: Stretches, ring: tuple[int, ...]) -> Row:
    """Return the row of an odd ring of stretches (first edges), each meeting the next where two lines cross."""
    terms = tuple((choice, 1) for k in ring for choice in found.choices(k))
    return Row("ring", ring, terms, len(ring) // 2)

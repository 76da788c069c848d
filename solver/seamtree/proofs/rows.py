"""Sums of rows, checked.

A proof is a tree: at its inner nodes a choice is tried both ways, at its leaves stands a sum of rows. Every row is
derived anew from the planar map by its kind and witness, walking along the lines with plain sets; sums are exact;
and every choice that could be made has to belong to one component only. Edges that junctions with a spanning patch
(tees) link are sewn at one moment: a *stretch*. At every other junction inside the block, a crossing, some line
goes through.

through
    At a crossing one of the lines goes through.
stretch
    A stretch adds one patch at most, and none where its line goes through the crossing at an end of it.
patch
    A patch is added once at most.
stem
    A unit cannot grow on a join: where a stretch goes through a tee and adds a patch, the stems there add one as
    well.
ring
    Where two lines cross, no two stretches of different lines that meet there both add a patch. In a closed walk
    over such pairs with an odd number of stretches, fewer than half of them can.
bend
    Edges in line that are not straight as a whole are not sewn as one seam.
wait
    What goes through a junction is sewn after what ends there, and an added patch before all other seams round it;
    choices that make seams wait for each other in a circle are not all taken.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from fractions import Fraction
from itertools import pairwise
from math import lcm

from seamtree.block.model import Block
from seamtree.errors import ProofError
from seamtree.proofs.claims import Added, Choice, Component, Row, RowSums, Sum, Through, Tried

Terms = dict[Choice, int]

_FINEST = 1 << 64
"""Weights are whole numbers of some part of one, which must not be finer than this."""


def check_rows(block: Block, claim: RowSums) -> None:
    """Check that no straight order adds more patches to units than a number.

    Raises
    ------
    ProofError
        If the proof has a gap.
    """
    checker = _Checker(block, frozenset(claim.possible))
    checker.check_left_out()
    for component in claim.components:
        checker.check(component, claim.rows)
    covered = [choice for part in claim.components for choice in part.choices if isinstance(choice, Added)]
    if len(set(covered)) < len(covered):
        raise ProofError("the proof counts a patch that may be added twice")
    if not checker.open <= set(covered):
        raise ProofError("the proof leaves out a patch that may be added")
    if sum(component.most for component in claim.components) > claim.most:
        raise ProofError("the parts of the proof add up to more than what is claimed")


class _Checker:
    def __init__(self, block: Block, open_choices: frozenset[Added]) -> None:
        self.block = block
        self.open = open_choices
        self._right: set[int] = set()
        edges = block.edges
        outline = block.boundary_junctions()
        self.line = {k: n for n, line in enumerate(block.lines) for k in range(line.first, line.stop)}
        self.around: dict[int, set[int]] = {}
        for k in block.interior_edges:
            for j in {edges[k].start, edges[k].end} - outline:
                self.around.setdefault(j, set()).add(k)
        self.pairs: dict[int, list[tuple[int, int]]] = {j: [] for j in self.around}
        self.tees: dict[int, tuple[int, int]] = {}
        self._find_pairs()
        self.stretch = self._stretches()
        self.above: dict[int, set[int]] = {}
        for j, (k, _) in self.tees.items():
            for stem in self.stems(j):
                self.above.setdefault(self.stretch[stem][0], set()).add(self.stretch[k][0])

    def _find_pairs(self) -> None:
        """Find the pairs in line at every junction, and the tees."""
        edges = self.block.edges
        for line in self.block.lines:
            for pair in pairwise(range(line.first, line.stop)):
                j = edges[pair[0]].end
                if j in self.around:
                    self.pairs[j].append(pair)
                    if len({edges[k].left for k in pair}) == 1 or len({edges[k].right for k in pair}) == 1:
                        self.tees[j] = pair
        if any(not pairs for pairs in self.pairs.values()):
            raise ProofError("a junction has no pair of edges in line, so that straight seams cannot sew the block")
        if any(len(self.pairs[j]) > 1 for j in self.tees):
            raise ProofError("a patch spans a junction where several lines may go through")

    def _stretches(self) -> dict[int, tuple[int, ...]]:
        """Return for each edge the edges that tees link it to."""
        linked = set(self.tees.values())
        found: dict[int, tuple[int, ...]] = {}
        for line in self.block.lines:
            run: list[int] = []
            for k in range(line.first, line.stop):
                if run and (run[-1], k) not in linked:
                    found.update(dict.fromkeys(run, tuple(run)))
                    run = []
                run.append(k)
            found.update(dict.fromkeys(run, tuple(run)))
        return found

    def spanned(self, stretch: tuple[int, ...]) -> set[Added]:
        """Return all patches that a stretch could add by its looks."""
        sides = [{self.block.edges[k].left for k in stretch}, {self.block.edges[k].right for k in stretch}]
        return {Added(stretch[0], patch) for side in sides if len(side) == 1 for patch in side}

    def added(self, edge: int) -> set[Added]:
        """Return the patches that the stretch of an edge can add."""
        return self.spanned(self.stretch[edge]) & self.open

    def stems(self, junction: int) -> set[int]:
        """Return the edges that end at a tee."""
        return self.around[junction] - set(self.tees[junction])

    # -- what was left out -------------------------------------------------------------------------------------

    def check_left_out(self) -> None:
        """Check that every addition that was left out leads to a contradiction, in some turn."""
        stretches = set(self.stretch.values())
        left = set().union(*map(self.spanned, stretches))
        if not self.open <= left:
            raise ProofError("a stretch was to add a patch that it does not span")
        below: dict[int, set[int]] = {}
        for j, (k, _) in self.tees.items():
            below.setdefault(self.stretch[k][0], set()).update(self.stretch[stem][0] for stem in self.stems(j))
        against = self._against()
        out = left - self.open
        while out:
            gone = {choice for choice in out if self._contradicts(choice, left, below, against)}
            if not gone:
                raise ProofError("an addition was left out that is not impossible by itself")
            left -= gone
            out -= gone

    def _against(self) -> dict[int, set[int]]:
        """Return for each stretch those that it meets where just two lines cross."""
        against: dict[int, set[int]] = {}
        for j, pairs in self.pairs.items():
            if j not in self.tees and len(pairs) == 2:
                for a in pairs[0]:
                    for b in pairs[1]:
                        against.setdefault(self.stretch[a][0], set()).add(self.stretch[b][0])
                        against.setdefault(self.stretch[b][0], set()).add(self.stretch[a][0])
        return against

    def _contradicts(
        self, choice: Added, left: set[Added], below: Mapping[int, set[int]], against: Mapping[int, set[int]]
    ) -> bool:
        """Look round a choice for what it rules out, until nothing changes or a stretch has nothing left to add."""
        grown = {choice.edge}
        fresh = [choice.edge]
        while fresh:
            for k in below.get(fresh.pop(), set()) - grown:
                grown.add(k)
                fresh.append(k)
        joins = set().union(*(against.get(k, set()) for k in grown))
        options = {k: {c for c in self.spanned(self.stretch[k]) if c in left} for k in grown}
        options[choice.edge] &= {choice}
        changed = True
        while changed and not grown & joins and all(options.values()):
            changed = False
            sole = {c.patch: k for k, cs in options.items() if len(cs) == 1 for c in cs}
            for k, cs in options.items():
                kept = {c for c in cs if sole.get(c.patch, k) == k}
                changed = changed or len(kept) < len(cs)
                options[k] = kept
        return bool(grown & joins) or not all(options.values())

    # -- sums --------------------------------------------------------------------------------------------------

    def check(self, proof: Component, rows: tuple[Row, ...]) -> None:
        """Check what is said of one component."""
        waiting: list[tuple[Sum | Tried, dict[Choice, int]]] = [(proof.tree, {})]
        while waiting:
            node, fixed = waiting.pop()
            if isinstance(node, Tried):
                waiting += [(node.no, fixed | {node.choice: 0}), (node.yes, fixed | {node.choice: 1})]
            elif self._sum(proof, node, rows, fixed) >= proof.most + 1:
                raise ProofError(f"a sum of rows does not show that {proof.most} patches are the most that are added")

    def _sum(self, proof: Component, leaf: Sum, rows: tuple[Row, ...], fixed: Mapping[Choice, int]) -> Fraction:
        """Return what the patches added do not exceed: by weak duality, in whole numbers of some part of one."""
        if any(weight < 0 for weight in leaf.weights.values()):
            raise ProofError("a row is counted less than nought times")
        unit = lcm(*(weight.denominator for weight in leaf.weights.values()))
        if unit > _FINEST:
            raise ProofError("the weights of rows have no common part that is not too fine")
        left: Terms = {choice: unit if isinstance(choice, Added) else 0 for choice in proof.choices}
        total = 0
        for n, exact in leaf.weights.items():
            weight = exact.numerator * (unit // exact.denominator)
            if not 0 <= n < len(rows):
                raise ProofError("a sum counts a row that there is not")
            row = self._derived(n, rows[n])
            total += weight * row.most
            for choice, factor in row.terms:
                left[choice] = left.get(choice, 0) - weight * factor
        for choice, worth in left.items():
            total += worth * fixed[choice] if choice in fixed else max(0, worth)
        return Fraction(total, unit)

    def _derived(self, number: int, row: Row) -> Row:
        """Return a row that is what it should be."""
        if number not in self._right:
            terms, most = self.derive(row)
            if len(dict(row.terms)) < len(row.terms) or terms != dict(row.terms) or most > row.most:
                raise ProofError(f"a row of the kind {row.kind!r} is not what it should be")
            self._right.add(number)
        return row

    # -- rows --------------------------------------------------------------------------------------------------

    def derive(self, row: Row) -> tuple[Terms, int]:
        """Return the row that follows from a kind and a witness."""
        match row.kind, row.witness:
            case "wait", ():
                derived = self._wait(row)
            case "bend", (first, last):
                derived = self._bend(first, last)
            case "ring", ring:
                derived = self._ring(ring)
            case "through", (junction,):
                derived = self._through(junction)
            case "stretch", (edge,):
                derived = self._stretch(edge)
            case "stretch", (edge, 0 | 1 as end):
                derived = self._stretch(edge, end)
            case "patch", (patch,):
                derived = self._patch(patch)
            case "stem", (junction, stem):
                derived = self._stem(junction, stem)
            case _:
                raise ProofError(f"there are no rows of the kind {row.kind!r} about {len(row.witness)} numbers")
        return derived

    def _through(self, junction: int) -> tuple[Terms, int]:
        if junction in self.tees or junction not in self.pairs:
            raise ProofError("a junction was taken for a crossing that is none")
        return {Through(junction, self.line[a]): -1 for a, _ in self.pairs[junction]}, -1

    def _stretch(self, edge: int, end: int | None = None) -> tuple[Terms, int]:
        terms: Terms = dict.fromkeys(self.added(edge), 1)
        if end is not None:
            stretch = self.stretch[edge]
            at = self.block.edges[stretch[-1]].end if end else self.block.edges[stretch[0]].start
            if at in self.tees or not any(stretch[-end] in pair for pair in self.pairs.get(at, ())):
                raise ProofError("a stretch was said to end at a crossing where it cannot go through")
            terms[Through(at, self.line[edge])] = 1
        return terms, 1

    def _patch(self, patch: int) -> tuple[Terms, int]:
        sides = {k for k in self.block.patches[patch].edges if k in self.stretch}
        return {choice: 1 for k in sides for choice in self.added(k) if choice.patch == patch}, 1

    def _stem(self, junction: int, stem: int) -> tuple[Terms, int]:
        if junction not in self.tees or stem not in self.stems(junction):
            raise ProofError("an edge was said to end at a tee where it does not")
        terms: Terms = dict.fromkeys(self.added(self.tees[junction][0]), 1)
        for choice in self.added(stem):
            terms[choice] = terms.get(choice, 0) - 1
        return terms, 0

    def _ring(self, ring: tuple[int, ...]) -> tuple[Terms, int]:
        if len(ring) % 2 == 0:
            raise ProofError("a ring of stretches has not an odd number of them")
        if len(set(ring)) < len(ring):
            raise ProofError("a ring of stretches passes one twice")
        if any(self.stretch[k][0] != k for k in ring):
            raise ProofError("a stretch in a ring is not named by its first edge")
        against = self._against_of(ring)
        if any(b not in against[a] for a, b in pairwise([*ring, ring[0]])):
            raise ProofError("two neighbours in a ring do not meet where two lines cross")
        return {choice: 1 for k in ring for choice in self.added(k)}, len(ring) // 2

    def _against_of(self, stretches: Iterable[int]) -> dict[int, set[int]]:
        against: dict[int, set[int]] = {}
        for first in stretches:
            run = self.stretch[first]
            for j in (self.block.edges[run[0]].start, self.block.edges[run[-1]].end):
                pairs = self.pairs.get(j, [])
                mine = [pair for pair in pairs if set(pair) & set(run)]
                if j not in self.tees and len(pairs) == 2 and mine:
                    others = {self.stretch[k][0] for pair in pairs if pair not in mine for k in pair}
                    against.setdefault(first, set()).update(others)
            against.setdefault(first, set())
        return against

    def _bend(self, first: int, last: int) -> tuple[Terms, int]:
        line = self.block.lines[self.line[first]]
        passed = [self.block.edges[k].end for k in range(first, last)]
        if not line.first <= first < last < line.stop or line.reach[first - line.first] >= last:
            raise ProofError("edges were said not to be straight as a whole that are")
        if any(j not in self.around for j in passed):
            raise ProofError("edges that the outline parts were taken for one seam")
        terms: Terms = {Through(j, self.line[first]): 1 for j in passed if j not in self.tees}
        return terms, len(terms) - 1

    def _wait(self, row: Row) -> tuple[Terms, int]:
        """Check that choices make seams wait for each other in a circle."""
        choices = [choice for choice, _ in row.terms]
        linked = dict(self._linked(choice) for choice in choices if isinstance(choice, Through))
        into = {k: self.stretch[a][0] for a, k in linked.values()}

        def seam(edge: int) -> int:
            first = self.stretch[edge][0]
            while first in into:
                first = into[first]
            return first

        after: dict[int, set[int]] = {}
        members: dict[int, set[int]] = {}
        for choice in choices:
            if isinstance(choice, Through):
                pair = linked[choice.junction]
                members.setdefault(seam(pair[0]), set()).update(self.stretch[k][0] for k in pair)
                for stem in self.around[choice.junction] - set(pair):
                    after.setdefault(seam(stem), set()).add(seam(pair[0]))
            else:
                for k in self._other_sides(choice):
                    after.setdefault(seam(choice.edge), set()).add(seam(k))
        # From there on upwards over tees, which make seams wait whatever is chosen.
        fresh = set(after).union(*after.values())
        seen = set(fresh)
        while fresh:
            at = fresh.pop()
            above = {seam(k) for first in members.get(at, {at}) for k in self.above.get(first, ())}
            after.setdefault(at, set()).update(above)
            fresh |= above - seen
            seen |= above
        if not _has_circle(after):
            raise ProofError("seams that were said to wait for each other in a circle do not")
        return dict.fromkeys(choices, 1), len(choices) - 1

    def _linked(self, choice: Through) -> tuple[int, tuple[int, int]]:
        """Return the two edges that a choice links, by their junction."""
        pairs = [pair for pair in self.pairs.get(choice.junction, ()) if self.line[pair[0]] == choice.line]
        if choice.junction in self.tees or len(pairs) != 1:
            raise ProofError("a line was said to go through a junction where it cannot be chosen")
        return choice.junction, pairs[0]

    def _other_sides(self, choice: Added) -> set[int]:
        """Return the edges round a patch beside those of the stretch that adds it."""
        if choice not in self.open:
            raise ProofError("an impossible choice was said to make seams wait")
        sides = set(self.block.patches[choice.patch].edges) & self.stretch.keys()
        return {k for k in sides if self.stretch[k][0] != choice.edge}


def _has_circle(after: Mapping[int, Iterable[int]]) -> bool:
    """Tell whether what comes after what runs in a circle."""
    missing: dict[int, int] = {}
    for seam, others in after.items():
        missing.setdefault(seam, 0)
        for other in others:
            missing[other] = missing.get(other, 0) + 1
    ready = [seam for seam, count in missing.items() if not count]
    done = 0
    while ready:
        done += 1
        for other in after.get(ready.pop(), ()):
            missing[other] -= 1
            if not missing[other]:
                ready.append(other)
    return done < len(missing)

"""Fewest units where no seam needs more than two hard corners.

When a part can be sewn without excess pivots, every seam of a best order has at most two hard corners. Seen
backwards each step is then a *narrow cut*: a path from outline to outline with at most two corners. Since all hard
corners have to be turned in joins, two at most in each,

    2 · joins = hard corners + slack,        slack = sum over the joins of (2 - corners of the join),

and the fewest units are the least slack. The search asks for a slack of 0, 1, 2, … and takes the part apart from the
outside by narrow cuts, remembering for every part on the way what slack it is known to need. Parts that peel as a
unit need none. Corners that are turned whatever happens (no pair in line at the junction) are counted beforehand;
the *spare* hard corners beyond them are shared out like the slack.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from seamtree.search.corners.local_rule import Pair, Part
from seamtree.search.corners.orders import SewnSeam, find_corners, score
from seamtree.search.effort import Deadline
from seamtree.search.nested import Nested, follow
from seamtree.search.tree import Grown, Joined, Merit, Order

MAX_CORNERS = 2
"""Hard corners of a narrow cut, at most."""


_MOST_CORNERS = 4
"""Hard corners of the seams of some order, at most."""

_SOON = 4
"""Parts to look at for some order, for each patch."""

_NONE = 1 << 40
"""The slack of a part that narrow cuts alone do not take apart."""


class OutOfBudget(Exception):  # noqa: N818 - it ends a search, nothing is wrong
    """The search has looked at as many parts as it may."""


@dataclass(frozen=True, slots=True)
class Cut:
    """A narrow cut of a part.

    Parameters
    ----------
    edges, pairs
        In turn along the cut.
    sides
        The patches on either side, as bits.
    spare
        Hard corners, and set-in ones among them, beyond those that every order turns at these junctions.
    slack
        Two less the hard corners; less than none is made up for by excess pivots.
    cover
        The patches around its edges and around the junctions inside it: in every part that holds them all, and where
        its ends are open, it is a cut as well.
    """

    edges: tuple[int, ...]
    pairs: tuple[Pair, ...]
    sides: tuple[int, int]
    cover: int
    spare: tuple[int, int]
    slack: int

    @property
    def excess(self) -> int:
        """Its excess pivots."""
        return max(0, -self.slack)


@dataclass(slots=True)
class _Known:
    """What is known about a part with some spare corners: the slack is at least `least`; `cut` reaches it."""

    least: int = 0
    exact: bool = False
    cut: Cut | None = None
    shared: tuple[tuple[int, int], tuple[int, int]] = ((0, 0), (0, 0))


State = tuple[int, int, int]
"""Patches as bits, spare hard corners, spare set-in ones."""


@dataclass(slots=True)
class NarrowSearch:
    """Search for the least slack of a part and everything it falls into.

    Parameters
    ----------
    part
        The part.
    budget
        How many parts may be looked at.
    deadline
        What ends the search in any case.
    last
        Junctions whose last pair is settled beforehand; an order may turn more than its certain corners there, and no
        other junction may then.
    most
        Hard corners of a cut at most; only `any_order` takes more than two.
    """

    part: Part
    budget: int
    deadline: Deadline | None = None
    last: Mapping[int, Pair] = field(default_factory=dict)
    most: int = MAX_CORNERS
    known: dict[State, _Known] = field(default_factory=dict)
    cuts: dict[int, list[Cut]] = field(default_factory=dict)
    chains: dict[int, tuple[int, ...] | None] = field(default_factory=dict)
    _origin: dict[int, Cut] = field(default_factory=dict)
    _cover: dict[int, int] = field(default_factory=dict)
    _least: dict[int, tuple[int, int]] = field(default_factory=dict)
    _sides: dict[int, int] = field(default_factory=dict)
    _edges_of: dict[int, tuple[int, ...]] = field(default_factory=dict)
    _pairs: dict[int, Sequence[Pair]] = field(default_factory=dict)
    _some: dict[int, Order | None] = field(default_factory=dict)

    def __post_init__(self) -> None:
        part = self.part
        self._pairs = {j: [self.last[j]] if j in self.last else pairs for j, pairs in part.pairs.items()}
        self._sides = {e: (1 << part.sides(e)[0]) | (1 << part.sides(e)[1]) for e in part.edges}
        for j, here in part.around.items():
            cover = 0
            for e in here:
                cover |= self._sides[e]
            self._cover[j] = cover
            self._least[j] = (min(p.hard for p in self._pairs[j]), min(p.set_in for p in self._pairs[j]))
        self._edges_of = {p: tuple(e for e in part.block.patches[p].edges if e in self._sides) for p in part.patches}

    # -- the search ----------------------------------------------------------------------------------

    def least_slack(self, state: State, cap: int) -> int:
        """Return the least slack of a part, or more than `cap` if it needs more.

        Parameters
        ----------
        state
            The part and its spare corners.
        cap
            The largest slack of interest.

        Raises
        ------
        OutOfBudget
            If the search has looked at as many parts as it may.
        """
        return follow(self._least_slack(state, cap))

    def _least_slack(self, state: State, cap: int) -> Nested[int]:
        entry = self.known.get(state)
        if entry is None:
            entry = self.known[state] = self._first_look(state)
        while not entry.exact and entry.least <= cap:
            if (yield self._reach(state, entry)):
                entry.exact = True
            elif entry.least < 2 * (state[0].bit_count() - 1) - self.forced(state[0]):
                entry.least += 1
            else:  # all patches joined one by one have no more slack
                entry.least = _NONE
        return entry.least

    def _first_look(self, state: State) -> _Known:
        patches, spare, _ = state
        forced = self.forced(patches)
        if forced == 0 and self.chain(patches) is not None:
            return _Known(exact=True)
        # Slack and hard corners together are even; with corners to spare it is open how many are turned.
        return _Known(least=forced % 2 if spare == 0 else 0)

    def forced(self, patches: int) -> int:
        """Return the number of hard corners that every order of a part turns."""
        return sum(self._least[j][0] for j, cover in self._cover.items() if cover & patches == cover)

    def forced_set_in(self) -> int:
        """Return the number of set-in corners that every order of the whole turns."""
        return sum(set_in for _, set_in in self._least.values())

    def _reach(self, state: State, entry: _Known) -> Nested[bool]:
        """Try to find a cut with which a part needs no more than its least slack so far."""
        patches, spare, set_in = state
        for cut in self.narrow_cuts(patches):
            left = entry.least - cut.slack
            if left < 0 or cut.spare[0] > spare or cut.spare[1] > set_in:
                continue
            for mine in self._shares(spare - cut.spare[0], set_in - cut.spare[1]):
                rest = (spare - cut.spare[0] - mine[0], set_in - cut.spare[1] - mine[1])
                if (yield self._both(cut, mine, rest, left)):
                    entry.cut, entry.shared = cut, (mine, rest)
                    return True
        return False

    @staticmethod
    def _shares(spare: int, set_in: int) -> Iterator[tuple[int, int]]:
        return ((h, s) for h in range(spare + 1) for s in range(set_in + 1))

    def _both(self, cut: Cut, mine: tuple[int, int], rest: tuple[int, int], slack: int) -> Nested[bool]:
        """Tell whether both sides of a cut can be sewn with the spare corners and the slack."""
        one, other = (cut.sides[0], *mine), (cut.sides[1], *rest)
        self._note_origin(cut)
        # What is known already often rules a cut out at once.
        if self._so_far(one) + self._so_far(other) > slack:
            return False
        first: int = yield self._least_slack(one, slack - self._so_far(other))
        return (
            first + self._so_far(other) <= slack and first + (yield self._least_slack(other, slack - first)) <= slack
        )

    def _so_far(self, state: State) -> int:
        entry = self.known.get(state)
        if entry is None:
            entry = self.known[state] = self._first_look(state)
        return entry.least

    def any_order(self, patches: int) -> Order | None:
        """Return some order that turns no spare corner, with few excess pivots; None if it finds none.

        Raises
        ------
        OutOfBudget
            If the search has looked at as many parts as it may.
        """
        return follow(self._any_order(patches))

    def _any_order(self, patches: int) -> Nested[Order | None]:
        if patches not in self._some:
            self._some[patches] = yield self._some_order(patches)
        return self._some[patches]

    def _some_order(self, patches: int) -> Nested[Order | None]:
        if self.forced(patches) == 0 and (chain := self.chain(patches)) is not None:
            return Grown(chain)
        for cut in self.narrow_cuts(patches):
            if cut.spare != (0, 0):
                continue
            self._note_origin(cut)
            small, large = sorted(cut.sides, key=lambda side: (side.bit_count(), side))
            first = yield self._any_order(small)
            second = None if first is None else (yield self._any_order(large))
            if first is not None and second is not None:
                return Joined(cut.edges, (first, second))
        return None

    # -- parts ---------------------------------------------------------------------------------------

    def chain(self, patches: int) -> tuple[int, ...] | None:
        """Return the patches of a part in the sewing order of a unit, None if it is none."""
        if patches not in self.chains:
            self.chains[patches] = self._peel(patches)
        return self.chains[patches]

    def _peel(self, patches: int) -> tuple[int, ...] | None:
        left, peeled = patches, []
        while left & (left - 1):
            loose = next((p for p in self._members(left) if self._peels(p, left)), None)
            if loose is None:
                return None
            peeled.append(loose)
            left &= ~(1 << loose)
        return (left.bit_length() - 1, *reversed(peeled))

    def _members(self, patches: int) -> list[int]:
        return [p for p in self.part.patches if patches >> p & 1]

    def _peels(self, p: int, left: int) -> bool:
        """Tell whether a patch meets the rest along one straight seam."""
        meeting = [e for e in self._edges_of[p] if self._sides[e] & left == self._sides[e]]
        if not meeting:
            return False
        seam = self._seam(meeting, left)
        return seam is not None and find_corners(self.part, seam).total == 0

    def _seam(self, edges: list[int], patches: int) -> SewnSeam | None:
        """Put the edges around a patch together to one straight seam, None if they are none."""
        meeting = set(edges)
        pairs = []
        for j in {j for e in edges for j in self.part.ends(e)}:
            here = [e for e in self.part.around.get(j, ()) if e in meeting]
            if len(here) == 2 and self._cover[j] & patches == self._cover[j]:
                pair = self.part.pair(j, here)
                if not pair.straight:
                    return None
                pairs.append(pair)
        if len(pairs) != len(edges) - 1:
            return None
        ordered = tuple(sorted(edges))
        return SewnSeam(ordered, tuple(sorted(pairs, key=lambda pair: pair.edges)))

    def _note_origin(self, cut: Cut) -> None:
        """Remember of which part and by which cut the sides of a cut came about."""
        for side in cut.sides:
            self._origin.setdefault(side, cut)

    def narrow_cuts(self, patches: int) -> list[Cut]:
        """Return the narrow cuts of a part, the ones that promise least slack and least work first."""
        if patches not in self.cuts:
            if len(self.cuts) >= self.budget or (self.deadline is not None and self.deadline.over):
                raise OutOfBudget
            origin = self._origin.get(patches)
            parent = None if origin is None else self.cuts.get(origin.sides[0] | origin.sides[1])
            if origin is None or parent is None:
                found = self._new_cuts(patches, None)
            else:
                # A cut of the larger part stays one as long as nothing around it is gone; the others begin or end on
                # the cut that made this part.
                found = [self._within(cut, patches) for cut in parent if cut.cover & patches == cut.cover]
                found += self._new_cuts(patches, {pair.junction for pair in origin.pairs})
            self.cuts[patches] = sorted(
                found, key=lambda cut: (cut.excess, cut.slack, min(s.bit_count() for s in cut.sides), cut.edges)
            )
        return self.cuts[patches]

    @staticmethod
    def _within(cut: Cut, patches: int) -> Cut:
        first, second = (side & patches for side in cut.sides)
        return Cut(cut.edges, cut.pairs, (first, second), cut.cover, cut.spare, cut.slack)

    def _new_cuts(self, patches: int, ends: set[int] | None) -> list[Cut]:
        """Return the cuts with an end among some junctions, or all cuts, each once."""
        closed = {j for j, cover in self._cover.items() if cover & patches == cover}
        found = []
        for e in self.part.edges:
            if self._sides[e] & patches != self._sides[e]:
                continue
            for start, on in (self.part.ends(e), self.part.ends(e)[::-1]):
                if start in closed or (ends is not None and start not in ends):
                    continue
                for seam, end in self._walks(e, on, closed):
                    twice = ends is None or end in ends
                    if twice and (seam.edges[0], start) > (seam.edges[-1], end):
                        continue
                    cut = self._cut(seam, patches)
                    if cut is not None:
                        found.append(cut)
        return found

    def _walks(self, first: int, on: int, closed: set[int]) -> Iterator[tuple[SewnSeam, int]]:
        """Yield the paths to the outline that begin with an edge and have at most two corners, and their ends."""
        stack: list[tuple[tuple[int, ...], tuple[Pair, ...], int, int]] = [((first,), (), on, 0)]
        while stack:
            edges, pairs, at, corners = stack.pop()
            if at not in closed:
                yield SewnSeam(edges, pairs), at
                continue
            if any(pair.junction == at for pair in pairs):
                continue
            for pair in reversed(self._pairs[at]):
                if edges[-1] not in pair.edges or corners + pair.hard > self.most:
                    continue
                after = pair.edges[pair.edges[0] == edges[-1]]
                start, end = self.part.ends(after)
                ahead = end if start == at else start
                stack.append(((*edges, after), (*pairs, pair), ahead, corners + pair.hard))

    def _cut(self, seam: SewnSeam, patches: int) -> Cut | None:
        """Return the cut along a path, None if it has too many corners or does not part the patches."""
        corners = find_corners(self.part, seam)
        if corners.total > self.most:
            return None
        blocked = set(seam.edges)
        first = self.part.sides(seam.edges[0])[0]
        side = reached = 1 << first
        stack = [first]
        while stack:
            for e in self._edges_of[stack.pop()]:
                sides = self._sides[e]
                if e not in blocked and sides & patches == sides and sides & ~side:
                    reached = sides & ~side
                    side |= reached
                    stack.append(reached.bit_length() - 1)
        if side >> self.part.sides(seam.edges[0])[1] & 1:
            return None
        least = [self._least[pair.junction] for pair in seam.pairs]
        cover = 0
        for e in seam.edges:
            cover |= self._sides[e]
        for pair in seam.pairs:
            cover |= self._cover[pair.junction]
        spare = (corners.total - sum(h for h, _ in least), corners.set_in - sum(s for _, s in least))
        return Cut(seam.edges, seam.pairs, (side, patches & ~side), cover, spare, MAX_CORNERS - corners.total)

    # -- the order -----------------------------------------------------------------------------------

    def order(self, state: State) -> Order:
        """Return the order behind a slack that has been reached."""
        return follow(self._order(state))

    def _order(self, state: State) -> Nested[Order]:
        entry = self.known[state]
        if entry.cut is None:
            chain = self.chain(state[0])
            if chain is None:
                raise AssertionError("a part without a cut is a unit")
            return Grown(chain)
        one, other = ((side, *share) for side, share in zip(entry.cut.sides, entry.shared, strict=True))
        return Joined(entry.cut.edges, ((yield self._order(one)), (yield self._order(other))))


@dataclass(frozen=True, slots=True)
class NarrowResult:
    """What the search found.

    Parameters
    ----------
    order
        A better order, None if there is none.
    least_units
        What no order without excess pivots can go below; None where every order has some.
    """

    order: Order | None
    least_units: int | None


def fewest_narrow_units(
    part: Part, merit: Merit, *, last: Mapping[int, Pair], budget: int, deadline: Deadline | None = None
) -> NarrowResult:
    """Look for an order with fewer units, the same hard corners and no excess pivots.

    Where an order turns corners that others do not, it is first left open only how the rest is sewn: a search with
    nothing to spare is quick, and what it finds is often as good as can be.

    Parameters
    ----------
    part
        The part.
    merit
        What the best order so far costs; its hard corners and set-in seams must be the fewest possible.
    last
        The last pairs of an order that turns as few corners.
    budget
        How many parts may be looked at.
    deadline
        What ends the search in any case.
    """
    corners = merit.hard_corners
    chosen = {j: pair for j, pair in last.items() if _cost(pair) > min(map(_cost, part.pairs[j]))}
    reached = _any_order(part, chosen, deadline)
    if reached is not None:
        now = score(part, reached)
        reached, merit = (reached, now) if now < merit else (None, merit)
    # As many joins as turn all corners two by two, and the slack of the best order so far.
    best = _NONE if merit.excess_pivots else 2 * (merit.units - 1) - corners
    least = corners % 2
    for settled in (chosen, {}) if chosen else ({},):
        if best == least:
            break
        search = NarrowSearch(part, budget, deadline, settled)
        whole = sum(1 << p for p in part.patches)
        state = (whole, corners - search.forced(whole), merit.set_in - search.forced_set_in())
        try:
            slack = search.least_slack(state, best - 1)
            if slack < best:
                reached, best = search.order(state), slack
        except OutOfBudget:
            slack = search.known[state].least
        if not settled:
            least = max(least, slack)
    slack = min(least, best)
    return NarrowResult(reached, None if slack == _NONE else 1 + (corners + slack + 1) // 2)


def _any_order(part: Part, last: Mapping[int, Pair], deadline: Deadline | None) -> Order | None:
    """Return an order with few excess pivots in each seam, none at all if such an order is found soon."""
    whole = sum(1 << p for p in part.patches)
    for most in range(MAX_CORNERS, _MOST_CORNERS + 1):
        search = NarrowSearch(part, _SOON * len(part.patches), deadline, last, most)
        try:
            order = search.any_order(whole)
        except OutOfBudget:
            continue
        if order is not None:
            return order
    return None


def _cost(pair: Pair) -> tuple[int, int]:
    return pair.hard, pair.set_in

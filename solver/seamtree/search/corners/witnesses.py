"""Places that cost one hard corner each, to show how many every order has.

A Y, a bend between two patches, and a line that bends cost a corner by themselves. Where seams wait for each other in
a ring, one of its junctions does; short rings come first, and of rings that share a junction as many as possible are
taken. Where lines cross, a ring may close only for some of the lines that may go through: then one is looked for
whichever does.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator, Mapping, Sequence

from seamtree.block.model import Block
from seamtree.errors import ProofError
from seamtree.proofs.claims import Bend, Corner, Fork, Ring, Witness
from seamtree.proofs.corners import Place, check_corners, places_of
from seamtree.proofs.planar import Planar
from seamtree.search.corners.local_rule import Part

_STEPS = 5_000
"""Ways to choose among rings that are tried at most."""

_RINGS = 300
"""Rings that are looked for through forks at most."""

_FORKS = 4
"""Forks one below another at most."""

_NEAR = 4
"""Crossings near one that are forked next at most."""

_State = tuple[int, int]
"""An edge and the junction that it leads to."""


def find_witnesses(block: Block, wanted: int) -> tuple[Witness, ...]:
    """Find places that cost a hard corner each and share nothing, and check them.

    Parameters
    ----------
    block
        The block.
    wanted
        How many hard corners there are to be accounted for.

    Returns
    -------
    tuple of Witness
        As many as were found, at most the number wanted.
    """
    planar = Planar(block)
    witnesses = _look(planar, wanted).witnesses
    check_corners(planar, witnesses)
    return tuple(witnesses)


def corner_places(part: Part) -> list[frozenset[int]]:
    """Return sets of junctions inside a part, none in two of them: every order has a hard corner at one of each."""
    found = []
    for places in _look(Planar(part.block), len(part.around)).places:
        junctions = frozenset(number for kind, number in places if kind == "junction")
        if len(junctions) == len(places) and junctions <= part.around.keys():
            found.append(junctions)
    return found


def _look(planar: Planar, wanted: int) -> _Found:
    found = _Found(planar, wanted)
    for j in planar.inner:
        if not planar.through[j]:
            found.take(Corner(j))
    for bend in _bends(planar):
        found.take(bend)
    found.take_most(_Rings(planar, found.taken).all({}))
    _Forks(planar, found).look()
    return found


class _Found:
    """The witnesses taken so far, each with its places."""

    def __init__(self, planar: Planar, wanted: int) -> None:
        self._planar = planar
        self._wanted = wanted
        self.witnesses: list[Witness] = []
        self.places: list[set[Place]] = []
        self.taken: set[Place] = set()

    @property
    def missing(self) -> int:
        """How many are wanted still."""
        return self._wanted - len(self.witnesses)

    def take(self, witness: Witness) -> bool:
        """Take a witness if it is one and shares nothing with others."""
        if not self.missing:
            return False
        try:
            places = places_of(self._planar, witness)
        except ProofError:
            return False
        if places & self.taken:
            return False
        self.taken |= places
        self.witnesses.append(witness)
        self.places.append(places)
        return True

    def take_most(self, rings: Sequence[Ring]) -> None:
        """Take as many rings that share nothing as there are, short ones first."""
        places = [places_of(self._planar, ring) for ring in rings]
        best: list[int] = []
        steps = 0
        stack: list[tuple[list[int], list[int]]] = [([], list(range(len(rings))))]
        while stack and steps < _STEPS and len(best) < self.missing:
            chosen, left = stack.pop()
            steps += 1
            if len(chosen) > len(best):
                best = chosen
            if left and len(chosen) + len(left) > len(best):
                first, *rest = left
                stack.append((chosen, rest))
                stack.append(([*chosen, first], [n for n in rest if not places[n] & places[first]]))
        for n in best:
            self.take(rings[n])


def _bends(planar: Planar) -> Iterator[Bend]:
    """Yield the least runs in line that are not straight as a whole."""
    for line in planar.block.lines:
        for k in range(line.first, line.stop - 1):
            reach = planar.reach(k)
            if reach + 1 < line.stop and planar.reach(k + 1) != reach:
                yield Bend(k, reach + 1)


class _Rings:
    """Closed walks on which each seam waits for the one before it.

    Parameters
    ----------
    planar
        The block.
    taken
        Where corners are accounted for already.
    """

    def __init__(self, planar: Planar, taken: set[Place]) -> None:
        self._planar = planar
        self._taken = taken

    def all(self, chosen: Mapping[int, int]) -> list[Ring]:
        """Return a shortest ring through every edge on any, short ones first."""
        onward = self._onward(chosen)
        rings: dict[frozenset[int], Ring] = {}
        for start in sorted(onward):
            walk = _shortest(start, onward)
            if walk is not None:
                rings.setdefault(frozenset(j for j, _ in walk), Ring(walk))
        return sorted(rings.values(), key=lambda ring: (len(ring.walk), ring.walk))

    def _onward(self, chosen: Mapping[int, int]) -> dict[_State, list[_State]]:
        """Return how walks can go on, with all that leads into no ring taken out."""
        onward: dict[_State, list[_State]] = {}
        for j in self._planar.inner:
            pairs = self._planar.through[j]
            first = chosen.get(j, pairs[0] if len(pairs) == 1 else None)
            if first is None or ("junction", j) in self._taken:
                continue
            leaving = [(k, _other_end(self._planar, k, j)) for k in (first, first + 1)]
            for e in self._planar.arms[j]:
                onward[e, j] = [state for state in leaving if state[0] != e]
        while True:
            reached = {state for states in onward.values() for state in states}
            kept = {
                state: left
                for state, states in onward.items()
                if state in reached and (left := [other for other in states if other in onward])
            }
            if len(kept) == len(onward) and kept == onward:
                return onward
            onward = kept


def _other_end(planar: Planar, edge: int, junction: int) -> int:
    one, other = planar.ends(edge)
    return other if one == junction else one


def _shortest(start: _State, onward: Mapping[_State, Sequence[_State]]) -> tuple[tuple[int, int], ...] | None:
    """Return a shortest closed walk through a state that passes no junction twice."""
    came: dict[_State, _State] = {}
    waiting = deque([start])
    while waiting:
        state = waiting.popleft()
        for after in onward.get(state, ()):
            if after == start:
                states = [state]
                while states[-1] != start:
                    states.append(came[states[-1]])
                states.reverse()
                walk = tuple((j, e) for (_, j), (e, _) in zip(states, [*states[1:], start], strict=True))
                return walk if len({j for j, _ in walk}) == len(walk) > 1 else None
            if after not in came:
                came[after] = state
                waiting.append(after)
    return None


class _Forks:
    """Rings that close whichever line goes through where several cross."""

    def __init__(self, planar: Planar, found: _Found) -> None:
        self._planar = planar
        self._found = found
        self._left = _RINGS

    def look(self) -> None:
        """Take forks, shallow ones first, as long as witnesses are missing."""
        crossings = [j for j in self._planar.inner if len(self._planar.through[j]) > 1]
        for depth in range(1, _FORKS + 1):
            for j in crossings:
                if self._found.missing and self._left > 0 and ("junction", j) not in self._found.taken:
                    witness = self._fork(j, {}, depth)
                    if witness is not None:
                        self._found.take(witness)

    def _fork(self, junction: int, chosen: Mapping[int, int], depth: int) -> Fork | None:
        ways = []
        for way in self._planar.through[junction]:
            below = self._below(junction, {**chosen, junction: way}, depth)
            if below is None:
                return None
            ways.append((way, below))
        return Fork(junction, tuple(ways))

    def _below(self, junction: int, chosen: Mapping[int, int], depth: int) -> Witness | None:
        self._left -= 1
        rings = _Rings(self._planar, self._found.taken).all(chosen)
        if rings:
            return rings[0]
        if depth > 1 and self._left > 0:
            for near in self._near(junction, chosen):
                fork = self._fork(near, chosen, depth - 1)
                if fork is not None:
                    return fork
        return None

    def _near(self, junction: int, chosen: Mapping[int, int]) -> list[int]:
        """Return crossings near one at which nothing is chosen."""
        near: list[int] = []
        seen, waiting = {junction}, deque([junction])
        while waiting and len(near) < _NEAR:
            for k in self._planar.arms[waiting.popleft()]:
                for j in self._planar.ends(k):
                    if j not in seen:
                        seen.add(j)
                        waiting.append(j)
                        free = j not in chosen and ("junction", j) not in self._found.taken
                        if (
                            free
                            and len(self._planar.through[j]) > 1
                            and not self._planar.around[j] >> len(self._planar.block.patches)
                        ):
                            near.append(j)
        return near

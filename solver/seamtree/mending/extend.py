"""The fewest seams carried on that make a block sewable with straight seams, and the best among them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import product

from seamtree.block.model import Block
from seamtree.errors import DrawingError
from seamtree.mending.greedy import mend_greedily
from seamtree.mending.network import Network, build_network, locked_parts
from seamtree.mending.quality import is_awkward, is_distinct
from seamtree.mending.rebuild import Rebuilder
from seamtree.mending.search import NEVER, Answer, Demands, Group, Search, group_knots
from seamtree.search.find import find_order
from seamtree.search.tree import count_units
from seamtree.search.view import bits

_FIRST_PIECES, _MOST_PIECES = 4, 12
"""How many patches an extension may pass at first, and then. What adds no more in all needs no longer ones."""

_NODES_PER_SECOND = 5_000
_SLOTS = 400
"""How many nodes count as a second in a network of so many slots: counted, not clocked, so that results do not hang
on the machine."""

_UPPER = 10_000
"""More patches are never added."""

_MOST_COMBINED = 64
"""As many ways to combine the solutions of several groups are all compared; of more, group after group."""

_RANKING_LIMIT = 1.0
"""Seconds for the sewing order of a block that is compared with others."""


@dataclass(frozen=True, slots=True)
class Extended:
    """A way to carry seams on.

    Parameters
    ----------
    seams
        Optional edges of the network, as a bit set.
    block
        The block with them.
    units
        Fewest units found.
    awkward
        How many of the new patches are awkward to sew.
    """

    seams: int
    block: Block
    units: int
    awkward: int


@dataclass(frozen=True, slots=True)
class Extending:
    """What carrying seams on comes to.

    Parameters
    ----------
    network
        The network that the seams belong to.
    found
        From the best on.
    proven
        Whether no fewer patches would do.
    stuck
        Parts that stay locked (patches as a bit set), and whether it is certain that no extension helps there.
    """

    network: Network
    found: tuple[Extended, ...]
    proven: bool
    stuck: tuple[tuple[int, bool], ...]


def extend(block: Block, *, alternatives: int, time_limit: float) -> Extending:
    """Find the fewest seams to carry on, and the best among them.

    Parameters
    ----------
    block
        A block with locked parts.
    alternatives
        How many equally small changes are wanted.
    time_limit
        Effort in seconds of an ordinary machine.
    """
    locked = locked_parts(block)
    for pieces in (_FIRST_PIECES, _MOST_PIECES):
        network = build_network(block, locked, most_pieces=pieces)
        groups = group_knots(network)
        answers = _search(network, groups, time_limit / 2)
        unsure = [_needs_longer(network, g, a, pieces) for g, a in zip(groups, answers, strict=True)]
        if not any(unsure):
            break
    answers = _mend_the_rest(network, groups, answers)
    solved = [a.solutions for a in answers if a.solutions]
    stuck = [
        (group.patches, answer.bound == NEVER and not longer)
        for group, answer, longer in zip(groups, answers, unsure, strict=True)
        if not answer.solutions
    ]
    proven = not stuck and not any(unsure) and all(a.bound == a.added for a in answers)
    found = _Ranking(network, len(stuck)).rank(solved)[:alternatives] if solved else []
    return Extending(network, tuple(found), proven, tuple(stuck))


def _needs_longer(network: Network, group: Group, answer: Answer, pieces: int) -> bool:
    """Tell whether there may be something better among extensions that pass more patches."""
    cut_short = any(cap and ray.cut_short for cap, ray in zip(group.caps, network.rays, strict=True))
    return cut_short and (not answer.solutions or answer.added > pieces)


def _search(network: Network, groups: Sequence[Group], time_limit: float) -> list[Answer]:
    """Search every group."""
    demands = Demands(network)
    accept = _Acceptance(network)
    answers = []
    left = int(time_limit * _NODES_PER_SECOND * _SLOTS / max(_SLOTS, len(network.slot_vertex)))
    for n, group in enumerate(groups):
        search = Search(network, demands, group, accept=accept, nodes=max(1, left // (len(groups) - n)))
        answers.append(search.solve(upper=_UPPER))
        left -= search.searched
    return answers


def _mend_the_rest(network: Network, groups: Sequence[Group], answers: Sequence[Answer]) -> list[Answer]:
    """Mend the groups greedily whose search took too long."""
    demands = Demands(network)
    accept = _Acceptance(network)
    mended = []
    for group, answer in zip(groups, answers, strict=True):
        seams = None
        if not answer.solutions and answer.bound < NEVER:
            seams = mend_greedily(network, demands, group, accept=accept)
        if seams is None:
            mended.append(answer)
        else:
            mended.append(Answer((seams,), network.added_patches(seams), answer.bound, complete=False))
    return mended


class _Acceptance:
    """Tells whether the new patches that added seams make are more than slivers."""

    def __init__(self, network: Network) -> None:
        self._rebuilder = Rebuilder(network)
        self._tolerance = network.block.tolerance

    def __call__(self, seams: int, near: int = -1) -> bool:
        """Judge the patches that the optional edges divide, or only those through which the edges `near` lead."""
        return all(is_distinct(c, tolerance=self._tolerance) for c in self._rebuilder.new_patches(seams, near=near))


class _Ranking:
    """Compares solutions: fewest units, then fewest awkward patches, then a fixed order."""

    def __init__(self, network: Network, stuck: int) -> None:
        self._network = network
        self._rebuilder = Rebuilder(network)
        self._stuck = stuck
        self._known: dict[int, Extended | None] = {}

    def rank(self, groups: Sequence[Sequence[int]]) -> list[Extended]:
        """Compare the ways to combine a solution of each group; return those that hold, from the best on."""
        total = 1
        for solutions in groups:
            total *= len(solutions)
        if total <= _MOST_COMBINED:
            for choice in product(*groups):
                self._look_at(choice)
        else:
            self._descend([self._least_awkward_first(solutions) for solutions in groups])
        found = [e for e in self._known.values() if e is not None]
        return sorted(found, key=self._key)

    def _least_awkward_first(self, solutions: Sequence[int]) -> list[int]:
        def awkward(seams: int) -> int:
            return sum(map(is_awkward, self._rebuilder.new_patches(seams)))

        return sorted(solutions, key=lambda seams: (awkward(seams), sorted(bits(seams))))

    def _descend(self, groups: Sequence[Sequence[int]]) -> None:
        """Choose for one group after the other what is best beside the choices made for the others."""
        choice = [solutions[0] for solutions in groups]
        for n, solutions in enumerate(groups):
            tried = [(self._look_at([*choice[:n], s, *choice[n + 1 :]]), s) for s in solutions]
            held = [(self._key(e), k, s) for k, (e, s) in enumerate(tried) if e]
            if held:
                choice[n] = min(held)[2]

    def _key(self, extended: Extended) -> tuple[int, int, list[int]]:
        return extended.units, extended.awkward, sorted(bits(extended.seams))

    def _look_at(self, choice: Sequence[int]) -> Extended | None:
        seams = 0
        for part in choice:
            seams |= part
        if seams not in self._known:
            self._known[seams] = self._look(seams)
        return self._known[seams]

    def _look(self, seams: int) -> Extended | None:
        block = self._rebuilder.add_seams(seams)
        left = locked_parts(block)
        # Where everything was to be loosened, nothing may be left; else more than before would be a fault.
        if left and not self._stuck:
            return None
        units = 0 if left else count_units(find_order(block, time_limit=_RANKING_LIMIT).order)
        awkward = sum(map(is_awkward, self._rebuilder.new_patches(seams)))
        return Extended(seams, block, units, awkward)


def reads_back(block: Block) -> bool:
    """Tell whether a drawing of the patches, read again, has the same patches."""
    try:
        again = Block.from_polygons(
            [block.polygon(p) for p in range(len(block.patches))], tolerance=block.tolerance, name=block.name
        )
    except DrawingError:
        return False
    return len(again.patches) == len(block.patches)


def used_rays(network: Network, seams: int) -> Iterator[tuple[int, int]]:
    """Yield the rays that are used, and how many of their edges."""
    whole: set[tuple[int, ...]] = set()
    for r, ray in enumerate(network.rays):
        length = next((n for n, slot in enumerate(ray.edges) if not seams >> slot & 1), len(ray.edges))
        # A gap between two lines in line is one seam, from whichever side it is looked at.
        if length and not (length == len(ray.edges) and ray.edges[::-1] in whole):
            if length == len(ray.edges):
                whole.add(ray.edges)
            yield r, length

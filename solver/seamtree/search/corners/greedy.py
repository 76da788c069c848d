"""Sewing orders without search: always valid, often good, the start of the exact search.

Two plain rules are tried and the better result is taken: sew the easiest seam between two parts first; or undo the
part patch by patch from the outline, the easiest patch first, and sew it in the opposite order.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from seamtree.proofs.claims import FREE_PIVOTS
from seamtree.search.corners.local_rule import Pair, Part
from seamtree.search.corners.orders import SewnSeam, find_corners, score, sew, trace_seams
from seamtree.search.tree import Merit, Order

Ease = tuple[int, ...]
"""What a rule looks at, less is easier."""


def construct_order(part: Part) -> tuple[Order, Merit]:
    """Return the best of a few sewing orders made by plain rules.

    Parameters
    ----------
    part
        A part of at least one patch.

    Returns
    -------
    tuple
        A valid order and its merit.
    """
    found = [step_of for rule in (_easiest_seams, _undo_from_outline) if (step_of := rule(part)) is not None]
    orders = [_replay_pairs(part, step_of) for step_of in found]
    return min(((order, score(part, order)) for order in orders), key=lambda found: found[1])


def _replay_pairs(part: Part, step_of: dict[int, int]) -> Order:
    last = {}
    for j, here in part.around.items():
        latest = max(step_of[e] for e in here)
        last[j] = part.pair(j, (e for e in here if step_of[e] == latest))
    return sew(part, last, step_of)


def _easiest_seams(part: Part) -> dict[int, int] | None:
    """Sew the easiest seam between two parts again and again; return the step of every edge.

    None where only closing a ring of patches would be left to do.
    """
    cloth = _Cloth(part)
    step_of: dict[int, int] = {}
    while len(cloth.members) > 1:
        first, second = cloth.easiest()
        if cloth.ease[first, second][0]:
            return None
        for e in cloth.sew(first, second):
            step_of[e] = len(part.patches) - len(cloth.members)
    return step_of


class _Cloth:
    """The parts sewn so far, the edges between them, and how easy each seam between two of them is."""

    def __init__(self, part: Part) -> None:
        self.part = part
        self.owner = {p: p for p in part.patches}
        self.members = {p: [p] for p in part.patches}
        self.between: dict[tuple[int, int], list[int]] = {}
        for e in part.edges:
            self.between.setdefault(self._key(e), []).append(e)
        self.ease = {pair: self._ease(pair) for pair in self.between}

    def _key(self, edge: int) -> tuple[int, int]:
        a, b = (self.owner[p] for p in self.part.sides(edge))
        return (a, b) if a < b else (b, a)

    def easiest(self) -> tuple[int, int]:
        return min(self.ease, key=lambda pair: (self.ease[pair], pair))

    def sew(self, first: int, second: int) -> list[int]:
        """Sew two parts together and return the edges between them."""
        sewn = self.between.pop((first, second))
        del self.ease[first, second]
        for p in self.members[second]:
            self.owner[p] = first
        self.members[first] += self.members.pop(second)
        for pair in [pair for pair in self.between if second in pair]:
            del self.ease[pair]
            for e in self.between.pop(pair):
                self.between.setdefault(self._key(e), []).append(e)
        for pair in self.between:
            if first in pair:
                self.ease[pair] = self._ease(pair)
        return sewn

    def _ease(self, pair: tuple[int, int]) -> Ease:
        seams = _seams_between(self.part, self.between[pair], lambda p: self.owner[p] in pair)
        size = sum(len(self.members[p]) for p in pair)
        single = any(len(self.members[p]) == 1 for p in pair)
        return (*_difficulty(self.part, seams), not single, size)


def _undo_from_outline(part: Part) -> dict[int, int]:
    """Take the part apart patch by patch, the easiest first; return the step of every edge in sewing order.

    Some patch always meets the rest along one unbroken seam and leaves it in one piece: discs can be shelled.
    """
    left = set(part.patches)
    edges_of: dict[int, list[int]] = {p: [] for p in left}
    for e in part.edges:
        for p in part.sides(e):
            edges_of[p].append(e)
    step_of: dict[int, int] = {}
    ease = {p: _undo_ease(part, edges_of[p], left) for p in part.patches}
    for step in range(len(part.patches) - 1, 0, -1):
        easiest = sorted((ease[p], p) for p in left if not ease[p][0])
        patch = next(p for _, p in easiest if not _splits_off(part, p, edges_of, left))
        left.remove(patch)
        touched = set()
        for e in edges_of[patch]:
            (other,) = set(part.sides(e)) - {patch}
            if other in left:
                step_of[e] = step
                touched.add(other)
                touched.update(q for j in part.ends(e) for k in part.around.get(j, ()) for q in part.sides(k))
        for p in touched & left:
            ease[p] = _undo_ease(part, [e for e in edges_of[p] if left.issuperset(part.sides(e))], left)
    return step_of


def _undo_ease(part: Part, edges: Sequence[int], left: set[int]) -> Ease:
    return _difficulty(part, _seams_between(part, edges, left.__contains__)) if edges else (0,)


def _splits_off(part: Part, patch: int, edges_of: dict[int, list[int]], left: set[int]) -> bool:
    """Tell whether the rest would fall apart without a patch."""
    rest = left - {patch}
    stack = [min(rest)]
    seen = set(stack)
    while stack:
        for e in edges_of[stack.pop()]:
            for q in part.sides(e):
                if q in rest and q not in seen:
                    seen.add(q)
                    stack.append(q)
    return len(seen) < len(rest)


def _seams_between(part: Part, edges: Iterable[int], inside) -> list[SewnSeam]:  # type: ignore[no-untyped-def]
    """Trace the seams of a step; a junction is passed where the step closes the cloth around it."""
    sewn = set(edges)
    last: dict[int, Pair] = {}
    for j in sorted({j for e in sewn for j in part.ends(e) if j in part.around}):
        here = [e for e in part.around[j] if e in sewn]
        if len(here) == 2 and all(inside(p) for e in part.around[j] for p in part.sides(e)):
            last[j] = part.pair(j, here)
    return trace_seams(part, sewn, last)


def _difficulty(part: Part, seams: Sequence[SewnSeam]) -> Ease:
    """Rank steps: closed rings last, then by excess pivots, set-in and hard corners."""
    corners = [find_corners(part, seam) for seam in seams]
    rings = len(seams) > 1 or seams[0].ring
    excess = sum(max(0, c.total - FREE_PIVOTS) for c in corners)
    return rings, excess, sum(c.set_in for c in corners), sum(c.total for c in corners)

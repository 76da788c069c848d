"""From a drawing to the seams to add: fewest patches, then fewest units, then what is better among equals."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

from seamtree.block.model import Block
from seamtree.block.sketch import Sketch
from seamtree.mending.arrangement import arrange
from seamtree.mending.locked import locked_parts
from seamtree.mending.nearby import nearby
from seamtree.mending.quality import is_awkward
from seamtree.mending.redraw import reads_back, redraw
from seamtree.mending.seams import Choice, Parts, SeamModel, Wish, cut_up, solve
from seamtree.mending.symmetry import Permutation, groups, kept, orbits, symmetries
from seamtree.planning.build import plan
from seamtree.planning.model import Plan
from seamtree.planning.wishes import RENUMBERED
from seamtree.search.effort import SOLVER_SHARE, Deadline

WHOLE = 900
"""Elementary edges up to which a drawing is modelled as a whole, as units need it."""

_PATCHES, _UNITS, _EQUALS = 0.4, 0.45, 0.12
"""Shares of the effort for fewest patches, for fewest units, and for each look at what is better among equals."""

_REFUSALS = 25
"""As many answers that do not read back are passed over."""

_EQUAL_ONES = 6
"""As many equally good answers of the model are compared by their plans."""

_PLAN_LIMIT = 2.0
"""Seconds for the plan of a drawing that is compared with others."""


@dataclass(frozen=True)
class Candidate:
    """A way to add seams that reads back as what it is.

    Parameters
    ----------
    choice
        The edges.
    plan
        Of the block with them.
    symmetries
        How many of the drawing's symmetries are left.
    awkward
        How many new patches are sharp or narrow.
    parts
        What the edges belong to.
    """

    choice: Choice
    plan: Plan
    symmetries: int
    awkward: int
    parts: Parts

    @property
    def merit(self) -> tuple[Any, ...]:
        """What is compared; the least is best."""
        counts = self.plan.counts
        return (
            counts.hard_corners,
            counts.patches,
            counts.units,
            -self.symmetries,
            counts.matched_points,
            counts.foundations,
            self.awkward,
            round(sum(join.seam.length for join in self.plan.joins()), 6),
            sorted(self.choice.edges),
        )


@dataclass(frozen=True)
class Fewest:
    """The fewest patches that mend a drawing.

    Parameters
    ----------
    choice
        Edges for all parts that can be mended, and what they add.
    stuck
        Edges of parts that no added seam mends, and whether that is certain.
    all_ways
        Whether seams could be carried on as far as they may go.
    """

    choice: Choice
    stuck: tuple[tuple[frozenset[int], bool], ...]
    all_ways: bool = True


class Chooser:
    """Chooses seams to add to one drawing.

    Parameters
    ----------
    sketch
        The drawing.
    spare
        Fabrics whose patches no seam may cross.
    time_limit
        Effort in seconds of an ordinary machine.
    reach
        Through how many patches a seam may be carried on, from where it stops; None for as far as it may go.
    """

    def __init__(
        self, sketch: Sketch, *, spare: Collection[str] = (), time_limit: float, reach: int | None = None
    ) -> None:
        self.sketch = sketch
        whole = arrange(sketch)
        self.parts: Parts = cut_up(whole if reach is None else nearby(whole, patches=reach))
        arrangement = self.parts.arrangement
        self._effort = time_limit * SOLVER_SHARE
        self._deadline = Deadline(time_limit)
        self._scope = frozenset(k for k, out in enumerate(arrangement.outline) if not out)
        self._patches_of: dict[frozenset[int], int] = {}
        self.around: dict[int, list[int]] = {}
        spared = {n for n, area in enumerate(sketch.areas) if area.fabric in spare}
        self._absent = frozenset(
            k for k in arrangement.optional if spared and self.parts.owner[self.parts.sides[k][0]] in spared
        )

    @property
    def small(self) -> bool:
        """Whether the drawing is modelled as a whole."""
        return len(self._scope) <= WHOLE

    @property
    def absent(self) -> frozenset[int]:
        """Edges that may not be added for a fabric's sake."""
        return self._absent

    @property
    def spares(self) -> bool:
        """Whether some edges may not be added for a fabric's sake."""
        return bool(self._absent)

    @cached_property
    def symmetries(self) -> list[Permutation]:
        """The symmetries of the drawing, standing still first."""
        return symmetries(self.parts.arrangement) if self.small else []

    def wish(self, **more: Any) -> Wish:
        """Return what is asked of the seams in any case."""
        return Wish(absent=self._absent, **more)

    # -- fewest patches ----------------------------------------------------------------------------------------

    def fewest(self) -> Fewest:
        """Find the fewest added patches that straight seams can sew, part by part."""
        edges: set[int] = set()
        patches, proven, bound = 0, True, 0
        stuck: list[tuple[frozenset[int], bool]] = []
        locked = self.parts.locked
        for n, part in enumerate(locked):
            left = self._effort * _PATCHES / max(1, len(locked) - n) * (1 + (len(locked) > 1))
            choice, certain = self._mend_part(part, left)
            if choice is None:
                stuck.append((part, certain))
                proven = False
                continue
            self._patches_of[part] = choice.patches
            edges |= choice.edges
            patches += choice.patches
            proven &= choice.proven
            bound += choice.patches if choice.proven else max(0, choice.bound)
        return Fewest(Choice(frozenset(edges), patches, 0, proven, bound), tuple(stuck))

    def _mend_part(self, part: frozenset[int], effort: float) -> tuple[Choice | None, bool]:
        """Return the fewest edges for a part, and whether it is certain that there are none."""
        refused: list[frozenset[int]] = []
        for _ in range(_REFUSALS):
            model = SeamModel(self.parts, part, self.parts.broken, self.wish())
            for edges in refused:
                model.refuse(edges)
            _, choice, impossible = solve(model, model.patches, effort=effort, deadline=self._deadline)
            if choice is None:
                return None, impossible
            if self._holds(choice.edges):
                return choice, False
            refused.append(choice.edges)
        return None, False

    def _holds(self, edges: frozenset[int]) -> bool:
        """Tell whether the seams for one part make patches that read back, and do mend it."""
        block = redraw(self.parts.arrangement, edges)
        if block is None:
            return len(self.parts.locked) > 1  # others float, which is looked at when all are mended
        return reads_back(block) and len(locked_parts(block)) < len(self.parts.locked)

    def part_by_part(self, fewest: Fewest) -> Iterator[Candidate]:
        """Yield ways to add as few patches for a drawing too large to be modelled as a whole.

        For one part after the other, each equally small way is compared beside those chosen for the others.
        """
        locked = [part for part in self.parts.locked if part & fewest.choice.edges]
        best = self.candidate(fewest.choice)
        if best is None or (best.plan.counts.hard_corners and not fewest.stuck):
            return
        yield best
        for part in locked:
            if self._deadline.left() < 1:
                return
            for way in self._ways(part, best.choice.edges & part):
                edges = (best.choice.edges - part) | way
                found = self.candidate(replace(best.choice, edges=edges))
                if found is not None and found.plan.counts.hard_corners <= best.plan.counts.hard_corners:
                    yield found
                    if found.merit < best.merit:
                        best = found

    def _ways(self, part: frozenset[int], known: frozenset[int]) -> Iterator[frozenset[int]]:
        """Yield other ways to mend a part that add as few patches."""
        model = SeamModel(self.parts, part, self.parts.broken, self.wish())
        model.cp.add(model.patches <= self._patches_of[part])
        model.refuse(known)
        for _ in range(_EQUAL_ONES):
            _, choice, _ = solve(model, model.patches, effort=self._effort * _EQUALS, deadline=self._deadline)
            if choice is None:
                return
            model.refuse(choice.edges)
            yield choice.edges

    # -- units -------------------------------------------------------------------------------------------------

    def fewest_units(self, patches: int) -> Candidate | None:
        """Find the fewest units with so many added patches at most."""
        model = self._whole(patches)
        return self._solve(model, model.units, _UNITS)

    def fewest_patches(self, units: int, *, most: int) -> tuple[Candidate | None, int, bool]:
        """Find the fewest added patches with which no more than so many units are needed.

        Returns
        -------
        Candidate or None, int, bool
            What was found; a bound on the patches; whether it is certain that there is nothing.
        """
        model = self._whole(most)
        model.cp.add(model.units <= units)
        solution, choice, impossible = solve(
            model, model.patches, effort=self._effort * _UNITS, deadline=self._deadline
        )
        if choice is None:
            return None, solution.bound, impossible
        return self.candidate(choice), solution.bound, False

    def _whole(self, patches: int, **more: Any) -> SeamModel:
        most = len(self.sketch.areas) + patches
        model = SeamModel(
            self.parts, self._scope, self.parts.arrangement.on_outline, self.wish(**more), most_patches=most
        )
        model.add_units()
        model.cp.add(model.patches <= patches)
        return model

    def _solve(self, model: SeamModel, goal: Any, share: float) -> Candidate | None:
        for _ in range(_REFUSALS):
            _, choice, _ = solve(model, goal, effort=self._effort * share, deadline=self._deadline)
            if choice is None:
                return None
            found = self.candidate(choice)
            if found is not None and not found.plan.counts.hard_corners:
                return found
            model.refuse(choice.edges)
        return None

    # -- among equals ------------------------------------------------------------------------------------------

    def equally_good(self, best: Candidate) -> Iterator[Candidate]:
        """Yield ways with as many patches and units as one that is known, the symmetrical ones first."""
        patches, units = best.choice.patches, best.plan.counts.units
        optional = self.parts.arrangement.optional
        for group in (*groups(self.symmetries), None):
            together = () if group is None else tuple(orbits(group, optional))
            model = self._whole(patches, together=together)
            model.cp.add(model.units <= units)
            matched = model.matched_points()
            for n in range(_EQUAL_ONES):
                solution, choice, _ = solve(model, matched, effort=self._effort * _EQUALS, deadline=self._deadline)
                if choice is None:
                    break
                if not n:
                    model.cp.add(matched <= model.matched_in(solution))
                found = self.candidate(choice)
                if found is not None:
                    yield found
                self.refuse_images(model, choice.edges)
                if self._deadline.left() < 1:
                    return
            else:
                return
            if n:
                return

    def others(self, known: list[Candidate]) -> Iterator[Candidate]:
        """Yield other ways to add as few patches, really different from those known: first with as few units."""
        patches, units = known[0].choice.patches, known[0].plan.counts.units
        few = self._whole(patches)
        few.cp.add(few.units <= units)
        any_number = SeamModel(self.parts, self._scope, self.parts.arrangement.on_outline, self.wish())
        any_number.cp.add(any_number.patches <= patches)
        told = [candidate.choice.edges for candidate in known]
        for model in (few, any_number):
            for edges in told:
                self.refuse_images(model, edges)
            while self._deadline.left() > 1:
                _, choice, _ = solve(model, model.patches, effort=self._effort * _EQUALS, deadline=self._deadline)
                if choice is None:
                    break
                told.append(choice.edges)
                self.refuse_images(model, choice.edges)
                found = self.candidate(choice)
                if found is not None and not found.plan.counts.hard_corners:
                    yield found

    def refuse_images(self, model: SeamModel, edges: frozenset[int]) -> None:
        """Forbid a set of edges, and what the drawing's symmetries make of it."""
        for image in {edges, *(frozenset(move[k] for k in edges) for move in self.symmetries)}:
            model.refuse(image)

    def candidate(self, choice: Choice) -> Candidate | None:
        """Return a choice with its plan; None if its drawing would not read back."""
        block = redraw(self.parts.arrangement, choice.edges)
        if block is None or not reads_back(block):
            return None
        if len(block.patches) != len(self.sketch.areas) + choice.patches:
            return None
        return Candidate(
            choice,
            plan(block, time_limit=_PLAN_LIMIT, wishes=RENUMBERED),
            max(1, kept(self.symmetries, choice.edges)),
            self.awkward(block),
            self.parts,
        )

    def awkward(self, block: Block) -> int:
        """Return how many new patches are sharp or narrow."""
        known = {_key(list(area.shape.exterior.coords)[:-1]) for area in self.sketch.areas}
        return sum(
            is_awkward(block.polygon(p)) for p in range(len(block.patches)) if _key(block.polygon(p)) not in known
        )


def _key(corners: list[tuple[float, float]]) -> tuple[float, ...]:
    xs, ys = zip(*corners, strict=True)
    return tuple(round(value, 3) + 0.0 for value in (min(xs), min(ys), max(xs), max(ys)))

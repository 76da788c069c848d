"""The answer: what to change in a drawing, and what that does to its sewing order."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any, Literal

from seamtree.block.model import Block
from seamtree.errors import Point
from seamtree.planning.model import Plan
from seamtree.words import count

Goal = Literal["straight seams", "one unit", "merged"]
"""What is asked for: straight seams only, a single unit, or seams dropped between neighbours of one fabric."""

_DECIMALS = 6


@dataclass(frozen=True, slots=True)
class AddedSeam:
    """A seam carried straight on.

    Parameters
    ----------
    path
        Places in turn, from the junction where the seam used to stop; more than two only where it passes a junction.
    between
        Ids of the two patches that the seam parts before it stops.
    through
        Ids of the patches that it is carried through, in turn.
    to
        What it is carried on to: ``the outline``, ``the seam between A1 and A2``, …
    """

    path: tuple[Point, ...]
    between: tuple[str, str]
    through: tuple[str, ...]
    to: str


@dataclass(frozen=True, slots=True)
class DroppedSeam:
    """A seam left out between two patches of the same fabric, which become one.

    Parameters
    ----------
    path
        Places in turn.
    between
        Ids of the patches.
    """

    path: tuple[Point, ...]
    between: tuple[str, str]


@dataclass(frozen=True, slots=True)
class StraightenedCurve:
    """A curved seam replaced by straight ones.

    Parameters
    ----------
    path
        The new corners in turn.
    between
        Ids of patches on either side where it begins.
    moved
        How far the drawing moves there at most, inches.
    """

    path: tuple[Point, ...]
    between: tuple[str, str]
    moved: float


@dataclass(frozen=True, slots=True)
class Alternative:
    """One way to change a block.

    Parameters
    ----------
    plan
        Of the changed block.
    added, dropped
        The changes.
    added_patches
        How many patches more the block has; fewer patches are negative.
    awkward
        How many of the new patches have a sharp point or are narrow.
    proven
        Whether no smaller change of this kind reaches the goal.
    """

    plan: Plan
    added: tuple[AddedSeam, ...]
    dropped: tuple[DroppedSeam, ...]
    added_patches: int
    awkward: int
    proven: bool

    def __repr__(self) -> str:
        changes = f"{count(len(self.added), 'seam')} added, {len(self.dropped)} dropped"
        return f"<Alternative: {changes}, {self.plan!r}>"

    @property
    def block(self) -> Block:
        """The changed block."""
        return self.plan.block


@dataclass(frozen=True, slots=True)
class Mending:
    """What mending a block comes to.

    Parameters
    ----------
    before
        Plan of the block as drawn.
    goal
        What was asked for.
    alternatives
        From the best on, all with the same number of added patches; none when there is nothing to mend or when
        nothing of the kind helps.
    straightened
        Curved seams that were replaced by straight ones before anything else.
    after_straightening
        Plan of the block after that; the same as `before` when nothing was straightened.
    reasons
        Why there is no alternative, or what keeps the goal from being reached.
    """

    before: Plan
    goal: Goal
    alternatives: tuple[Alternative, ...]
    straightened: tuple[StraightenedCurve, ...]
    after_straightening: Plan
    reasons: tuple[str, ...] = ()

    def __repr__(self) -> str:
        changes = count(len(self.alternatives), "alternative")
        return f"<Mending of {self.before.block.name[:60]!r}: {self.goal}, {changes}, best {self.best!r}>"

    @property
    def best(self) -> Plan:
        """Plan of the block after the best change; of the block as it is without one."""
        return self.alternatives[0].plan if self.alternatives else self.after_straightening

    @property
    def nothing_to_mend(self) -> bool:
        """Whether the goal was reached before anything was changed."""
        counts = self.before.counts
        if self.straightened or self.alternatives:
            return False
        return counts.units == 1 if self.goal != "straight seams" else not counts.hard_corners

    def to_json(self) -> list[dict[str, Any]]:
        """Return the alternatives as plain data: those of the schema ``seamtree-mend/1`` (see `seamtree.schemas`)."""
        return [self._alternative(alternative) for alternative in self.alternatives]

    def to_svg(self) -> str:
        """Return the drawing after the best change as the text of an SVG file, with what is added marked."""
        from seamtree.mending.svg import render_svg

        return render_svg([self])

    def _alternative(self, alternative: Alternative) -> dict[str, Any]:
        return {
            "added_patches": alternative.added_patches,
            "added_seams": [_places(seam.path) for seam in alternative.added],
            "before": asdict(self.before.counts),
            "after": asdict(alternative.plan.counts),
            "proven": alternative.proven,
            "dropped_seams": [_places(seam.path) for seam in alternative.dropped],
            "straightened": [
                {"path": _places(c.path), "moved": round(c.moved, _DECIMALS)} for c in self.straightened
            ],
            "awkward_patches": alternative.awkward,
        }


def _places(path: tuple[Point, ...]) -> list[list[float]]:
    return [[round(x, _DECIMALS) + 0.0, round(y, _DECIMALS) + 0.0] for x, y in path]

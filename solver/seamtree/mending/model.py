"""The answer: what to change in a drawing, and what that does to its sewing order."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any, Literal

from seamtree.block.model import Block
from seamtree.block.sketch import Sketch
from seamtree.errors import Finding, Point
from seamtree.planning.model import Plan
from seamtree.words import count

Goal = Literal["straight seams", "units", "frontier", "merged"]
"""What is asked for: straight seams only; so few units; what each added patch buys; or seams dropped between
neighbours of one fabric."""

_DECIMALS = 6


@dataclass(frozen=True, slots=True)
class AddedSeam:
    """A seam carried straight on.

    Patches go by the ids of the plan of the drawing; where patches float, so that there is none, by their labels or
    fabrics.

    Parameters
    ----------
    path
        Places in turn, from the junction where the seam used to stop; more than two only where it passes a junction.
    between
        The two patches that the seam parts before it stops; None where it begins at another seam.
    through
        The patches that it is carried through, in turn.
    to
        What it is carried on to: ``the outline``, ``the seam between A1 and A2``, …
    """

    path: tuple[Point, ...]
    between: tuple[str, str] | None
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
    least
        No change of this kind adds fewer patches.
    units_proven
        Whether no change with as few added patches takes fewer units.
    symmetries
        How many turns and mirrors of the drawing, standing still among them, are left in the changed one.
    """

    plan: Plan
    added: tuple[AddedSeam, ...]
    dropped: tuple[DroppedSeam, ...]
    added_patches: int
    awkward: int
    proven: bool
    least: int = 0
    units_proven: bool = False
    symmetries: int = 1

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
    sketch
        The block as drawn.
    before
        Its plan; None where patches float, so that it cannot be sewn at all.
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
    wanted
        Most units that were asked for; 0 where they were not.
    """

    sketch: Sketch
    before: Plan | None
    goal: Goal
    alternatives: tuple[Alternative, ...]
    straightened: tuple[StraightenedCurve, ...]
    after_straightening: Plan | None
    reasons: tuple[Finding, ...] = ()
    wanted: int = 0

    def __repr__(self) -> str:
        changes = count(len(self.alternatives), "alternative")
        return f"<Mending of {self.sketch.name[:60]!r}: {self.goal}, {changes}, best {self.best!r}>"

    @property
    def best(self) -> Plan | None:
        """Plan of the block after the best change; of the block as it is without one, if it can be sewn."""
        return self.alternatives[0].plan if self.alternatives else self.after_straightening

    @property
    def nothing_to_mend(self) -> bool:
        """Whether the goal was reached before anything was changed."""
        if self.before is None or self.straightened or self.alternatives:
            return False
        counts = self.before.counts
        if self.goal == "straight seams":
            return not counts.hard_corners
        return counts.units <= max(1, self.wanted)

    @property
    def reached(self) -> bool:
        """Whether the goal was reached: no hard corner is left, and no more units than were asked for."""
        counts = self.best.counts if self.best else None
        if counts is None or counts.hard_corners:
            return False
        return not self.wanted or counts.units <= self.wanted

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
            "before": asdict(self.before.counts) if self.before else None,
            "after": asdict(alternative.plan.counts),
            "proven": alternative.proven,
            "dropped_seams": [_places(seam.path) for seam in alternative.dropped],
            "straightened": [
                {"path": _places(c.path), "moved": round(c.moved, _DECIMALS)} for c in self.straightened
            ],
            "awkward_patches": alternative.awkward,
            "least_added_patches": alternative.least,
            "units_proven": alternative.units_proven,
            "symmetries": alternative.symmetries,
        }


def _places(path: tuple[Point, ...]) -> list[list[float]]:
    return [[round(x, _DECIMALS) + 0.0, round(y, _DECIMALS) + 0.0] for x, y in path]

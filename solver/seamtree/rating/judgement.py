"""The answer: a level, the points behind it, and what would lower them most."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, Literal

from seamtree.errors import Point
from seamtree.rating.features import Features
from seamtree.rating.times import Estimate
from seamtree.remedies import Remedy

SCHEMA = "seamtree-rating/1"
"""Name and version of the layout of the data; keys may be added to it, not renamed."""

ChangeKind = Literal["size", "mend", "merge", "straighten", "widen", "open", "lengthen", "part", "fabrics"]

_DECIMALS = 6


@dataclass(frozen=True, slots=True)
class Contribution:
    """What one feature adds to the score.

    Parameters
    ----------
    key, title, unit
        The kind of feature (see `seamtree.rating.features.FeatureKind`).
    value
        What was counted or measured; infinite where there is nothing to measure.
    tenths
        Points, in tenths of a point, so that they add up exactly.
    at, patches
        Where it is hardest and the ids of the patches there, for a feature that has a place.
    """

    key: str
    title: str
    unit: str
    value: float
    tenths: int
    at: Point | None = None
    patches: tuple[str, ...] = ()

    @property
    def points(self) -> float:
        """Points, with one decimal."""
        return self.tenths / 10


@dataclass(frozen=True, slots=True)
class Change:
    """One thing to do that would make the block easier, by itself.

    Parameters
    ----------
    kind
        What sort of change, for programs.
    text
        What to do, in plain words.
    tenths
        By how much it lowers the score, in tenths of a point.
    level
        The level afterwards.
    changes_design
        Whether the block looks different afterwards: shapes, seams that meet, or fabrics are others.
    remedy
        What makes the change, if anything does; it may stand in the text.
    """

    kind: ChangeKind
    text: str
    tenths: int
    level: int
    changes_design: bool = False
    remedy: Remedy | None = None

    @property
    def points(self) -> float:
        """By how many points it lowers the score."""
        return self.tenths / 10


@dataclass(frozen=True, slots=True)
class Rating:
    """How hard a block is to sew.

    Parameters
    ----------
    name
        Of the block.
    width, height
        Its finished size, inches.
    level, levels
        The level, 1 the easiest, and how many the scale has.
    word
        The level in words.
    contributions
        What every feature adds to the score, the largest first.
    changes
        What would lower the score most, the best first; empty when nothing would or nobody asked.
    skills
        Names of the skills that the block asks for, in the order of the scale.
    features
        The features behind the points.
    proven
        Whether the plan is proven the best; a better one might be easier.
    time
        How long it takes, None where the scale says nothing of time.
    """

    name: str
    width: float
    height: float
    level: int
    levels: int
    word: str
    contributions: tuple[Contribution, ...]
    changes: tuple[Change, ...]
    skills: tuple[str, ...]
    features: Features
    proven: bool
    time: Estimate | None = None

    def __post_init__(self) -> None:
        if not 1 <= self.level <= self.levels:
            raise ValueError(f"a level is 1 to {self.levels}, not {self.level}")

    def __repr__(self) -> str:
        return f"<Rating of {self.name[:60]!r}: {self.level} ({self.word}), {self.score:g} points>"

    @property
    def score(self) -> float:
        """Points of all features together, with one decimal."""
        return sum(part.tenths for part in self.contributions) / 10

    def to_json(self) -> dict[str, Any]:
        """Return the rating as plain data, sizes and places in inches."""
        return {
            "name": self.name,
            "width": round(self.width, _DECIMALS),
            "height": round(self.height, _DECIMALS),
            "level": self.level,
            "levels": self.levels,
            "word": self.word,
            "score": self.score,
            "proven": self.proven,
            "features": [
                {
                    "feature": part.key,
                    "value": part.value if math.isfinite(part.value) else None,
                    "points": part.points,
                    "at": None if part.at is None else [round(v, _DECIMALS) + 0.0 for v in part.at],
                    "patches": list(part.patches),
                }
                for part in self.contributions
            ],
            "changes": [
                {
                    "change": change.kind,
                    "text": change.text,
                    "points": change.points,
                    "level": change.level,
                    "changes_design": change.changes_design,
                }
                for change in self.changes
            ],
            "skills": list(self.skills),
            "minutes": None if self.time is None else _time_json(self.time),
        }


def _time_json(time: Estimate) -> dict[str, Any]:
    """Return an estimate as plain data, in whole minutes; the spread is a share of them or null."""
    spread = None if time.spread is None else round(time.spread, _DECIMALS)
    return {"together": time.minutes, "parts": dict(time.rounded), "spread": spread}


def drawing_json(source: str, ratings: Iterable[Rating]) -> dict[str, Any]:
    """Return the object for one drawing: its file name and the ratings of its blocks."""
    return {"schema": SCHEMA, "source": source, "blocks": [rating.to_json() for rating in ratings]}

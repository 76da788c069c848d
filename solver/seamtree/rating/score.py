"""From features to points.

The score is a sum, and what a feature adds to it is a function of this feature alone that never falls as the feature
gets harder: so no block gets easier by anything harder in it, nor by being made smaller.
"""

from __future__ import annotations

from seamtree.rating.features import KIND_OF, Features, Measured
from seamtree.rating.judgement import Contribution
from seamtree.rating.scale import Scale


def score_tenths(features: Features, scale: Scale) -> int:
    """Return the score of a block with these features, in tenths of a point."""
    return sum(curve.tenths(features.value(curve.key)) for curve in scale.curves)


def contributions_of(measured: Measured, scale: Scale) -> tuple[Contribution, ...]:
    """Return what every feature adds to the score, the largest first, equal ones in the order of the features."""
    parts = []
    for curve in scale.curves:
        kind, worst = KIND_OF[curve.key], measured.worst(curve.key)
        value = measured.features.value(curve.key)
        parts.append(
            Contribution(
                kind.key,
                kind.title,
                kind.unit,
                value,
                curve.tenths(value),
                worst.at if worst else None,
                worst.patches if worst else (),
            )
        )
    return tuple(sorted(parts, key=lambda part: -part.tenths))


def level_and_word(tenths: int, scale: Scale) -> tuple[int, str]:
    """Return the level of a score in tenths of a point, and its word."""
    level = scale.level_of(tenths)
    return level, scale.levels[level - 1].word


def skills_of(features: Features, scale: Scale) -> tuple[str, ...]:
    """Return the names of the skills that a block with these features asks for."""
    return tuple(skill.name for skill in scale.skills if skill.needed(features))

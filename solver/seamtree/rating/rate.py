"""From a plan to a rating: measure, give points, find the level, and look for what would lower it."""

from __future__ import annotations

from seamtree.planning.model import Plan
from seamtree.rating.changes import find_changes
from seamtree.rating.features import measure
from seamtree.rating.judgement import Rating
from seamtree.rating.scale import Scale, default_scale
from seamtree.rating.score import contributions_of, level_and_word, skills_of
from seamtree.rating.times import estimate


def rate(plan: Plan, *, scale: Scale | None = None, changes: bool = True, time_limit: float = 1.0) -> Rating:
    """Rate how hard a planned block is to sew at the size that it has.

    Parameters
    ----------
    plan
        The plan.
    scale
        Points, levels and skills; None for the scale that comes with the package.
    changes
        Whether to look for what would lower the score most; that takes far longer than all the rest.
    time_limit
        Effort of each search for other seams that would lower the score, in seconds of an ordinary machine; counted,
        not clocked.

    Returns
    -------
    Rating
        The level, the points behind it, and what would lower it.
    """
    scale = scale or default_scale()
    measured = measure(plan)
    parts = contributions_of(measured, scale)
    level, word = level_and_word(sum(part.tenths for part in parts), scale)
    block = plan.block
    return Rating(
        name=block.name,
        width=block.width,
        height=block.height,
        level=level,
        levels=len(scale.levels),
        word=word,
        contributions=parts,
        changes=find_changes(plan, measured, scale, time_limit=time_limit) if changes else (),
        skills=skills_of(measured.features, scale),
        features=measured.features,
        proven=plan.proven,
        time=estimate(plan, scale),
    )

"""Rating: how hard a block is to sew, from 1 to 5, with the reasons and with what would make it easier.

    from seamtree.rating import rate

    rating = rate(seamtree.plan(block))
    print(rating.level, rating.word, rating.score)

*Feature*: something about a block that can be counted or measured. *Scale*: how many points each feature gives, from
which score on each level holds, and what counts as a skill. *Skill*: something a sewist meets first in some block.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from seamtree.lazy import lazy_names

if TYPE_CHECKING:
    from seamtree.rating.course import Course, Lesson, plan_course
    from seamtree.rating.model import Change, Contribution, Rating
    from seamtree.rating.rate import rate
    from seamtree.rating.scale import Scale, default_scale, default_scale_text, read_scale

__all__ = [
    "Change",
    "Contribution",
    "Course",
    "Lesson",
    "Rating",
    "Scale",
    "default_scale",
    "default_scale_text",
    "plan_course",
    "rate",
    "read_scale",
]

__getattr__ = lazy_names(
    __name__,
    {
        "Change": "seamtree.rating.model",
        "Contribution": "seamtree.rating.model",
        "Course": "seamtree.rating.course",
        "Lesson": "seamtree.rating.course",
        "Rating": "seamtree.rating.model",
        "Scale": "seamtree.rating.scale",
        "default_scale": "seamtree.rating.scale",
        "default_scale_text": "seamtree.rating.scale",
        "plan_course": "seamtree.rating.course",
        "rate": "seamtree.rating.rate",
        "read_scale": "seamtree.rating.scale",
    },
)

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
    from seamtree.rating.judgement import Change, Contribution, Rating
    from seamtree.rating.rate import rate
    from seamtree.rating.scale import SCALES, Scale, default_scale, named_scale, read_scale, scale_text
    from seamtree.rating.times import Calibration, Estimate, calibrate

__all__ = [
    "SCALES",
    "Calibration",
    "Change",
    "Contribution",
    "Course",
    "Estimate",
    "Lesson",
    "Rating",
    "Scale",
    "calibrate",
    "default_scale",
    "named_scale",
    "plan_course",
    "rate",
    "read_scale",
    "scale_text",
]

__getattr__ = lazy_names(
    __name__,
    {
        "SCALES": "seamtree.rating.scale",
        "Calibration": "seamtree.rating.times",
        "Change": "seamtree.rating.judgement",
        "Contribution": "seamtree.rating.judgement",
        "Course": "seamtree.rating.course",
        "Estimate": "seamtree.rating.times",
        "Lesson": "seamtree.rating.course",
        "Rating": "seamtree.rating.judgement",
        "Scale": "seamtree.rating.scale",
        "calibrate": "seamtree.rating.times",
        "default_scale": "seamtree.rating.scale",
        "named_scale": "seamtree.rating.scale",
        "plan_course": "seamtree.rating.course",
        "rate": "seamtree.rating.rate",
        "read_scale": "seamtree.rating.scale",
        "scale_text": "seamtree.rating.scale",
    },
)

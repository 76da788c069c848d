"""Drawings put in the order of a course: each asks for few skills that those before did not.

All skills are new once, so an order can only spread them. The best order is the one in which the squares of the
numbers of new skills, summed over the steps, are least: two steps with one new skill each are better than one with
two.

No order costs less than this: the fewest skills of any lesson at the first step, and then one at a time. The plain
way is tried first: the lesson with the fewest new skills is always next. Where it costs no more than that, it is a
best order, and no search is needed.

Otherwise a search goes over sets of known skills, from none to all. Two facts keep it small, and both are exact. A
lesson with no new skill changes nothing wherever it stands. And where the new skills of one lesson are among those of
another, the first may as well come first: taken before the other, it costs a² and makes the other cost (b − a)² in
place of b², which together is less than b². So only lessons with least sets of new skills go next.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from seamtree.rating.model import Rating

_MOST_STATES = 20_000
"""Sets of known skills that are looked at; beyond, the lesson with the fewest new skills is always next."""


@dataclass(frozen=True, slots=True)
class Lesson:
    """A drawing of a course.

    Parameters
    ----------
    source
        Name of the drawing.
    ratings
        Of its blocks; all are rated on one scale.
    """

    source: str
    ratings: tuple[Rating, ...]

    def __post_init__(self) -> None:
        if not self.ratings:
            raise ValueError("a lesson has a block")

    @property
    def hardest(self) -> Rating:
        """Rating of the hardest block."""
        return max(self.ratings, key=lambda rating: rating.score)

    @property
    def skills(self) -> tuple[str, ...]:
        """The skills that its blocks ask for, each once."""
        return tuple(dict.fromkeys(skill for rating in self.ratings for skill in rating.skills))


@dataclass(frozen=True, slots=True)
class Step:
    """A step of a course: a lesson, and which of its skills are new."""

    lesson: Lesson
    new_skills: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Course:
    """A course.

    Parameters
    ----------
    steps
        In order.
    proven
        Whether no other order spreads the new skills better.
    """

    steps: tuple[Step, ...]
    proven: bool


def plan_course(lessons: Sequence[Lesson]) -> Course:
    """Put lessons in an order in which each step adds few new skills.

    Parameters
    ----------
    lessons
        In any order.

    Returns
    -------
    Course
        The order in which the squares of the numbers of new skills have the least sum. Among equally good orders, the
        lesson with the lowest score is always next, then the one whose name comes first.
    """
    number: dict[str, int] = {}
    for lesson in lessons:
        for skill in lesson.skills:
            number.setdefault(skill, len(number))
    ranked = sorted(lessons, key=lambda lesson: (lesson.hardest.score, lesson.source))
    masks = [sum(1 << number[skill] for skill in lesson.skills) for lesson in ranked]
    order = _order(masks, lambda known: _fewest(masks, known))
    least = min((mask.bit_count() for mask in masks if mask), default=0)
    proven = sum(new.bit_count() ** 2 for _, new in order) == least**2 + len(number) - least
    if not proven:
        costs = _Costs(masks)
        proven = costs.settle()
        order = _order(masks, costs.next_lessons) if proven else order
    steps = (
        Step(ranked[k], tuple(skill for skill in ranked[k].skills if new >> number[skill] & 1)) for k, new in order
    )
    return Course(tuple(steps), proven)


def _order(masks: Sequence[int], next_lessons: Callable[[int], set[int]]) -> list[tuple[int, int]]:
    """Put lessons in order: the first is always next that has no new skills or is among those that may come next.

    Returns
    -------
    list of tuple
        The lessons with their new skills.
    """
    known = 0
    left = list(range(len(masks)))
    order = []
    while left:
        fits = next_lessons(known)
        k = next(k for k in left if not masks[k] & ~known or k in fits)
        left.remove(k)
        order.append((k, masks[k] & ~known))
        known |= masks[k]
    return order


def _fewest(masks: Sequence[int], known: int) -> set[int]:
    """Return the lessons with the fewest new skills, more than none."""
    new = {k: (mask & ~known).bit_count() for k, mask in enumerate(masks) if mask & ~known}
    fewest = min(new.values(), default=0)
    return {k for k, count in new.items() if count == fewest}


class _Costs:
    """The least costs from sets of known skills on; skills are bits.

    Parameters
    ----------
    masks
        The skills of every lesson.
    """

    def __init__(self, masks: Sequence[int]) -> None:
        self._masks = masks
        self._cost: dict[int, int] = {}

    def settle(self) -> bool:
        """Find the least cost from no skills on; tell whether there were few enough sets to look at."""
        stack = [0]
        while stack:
            known = stack[-1]
            if known in self._cost:
                stack.pop()
                continue
            options = self._options(known)
            waiting = [known | new for new in options if known | new not in self._cost]
            if waiting:
                stack += waiting
                continue
            self._cost[known] = min((new.bit_count() ** 2 + self._cost[known | new] for new in options), default=0)
            if len(self._cost) > _MOST_STATES:
                return False
            stack.pop()
        return True

    def next_lessons(self, known: int) -> set[int]:
        """Return the lessons with new skills that may come next in a best order."""
        good = {new for new in self._options(known) if self._total(known, new) == self._cost[known]}
        return {k for k, mask in enumerate(self._masks) if mask & ~known in good}

    def _total(self, known: int, new: int) -> int:
        return new.bit_count() ** 2 + self._cost[known | new]

    def _options(self, known: int) -> list[int]:
        """Return the least sets of new skills."""
        options = sorted({mask & ~known for mask in self._masks} - {0}, key=lambda new: (new.bit_count(), new))
        least: list[int] = []
        for new in options:
            if not any(other & new == other for other in least):
                least.append(new)
        return least

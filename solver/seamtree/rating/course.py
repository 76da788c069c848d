"""Drawings put in the order of a course: each asks for few skills that those before did not.

Two rules hold in every course. The level never falls by more than one, nor ever lies more than one below the highest
so far: a lesson waits for all lessons that are two levels or more below it. And a skill waits for the skills that the
scale names as its prerequisites; they have to be known from earlier lessons.

All skills are new once, so an order can only spread them. The best order that keeps the rules is the one in which the
squares of the numbers of new skills, summed over the steps, are least: two steps with one new skill each are better
than one with two.

No order costs less than this: the fewest skills of any lesson at the first step, and then one at a time. The plain
way is tried first: of the lessons that may come, the one with the fewest new skills is always next. Where it costs no
more than that, it is a best order, and no search is needed.

Otherwise a search goes over sets of known skills, from those known at first to all. Three facts keep it small, and
all are exact. Both rules only ever wait for something, so what may come once may come for good. So a lesson with no
new skill is best taken as soon as it may come, and the known skills alone say which lessons are over. And where the
new skills of one lesson are among those of another and both may come, the first may as well come first: taken before
the other, it costs a² and makes the other cost (b − a)² in place of b², which together is less than b². So only
lessons with least sets of new skills go next.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from seamtree.errors import OptionError
from seamtree.rating.judgement import Rating
from seamtree.words import count

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
    def level(self) -> int:
        """Level of the hardest block."""
        return self.hardest.level

    @property
    def skills(self) -> tuple[str, ...]:
        """The skills that its blocks ask for, each once."""
        return tuple(dict.fromkeys(skill for rating in self.ratings for skill in rating.skills))


@dataclass(frozen=True, slots=True)
class Step:
    """A step of a course.

    Parameters
    ----------
    lesson
        What is sewn.
    new_skills
        Which of its skills are new.
    builds_on
        Numbers of the steps, from 1, that taught its other skills.
    too_early
        Prerequisites of its new skills that no earlier step could teach.
    """

    lesson: Lesson
    new_skills: tuple[str, ...]
    builds_on: tuple[int, ...] = ()
    too_early: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Course:
    """A course.

    Parameters
    ----------
    steps
        In order.
    proven
        Whether no other order that keeps the rules spreads the new skills better.
    """

    steps: tuple[Step, ...]
    proven: bool


def plan_course(
    lessons: Sequence[Lesson],
    *,
    prerequisites: Mapping[str, Sequence[str]] | None = None,
    known: Iterable[str] = (),
    first: Sequence[str] = (),
) -> Course:
    """Put lessons in an order in which each step adds few new skills and the level never falls by more than one.

    Parameters
    ----------
    lessons
        In any order.
    prerequisites
        For skills, those that have to be known from earlier lessons. What no lesson can teach in time is not waited
        for; the step names it.
    known
        Skills that the class has already.
    first
        Sources of the lessons that come first, in this order.

    Returns
    -------
    Course
        The order in which the squares of the numbers of new skills have the least sum. Among equally good orders, the
        lesson with the lowest score is always next, then the one whose name comes first.

    Raises
    ------
    OptionError
        If after those that come first the level would fall by more than one.
    """
    after = prerequisites or {}
    ranked = sorted(lessons, key=lambda lesson: (lesson.hardest.score, lesson.source))
    start = [next(k for k, lesson in enumerate(ranked) if lesson.source == source) for source in first]
    _check_start(ranked, start)
    skills = list(dict.fromkeys(skill for lesson in ranked for skill in lesson.skills))
    number = {skill: n for n, skill in enumerate(skills)}
    masks = [sum(1 << number[skill] for skill in lesson.skills) for lesson in ranked]
    waits = {n: sum(1 << number[s] for s in after.get(skill, ()) if s in number) for skill, n in number.items()}
    before = sum(1 << number[skill] for skill in set(known) if skill in number)
    rules = _Rules(masks, [lesson.level for lesson in ranked], waits, tuple(start), before)
    order, proven = _best_order(rules)
    return Course(tuple(_steps([ranked[k] for k in order], set(known), after)), proven)


def _check_start(ranked: Sequence[Lesson], start: Sequence[int]) -> None:
    """Refuse lessons to start with that are followed by others far below."""
    for number, k in enumerate(start):
        lesson = ranked[k]
        below = [
            other for j, other in enumerate(ranked) if j not in start[:number] and other.level < lesson.level - 1
        ]
        if below:
            raise OptionError(
                f"the course cannot start with {lesson.source!r}: it is level {lesson.level}, and {below[0].source!r}"
                + (f" and {count(len(below) - 1, 'more drawing')}" if len(below) > 1 else "")
                + " would come after it two levels or more below; start with an easier one, or leave these out"
            )


def _steps(ordered: Sequence[Lesson], known: set[str], after: Mapping[str, Sequence[str]]) -> Iterable[Step]:
    taught: dict[str, int] = {}
    for number, lesson in enumerate(ordered, 1):
        new = tuple(skill for skill in lesson.skills if skill not in known)
        early = dict.fromkeys(skill for wanted in new for skill in after.get(wanted, ()) if skill not in known)
        builds_on = sorted({taught[skill] for skill in lesson.skills if skill in taught})
        yield Step(lesson, new, tuple(builds_on), tuple(early))
        known |= set(new)
        taught |= dict.fromkeys(new, number)


# -- orders -----------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class _Rules:
    """What may come when; skills are bits.

    Parameters
    ----------
    masks, levels
        The skills and the level of every lesson, from the easiest lesson on.
    waits
        For every skill the skills that it waits for.
    start
        Lessons that come first.
    known
        Skills that are known before.
    """

    masks: Sequence[int]
    levels: Sequence[int]
    waits: Mapping[int, int]
    start: tuple[int, ...]
    known: int

    @cached_property
    def known_at_first(self) -> int:
        """The skills that are known when the order is free."""
        known = self.known
        for k in self.start:
            known |= self.masks[k]
        return known

    @cached_property
    def needs(self) -> tuple[tuple[tuple[int, int], ...], ...]:
        """For every lesson its skills that wait, each with what has to be known unless it is known itself.

        Where nothing but lessons that wait for each other are left, the one that lacks least no longer waits for what
        it lacks.
        """
        needs = [
            tuple((1 << n, wanted) for n, wanted in self.waits.items() if mask >> n & 1 and wanted)
            for mask in self.masks
        ]
        known, left = self.known_at_first, set(range(len(self.masks))) - set(self.start)
        while left:
            highest = self._highest(left)
            may = [k for k in sorted(left) if self.levels[k] <= highest]
            ready = [k for k in may if _met(needs[k], known)]
            if not ready:
                lacking = {k: sum((want & ~known).bit_count() for s, want in needs[k] if not s & known) for k in may}
                k = min(may, key=lambda k: (lacking[k], k))
                needs[k] = tuple((skill, wanted & known) for skill, wanted in needs[k])
                ready = [k]
            for k in ready:
                known |= self.masks[k]
            left -= set(ready)
        return tuple(needs)

    def over(self, known: int) -> set[int]:
        """Return the lessons that are over once these skills are known, those taken for practice among them."""
        highest = self._highest(k for k, mask in enumerate(self.masks) if mask & ~known and k not in self.start)
        free = {k for k, mask in enumerate(self.masks) if not mask & ~known and self.levels[k] <= highest}
        return free | set(self.start)

    def may_come(self, known: int, done: set[int]) -> list[int]:
        """Return the lessons that may come next."""
        left = [k for k in range(len(self.masks)) if k not in done]
        highest = self._highest(left)
        return [k for k in left if self.levels[k] <= highest and _met(self.needs[k], known)]

    def _highest(self, left: Iterable[int]) -> float:
        """Return the highest level that may come while these lessons are not over: one above the lowest of them."""
        return min((self.levels[k] for k in left), default=math.inf) + 1


def _met(needs: Iterable[tuple[int, int]], known: int) -> bool:
    return all(skill & known or not wanted & ~known for skill, wanted in needs)


def _best_order(rules: _Rules) -> tuple[list[int], bool]:
    """Return the best order, and whether it is proven to be."""
    first = rules.known_at_first
    order = _order(rules, lambda known: _fewest(rules, known))
    rest = [mask & ~first for mask in rules.masks if mask & ~first]
    least = min((mask.bit_count() for mask in rest), default=0)
    together = 0
    for mask in rest:
        together |= mask
    if _cost(rules, order) == least**2 + together.bit_count() - least:
        return order, True
    costs = _Costs(rules)
    if not costs.settle():
        return order, False
    return _order(rules, costs.next_lessons), True


def _cost(rules: _Rules, order: Sequence[int]) -> int:
    """Return the sum of the squares of the numbers of new skills, without the lessons that come first anyway."""
    known, cost = rules.known_at_first, 0
    for k in order[len(rules.start) :]:
        cost += (rules.masks[k] & ~known).bit_count() ** 2
        known |= rules.masks[k]
    return cost


def _order(rules: _Rules, next_lessons: Callable[[int], set[int]]) -> list[int]:
    """Put lessons in order.

    Next is always the first that is among those that may come next or teaches nothing new and lies no higher than
    what there was. Where that is a step up, what is easier and teaches nothing new comes before it.
    """
    known, order = rules.known_at_first, list(rules.start)
    height = max((rules.levels[k] for k in order), default=min(rules.levels, default=0))
    while len(order) < len(rules.masks):
        may, fits = rules.may_come(known, set(order)), next_lessons(known)
        practice = [k for k in may if not rules.masks[k] & ~known]
        k = next((k for k in may if k in fits or (k in practice and rules.levels[k] <= height)), None)
        if k is None or rules.levels[k] > height:
            k = min([*practice, *([] if k is None else [k])])
        order.append(k)
        known |= rules.masks[k]
        height = max(height, rules.levels[k])
    return order


def _fewest(rules: _Rules, known: int) -> set[int]:
    """Return the lessons that may come with the fewest new skills, more than none."""
    new = {
        k: (rules.masks[k] & ~known).bit_count()
        for k in rules.may_come(known, rules.over(known))
        if rules.masks[k] & ~known
    }
    fewest = min(new.values(), default=0)
    return {k for k, count in new.items() if count == fewest}


class _Costs:
    """The least costs from sets of known skills on.

    Parameters
    ----------
    rules
        What may come when.
    """

    def __init__(self, rules: _Rules) -> None:
        self._rules = rules
        self._cost: dict[int, int] = {}
        self._found: dict[int, list[int]] = {}

    def settle(self) -> bool:
        """Find the least cost from the skills known at first; tell whether there were few enough sets to look at."""
        stack = [self._rules.known_at_first]
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
            self._cost[known] = min((self._total(known, new) for new in options), default=0)
            if len(self._cost) > _MOST_STATES:
                return False
            stack.pop()
        return True

    def next_lessons(self, known: int) -> set[int]:
        """Return the lessons with new skills that may come next in a best order."""
        good = {new for new in self._options(known) if self._total(known, new) == self._cost[known]}
        return {k for k, mask in enumerate(self._rules.masks) if mask & ~known in good}

    def _total(self, known: int, new: int) -> int:
        return new.bit_count() ** 2 + self._cost[known | new]

    def _options(self, known: int) -> list[int]:
        """Return the least sets of new skills that may come next."""
        if known not in self._found:
            rules = self._rules
            may = rules.may_come(known, rules.over(known))
            sets = sorted({rules.masks[k] & ~known for k in may} - {0}, key=lambda new: (new.bit_count(), new))
            least: list[int] = []
            for new in sets:
                if not any(other & new == other for other in least):
                    least.append(new)
            self._found[known] = least
        return self._found[known]

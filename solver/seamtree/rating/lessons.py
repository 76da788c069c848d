"""A course as lessons: sections by level, each with its lessons and what there is to practise after each."""

from __future__ import annotations

from dataclasses import dataclass

from seamtree.rating.course import Course, Step
from seamtree.rating.scale import Scale


@dataclass(frozen=True, slots=True)
class Taught:
    """A lesson with something new, and what there is to practise it.

    Parameters
    ----------
    number
        Of the lesson, from 1 on through the whole course.
    step
        What is sewn in it.
    builds_on
        Numbers of the lessons that taught its other skills.
    practice
        Steps with nothing new that come before the next lesson.
    """

    number: int
    step: Step
    builds_on: tuple[int, ...]
    practice: tuple[Step, ...]


@dataclass(frozen=True, slots=True)
class Section:
    """The part of a course from where it first reaches a level; a lesson in it may lie one level lower.

    Parameters
    ----------
    level, word
        The level, and its word.
    practice
        What there is to practise before its first lesson.
    lessons
        The lessons.
    """

    level: int
    word: str
    practice: tuple[Step, ...]
    lessons: tuple[Taught, ...]

    @property
    def steps(self) -> tuple[Step, ...]:
        """All steps in order."""
        return self.practice + tuple(step for one in self.lessons for step in (one.step, *one.practice))


def sections_of(course: Course, scale: Scale) -> tuple[Section, ...]:
    """Return the sections of a course that was rated on a scale."""
    numbers: dict[int, int] = {}  # of lessons by those of steps
    open_sections: list[tuple[int, list[Step], list[tuple[int, Step, list[Step]]]]] = []
    for k, step in enumerate(course.steps, 1):
        if not open_sections or step.lesson.level > open_sections[-1][0]:
            open_sections.append((step.lesson.level, [], []))
        _, practice, lessons = open_sections[-1]
        if step.new_skills:
            numbers[k] = len(numbers) + 1
            lessons.append((numbers[k], step, []))
        else:
            (lessons[-1][2] if lessons else practice).append(step)
    return tuple(
        Section(
            level,
            scale.levels[level - 1].word,
            tuple(practice),
            tuple(
                Taught(number, step, tuple(numbers[k] for k in step.builds_on), tuple(more))
                for number, step, more in lessons
            ),
        )
        for level, practice, lessons in open_sections
    )

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from seamtree.rating import default_scale, plan_course
from seamtree.rating.lessons import sections_of
from tests.rating.test_course import lesson, levelled


def told(sections):
    return [
        (
            section.level,
            [step.lesson.source for step in section.practice],
            [
                (one.number, one.step.lesson.source, one.builds_on, [step.lesson.source for step in one.practice])
                for one in section.lessons
            ],
        )
        for section in sections
    ]


def test_sections_by_level_with_practice_after_each_lesson():
    lessons = [
        lesson("one", "a", 1, 1),
        lesson("again", "a", 2, 1),
        lesson("two", "ab", 3, 2),
        lesson("back", "abc", 4, 1),
        lesson("higher", "ab", 5, 3),
        lesson("three", "abcd", 6, 3),
    ]
    sections = sections_of(plan_course(lessons), default_scale())
    assert told(sections) == [
        (1, [], [(1, "one", (), ["again"])]),
        (2, [], [(2, "two", (1,), []), (3, "back", (1, 2), [])]),
        (3, ["higher"], [(4, "three", (1, 2, 3), [])]),
    ]
    assert [section.word for section in sections] == ["beginner", "confident beginner", "intermediate"]


@given(levelled)
def test_no_step_is_lost_and_sections_climb(drawn):
    lessons = [lesson(str(k), sorted(skills), tenths, level) for k, (skills, tenths, level) in enumerate(drawn)]
    course = plan_course(lessons)
    sections = sections_of(course, default_scale())
    assert tuple(step for section in sections for step in section.steps) == course.steps
    levels = [section.level for section in sections]
    assert levels == sorted(set(levels))
    for section in sections:
        assert all(section.level - 1 <= step.lesson.level <= section.level for step in section.steps)
        assert all(one.step.new_skills for one in section.lessons)
    numbers = [one.number for section in sections for one in section.lessons]
    assert numbers == list(range(1, len(numbers) + 1))
    assert all(number < one.number for section in sections for one in section.lessons for number in one.builds_on)


@given(st.lists(st.integers(0, 3), min_size=1, max_size=5))
def test_a_class_that_knows_everything_only_practises(drawn):
    course = plan_course([lesson(str(k), "ab", tenths) for k, tenths in enumerate(drawn)], known="ab")
    (section,) = sections_of(course, default_scale())
    assert section.lessons == ()
    assert len(section.practice) == len(drawn)

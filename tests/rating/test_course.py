from __future__ import annotations

from dataclasses import replace
from itertools import permutations

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from seamtree.block.build import block_from_polygons
from seamtree.errors import OptionError
from seamtree.planning.build import plan
from seamtree.rating import Lesson, course, plan_course, rate
from seamtree.rating.judgement import Rating
from tests.support import layouts

PLAIN = rate(plan(block_from_polygons([shapely.box(0, 0, 4, 4)])), changes=False)


def lesson(source: str, skills, tenths: int = 0, level: int = 1) -> Lesson:
    parts = (*PLAIN.contributions[:-1], _with(PLAIN.contributions[-1], tenths))
    return Lesson(source, (_with(PLAIN, contributions=parts, skills=tuple(skills), level=level),))


def _with(thing, tenths=None, **more):
    return replace(thing, **({"tenths": tenths} if tenths is not None else {}), **more)


def cost(steps) -> int:
    return sum(len(step.new_skills) ** 2 for step in steps)


def cost_of(lessons, known=()) -> int:
    known = set(known)
    total = 0
    for one in lessons:
        total += len(set(one.skills) - known) ** 2
        known |= set(one.skills)
    return total


def test_each_step_adds_one_skill_where_it_can():
    lessons = [lesson("all", "abc"), lesson("first", "a"), lesson("second", "ab")]
    planned = plan_course(lessons)
    assert [step.lesson.source for step in planned.steps] == ["first", "second", "all"]
    assert [step.new_skills for step in planned.steps] == [("a",), ("b",), ("c",)]
    assert planned.proven


def test_ties_go_by_score_then_by_name():
    lessons = [lesson("d", "a", 9), lesson("c", "b", 5), lesson("b", "", 7), lesson("a", "", 7)]
    assert [step.lesson.source for step in plan_course(lessons).steps] == ["c", "a", "b", "d"]


def test_a_greedy_order_would_be_worse():
    # Whoever begins with the first of the two easiest, 'cf', has two more skills to learn at once after it.
    lessons = [lesson("1", "cf"), lesson("2", "ab"), lesson("3", "abf")]
    assert cost_of(lessons) == 8
    planned = plan_course(lessons)
    assert [step.lesson.source for step in planned.steps] == ["2", "3", "1"]
    assert cost(planned.steps) == 6


some_lessons = st.lists(
    st.tuples(st.frozensets(st.sampled_from("abcdef")), st.integers(0, 3)), min_size=1, max_size=6
)


@given(some_lessons)
def test_no_other_order_is_better(drawn):
    lessons = [lesson(str(k), sorted(skills), tenths) for k, (skills, tenths) in enumerate(drawn)]
    planned = plan_course(lessons)
    assert planned.proven
    least = min(cost_of(order) for order in permutations(lessons))
    assert cost(planned.steps) == least
    # Of all best orders it is the one that always goes on with the lowest score, then with the first name.
    ranks = [
        [(one.hardest.score, one.source) for one in order]
        for order in permutations(lessons)
        if cost_of(order) == least
    ]
    assert [(step.lesson.hardest.score, step.lesson.source) for step in planned.steps] == min(ranks)


levelled = st.lists(
    st.tuples(st.frozensets(st.sampled_from("abcde")), st.integers(0, 3), st.integers(1, 4)), min_size=1, max_size=6
)
some_prerequisites = st.dictionaries(st.sampled_from("cde"), st.lists(st.sampled_from("ab"), max_size=2), max_size=2)


def keeps_the_rules(order, after, known) -> bool:
    """Tell it plainly: never two levels below what there was, and no skill before its prerequisites."""
    known, highest = set(known), 0
    for one in order:
        if one.level < highest - 1:
            return False
        if any(set(after.get(skill, ())) - known for skill in set(one.skills) - known):
            return False
        highest = max(highest, one.level)
        known |= set(one.skills)
    return True


@given(levelled, some_prerequisites, st.frozensets(st.sampled_from("abc"), max_size=2))
def test_no_other_order_that_keeps_the_rules_is_better(drawn, after, known):
    lessons = [lesson(str(k), sorted(skills), tenths, level) for k, (skills, tenths, level) in enumerate(drawn)]
    planned = plan_course(lessons, prerequisites=after, known=known)
    assert planned.proven
    order = [step.lesson for step in planned.steps]
    # What no lesson can teach in time is not waited for, and then the order is not among these.
    allowed = [other for other in permutations(lessons) if keeps_the_rules(other, after, known)]
    assert bool(allowed) == (not any(step.too_early for step in planned.steps))
    if allowed:
        assert keeps_the_rules(order, after, known)
        assert cost_of(order, known) == min(cost_of(other, known) for other in allowed)
    assert keeps_the_rules(order, {}, known)


@given(levelled, st.randoms(use_true_random=False))
def test_the_first_lessons_are_those_asked_for(drawn, rng):
    lessons = [lesson(str(k), sorted(skills), tenths, level) for k, (skills, tenths, level) in enumerate(drawn)]
    first = rng.choice(lessons)
    highest_after = min(one.level for one in lessons)
    if first.level > highest_after + 1:
        with pytest.raises(OptionError, match="two levels or more below"):
            plan_course(lessons, first=[first.source])
        return
    planned = plan_course(lessons, first=[first.source])
    order = [step.lesson for step in planned.steps]
    assert order[0] == first
    rest = [other for other in permutations(lessons) if other[0] == first and keeps_the_rules(other, {}, ())]
    assert cost_of(order) == min(cost_of(other) for other in rest)


def test_the_level_never_falls_by_more_than_one():
    # Two lessons have the same skills; without levels the hard one with one skill would open the course.
    lessons = [lesson("hard", "a", 90, 5), lesson("easy", "abc", 10, 1), lesson("middle", "abcd", 50, 3)]
    assert [step.lesson.source for step in plan_course(lessons).steps] == ["easy", "middle", "hard"]


def test_practice_that_lies_higher_waits():
    lessons = [lesson("one", "a", 1, 1), lesson("higher", "a", 2, 2), lesson("two", "ab", 3, 1)]
    assert [step.lesson.source for step in plan_course(lessons).steps] == ["one", "two", "higher"]


def test_practice_comes_before_a_harder_lesson_of_its_level():
    lessons = [lesson("one", "a", 1, 1), lesson("easier", "a", 2, 2), lesson("harder", "ab", 3, 2)]
    assert [step.lesson.source for step in plan_course(lessons).steps] == ["one", "easier", "harder"]


def test_a_step_tells_what_it_builds_on_and_what_came_too_early():
    after = {"b": ("a",), "d": ("c",)}
    planned = plan_course([lesson("1", "a", 1), lesson("2", "ab", 2), lesson("3", "abd", 3)], prerequisites=after)
    assert [step.builds_on for step in planned.steps] == [(), (1,), (1, 2)]
    assert [step.too_early for step in planned.steps] == [(), (), ("c",)]


def test_skills_that_the_class_has_are_not_new():
    planned = plan_course([lesson("1", "ab"), lesson("2", "c")], known=["a", "b", "never asked for"])
    assert [step.new_skills for step in planned.steps] == [(), ("c",)]
    assert planned.steps[0].builds_on == ()


@given(some_lessons, st.randoms(use_true_random=False))
def test_the_order_of_the_files_does_not_matter(drawn, rng):
    lessons = [lesson(str(k), sorted(skills), tenths) for k, (skills, tenths) in enumerate(drawn)]
    shuffled = list(lessons)
    rng.shuffle(shuffled)
    one, other = ([step.lesson.source for step in plan_course(given_).steps] for given_ in (lessons, shuffled))
    assert one == other


@given(some_lessons)
def test_every_skill_is_new_once(drawn):
    planned = plan_course([lesson(str(k), sorted(skills)) for k, (skills, _) in enumerate(drawn)])
    new = [skill for step in planned.steps for skill in step.new_skills]
    assert len(new) == len(set(new))
    assert set(new) == {skill for skills, _ in drawn for skill in skills}


def test_too_many_sets_of_skills_are_told(monkeypatch):
    monkeypatch.setattr(course, "_MOST_STATES", 5)
    planned = plan_course([lesson(pair, pair) for pair in ("ab", "cd", "ef", "gh")])
    assert not planned.proven
    assert sum(len(step.new_skills) for step in planned.steps) == 8


def test_one_skill_at_a_time_needs_no_search(monkeypatch):
    monkeypatch.setattr(course, "_MOST_STATES", 0)
    planned = plan_course([lesson(str(k), skill) for k, skill in enumerate("gfedcba")])
    assert planned.proven
    assert [len(step.new_skills) for step in planned.steps] == [1] * 7


def test_an_empty_course():
    assert plan_course([]).steps == ()
    with pytest.raises(ValueError, match="a lesson has a block"):
        Lesson("empty", ())


def test_a_drawing_of_several_blocks_is_as_hard_as_its_hardest():
    easy, hard = (
        rate(plan(block_from_polygons(p)), changes=False) for p in (layouts.squares(2, 2), layouts.kaleidoscope())
    )
    both = Lesson("both", (easy, hard))
    assert both.hardest is hard
    assert set(both.skills) == set(easy.skills) | set(hard.skills)
    assert isinstance(both.hardest, Rating)


def test_traditional_blocks_make_a_course_of_small_steps():
    named = {
        "cabin": layouts.log_cabin(3),
        "four": layouts.squares(2, 2),
        "star": layouts.split_square_star(),
        "spun": layouts.spun_rectangles(),
        "attic": layouts.attic_window(),
        "curve": layouts.quarter_circle(),
        "wedges": layouts.kaleidoscope(),
        "diamonds": layouts.diamond_star(),
    }
    lessons = [Lesson(n, (rate(plan(layouts.at_width(p, 8.0)), changes=False),)) for n, p in named.items()]
    planned = plan_course(lessons)
    order = [step.lesson.source for step in planned.steps]
    assert (order[0], order[-1]) == ("four", "diamonds")
    assert max(len(step.new_skills) for step in planned.steps) <= 2
    assert dict(zip(order, (step.new_skills for step in planned.steps), strict=True))["spun"] == ("partial seam",)

"""A course: drawings that were rated, put in order, printed as lessons, and written as a page or a table."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from seamtree.errors import OptionError
from seamtree.words import count, listed
from seamtree_cli.answers import answer_each
from seamtree_cli.exits import STRAIGHT, WRONG
from seamtree_cli.files import check_target, write_whole
from seamtree_cli.rating_tables import render_course
from seamtree_cli.streams import Output, put_json, say
from seamtree_cli.work import Job, Outcome

if TYPE_CHECKING:  # other commands start without what rates
    from seamtree.rating import Course, Lesson, Scale
    from seamtree.rating.course import Step
    from seamtree.rating.lessons import Section

COLUMNS = (
    *("step", "section", "lesson", "drawing", "kind", "level", "word", "points", "width", "height", "fabrics"),
    *("fabric names", "minutes", "new skills", "builds on", "picture"),
)
"""Of the table; sizes are inches, of the hardest block."""


class CourseWishes(NamedTuple):
    """What is asked of a course.

    Parameters
    ----------
    folder
        With the drawings.
    practice
        As many blocks to practise are named after each lesson.
    max_level
        Drawings above are left out.
    start_with
        Drawings that come first, and skills that the class has.
    report, table
        Files to write: a page (HTML) and a table (CSV).
    """

    folder: str
    practice: int
    max_level: int | None
    start_with: tuple[str, ...]
    report: Path | None
    table: Path | None

    @property
    def with_plans(self) -> bool:
        """Whether the plans are wanted as well, for pictures and fabrics."""
        return self.report is not None or self.table is not None


def drawings_below(folder: Path) -> list[str]:
    """List the drawings of a course."""
    from seamtree.auditing.places import find_drawings

    if not folder.is_dir():
        raise OptionError(f"there is no folder {str(folder)!r} to make a course of")
    return find_drawings([str(folder)])


def rate_course(jobs: Sequence[Job], wishes: CourseWishes, scale: Scale, *, workers: int, as_json: bool) -> int:
    """Rate all drawings, put them in order, and show or write the course."""
    from seamtree.rating.course import Lesson, plan_course
    from seamtree.rating.lessons import sections_of

    for target, suffix, what in ((wishes.report, ".html", "the page"), (wishes.table, ".csv", "the table")):
        if target is not None:
            check_target(target, what=what, suffix=suffix, sources=[job.source for job in jobs])
    if wishes.max_level is not None and wishes.max_level > len(scale.levels):
        raise OptionError(
            f"the scale has {len(scale.levels)} levels, so --max-level {wishes.max_level} leaves out none"
        )
    first, known = _start(wishes, [job.source for job in jobs], scale)
    rated: list[Outcome] = []
    status = answer_each(jobs, workers=workers, show=rated.append, judge=_status)
    lessons = _wanted([Lesson(outcome.source, outcome.ratings) for outcome in rated], wishes, first)
    there = {lesson.source for lesson in lessons}
    course = plan_course(
        lessons,
        prerequisites=scale.prerequisites(),
        known=known,
        first=[source for source in first if source in there],
    )
    if not course.steps:
        return status
    sections = sections_of(course, scale)
    shown = _Shown(wishes, {outcome.source: outcome for outcome in rated}, sections)
    if as_json:
        shown.print_json()
    else:
        shown.print_table(course)
    shown.write()
    return status


def _status(outcome: Outcome) -> int:
    """Return the exit status for one drawing."""
    return STRAIGHT if outcome.ratings else WRONG


def _start(wishes: CourseWishes, sources: Sequence[str], scale: Scale) -> tuple[list[str], list[str]]:
    """Tell apart the drawings that come first and the skills that are known.

    Raises
    ------
    OptionError
        If something is neither, or is the name of several drawings.
    """
    first: list[str] = []
    known: list[str] = []
    skills = {skill.name for skill in scale.skills}
    for wanted in dict.fromkeys(wishes.start_with):
        for spelt in (str, lambda path: path.name, lambda path: path.stem):
            found = [source for source in sources if spelt(Path(shown_name(source, wishes.folder))) == wanted]
            if found:
                break
        if len(found) > 1:
            raise OptionError(f"--start-with {wanted!r} may be {listed(found, 'or')}; give the whole name")
        if found:
            first += [source for source in found if source not in first]
        elif wanted in skills:
            known.append(wanted)
        else:
            raise OptionError(
                f"--start-with {wanted!r} is no drawing below {wishes.folder!r} and no skill of the scale"
            )
    return first, known


def _wanted(lessons: Sequence[Lesson], wishes: CourseWishes, first: Sequence[str]) -> list[Lesson]:
    """Return the lessons that are not too hard; tell how many are left out."""
    most = wishes.max_level
    if most is None:
        return list(lessons)
    kept = [lesson for lesson in lessons if lesson.level <= most]
    hard = [lesson.source for lesson in lessons if lesson.level > most]
    for source in first:
        if source in hard:
            raise OptionError(f"the course cannot start with {source!r}, which is above level {most}")
    if hard:
        say(wishes.folder, f"{count(len(hard), 'drawing')} above level {most} left out")
    return kept


def shown_name(source: str, folder: str) -> str:
    """Return the name of a drawing from the folder of the course on."""
    path = Path(source)
    return str(path.relative_to(folder)) if path.is_relative_to(folder) else source


class _Shown:
    """Shows a course in every way that is asked for."""

    def __init__(self, wishes: CourseWishes, outcomes: dict[str, Outcome], sections: Sequence[Section]) -> None:
        self._wishes = wishes
        self._outcomes = outcomes
        self._sections = sections

    def _name(self, source: str) -> str:
        return shown_name(source, self._wishes.folder)

    def print_json(self) -> None:
        """Print one object for each step, each on a line."""
        from seamtree.rating.judgement import drawing_json

        for row in self._rows():
            outcome = self._outcomes[row.step.lesson.source]
            more: dict[str, Any] = {
                "step": row.number,
                "new_skills": list(row.step.new_skills),
                "builds_on": list(row.step.builds_on),
                "too_early": list(row.step.too_early),
                "section": row.section.level,
                "lesson": row.lesson,
            }
            put_json({**drawing_json(outcome.source, outcome.ratings), **more})

    def print_table(self, course: Course) -> None:
        """Print the lessons for people."""
        console = Output()
        for part in render_course(self._sections, self._name, practice=self._wishes.practice, proven=course.proven):
            console.print(part)
        console.file.flush()

    def write(self) -> None:
        """Write the files that are asked for, each whole or not at all, and say so."""
        for target, render in ((self._wishes.report, self._page), (self._wishes.table, self._csv)):
            if target is not None:
                write_whole(target, render())
                say("written", str(target))

    def _page(self) -> str:
        from seamtree.rating.page import render_course_page

        folder = Path(self._wishes.folder).resolve().name
        return render_course_page(
            self._sections,
            {source: outcome.plans for source, outcome in self._outcomes.items()},
            title=f"A course of {folder}" if folder else "A course",
            name=self._name,
            practice=self._wishes.practice,
        )

    def _csv(self) -> str:
        file = io.StringIO(newline="")
        writer = csv.DictWriter(file, COLUMNS, restval="", lineterminator="\r\n")  # as RFC 4180 has it
        writer.writeheader()
        for row in self._rows():
            cells = self._cells(row)
            writer.writerow(
                {column: inert(cell) if isinstance(cell, str) else cell for column, cell in cells.items()}
            )
        return file.getvalue()

    def _cells(self, row: _Row) -> dict[str, str | int | float]:
        from seamtree.rating.page import fabrics_of
        from seamtree.rating.times import together

        step, hardest = row.step, row.step.lesson.hardest
        outcome = self._outcomes[step.lesson.source]
        words = fabrics_of(outcome.plans)
        time = together([rating.time for rating in outcome.ratings])
        return {
            "step": row.number,
            "section": row.section.level,
            "lesson": row.lesson,
            "drawing": self._name(step.lesson.source),
            "kind": "lesson" if step.new_skills else "practice",
            "level": hardest.level,
            "word": hardest.word,
            "points": hardest.score,
            "width": round(hardest.width, 3),
            "height": round(hardest.height, 3),
            "fabrics": len(words),
            "fabric names": ", ".join(words.values()),
            "minutes": "" if time is None else time.minutes,
            "new skills": ", ".join(step.new_skills),
            "builds on": " ".join(str(number) for number in row.builds_on),
            "picture": step.lesson.source,
        }

    def _rows(self) -> Sequence[_Row]:
        rows: list[_Row] = []
        for section in self._sections:
            rows += [_Row(len(rows) + 1 + k, section, 0, step) for k, step in enumerate(section.practice)]
            for one in section.lessons:
                rows.append(_Row(len(rows) + 1, section, one.number, one.step, one.builds_on))
                rows += [_Row(len(rows) + 1 + k, section, one.number, step) for k, step in enumerate(one.practice)]
        return rows


class _Row(NamedTuple):
    """A step with its number, its section, and the lesson (0: before the first) that it is or belongs to."""

    number: int
    section: Section
    lesson: int
    step: Step
    builds_on: tuple[int, ...] = ()


def inert(cell: str) -> str:
    """Return a cell that no spreadsheet takes for a formula (OWASP, 'CSV Injection'): those get an apostrophe."""
    return f"'{cell}" if cell.startswith(("=", "+", "-", "@", "\t", "\r")) else cell

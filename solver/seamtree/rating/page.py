"""A course as one page to look at and to print: a picture, the new skills, size, fabrics and time of every lesson.

The page needs nothing but itself, runs no script, and its own security policy forbids to load anything.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from html import escape
from importlib.resources import files
from urllib.parse import quote

from seamtree.fabric import fabric_rgb, fabric_words
from seamtree.pattern.directions import CAUTIONS
from seamtree.picture import Look, draw_plan, write_svg
from seamtree.planning.model import Plan
from seamtree.rating.course import Step
from seamtree.rating.lessons import Section, Taught
from seamtree.rating.times import Estimate, together
from seamtree.words import capital, count, dimensions, duration, listed, one_line

POLICY = "default-src 'none'; img-src data:; style-src 'unsafe-inline'; base-uri 'none'"
"""What the page may load: nothing that is not in it."""

_SIZE = 150.0
_SMALL_SIZE = 60.0
"""Points that a picture is wide or high at most: of a lesson, and of a block to practise."""

_PIXELS = 96 / 72
"""CSS pixels to a point (CSS Values and Units, section 'Absolute lengths')."""

_SAFE = " /:;=,.()'!*-_~+@?&"
"""What may stand as it is in the address of a picture."""

_LOOK = Look(
    fabrics=True, numbers="none", marks=False, steps=False, leaders=False, hatching=False, caption=False, legend=False
)

_SMALL_LOOK = replace(_LOOK, markings=False)
"""How a block to practise is drawn."""


def render_course_page(
    sections: Sequence[Section],
    plans: Mapping[str, Sequence[Plan]],
    *,
    title: str,
    name: Callable[[str], str],
    practice: int,
) -> str:
    """Return the page (HTML).

    Parameters
    ----------
    sections
        The course.
    plans
        Plans of the blocks of each drawing, by its source.
    title
        Of the course.
    name
        Returns how a source is shown.
    practice
        As many blocks to practise are shown after each lesson; the others are folded away.
    """
    writer = _Writer(plans, name, practice)
    lessons = sum(len(section.lessons) for section in sections)
    more = sum(len(section.steps) for section in sections) - lessons
    time = together([rating.time for section in sections for step in section.steps for rating in step.lesson.ratings])
    return "\n".join(
        [
            "<!DOCTYPE html>",
            '<html lang="en">',
            "<head>",
            '<meta charset="utf-8">',
            f'<meta http-equiv="Content-Security-Policy" content="{POLICY}">',
            '<meta name="viewport" content="width=device-width, initial-scale=1">',
            '<link rel="icon" href="data:,">',
            f"<title>{_text(title)}</title>",
            f"<style>\n{files('seamtree.rating').joinpath('page.css').read_text(encoding='utf-8')}</style>",
            "</head>",
            "<body>",
            f"<header><h1>{_text(title)}</h1>",
            f'<p class="soft">{count(lessons, "lesson")}, {count(more, "more block")} to practise'
            f"{f', about {duration(time.minutes)} in all' if time else ''}. Sizes are finished sizes.</p></header>",
            "<main>",
            *(part for section in sections for part in writer.section(section)),
            f'<ul class="care">{_items(CAUTIONS)}</ul>',
            "</main>",
            "</body>",
            "</html>",
            "",
        ]
    )


def _text(text: str) -> str:
    return escape(one_line(text))


class _Writer:
    """Writes the sections.

    Parameters
    ----------
    plans, name, practice
        As for `render_course_page`.
    """

    def __init__(self, plans: Mapping[str, Sequence[Plan]], name: Callable[[str], str], practice: int) -> None:
        self._plans = plans
        self._name = name
        self._practice = practice

    def section(self, section: Section) -> Iterator[str]:
        """Yield the parts of a section."""
        yield f"<section><h2>Level {section.level}: {_text(section.word)}</h2>"
        if section.practice:
            yield f'<div class="practice">{self._more("To practise first", section.practice)}</div>'
        for lesson in section.lessons:
            yield from self._lesson(lesson)
        yield "</section>"

    def _lesson(self, lesson: Taught) -> Iterator[str]:
        step = lesson.step
        yield '<article class="lesson">'
        yield f'<div class="pictures">{self._pictures(step, _SIZE, _LOOK)}</div>'
        yield f"<div><h3>Lesson {lesson.number}: {self._named(step)}</h3><dl>"
        for term, shown in self._facts(lesson):
            yield f"<dt>{term}</dt><dd>{shown}</dd>"
        yield "</dl></div>"
        if lesson.practice:
            yield f'<div class="practice">{self._more("For practice", lesson.practice)}</div>'
        yield "</article>"

    def _facts(self, lesson: Taught) -> Iterator[tuple[str, str]]:
        step = lesson.step
        yield "New skills", f'<ul class="skills">{_items(map(_text, step.new_skills))}</ul>'
        if lesson.builds_on:
            word = "lesson" if len(lesson.builds_on) == 1 else "lessons"
            yield "Builds on", f"{word} {listed([str(number) for number in lesson.builds_on])}"
        if step.too_early:
            yield "Show first", f"{_text(listed(step.too_early))} (no lesson before teaches it)"
        hardest = step.lesson.hardest
        yield "Level", f"{hardest.level} of {hardest.levels}, {_text(hardest.word)}, {hardest.score:.1f} points"
        yield "Size", _text(listed([dimensions(one.width, one.height) for one in step.lesson.ratings]))
        yield "Fabrics", self._fabrics(step)
        time = together([rating.time for rating in step.lesson.ratings])
        if time is not None:
            yield "Time", _time(time)

    def _fabrics(self, step: Step) -> str:
        words = fabrics_of(self._plans[step.lesson.source])
        entries = []
        for fabric, word in words.items():
            rgb = fabric_rgb(fabric)
            swatch = "" if rgb is None else f'<span class="swatch" style="background:#{bytes(rgb).hex()}"></span>'
            entries.append(f"{swatch}{_text(word)}")
        return f'<ul class="fabrics">{_items(entries)}</ul>'

    def _more(self, heading: str, steps: Sequence[Step]) -> str:
        """Return blocks to practise: some with their pictures, the others folded away."""
        shown, folded = steps[: self._practice], steps[self._practice :]
        entries = [f"{self._pictures(step, _SMALL_SIZE, _SMALL_LOOK)}{self._named(step)}" for step in shown]
        parts = [f'<p class="soft">{heading}:</p>', f"<ul>{_items(entries)}</ul>"] if shown else []
        if folded:
            names = ", ".join(self._named(step) for step in folded)
            label = f"{len(folded):,} more" if shown else f"{heading}: {count(len(folded), 'block')}"
            parts.append(f"<details><summary>{label}</summary><p>{names}</p></details>")
            parts.append(f'<p class="printed">{label}: {names}</p>')
        return "".join(parts)

    def _named(self, step: Step) -> str:
        return _text(self._name(step.lesson.source))

    def _pictures(self, step: Step, size: float, look: Look) -> str:
        return "".join(_picture(plan, size, look) for plan in self._plans[step.lesson.source])


def fabrics_of(plans: Sequence[Plan]) -> dict[str | None, str]:
    """Return the fabrics of the blocks of a drawing with their words, sorted by word."""
    words = fabric_words(
        (patch.fabric for plan in plans for patch in plan.block.patches),
        (pair for plan in plans for pair in plan.block.fabric_names),
    )
    return dict(sorted(words.items(), key=lambda entry: (entry[1], entry[0] or "")))


def _items(entries: Iterable[str]) -> str:
    return "".join(f"<li>{entry}</li>" for entry in entries)


def _time(time: Estimate) -> str:
    """Tell an estimate, how far it strays if that is known, and its parts."""
    whole = f"about {duration(time.minutes)}"
    if time.range is not None:
        low, high = map(duration, time.range)
        whole += f" (two of three sewists {low} to {high})"
    parts = ", ".join(f"{_text(name)} {duration(minutes)}" for name, minutes in time.rounded)
    return f"{capital(whole)}: {parts}" if parts else capital(whole)


def _picture(plan: Plan, size: float, look: Look) -> str:
    """Return a picture of a block, with words for readers who do not see it."""
    picture = draw_plan(plan, look=look, size=size)
    block = plan.block
    alt = f"Block {one_line(block.name)}, {dimensions(block.width, block.height)}"
    wide, high = (round(side * _PIXELS) for side in (picture.width, picture.height))
    address = quote(write_svg(picture, declaration=False).strip().replace("\n", ""), safe=_SAFE)
    source = "data:image/svg+xml," + address.replace("&", "&amp;")
    return f'<img src="{source}" alt="{escape(alt)}" width="{wide}" height="{high}">'

"""What `seamtree rate` prints: the reasons for a level, and a course. Pure functions."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import TYPE_CHECKING

from rich.console import RenderableType
from rich.table import Table
from rich.text import Text

from seamtree.words import duration, listed
from seamtree_cli.wording import count, dimensions, inches, place, plain

if TYPE_CHECKING:  # other commands start without what rates
    from seamtree.rating import Calibration, Contribution, Estimate, Rating, Scale
    from seamtree.rating.course import Step
    from seamtree.rating.lessons import Section, Taught
    from seamtree.rating.sizes import Sized, Sizes

_FEW = 4
"""As many patches of a place are named one by one."""

_STYLES = ("green", "green", "yellow", "yellow", "red")
"""From the easiest level to the hardest; on a scale with another number of levels those nearest."""


def render_rating(rating: Rating, scale: Scale) -> Iterator[RenderableType]:
    """Yield what tells how hard a block is, why, and what would make it easier."""
    yield Text.assemble((plain(rating.name), "bold"), f", {dimensions(rating.width, rating.height)}")
    yield Text.assemble(
        (f"level {rating.level} of {len(scale.levels)}, {plain(rating.word)}", _style(rating)),
        f": {rating.score:.1f} points ({_range(rating.level, scale)})",
    )
    if not rating.proven:
        yield Text("The time was up before the plan was proven the best; a better one may be easier.", "yellow")
    scoring = [part for part in rating.contributions if part.tenths]
    if scoring:
        yield _reasons(scoring, rating.score)
    yield from _free(part for part in rating.contributions if not part.tenths)
    if rating.skills:
        yield Text(f"skills: {', '.join(map(plain, rating.skills))}")
    if rating.time is not None:
        yield Text(told_time(rating.time))
    yield from _changes(rating)


def _style(rating: Rating) -> str:
    return _STYLES[round((rating.level - 1) * (len(_STYLES) - 1) / max(1, rating.levels - 1))]


def told_time(time: Estimate) -> str:
    """Tell an estimate of time, its spread if that is known, and its parts."""
    parts = ", ".join(f"{plain(name)} {duration(minutes)}" for name, minutes in time.rounded)
    return f"time: about {_about(time)}{': ' if parts else ''}{parts}"


def _about(time: Estimate) -> str:
    if time.range is None:
        return duration(time.minutes)
    low, high = map(duration, time.range)
    return f"{duration(time.minutes)} (two of three sewists {low} to {high})"


def told_calibration(calibration: Calibration) -> str:
    """Tell what times that were taken did to the minutes of a scale."""
    if calibration.apart:
        what = ", ".join(f"{plain(name)} × {factor:.2f}" for name, factor in calibration.factors)
    else:
        what = f"all minutes × {calibration.factors[0][1]:.2f}, for each part by itself there are too few"
    spread = calibration.scale.spread
    strays = f"spread {spread:.0%}" if spread is not None else "how far times stray is not known from so few"
    return f"{count(calibration.times, 'time')}: {what}; {strays}"


def _range(level: int, scale: Scale) -> str:
    """Say which scores a level has."""
    start = scale.levels[level - 1].start
    if level == len(scale.levels):
        return f"level {level} is {start:.1f} and more"
    return f"level {level} is {start:.1f} to {scale.levels[level].start - 0.1:.1f}"


def _reasons(scoring: list[Contribution], score: float) -> Table:
    table = Table(box=None, padding=(0, 2, 0, 0), pad_edge=False, show_footer=True)
    table.add_column("what counts", "together")
    table.add_column("here", justify="right")
    table.add_column("points", f"{score:.1f}", justify="right")
    table.add_column("where", overflow="fold")
    for part in scoring:
        table.add_row(part.title, _value(part), f"{part.points:.1f}", _where(part))
    return table


def _free(parts: Iterable[Contribution]) -> Iterator[Text]:
    """Say what gives no points, and what is not there at all."""
    there, absent = [], []
    for part in parts:
        if part.value and math.isfinite(part.value):
            there.append(f"{part.title} ({_value(part)})")
        else:
            absent.append(part.title)
    if there:
        yield Text(f"no points for: {', '.join(there)}")
    if absent:
        yield Text(f"none: {', '.join(absent)}")


def _value(part: Contribution) -> str:
    if part.unit == "°":
        return f"{part.value:.0f}°"
    return f"{inches(part.value)} {part.unit}".rstrip()


def _where(part: Contribution) -> Text:
    """Say where a feature is hardest, and which patches meet there."""
    if part.at is None:
        return Text("")
    patches = [*part.patches[:_FEW], "…"] if len(part.patches) > _FEW else part.patches
    return Text(f"{place(part.at)}, {' '.join(patches)}")


def _changes(rating: Rating) -> Iterator[Text]:
    if not rating.changes:
        yield Text("No single change was found that would lower it.")
        return
    yield Text("What would lower it most, each by itself:")
    for change in rating.changes:
        points = f"{change.points:.1f} {'point' if change.tenths == 10 else 'points'} less"
        level = f" (level {change.level})" if change.level != rating.level else ""
        design = ", changes the design" if change.changes_design else ""
        yield Text.assemble("  • ", (f"{points}{level}{design}", "bold"), f": {plain(change.text)}")


def render_sizes(source: str, sizes: Sizes) -> Iterator[RenderableType]:
    """Yield a drawing at several widths: a row for each, and where the levels begin."""
    yield Text(plain(source), "bold")
    table = Table(box=None, padding=(0, 2, 0, 0), pad_edge=False)
    for heading in ("width", "level", "points", "time"):
        table.add_column(heading, justify="right")
    table.add_column("what counts most", overflow="fold")
    for row in sizes.rows:
        wide = f"{inches(row.width)} in"
        hardest = row.hardest
        if hardest is None:
            table.add_row(wide, "–", "", "", Text(plain(row.fault), "red"))
            continue
        most = [f"{part.title} {_value(part)}" for part in hardest.contributions[:2] if part.tenths]
        table.add_row(wide, _level(hardest), f"{hardest.score:.1f}", _lasting(row.time), Text(", ".join(most)))
    yield table
    yield Text(sizes.told)


def render_brief(rated: Sequence[tuple[str, Sizes | Sequence[Rating]]]) -> Table:
    """Return a table with one line for each drawing: rated as it is, or at several widths."""
    from seamtree.rating.sizes import Sized, Sizes

    table = Table(box=None, padding=(0, 2, 0, 0), pad_edge=False)
    table.add_column("drawing")
    widths = next((what.rows for _, what in rated if isinstance(what, Sizes)), None)
    if widths is not None:
        for row in widths:
            table.add_column(f"{inches(row.width)} in", justify="right")
        table.add_column("levels")
        for source, what in rated:
            if isinstance(what, Sizes):
                levels = [Text("–") if row.hardest is None else _level(row.hardest) for row in what.rows]
                table.add_row(Text(plain(source)), *levels, Text(what.told))
        return table
    for heading in ("size", "level", "points", "time"):
        table.add_column(heading, justify="right", no_wrap=True)
    for source, what in rated:
        if not isinstance(what, Sizes):
            whole = Sized(0.0, tuple(what))
            table.add_row(Text(plain(source)), *_brief(whole))
    return table


def _brief(drawing: Sized) -> Iterator[Text | str]:
    hardest = drawing.hardest
    if hardest is not None:
        blocks = len(drawing.ratings)
        yield dimensions(hardest.width, hardest.height) + (f", 1 of {blocks}" if blocks > 1 else "")
        yield _level(hardest)
        yield f"{hardest.score:.1f}"
        yield _lasting(drawing.time)


def _level(rating: Rating) -> Text:
    return Text(str(rating.level), _style(rating))


def _lasting(time: Estimate | None) -> str:
    return "" if time is None else duration(time.minutes)


def render_course(
    sections: Sequence[Section], name: Callable[[str], str], *, practice: int, proven: bool
) -> Iterator[RenderableType]:
    """Yield a course: a table of lessons for each section, and whether a better order may exist.

    Parameters
    ----------
    sections
        The course.
    name
        Returns how a source is shown.
    practice
        As many blocks to practise are named after each lesson.
    proven
        Whether no better order exists.
    """
    lessons = [lesson for section in sections for lesson in section.lessons]
    more = sum(len(section.steps) for section in sections) - len(lessons)
    skills = sum(len(lesson.step.new_skills) for lesson in lessons)
    told = f"{count(len(lessons), 'lesson')}, {count(skills, 'skill')}, {count(more, 'block')} for practice"
    yield Text(told, "bold")
    for section in sections:
        yield Text()
        yield Text(f"level {section.level}, {plain(section.word)}", "bold")
        yield _section(section, name, practice)
    yield Text()
    if proven:
        yield Text("proven: no other order that keeps the levels spreads the new skills over more lessons")
    else:
        yield Text("not proven: so many skills that each step simply adds the fewest", "yellow")


def _section(section: Section, name: Callable[[str], str], practice: int) -> Table:
    table = Table(box=None, padding=(0, 2, 0, 0), pad_edge=False)
    table.add_column("lesson", justify="right")
    table.add_column("drawing", overflow="fold", ratio=1)
    table.add_column("points", justify="right")
    table.add_column("time", justify="right")
    table.add_column("new skills", overflow="fold", ratio=2)
    if section.practice:
        table.add_row("", *_practice(section.practice, name, practice))
    for lesson in section.lessons:
        step = lesson.step
        table.add_row(
            str(lesson.number),
            Text(plain(name(step.lesson.source))),
            f"{step.lesson.hardest.score:.1f}",
            _lasts(step),
            Text(_learnt(lesson)),
        )
        if lesson.practice:
            table.add_row("", *_practice(lesson.practice, name, practice))
    return table


def _learnt(lesson: Taught) -> str:
    """Say what is new in a lesson, on which lessons it builds, and what no lesson before could teach."""
    told = ", ".join(map(plain, lesson.step.new_skills))
    if lesson.builds_on:
        told += f" (builds on {listed([str(number) for number in lesson.builds_on])})"
    if lesson.step.too_early:
        told += f"; show first: {', '.join(map(plain, lesson.step.too_early))}"
    return told


def _lasts(step: Step) -> str:
    from seamtree.rating.times import together

    return _lasting(together([rating.time for rating in step.lesson.ratings]))


def _practice(steps: Sequence[Step], name: Callable[[str], str], most: int) -> tuple[str, str, str, Text]:
    """Return the cells of a row that names what there is to practise."""
    names = [plain(name(step.lesson.source)) for step in steps[:most]]
    folded = len(steps) - len(names)
    if folded:
        names.append(f"{folded:,} more" if names else count(folded, "block"))
    return "", "", "", Text(f"practice: {listed(names)}", "dim")

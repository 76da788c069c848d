"""Scales: how many points each feature gives, from which score on each level holds, and what counts as a skill.

A scale is a TOML file that people copy and change, so every value is checked and every complaint says where and what
to do. Two scales come with the package: one for sewing by machine, which is the default, and one for piecing by hand.
"""

from __future__ import annotations

import difflib
import errno
import functools
import math
import os
import stat
import tomllib
from bisect import bisect_right
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from importlib import resources
from itertools import pairwise
from pathlib import Path
from typing import Any

from seamtree.errors import OptionError
from seamtree.rating.features import KIND_OF, KINDS, Features
from seamtree.rating.times import WORK, Pace
from seamtree.remedies import PRINT_SCALE
from seamtree.words import listed

_MOST_POINTS = 1000.0
"""No row and no level goes beyond this, so that sums stay readable."""

_MOST_SPREAD = 1000.0

SCALES = ("machine", "hand")
"""Names of the scales that come with the package, the default first."""

_MOST_LEVELS = 20

_MOST_BYTES = 1_000_000

_MOST_WORD = 60
"""Letters that a word or a name may have."""

Row = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Level:
    """A level: its word, and the points from which on it holds."""

    word: str
    start: float


@dataclass(frozen=True, slots=True)
class Curve:
    """The points of one feature.

    Parameters
    ----------
    key
        Of the feature.
    rows
        What is counted or measured, and the points; in between in proportion, at either end unchanged. The rows lead
        from easy to hard and the points never fall, so that a harder feature is never worth less. No rows: no points.
    """

    key: str
    rows: tuple[Row, ...]

    def __post_init__(self) -> None:
        harder = "fall" if KIND_OF[self.key].smaller_is_harder else "grow"
        for (before, fewer), (value, points) in pairwise(self.rows):
            if not (value < before if harder == "fall" else value > before):
                raise ValueError(
                    f"{_number(value)} comes after {_number(before)}; the first numbers of the rows have to {harder} "
                    "from row to row, from easy to hard"
                )
            if points < fewer:
                raise ValueError(
                    f"{_number(value)} gives {_number(points)} points after {_number(fewer)}; a harder block is "
                    "never worth fewer points, so raise it or lower the rows before"
                )

    def tenths(self, value: float) -> int:
        """Return the points for a value of the feature, in tenths of a point."""
        if not self.rows:
            return 0
        sign = -1 if KIND_OF[self.key].smaller_is_harder else 1
        after = bisect_right(self.rows, sign * value, key=lambda row: sign * row[0])
        if after in (0, len(self.rows)):
            return _tenths(self.rows[max(after - 1, 0)][1])
        (start, low), (stop, high) = self.rows[after - 1 : after + 1]
        return _tenths(low + (high - low) * (value - start) / (stop - start))


def _tenths(points: float) -> int:
    """Round points to tenths, halves upwards; the last digits are noise of the arithmetic."""
    return math.floor(round(points * 10, 6) + 0.5)


@dataclass(frozen=True, slots=True)
class Skill:
    """Something that a sewist has to learn: a feature that reaches a value, and the skills to be learnt before."""

    name: str
    key: str
    at: float
    after: tuple[str, ...] = ()

    def needed(self, features: Features) -> bool:
        """Tell whether a block with these features asks for it."""
        value = features.value(self.key)
        return value < self.at if KIND_OF[self.key].smaller_is_harder else value >= self.at


@dataclass(frozen=True, slots=True)
class Scale:
    """A scale.

    Parameters
    ----------
    source
        File that it was read from.
    levels
        The easiest first, starting at no points.
    curves
        One for every kind of feature, in the order of `seamtree.rating.features.KINDS`.
    skills
        In the order in which they are listed.
    paces
        The parts of the work with their minutes; none where the scale says nothing of time.
    spread
        How far the times of a class strayed, see `seamtree.rating.times.Estimate`.
    """

    source: str
    levels: tuple[Level, ...]
    curves: tuple[Curve, ...]
    skills: tuple[Skill, ...]
    paces: tuple[Pace, ...] = ()
    spread: float | None = None

    def prerequisites(self) -> dict[str, tuple[str, ...]]:
        """Return for every skill those that have to be learnt before."""
        return {skill.name: skill.after for skill in self.skills}

    def __repr__(self) -> str:
        return f"<Scale {self.source[-60:]!r}: {len(self.curves)} features, {len(self.skills)} skills>"

    def level_of(self, tenths: int) -> int:
        """Return the level of a score in tenths of a point, 1 the easiest."""
        return sum(tenths >= _tenths(level.start) for level in self.levels)


def scale_text(name: str) -> str:
    """Return a scale that comes with the package (one of `SCALES`), as a file to be copied."""
    return resources.files("seamtree.rating").joinpath(f"{name}_scale.toml").read_text(encoding="utf-8")


@functools.cache
def named_scale(name: str) -> Scale:
    """Return a scale that comes with the package, one of `SCALES`."""
    return parse_scale(scale_text(name), source=f"{name}_scale.toml")


def default_scale() -> Scale:
    """Return the scale that holds where nobody names another: for sewing by machine on paper foundations."""
    return named_scale(SCALES[0])


def read_scale(path: str | Path) -> Scale:
    """Read a scale from a TOML file.

    Raises
    ------
    OptionError
        If it cannot be read or something in it makes no sense; the message names the file, the key and the value.
    """
    return parse_scale(read_scale_text(path), source=str(path))


def read_scale_text(path: str | Path) -> str:
    """Read the text of a scale, which may come from a pipe.

    Raises
    ------
    OptionError
        If it cannot be read or is no text.
    """
    try:
        content = _read_at_most(Path(path), _MOST_BYTES + 1)
    except (OSError, ValueError) as error:
        said = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
        raise OptionError(f"the scale {str(path)!r} cannot be read: {said}") from error
    if len(content) > _MOST_BYTES:
        raise OptionError(f"the scale {str(path)!r} is larger than 1 MB; that is no scale")
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise OptionError(f"the scale {str(path)!r} is no text in UTF-8; save it as plain text") from error


def _read_at_most(path: Path, most: int) -> bytes:
    """Return the first bytes of a file or pipe.

    A pipe that nobody writes to is empty instead of being waited for, and a device may have no end.

    Raises
    ------
    OSError
        If it cannot be read, or is neither.
    """
    number = os.open(path, os.O_RDONLY | getattr(os, "O_NONBLOCK", 0))
    with os.fdopen(number, "rb") as file:
        kind = os.fstat(number).st_mode
        if stat.S_ISDIR(kind):
            raise IsADirectoryError(errno.EISDIR, os.strerror(errno.EISDIR))
        if not (stat.S_ISREG(kind) or stat.S_ISFIFO(kind)):
            raise OSError(errno.EINVAL, "it is no file")
        if stat.S_ISFIFO(kind):
            os.set_blocking(number, True)
        return file.read(most)


def parse_scale(text: str, *, source: str) -> Scale:
    """Return a scale from the text of a TOML file.

    Parameters
    ----------
    text
        The file.
    source
        Its name, for messages.

    Raises
    ------
    OptionError
        If it is no TOML or something in it makes no sense.
    """
    try:
        # TOML wants a line feed, alone or after a carriage return.
        data = tomllib.loads(text.replace("\r\n", "\n"))
    except (ValueError, RecursionError) as error:
        raise OptionError(f"the scale {source!r} is no valid TOML: {error}") from error
    return scale_of(data, source=source)


def calibrated_text(text: str, scale: Scale) -> str:
    """Return the text of a scale with the minutes and the spread of another one in their place; all else stays.

    Parameters
    ----------
    text
        The file that was calibrated.
    scale
        What came of it (`seamtree.rating.calibrate`).

    Raises
    ------
    OptionError
        If minutes are not written as they are in the scales that come with the package.
    """
    paces = {pace.name: dict(pace.minutes) for pace in scale.paces}
    lines: list[str] = []
    part: str | None = None
    for line in text.replace("\r\n", "\n").split("\n"):
        found = _toml_line(line)
        if line.lstrip().startswith("["):
            part = next((name.strip() for name in found.get("minutes", ())), None)
        elif part in paces and len(found) == 1 and (key := next(iter(found))) in paces[part]:
            comment = line.partition("#")[2]
            lines.append(f"{key} = {paces[part][key]:g}" + (f"  #{comment}" if comment else ""))
            continue
        if "spread" not in found:
            lines.append(line)
    if scale.spread is not None:
        about = "# How far the times of a class strayed: the standard deviation, as a share of the estimate."
        lines = [about, f"spread = {scale.spread:.3g}", "", *(line for line in lines if line != about)]
    written = "\n".join(lines)
    if not _say_the_same(parse_scale(written, source=scale.source), scale):
        raise OptionError(
            f"the minutes of the scale {scale.source!r} cannot be replaced; write each part as a table of its own, "
            f"with one number a line, as {PRINT_SCALE} does",
            remedies=(PRINT_SCALE,),
        )
    return written


def _toml_line(line: str) -> dict[str, Any]:
    """Return what a line of a TOML file says by itself."""
    try:
        return tomllib.loads(line)
    except (ValueError, RecursionError):  # a part of something longer
        return {}


def _say_the_same(one: Scale, other: Scale) -> bool:
    """Tell whether two scales say the same, as nearly as minutes are written."""
    rest = [replace(scale, source="", paces=(), spread=None) for scale in (one, other)]
    named = [[(pace.name, key) for pace in scale.paces for key, _ in pace.minutes] for scale in (one, other)]
    if rest[0] != rest[1] or named[0] != named[1]:
        return False
    each = ([number for pace in scale.paces for _, number in pace.minutes] for scale in (one, other))
    return all(math.isclose(*pair, rel_tol=1e-4) for pair in zip(*each, strict=True))


def scale_of(data: Mapping[str, Any], *, source: str) -> Scale:
    """Return a scale from the tables of a file.

    Raises
    ------
    OptionError
        If something in it makes no sense.
    """
    return _Reader(source).scale(data)


class _Reader:
    """Reads the tables of a scale; a complaint names the file and the key."""

    def __init__(self, source: str) -> None:
        self._source = source

    def scale(self, data: Mapping[str, Any]) -> Scale:
        self._only(data, ("spread", "level", "points", "skill", "minutes"), "")
        levels = self._levels(data.get("level"))
        points = self._table(data.get("points"), "points")
        self._only(points, [kind.key for kind in KINDS], "points.")
        curves = tuple(self._curve(points, kind.key) for kind in KINDS)
        skills = self._skills(data.get("skill", []))
        paces = self._paces(data.get("minutes", {}))
        spread = self._number(data["spread"], "spread", most=_MOST_SPREAD) if "spread" in data else None
        return Scale(self._source, levels, curves, skills, paces, spread)

    def _wrong(self, key: str, message: str) -> OptionError:
        return OptionError(f"the scale {self._source!r}, {key}: {message}")

    def _only(self, table: Mapping[str, Any], known: Sequence[str], where: str) -> None:
        """Refuse a key that means nothing, which is mostly one that is misspelt."""
        for key in table:
            if key not in known:
                near = difflib.get_close_matches(key, known, n=1)
                hint = f"write {near[0]}" if near else f"it can only be {listed(known, 'or')}"
                raise self._wrong(f"{where}{key}", f"there is no such key; {hint}")

    def _table(self, value: Any, key: str) -> Mapping[str, Any]:
        if value is None:
            raise self._wrong(key, f"it is missing; add a table [{key}]")
        if not isinstance(value, Mapping):
            raise self._wrong(key, f"it has to be a table, written [{key}], not {_shown(value)}")
        return value

    def _tables(self, value: Any, key: str) -> list[Mapping[str, Any]]:
        if not isinstance(value, list) or not all(isinstance(entry, Mapping) for entry in value):
            raise self._wrong(key, f"it has to be tables, each written [[{key}]], not {_shown(value)}")
        return value

    def _number(self, value: Any, key: str, *, most: float) -> float:
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise self._wrong(key, f"it has to be a number, not {_shown(value)}")
        if not 0 <= value <= most:
            raise self._wrong(key, f"it has to be from 0 to {most:,.0f}, not {_shown(value)}")
        return float(value)

    def _word(self, entry: Mapping[str, Any], key: str, where: str) -> str:
        value = entry.get(key)
        if not isinstance(value, str):
            raise self._wrong(f"{where}.{key}", f"it has to be a text in quotation marks, not {_shown(value)}")
        if not value.strip() or len(value) > _MOST_WORD or not value.isprintable():
            raise self._wrong(
                f"{where}.{key}", f"it has to be one line of 1 to {_MOST_WORD} letters, not {_shown(value)}"
            )
        return value.strip()

    def _levels(self, value: Any) -> tuple[Level, ...]:
        entries = self._tables([] if value is None else value, "level")
        if not 1 <= len(entries) <= _MOST_LEVELS:
            raise self._wrong("level", f"there have to be 1 to {_MOST_LEVELS} tables [[level]], not {len(entries)}")
        levels: list[Level] = []
        for number, entry in enumerate(entries, 1):
            where = f"level {number}"
            self._only(entry, ("word", "from"), f"{where}.")
            level = Level(
                self._word(entry, "word", where), self._number(entry.get("from"), f"{where}.from", most=_MOST_POINTS)
            )
            if not levels and level.start != 0:
                raise self._wrong(f"{where}.from", f"the first level has to start at 0, not {_number(level.start)}")
            if levels and _tenths(level.start) <= _tenths(levels[-1].start):
                message = (
                    f"it has to be at least 0.1 above that of the level before, {_number(levels[-1].start)}, "
                    f"not {_number(level.start)}"
                )
                raise self._wrong(f"{where}.from", message)
            if any(level.word == other.word for other in levels):
                raise self._wrong(f"{where}.word", f"{level.word!r} is the word of another level; give it its own")
            levels.append(level)
        return tuple(levels)

    def _curve(self, points: Mapping[str, Any], key: str) -> Curve:
        where = f"points.{key}"
        if key not in points:
            raise self._wrong(where, f"it is missing; add {key} = [] if it shall give no points")
        rows = points[key]
        if not isinstance(rows, list):
            raise self._wrong(where, f"it has to be rows like [[4, 0], [9, 1.5]], not {_shown(rows)}")
        read = []
        for number, row in enumerate(rows, 1):
            if not isinstance(row, list) or len(row) != 2:
                raise self._wrong(where, f"row {number} has to be two numbers like [4, 0.5], not {_shown(row)}")
            label = f"{where}, row {number}"
            read.append((self._number(row[0], label, most=1e6), self._number(row[1], label, most=_MOST_POINTS)))
        try:
            return Curve(key, tuple(read))
        except ValueError as error:
            raise self._wrong(where, str(error)) from error

    def _skills(self, value: Any) -> tuple[Skill, ...]:
        skills: list[Skill] = []
        for number, entry in enumerate(self._tables(value, "skill"), 1):
            where = f"skill {number}"
            self._only(entry, ("name", "feature", "at", "after"), f"{where}.")
            name, key = self._word(entry, "name", where), self._word(entry, "feature", where)
            if key not in KIND_OF:
                known = listed([kind.key for kind in KINDS], "or")
                raise self._wrong(f"{where}.feature", f"there is no feature {key!r}; it can be {known}")
            if any(name == other.name for other in skills):
                raise self._wrong(f"{where}.name", f"{name!r} is the name of another skill; give it its own")
            at = self._number(entry.get("at"), f"{where}.at", most=1e6)
            skills.append(Skill(name, key, at, self._after(entry.get("after", []), f"{where}.after", skills)))
        return tuple(skills)

    def _paces(self, value: Any) -> tuple[Pace, ...]:
        paces = []
        for name, entry in self._table(value, "minutes").items():
            where = f"minutes.{name}"
            self._only(self._table(entry, where), WORK, f"{where}.")
            self._word({"name": name}, "name", where)
            read = ((key, self._number(each, f"{where}.{key}", most=_MOST_POINTS)) for key, each in entry.items())
            paces.append(Pace(name.strip(), tuple(read)))
        return tuple(paces)

    def _after(self, value: Any, where: str, above: Sequence[Skill]) -> tuple[str, ...]:
        """Return the skills to be learnt before; they stand above, so that none can wait for itself."""
        if not isinstance(value, list) or not all(isinstance(name, str) for name in value):
            raise self._wrong(where, f'it has to be names of skills like ["matched points"], not {_shown(value)}')
        known = [skill.name for skill in above]
        for name in value:
            if name not in known:
                near = difflib.get_close_matches(name, known, n=1)
                hint = f"write {near[0]!r}" if near else "list that skill further up"
                raise self._wrong(where, f"no skill {name!r} stands above; {hint}")
        return tuple(dict.fromkeys(value))


def _number(value: float) -> str:
    return f"{value:g}"


def _shown(value: Any) -> str:
    """Return a value as short text."""
    if value is None:
        return "nothing"
    text = " ".join(repr(value).split())
    return text if len(text) <= 40 else f"{text[:39]}…"

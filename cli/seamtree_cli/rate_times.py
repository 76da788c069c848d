"""Times that a class took, from a CSV file: they calibrate the minutes of a scale."""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from seamtree.errors import OptionError
from seamtree.words import listed
from seamtree_cli.work import Grading, Job, Outcome, work_on_all

if TYPE_CHECKING:  # other commands start without what rates
    from seamtree.rating import Calibration, Estimate, Scale

_COLUMNS = ("drawing", "minutes", "width")

_MOST_MINUTES = 1_000_000

_MOST_BYTES = 10_000_000


class Taken(NamedTuple):
    """A row of the file: its number, the drawing, how wide it was sewn (None: as drawn), and the minutes."""

    row: int
    drawing: str
    width: float | None
    minutes: float


def calibrated(path: Path, scale: Scale, pattern: Job, *, workers: int) -> Calibration:
    """Calibrate a scale by the times of a file.

    Parameters
    ----------
    path
        The file; drawings are looked for beside it.
    scale
        What is calibrated.
    pattern
        How the drawings are read and planned.
    workers
        How many are worked on at a time.

    Raises
    ------
    OptionError
        If the file makes no sense, or a drawing in it cannot be rated; the message names the row.
    """
    from seamtree.rating import calibrate

    if not scale.paces:
        raise OptionError(f"the scale {scale.source!r} has no minutes to calibrate; add a table [minutes.cutting]")
    taken = read_times(path)
    places = list(dict.fromkeys((one.drawing, one.width) for one in taken))
    jobs = [
        pattern._replace(source=str(path.parent / drawing), width=width, grading=Grading(scale, changes=False))
        for drawing, width in places
    ]
    outcomes = dict(zip(places, work_on_all(jobs, workers=workers), strict=True))
    return calibrate(scale, [(_estimate(path, one, outcomes[one.drawing, one.width]), one.minutes) for one in taken])


def _estimate(path: Path, one: Taken, outcome: Outcome) -> Estimate:
    from seamtree.rating.times import together

    whole = together([rating.time for rating in outcome.ratings])
    if whole is None:
        said = outcome.misuse or (outcome.faults[0] if outcome.faults else "it cannot be rated")
        raise _wrong(path, one.row, f"{one.drawing!r}: {said}")
    return whole


def read_times(path: Path) -> list[Taken]:
    """Read the rows of a file of times.

    Raises
    ------
    OptionError
        If it cannot be read, lacks a column, or has a row that makes no sense.
    """
    try:
        content = path.read_bytes()
    except (OSError, ValueError) as error:
        said = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
        raise OptionError(f"the times {str(path)!r} cannot be read: {said}") from error
    if len(content) > _MOST_BYTES:
        raise OptionError(f"the times {str(path)!r} are larger than 10 MB; that is no list of times")
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise OptionError(f"the times {str(path)!r} are no text in UTF-8; save them as CSV in UTF-8") from error
    try:
        taken = list(_rows(path, text))
    except csv.Error as error:
        raise OptionError(f"the times {str(path)!r} are no CSV: {error}") from error
    if not taken:
        raise OptionError(f"the times {str(path)!r} have no rows; add one for each block, like buoy.svg,95")
    return taken


def _rows(path: Path, text: str) -> Iterator[Taken]:
    head = text.split("\n", 1)[0]
    reader = csv.DictReader(io.StringIO(text, newline=""), delimiter=";" if ";" in head else ",")
    names = {str(name).strip().lower(): name for name in reader.fieldnames or ()}
    missing = [name for name in _COLUMNS[:2] if name not in names]
    if missing:
        raise OptionError(
            f"the times {str(path)!r} have no column {listed(missing)}; the first row has to be drawing,minutes "
            "and may have width as well"
        )
    for cells in reader:
        if any(value for value in cells.values()):
            values = {name: str(cells.get(names[name]) or "").strip() for name in _COLUMNS if name in names}
            yield _taken(path, reader.line_num, values)


def _taken(path: Path, row: int, values: Mapping[str, str]) -> Taken:
    from seamtree.pattern.lengths import parse_length

    if not values["drawing"]:
        raise _wrong(path, row, "it names no drawing")
    try:
        minutes = float(values["minutes"].replace(",", "."))
    except ValueError:
        minutes = math.nan
    if not 0 < minutes <= _MOST_MINUTES:
        raise _wrong(path, row, f"minutes have to be a number above 0, like 95, not {values['minutes']!r}")
    width = values.get("width")
    try:
        return Taken(row, values["drawing"], parse_length(width) if width else None, minutes)
    except OptionError as error:
        raise _wrong(path, row, str(error)) from error


def _wrong(path: Path, row: int, message: str) -> OptionError:
    return OptionError(f"the times {str(path)!r}, row {row}: {message}")

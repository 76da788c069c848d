"""What readers refuse: options that make no sense, and input that would exhaust time or memory."""

from __future__ import annotations

from typing import NoReturn

from seamtree.errors import Finding, LimitError, OptionError
from seamtree.remedies import Remedy

MAX_BYTES = 50_000_000
"""Largest file that is read, in bytes; a packed file counts unpacked as well."""

MAX_POINTS = 500_000
"""Most points of all tracks together, after curves are flattened."""

MAX_SHAPES = 100_000
"""Most painted elements, after references are followed."""

MAX_DEPTH = 256
"""Deepest nesting of elements, after references are followed."""

MAX_USES = 10_000
"""Most references (`use`) that are followed."""

MAX_ELEMENTS = 200_000
"""Most elements that are looked at, after references are followed."""

MAX_RULE_TRIALS = 2_000_000
"""Most comparisons of a style rule with an element."""

MAX_STYLE_TEXT = 500_000
"""Most characters of all style sheets together."""

MAX_VALUE_TEXT = 100_000
"""Most characters of one transform or one ``style``."""

MAX_OUTLINE_TEXT = 20_000_000
"""Most characters of the path data or the points of one shape."""

MAX_ENTITY_TEXT = 1_000_000
"""Most characters that the internal entities of one file may expand to."""

MAX_PAGES = 10_000
"""Most pages of a PDF file."""

MAX_INCHES = 100_000.0
"""Largest distance of a point from the origin at finished size, in inches."""

LEAST_INCHES = 1e-15
"""Coordinates nearer to 0 than this are 0: the geometry library stumbles over the smallest numbers."""

LEAST_TOLERANCE = 1e-5
"""Least tolerance, in inches: plans give places to a millionth of an inch and have to tell corners apart."""

MOST_TOLERANCES = 1e7
"""Tolerances that a drawing may be wide or high; curves in a larger one would fall into too many chords."""

MAX_CROSSINGS = 2_000
"""Most places where lines of one drawing cross: each makes a patch more, and lines so dense are no
patchwork."""

MAX_CROSSINGS_OF_TWO = 6_500
"""The same where all lines that cross run in one of two directions, as those of a checked cloth: such a block is
planned in a fraction of the time."""

MAX_PATCHES = 20_000
"""Most patches of one drawing; what is done for them takes time and memory that grow faster than they do."""


def check_options(width: float | None, tolerance: float) -> None:
    """Refuse a width or a tolerance that makes no sense.

    Raises
    ------
    OptionError
        If one makes none.
    """
    if width is not None and not 0.0 < width <= MAX_INCHES:
        raise OptionError(f"The width must be above zero and at most {MAX_INCHES:,.0f} in, not {width:g} in.")
    if not LEAST_TOLERANCE <= tolerance <= MAX_INCHES:
        raise OptionError(f"The tolerance must be at least {LEAST_TOLERANCE:.5f} in, not {tolerance:g} in.")


def check_size(data: bytes, source: str) -> None:
    """Refuse input that is larger than `MAX_BYTES`.

    Parameters
    ----------
    data
        The whole file.
    source
        File name for messages.

    Raises
    ------
    LimitError
        With the code ``too-large`` when there are more bytes than the limit.
    """
    if len(data) > MAX_BYTES:
        refuse(
            f"{source} has {len(data):,} bytes; at most {MAX_BYTES:,} bytes are read. "
            "Leave out embedded images or split the drawing.",
            source=source,
        )


def refuse(message: str, *, source: str, remedies: tuple[Remedy, ...] = ()) -> NoReturn:
    """Raise the `LimitError` (code ``too-large``) that carries the message."""
    raise LimitError(Finding("too-large", message, remedies=remedies), source=source)

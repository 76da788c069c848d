"""Pages of a PDF file: a pen that draws in inches, and the foot that all pages share.

Only this module and those that set text in columns meet the PDF library. The same content gives the same bytes.
"""

from __future__ import annotations

import io
import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING

from seamtree.errors import Point
from seamtree.pattern.fonts import REGULAR, load_fonts, printable, run_width, runs, text_width
from seamtree.pattern.lengths import CM, POINTS
from seamtree.pattern.paper import MARGIN, Paper
from seamtree.picture.shapes import BEFORE_ANCHOR, Anchor
from seamtree.words import cut_short, wrapped

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas


def _numbers(*values: float) -> str:
    """Return numbers as the PDF library writes them."""
    from reportlab.lib.rl_accel import fp_str

    return str(fp_str(*values))


@cache
def _ink(colour: str) -> str:
    """Return a colour ``#rrggbb`` as the operands of a colour operator (ISO 32000-1, 8.6.8)."""
    return _numbers(*(int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)))


@cache
def _state(weight: float, colour: str, fill: str | None, dashes: tuple[float, ...], *, flat: bool) -> str:
    """Return what sets how is drawn (ISO 32000-1, 8.4.4), the state before it kept."""
    parts = ["q", f"{_numbers(weight)} w", f"{_ink(colour)} RG", "1 j", f"{0 if flat or dashes else 1} J"]
    if fill is not None:
        parts.append(f"{_ink(fill)} rg")
    if dashes:
        parts.append(f"[{_numbers(*dashes)}] 0 d")
    return "\n".join(parts)


class Pen:
    """Draws on a page, in inches from its top left corner, y down.

    Parameters
    ----------
    canvas
        Of the PDF library.
    paper
        The page.
    """

    def __init__(self, canvas: Canvas, paper: Paper) -> None:
        self.canvas = canvas
        self.paper = paper

    def _at(self, at: Point) -> Point:
        return at[0] * POINTS, (self.paper.height - at[1]) * POINTS

    @contextmanager
    def style(
        self,
        *,
        weight: float = 0.7,
        colour: str = "#000000",
        fill: str | None = None,
        dashes: Sequence[float] = (),
        flat: bool = False,
    ) -> Iterator[None]:
        """Draw lines of a weight (points) and colour, areas with a fill, lines dashed (points) until the end."""
        # A library's own way takes five times as long, for it keeps a copy of all that may be set.
        self.canvas.addLiteral(_state(weight, colour, fill, tuple(dashes), flat=flat))
        yield
        self.canvas.addLiteral("Q")

    def _run(self, points: Sequence[Point]) -> str:
        """Return points as a path of a page (ISO 32000-1, 8.5.2); a library's path takes ten times as long."""
        high = self.paper.height
        first, *others = [f"{x * POINTS:.3f} {(high - y) * POINTS:.3f}" for x, y in points]
        return f"{first} m {' '.join(f'{at} l' for at in others)}"

    def polygon(self, points: Sequence[Point], *, stroke: bool = True, fill: bool = False) -> None:
        """Draw a closed polygon."""
        paint = "B*" if stroke and fill else "S" if stroke else "f*" if fill else "n"
        self.canvas.addLiteral(f"{self._run(points)} h {paint}")

    def lines(self, paths: Iterable[Sequence[Point]]) -> None:
        """Draw open lines."""
        runs_of_points = " ".join(map(self._run, paths))
        if runs_of_points:
            self.canvas.addLiteral(f"{runs_of_points} S")

    def square(self, corner: Point, side: float) -> None:
        """Draw an upright square by its top left corner."""
        x, y = self._at((corner[0], corner[1] + side))
        self.canvas.rect(x, y, side * POINTS, side * POINTS, stroke=1, fill=0)

    def disc(self, centre: Point, radius: float, *, stroke: bool = True, fill: bool = False) -> None:
        """Draw a circle."""
        self.canvas.circle(*self._at(centre), radius * POINTS, stroke=int(stroke), fill=int(fill))

    def text(
        self,
        at: Point,
        text: str,
        size: float,
        *,
        bold: bool = False,
        anchor: Anchor = "start",
        angle: float = 0.0,
        colour: str = "#000000",
    ) -> None:
        """Write one line whose base line begins, has its middle or ends at a point; degrees turn it anticlockwise."""
        shown = printable(text)
        shift = -BEFORE_ANCHOR[anchor] * text_width(shown, size, bold=bold)
        turn = math.radians(angle)
        axes = (math.cos(turn), math.sin(turn), -math.sin(turn), math.cos(turn)) if angle else (1, 0, 0, 1)
        self.canvas.addLiteral(f"q\n{_ink(colour)} rg\n{_numbers(*axes)} {_numbers(*self._at(at))} cm")
        for font, letters in runs(shown, bold=bold):
            self.canvas.setFont(font, size)
            self.canvas.drawString(shift, 0.0, letters)
            shift += run_width(letters, font, size)
        self.canvas.addLiteral("Q")


@dataclass(frozen=True, slots=True)
class Page:
    """A page.

    Parameters
    ----------
    draw
        Draws its content.
    title, heading
        What it is called, and the name of the pattern or the block.
    advice
        A word in the middle of the foot.
    ruler
        Whether there is a short ruler at the foot.
    """

    draw: Callable[[Pen], None]
    title: str
    heading: str
    advice: str = ""
    ruler: bool = False


TEST_SQUARES = (("1 in", 1.0), ("3 cm", 3.0 / CM))
"""Squares that are printed on the first sheet of foundations, and their sides in inches."""

_FOOT = 7.0
"""Size of type at the foot of a page, points."""

_RULER = 2
"""Length of the ruler, inches."""


def write_pages(pages: Sequence[Page], paper: Paper, *, title: str, author: str = "") -> bytes:
    """Return a PDF file.

    Parameters
    ----------
    pages
        In turn.
    paper
        Of all of them.
    title, author
        Of the document.
    """
    load_fonts()
    from reportlab.pdfgen.canvas import Canvas

    buffer = io.BytesIO()
    size = (paper.width * POINTS, paper.height * POINTS)
    # The first font that a page names is one that is embedded, whatever is written on it.
    canvas = Canvas(buffer, pagesize=size, invariant=1, pageCompression=1, initialFontName=REGULAR)
    canvas.setTitle(printable(title))
    canvas.setAuthor(printable(author))
    canvas.setSubject("Sewing pattern")
    canvas.setCreator("seamtree")
    with _packed_streams():
        for number, page in enumerate(pages, 1):
            pen = Pen(canvas, paper)
            page.draw(pen)
            _foot(pen, page, number=f"Page {number} of {len(pages)}")
            canvas.showPage()
        canvas.save()
    return buffer.getvalue()


@contextmanager
def _packed_streams() -> Iterator[None]:
    """Let the PDF library write what it has compressed as it is: as text it takes a quarter more room, and longer."""
    from reportlab import rl_config

    before = rl_config.useA85
    rl_config.useA85 = 0
    try:
        yield
    finally:
        rl_config.useA85 = before


def _foot(pen: Pen, page: Page, *, number: str) -> None:
    """Write one line at the foot of a page, beside the ruler if it has one."""
    left, right, base = MARGIN, pen.paper.width - MARGIN, pen.paper.height - MARGIN - 0.03
    if page.ruler:
        _ruler(pen, (left + 0.02, base))
        left += _RULER + 0.5
    ends = text_width(number, _FOOT) / POINTS
    pen.text((right, base), number, _FOOT, anchor="end")
    words = " · ".join(part for part in (page.heading, page.title, page.advice) if part)
    room = (right - left - ends - 0.2) * POINTS
    pen.text((left, base), cut_short(printable(words), lambda line: text_width(line, _FOOT) <= room), _FOOT)


def _ruler(pen: Pen, start: Point) -> None:
    """Draw a ruler in eighths of an inch from a place on, its marks upward."""
    x, y = start
    with pen.style(weight=0.6, flat=True):
        pen.lines([[(x, y), (x + _RULER, y)]])
        pen.lines(
            [(x + n / 8, y), (x + n / 8, y - (0.16 if n % 8 == 0 else 0.1 if n % 4 == 0 else 0.06))]
            for n in range(8 * _RULER + 1)
        )
    pen.text((x + _RULER + 0.06, y), f"{_RULER} in", _FOOT)


BELOW_SIZE, BELOW_LEADING = 7.0, 8.8 / POINTS
"""Size of type below pictures (points), and inches from line to line."""

_BELOW = 0.13
"""Inches from a picture to the base line of what stands below it."""


def write_below(pen: Pen, corner: Point, lines: Sequence[str]) -> None:
    """Write lines below a picture, the first one bold; `corner` is the picture's bottom left one, inches."""
    for row, line in enumerate(lines):
        pen.text((corner[0], corner[1] + _BELOW + row * BELOW_LEADING), line, BELOW_SIZE, bold=row == 0)


def height_below(lines: int) -> float:
    """Return how high so many lines below a picture are, inches."""
    return _BELOW + lines * BELOW_LEADING


def draw_test_squares(pen: Pen, corner: Point) -> None:
    """Draw the test squares side by side; `corner` is the top left one of the first."""
    x, y = corner
    with pen.style(weight=0.6):
        for words, side in TEST_SQUARES:
            pen.square((x, y), side)
            pen.text((x + side / 2, y + side / 2 + 0.04), words, 9, anchor="middle")
            x += side + 0.15


def wrap(text: str, size: float, width: float, *, bold: bool = False) -> list[str]:
    """Return the lines of a text that is broken between words at a width (points); a longer word is cut short."""

    def fits(line: str) -> bool:
        return text_width(line, size, bold=bold) <= width

    return [cut_short(line, fits) for line in wrapped(printable(text), fits)]

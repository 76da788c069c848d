"""Pages of a PDF file: a pen that draws in inches, the fonts, and the frame that all pages share.

Only this module and those that set text in columns meet the PDF library. The same content gives the same bytes.
"""

from __future__ import annotations

import io
import unicodedata
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, Any

from seamtree.errors import Point
from seamtree.pattern.lengths import CM, POINTS
from seamtree.pattern.paper import MARGIN, SIDE, Paper
from seamtree.picture.shapes import BEFORE_ANCHOR, Anchor
from seamtree.words import cut_short, wrapped

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas

REGULAR, BOLD = "Seamtree-Regular", "Seamtree-Bold"
"""Names under which the fonts are known to the PDF library: Bitstream Vera Sans, which comes with it."""

_FILES = {REGULAR: "Vera.ttf", BOLD: "VeraBd.ttf"}

_UNKNOWN = "?"
"""Stands for a character that the fonts lack."""


@cache
def load_fonts() -> dict[str, Any]:
    """Register the fonts; return them by their names."""
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont

    fonts = {name: TTFont(name, file) for name, file in _FILES.items()}
    for font in fonts.values():
        pdfmetrics.registerFont(font)
    pdfmetrics.registerFontFamily(REGULAR, normal=REGULAR, bold=BOLD, italic=REGULAR, boldItalic=BOLD)
    return fonts


def printable(text: str) -> str:
    """Return text of which the fonts have every character; for one that they lack its base letter or ``?``."""
    known = load_fonts()[REGULAR].face.charToGlyph

    def shown(character: str) -> str:
        if not character.isprintable():
            return " "
        if ord(character) in known:
            return character
        plainer = "".join(c for c in unicodedata.normalize("NFKD", character) if ord(c) in known)
        return plainer or _UNKNOWN

    return " ".join("".join(map(shown, text)).split())


def text_width(text: str, size: float, *, bold: bool = False) -> float:
    """Return how wide a line of text is, points."""
    load_fonts()
    from reportlab.pdfbase.pdfmetrics import stringWidth

    return float(stringWidth(printable(text), BOLD if bold else REGULAR, size))


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
        from reportlab.lib.colors import HexColor

        self.canvas.saveState()
        self.canvas.setLineWidth(weight)
        self.canvas.setStrokeColor(HexColor(colour))
        self.canvas.setLineJoin(1)
        self.canvas.setLineCap(0 if flat or dashes else 1)
        if fill is not None:
            self.canvas.setFillColor(HexColor(fill))
        if dashes:
            self.canvas.setDash(list(dashes))
        yield
        self.canvas.restoreState()

    def polygon(self, points: Sequence[Point], *, stroke: bool = True, fill: bool = False) -> None:
        """Draw a closed polygon."""
        path = self.canvas.beginPath()
        path.moveTo(*self._at(points[0]))
        for point in points[1:]:
            path.lineTo(*self._at(point))
        path.close()
        self.canvas.drawPath(path, stroke=int(stroke), fill=int(fill))

    def lines(self, paths: Iterable[Sequence[Point]]) -> None:
        """Draw open lines."""
        for points in paths:
            path = self.canvas.beginPath()
            path.moveTo(*self._at(points[0]))
            for point in points[1:]:
                path.lineTo(*self._at(point))
            self.canvas.drawPath(path, stroke=1, fill=0)

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
        from reportlab.lib.colors import HexColor

        shown = printable(text)
        shift = -BEFORE_ANCHOR[anchor] * text_width(shown, size, bold=bold)
        self.canvas.saveState()
        self.canvas.setFillColor(HexColor(colour))
        self.canvas.setFont(BOLD if bold else REGULAR, size)
        self.canvas.translate(*self._at(at))
        if angle:
            self.canvas.rotate(angle)
        self.canvas.drawString(shift, 0.0, shown)
        self.canvas.restoreState()


@dataclass(frozen=True, slots=True)
class Page:
    """A page.

    Parameters
    ----------
    draw
        Draws its content.
    title, heading
        What it is called, and the name of the block.
    advice
        A word beside the test squares.
    tall
        Whether test squares and words stand on the right, not at the foot.
    """

    draw: Callable[[Pen], None]
    title: str
    heading: str
    advice: str = ""
    tall: bool = False


TEST_SQUARES = (("1 in", 1.0), ("3 cm", 3.0 / CM))
"""Squares that are printed on every page, and their sides in inches."""

_SQUARE_GAP = 0.15


def write_pages(pages: Sequence[Page], paper: Paper, *, title: str) -> bytes:
    """Return a PDF file.

    Parameters
    ----------
    pages
        In turn.
    paper
        Of all of them.
    title
        Of the document.
    """
    load_fonts()
    from reportlab.pdfgen.canvas import Canvas

    buffer = io.BytesIO()
    size = (paper.width * POINTS, paper.height * POINTS)
    # The first font that a page names is one that is embedded, whatever is written on it.
    canvas = Canvas(buffer, pagesize=size, invariant=1, pageCompression=1, initialFontName=REGULAR)
    canvas.setTitle(printable(title))
    canvas.setAuthor("")
    canvas.setSubject("Sewing pattern")
    canvas.setCreator("seamtree")
    for number, page in enumerate(pages, 1):
        pen = Pen(canvas, paper)
        page.draw(pen)
        _footer(pen, page, number=f"Page {number} of {len(pages)}")
        canvas.showPage()
    canvas.save()
    return buffer.getvalue()


def _footer(pen: Pen, page: Page, *, number: str) -> None:
    """Draw the test squares and say what the page is: at the foot, or on the right of a tall page."""
    right, bottom = pen.paper.width - MARGIN, pen.paper.height - MARGIN
    squares: list[tuple[str, float, Point]] = []
    if page.tall:
        y = bottom - 0.02
        for words, side in reversed(TEST_SQUARES):
            y -= side
            squares.append((words, side, (right - 0.02 - side, y)))
            y -= _SQUARE_GAP
        x, y, room = right - SIDE + 0.12, MARGIN + 0.15, SIDE - 0.12
    else:
        x = MARGIN + 0.02
        for words, side in TEST_SQUARES:
            squares.append((words, side, (x, bottom - 0.02 - side)))
            x += side + _SQUARE_GAP
        y, room = bottom - 0.94, right - x
    with pen.style(weight=0.6):
        for words, side, corner in squares:
            pen.square(corner, side)
            pen.text((corner[0] + side / 2, corner[1] + side / 2 + 0.04), words, 9, anchor="middle")
    rows = (  # the name of the block takes one line only
        (page.heading, 10.0, True),
        (f"{number} · {page.title}", 8.0, False),
        ("Print at actual size (100 %), not fitted to the page. Then measure both squares.", 8.0, False),
        (page.advice, 8.0, False),
    )
    for words, size, bold in rows:
        lines = wrap(words, size, room * POINTS, bold=bold)
        for line in lines[:1] if bold else lines:
            pen.text((x, y), line, size, bold=bold)
            y += 1.35 * size / POINTS
        y += 0.08 * page.tall


def wrap(text: str, size: float, width: float, *, bold: bool = False) -> list[str]:
    """Return the lines of a text that is broken between words at a width (points); a longer word is cut short."""

    def fits(line: str) -> bool:
        return text_width(line, size, bold=bold) <= width

    return [cut_short(line, fits) for line in wrapped(printable(text), fits)]

"""Text and tables set in one column, page after page."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import accumulate
from typing import Any
from xml.sax.saxutils import escape

from seamtree.errors import Point
from seamtree.pattern.fonts import BOLD, REGULAR, load_fonts, printable, runs
from seamtree.pattern.lengths import POINTS
from seamtree.pattern.paper import MARGIN, Paper
from seamtree.pattern.pdf import Page, Pen

_BODY, _HEADING = 9.0, 12.0
"""Sizes of type, points."""


@dataclass(frozen=True, slots=True)
class Swatch:
    """A cell of a table in the colour of a fabric, ``#rrggbb``, None for an empty one."""

    colour: str | None


Cell = str | Swatch


class Column:
    """Collects text and shares it out among pages.

    Parameters
    ----------
    paper
        What it is printed on.
    tight
        Share of the usual size that text is set in.
    kept
        What columns with the same content need only make once (see `keep`).
    """

    def __init__(self, paper: Paper, *, tight: float = 1.0, kept: dict[Any, Any] | None = None) -> None:
        load_fonts()
        self._kept = {} if kept is None else kept
        self._paper = paper
        self._body = _BODY * tight
        self._sections: list[tuple[str, int]] = []
        self._titles: dict[int, str] = {}
        width, height = paper.room
        self._width, self._height = width * POINTS, height * POINTS
        self._drawn: list[list[Callable[[Pen], None]]] = [[]]
        self._left = self._height

    def heading(self, text: str, *, need: float = 0.75) -> None:
        """Add a heading; what follows begins on the same page, if so many inches hold its beginning."""
        self._reserve(need * POINTS)
        self._add(_paragraph(text, _HEADING, bold=True, before=8.0, after=3.0))

    def keep(self, key: Any, make: Callable[[], Any]) -> Any:
        """Return what was made before under a key, else make it: pictures take longer than setting text."""
        if key not in self._kept:
            self._kept[key] = make()
        return self._kept[key]

    def title(self, text: str, size: float) -> None:
        """Add the title of the document."""
        self._add(_paragraph(text, size, bold=True, before=0.0, after=2.0))

    def section(self, text: str, size: float = 15.0, *, need: float = 1.3) -> None:
        """Begin a section, on the same page if there is room for so many inches of it."""
        self._reserve(need * POINTS)
        self._add(_paragraph(text, size, bold=True, before=14.0, after=2.0))
        self.note_section(text)

    def note_section(self, text: str) -> None:
        """Let a section begin here without a heading, for the contents and the foot of the page."""
        page = len(self._drawn) - 1
        self._sections.append((text, page))
        self._titles.setdefault(page, text)

    @property
    def sections(self) -> list[tuple[str, int]]:
        """What begins on which page, from 0."""
        return list(self._sections)

    @property
    def last_fill(self) -> float:
        """Height that is filled on the last page, inches."""
        return (self._height - self._left) / POINTS

    def paragraph(
        self, text: str, *, head: str = "", number: int | None = None, mark: bool = False, after: float = 3.0
    ) -> None:
        """Add a paragraph, with bold words at its head, a number or a mark beside it if wanted."""
        beside = f"{number}." if number is not None else "•" if mark else ""
        self._add(_paragraph(text, self._body, head=head, beside=beside, after=after))

    def table(
        self,
        heads: Sequence[str],
        rows: Sequence[Sequence[Cell]],
        shares: Sequence[float],
        *,
        together: Sequence[int] = (),
    ) -> None:
        """Add a table.

        Parameters
        ----------
        heads, rows
            Of the columns; what stands in them.
        shares
            Of the width that the columns have.
        together
            Numbers of rows, from the top, that are to stay on one page.
        """
        from reportlab.platypus import Table, TableStyle

        widths = [share * self._width / sum(shares) for share in shares]
        style: list[tuple[Any, ...]] = [
            ("FONT", (0, 0), (-1, -1), REGULAR, self._body),
            ("VALIGN", (0, 0), (-1, -1), "TOP"),
            ("LINEBELOW", (0, 0), (-1, 0), 0.8, "#000000"),
            ("LINEBELOW", (0, 1), (-1, -1), 0.3, "#999999"),
            ("LEFTPADDING", (0, 0), (-1, -1), 2),
            ("RIGHTPADDING", (0, 0), (-1, -1), 4),
            ("TOPPADDING", (0, 0), (-1, -1), 1),
            ("BOTTOMPADDING", (0, 0), (-1, -1), 1.5),
        ]
        ends = list(accumulate(together))
        style += (("NOSPLIT", (0, end - number + 1), (-1, end)) for number, end in zip(together, ends, strict=True))
        cells: list[list[Any]] = [[_paragraph(head, self._body, bold=True) for head in heads]]
        cells += ([self._cell(cell) for cell in row] for row in rows)
        self._add(Table(cells, colWidths=widths, repeatRows=1, style=TableStyle(style), hAlign="LEFT"))
        self.space(6.0)

    def _cell(self, cell: Cell) -> Any:
        return _swatch(cell) if isinstance(cell, Swatch) else _paragraph(cell, self._body)

    def drawing(self, height: float, draw: Callable[[Pen, Point], None]) -> None:
        """Add something drawn, of a height in inches; it is given its top left corner on the page (inches)."""
        self._reserve(height * POINTS)
        corner = MARGIN, MARGIN + (self._height - self._left) / POINTS
        self._drawn[-1].append(lambda pen: draw(pen, corner))
        self._left -= height * POINTS

    def space(self, points: float) -> None:
        """Leave room, unless the page is full."""
        self._left = max(0.0, self._left - points)

    def new_page(self) -> None:
        """Go on on a new page."""
        if self._drawn[-1]:
            self._drawn.append([])
        self._left = self._height

    @property
    def left(self) -> float:
        """Height that is left on the page, inches."""
        return self._left / POINTS

    def pages(self, heading: str) -> list[Page]:
        """Return the pages, each with the name of the first section that begins on it, or goes on."""
        pages, title = [], ""
        for number, content in enumerate(self._drawn):
            title = self._titles.get(number, title)
            if content:
                pages.append(Page(_drawer(content), title, heading))
        return pages

    def _reserve(self, points: float) -> None:
        if points > self._left:
            self.new_page()

    def _add(self, flowable: Any) -> None:
        """Put something where there is room; what does not fit goes on on the next page."""
        left: list[Any] = [flowable]
        while left:
            piece = left.pop(0)
            before = piece.getSpaceBefore() if self._drawn[-1] else 0.0
            _, height = piece.wrap(self._width, self._left)
            if height + before > self._left:
                parts = piece.split(self._width, self._left - before)
                if len(parts) > 1:
                    left = [*parts, *left]
                    continue
                if self._drawn[-1]:
                    self.new_page()
                    left.insert(0, piece)
                    continue
            self._left -= height + before
            self._drawn[-1].append(_placed(piece, self._left, self._paper))
            self._left = max(0.0, self._left - piece.getSpaceAfter())


def _drawer(content: Sequence[Callable[[Pen], None]]) -> Callable[[Pen], None]:
    def draw(pen: Pen) -> None:
        for part in content:
            part(pen)

    return draw


def _placed(flowable: Any, left: float, paper: Paper) -> Callable[[Pen], None]:
    """Return what draws a flowable with `left` points of the room below it."""
    bottom = (paper.height - MARGIN - paper.room[1]) * POINTS + left
    return lambda pen: flowable.drawOn(pen.canvas, MARGIN * POINTS, bottom)


def _paragraph(
    text: str,
    size: float,
    *,
    bold: bool = False,
    head: str = "",
    beside: str = "",
    before: float = 0.0,
    after: float = 0.0,
) -> Any:
    from reportlab.lib.styles import ParagraphStyle
    from reportlab.platypus import Paragraph

    style = ParagraphStyle(
        "text",
        fontName=BOLD if bold else REGULAR,
        fontSize=size,
        leading=1.25 * size,
        bulletFontName=REGULAR,
        bulletFontSize=size,
        leftIndent=16 if beside else 0,
        allowWidows=0,
        allowOrphans=0,
        spaceBefore=before,
        spaceAfter=after,
    )
    words = _tagged(text, bold=bold)
    if head:
        words = f"{_tagged(head, bold=True, always=True)} {words}"
    return Paragraph(words, style, bulletText=beside or None)


def _tagged(text: str, *, bold: bool = False, always: bool = False) -> str:
    """Return text with a tag for every stretch that is not in the font of its paragraph, or for all."""
    usual = None if always else BOLD if bold else REGULAR
    return "".join(
        escape(letters) if name == usual else f'<font name="{name}">{escape(letters)}</font>'
        for name, letters in runs(printable(text), bold=bold)
    )


def _swatch(swatch: Swatch) -> Any:
    """Return an empty line on the colour of a fabric, framed; on white where the fabric is no colour."""
    from reportlab.lib.colors import HexColor
    from reportlab.lib.styles import ParagraphStyle
    from reportlab.platypus import Paragraph

    style = ParagraphStyle(
        "swatch",
        fontName=REGULAR,
        fontSize=_BODY,
        leading=_BODY,
        spaceBefore=0,
        rightIndent=4,
        bulletFontName=REGULAR,
        backColor=HexColor(swatch.colour) if swatch.colour else None,
        borderColor=HexColor("#000000"),
        borderWidth=0.4,
    )
    return Paragraph("&nbsp;", style)

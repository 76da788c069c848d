"""Text and tables set in one column, page after page."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import accumulate
from typing import Any
from xml.sax.saxutils import escape

from seamtree.errors import Point
from seamtree.fabric import fabric_rgb
from seamtree.pattern.lengths import POINTS
from seamtree.pattern.paper import MARGIN, Paper
from seamtree.pattern.pdf import BOLD, REGULAR, Page, Pen, load_fonts, printable

_BODY, _HEADING = 9.0, 12.0
"""Sizes of type, points."""

_LEAST = 30.0
"""Points; a heading is not left alone on less room than this."""


@dataclass(frozen=True, slots=True)
class Swatch:
    """A cell of a table in the colour of a fabric."""

    fabric: str | None


Cell = str | Swatch


class Column:
    """Collects text and shares it out among pages.

    Parameters
    ----------
    paper
        What it is printed on.
    """

    def __init__(self, paper: Paper) -> None:
        load_fonts()
        self._paper = paper
        width, height = paper.room
        self._width, self._height = width * POINTS, height * POINTS
        self._drawn: list[list[Callable[[Pen], None]]] = [[]]
        self._left = self._height

    def heading(self, text: str) -> None:
        """Add a heading; what follows begins on the same page."""
        self._reserve(_LEAST + 2 * _HEADING)
        self._add(_paragraph(text, _HEADING, bold=True, before=8.0, after=3.0))

    def title(self, text: str, size: float) -> None:
        """Add the title of the document."""
        self._add(_paragraph(text, size, bold=True, before=0.0, after=2.0))

    def paragraph(self, text: str, *, head: str = "", number: int | None = None, mark: bool = False) -> None:
        """Add a paragraph, with bold words at its head, a number or a mark beside it if wanted."""
        beside = f"{number}." if number is not None else "•" if mark else ""
        self._add(_paragraph(text, _BODY, head=head, beside=beside, after=3.0))

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
            ("FONT", (0, 0), (-1, -1), REGULAR, _BODY),
            ("VALIGN", (0, 0), (-1, -1), "TOP"),
            ("LINEBELOW", (0, 0), (-1, 0), 0.8, "#000000"),
            ("LINEBELOW", (0, 1), (-1, -1), 0.3, "#999999"),
            ("LEFTPADDING", (0, 0), (-1, -1), 2),
            ("RIGHTPADDING", (0, 0), (-1, -1), 4),
            ("TOPPADDING", (0, 0), (-1, -1), 2),
            ("BOTTOMPADDING", (0, 0), (-1, -1), 3),
        ]
        ends = list(accumulate(together))
        style += (("NOSPLIT", (0, end - number + 1), (-1, end)) for number, end in zip(together, ends, strict=True))
        cells: list[list[Any]] = [[_paragraph(head, _BODY, bold=True) for head in heads]]
        cells += ([self._cell(cell) for cell in row] for row in rows)
        self._add(Table(cells, colWidths=widths, repeatRows=1, style=TableStyle(style), hAlign="LEFT"))
        self.space(6.0)

    def _cell(self, cell: Cell) -> Any:
        return _swatch(cell) if isinstance(cell, Swatch) else _paragraph(cell, _BODY)

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

    def pages(self, title: str, heading: str) -> list[Page]:
        """Return the pages."""
        drawn = [page for page in self._drawn if page]
        return [
            Page(_drawer(page), f"{title}, {number} of {len(drawn)}" if len(drawn) > 1 else title, heading)
            for number, page in enumerate(drawn, 1)
        ]

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
        leading=1.3 * size,
        bulletFontName=REGULAR,
        bulletFontSize=size,
        leftIndent=16 if beside else 0,
        spaceBefore=before,
        spaceAfter=after,
    )
    words = escape(printable(text))
    if head:
        words = f'<font name="{BOLD}">{escape(printable(head))}</font> {words}'
    return Paragraph(words, style, bulletText=beside or None)


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
        backColor=HexColor(swatch.fabric) if fabric_rgb(swatch.fabric) else None,
        borderColor=HexColor("#000000"),
        borderWidth=0.4,
    )
    return Paragraph("&nbsp;", style)

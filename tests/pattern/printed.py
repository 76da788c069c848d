"""What stands on the pages of a PDF file, read by libraries that had no part in writing it."""

from __future__ import annotations

import io
from dataclasses import dataclass

import pdfplumber
import pypdf

from seamtree.errors import Point

INCH = 72.0
"""Points (PDF counts in them)."""


@dataclass(frozen=True, slots=True)
class Outline:
    """A closed line: its corners in points from the top left corner of the page, and whether it is dashed."""

    page: int
    points: tuple[Point, ...]
    dashed: bool


@dataclass(frozen=True, slots=True)
class Said:
    """A piece of text as it was written, and where it begins (points from the top left corner of the page)."""

    page: int
    text: str
    at: Point


@dataclass(frozen=True, slots=True)
class Document:
    """A PDF file as it was read; `boxes` lie round everything on each page: left, top, right, bottom (points)."""

    sizes: tuple[tuple[float, float], ...]
    outlines: tuple[Outline, ...]
    said: tuple[Said, ...]
    texts: tuple[str, ...]
    boxes: tuple[tuple[float, float, float, float], ...]


def read_document(data: bytes) -> Document:
    """Read closed lines, texts, and the box round everything on each page."""
    outlines, boxes, sizes = [], [], []
    with pdfplumber.open(io.BytesIO(data)) as pdf:
        for number, page in enumerate(pdf.pages):
            sizes.append((float(page.width), float(page.height)))
            for shape in (*page.rects, *page.curves):
                if shape["path"][-1][0] == "h":
                    dashed = bool(shape["dash"] and shape["dash"][0])
                    outlines.append(Outline(number, _corners(shape["path"]), dashed))
            things = [*page.rects, *page.curves, *page.lines, *page.chars]
            boxes.append(
                tuple(
                    pick(t[side] for t in things)
                    for pick, side in ((min, "x0"), (min, "top"), (max, "x1"), (max, "bottom"))
                )
            )
    said: list[Said] = []
    texts = []
    for number, page in enumerate(pypdf.PdfReader(io.BytesIO(data)).pages):
        height = float(page.mediabox.height)

        def note(text, matrix, within, _font, _size, number=number, height=height):
            if text.strip():
                (a, b, c, d, e, f), (x, y) = matrix, within[4:]
                at = (x * a + y * c + e, x * b + y * d + f)
                said.append(Said(number, text.strip(), (at[0], height - at[1])))

        texts.append(page.extract_text(visitor_text=note))
    return Document(tuple(sizes), tuple(outlines), tuple(said), tuple(texts), tuple(boxes))


def _corners(path) -> tuple[Point, ...]:
    """Return the corners of a closed line, the first one not repeated."""
    points = [(float(step[1][0]), float(step[1][1])) for step in path if step[0] in "ml"]
    return tuple(points[:-1] if points[0] == points[-1] else points)

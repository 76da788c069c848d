"""A page of a PDF file as a drawing.

The way there: the document and its page (here), its contents as operators (`content`), what they paint (`paint`), put
on a canvas that is read as a painted drawing.
"""

from __future__ import annotations

import contextlib
import logging
import math
import warnings
from collections.abc import Collection, Iterator
from dataclasses import replace
from io import BytesIO
from typing import Any

from pypdf import PdfReader, apply_configuration
from pypdf.errors import DependencyError, FileNotDecryptedError, LimitReachedError, PyPdfError
from pypdf.generic import DictionaryObject

from seamtree.drawing import limits
from seamtree.drawing.affine import Affine
from seamtree.drawing.canvas import Canvas
from seamtree.drawing.damage import FAILURES, clause
from seamtree.drawing.drawn import Drawing
from seamtree.drawing.pdf.faults import damaged
from seamtree.drawing.pdf.layers import Layers
from seamtree.drawing.pdf.paint import Painter
from seamtree.drawing.reading import Reading, White
from seamtree.drawing.svg.read import read_document
from seamtree.errors import DrawingError, Finding, OptionError, SeamtreeError
from seamtree.remedies import PDF_PAGE
from seamtree.tolerances import TOLERANCE

POINTS_PER_INCH = 72.0
"""ISO 32000-1, section 8.3.2.3: the unit of a page is 1/72 in unless it says otherwise."""


def read_pdf(
    data: bytes,
    *,
    source: str,
    width: float | None = None,
    tolerance: float = TOLERANCE,
    skip_layers: Collection[str] = (),
    marks: Collection[str] = (),
    lines: bool = False,
    white: White | None = None,
    pdf_page: int | None = None,
) -> Drawing:
    """Read a page of a PDF file.

    Parameters
    ----------
    data
        The file.
    source
        File name for messages.
    width, tolerance, skip_layers, marks, lines, white, pdf_page
        As for `seamtree.drawing.read.read_drawing`.

    Returns
    -------
    Drawing
        Of kind ``painted``.

    Raises
    ------
    DrawingError
        ``damaged-file``, ``locked-file``, ``bad-number``, and what a painted drawing raises.
    LimitError
        When it is larger than a limit in `seamtree.drawing.limits`.
    OptionError
        When an argument makes no sense, the file has no such page, or nothing has a name of `skip_layers` or `marks`.
    """
    limits.check_options(width, tolerance)
    how = Reading(width, tolerance, tuple(skip_layers), tuple(marks), lines, white)
    with _quiet() as said:
        try:
            painted, notes = _painted_page(data, source, pdf_page)
        except SeamtreeError:
            raise
        except LimitReachedError as error:
            limits.refuse(f"{source} holds more than is read: {clause(error)}. Simplify the drawing.", source=source)
        except (DependencyError, FileNotDecryptedError) as error:
            raise _locked(source) from error
        except (PyPdfError, *FAILURES) as error:
            raise damaged(source, clause(error)) from error
    if said:
        message = (
            f"{source} is not quite as PDF files should be ({said[0]}); compare what was read with your drawing."
        )
        notes.append(Finding("mended-file", message))
    drawing = read_document(painted, source=source, how=how)
    return replace(drawing, notes=(*notes, *drawing.notes))


def _painted_page(data: bytes, source: str, number: int | None) -> tuple[Any, list[Finding]]:
    """Return the page as the tree of an SVG document, and what is to be said of it."""
    document, notes = _document(data, source)
    page, page_notes = _page(document, number, source)
    left, bottom, right, top = _visible(page, source)
    matrix, across, down = _upright(page, (left, bottom, right, top))
    unit = page.get("/UserUnit", 1)
    if not isinstance(unit, (int, float)) or not 0 < unit < 1e6:
        raise damaged(source, "the unit of its page is none")
    bounds = (0.0, 0.0, across, down)
    canvas = Canvas(bounds, inches=float(unit) / POINTS_PER_INCH, source=source)
    painter = Painter(canvas, bounds, document, Layers(document.root_object), source)
    painter.paint_page(page, matrix)
    return canvas.root, [*notes, *page_notes, *_left_out(page, painter.lettering.unreadable)]


def _document(data: bytes, source: str) -> tuple[PdfReader, list[Finding]]:
    document = PdfReader(BytesIO(data), strict=False)
    if document.is_encrypted and not document.decrypt(""):
        raise _locked(source)
    return document, []


def _page(document: PdfReader, number: int | None, source: str) -> tuple[DictionaryObject, list[Finding]]:
    count = len(document.pages)
    if not count:
        raise damaged(source, "it has no pages")
    if count > limits.MAX_PAGES:
        limits.refuse(f"{source} has {count:,} pages; at most {limits.MAX_PAGES:,} are read.", source=source)
    if number is not None and not 1 <= number <= count:
        pages = "1 page" if count == 1 else f"{count} pages"
        raise OptionError(f"{source} has {pages}, so there is no page {number}.")
    notes = []
    if number is None and count > 1:
        message = f"{source} has {count} pages, of which the first is read. Another one is read with {PDF_PAGE}."
        notes.append(Finding("other-pages", message, remedies=(PDF_PAGE,)))
    return document.pages[(number or 1) - 1], notes


def _visible(page: Any, source: str) -> tuple[float, float, float, float]:
    """Return left, bottom, right and top of what of a page is seen (ISO 32000-1, section 14.11.2)."""
    boxes = [[float(side) for side in box] for box in (page.mediabox, page.cropbox)]
    ordered = [(min(x1, x2), min(y1, y2), max(x1, x2), max(y1, y2)) for x1, y1, x2, y2 in boxes]
    left, bottom = (max(box[side] for box in ordered) for side in (0, 1))
    right, top = (min(box[side] for box in ordered) for side in (2, 3))
    if not (all(map(math.isfinite, (left, bottom, right, top))) and right > left and top > bottom):
        raise damaged(source, "its page has no size")
    return left, bottom, right, top


def _upright(page: Any, box: tuple[float, float, float, float]) -> tuple[Affine, float, float]:
    """Return the map from the page's user space to the page as it is seen, y down, and its width and height."""
    left, bottom, right, top = box
    turned = int(page.rotation) % 360
    across, down = right - left, top - bottom
    if turned == 90:
        return (0.0, 1.0, 1.0, 0.0, -bottom, -left), down, across
    if turned == 180:
        return (-1.0, 0.0, 0.0, 1.0, right, -bottom), across, down
    if turned == 270:
        return (0.0, -1.0, -1.0, 0.0, top, right), down, across
    return (1.0, 0.0, 0.0, -1.0, -left, top), across, down


def _left_out(page: DictionaryObject, unreadable: int) -> Iterator[Finding]:
    held = page.get("/Annots")
    held = held.get_object() if held is not None else None
    shown = [
        each
        for each in (part.get_object() for part in held or ())
        if isinstance(each, DictionaryObject) and "/AP" in each
    ]
    if shown:
        message = f"{len(shown)} remarks or form fields of the page are left out: only its own drawing is read."
        yield Finding("element-left-out", message)
    if unreadable:
        message = (
            f"{unreadable} {'text is' if unreadable == 1 else 'texts are'} left out: the file does not tell their "
            "letters."
        )
        yield Finding("text-left-out", message)


def _locked(source: str) -> DrawingError:
    message = f"{source} is locked with a password. Save it without one."
    return DrawingError(Finding("locked-file", message), source=source)


class _Listener(logging.Handler):
    def __init__(self, heard: list[str]) -> None:
        super().__init__(logging.WARNING)
        self._heard = heard

    def emit(self, record: logging.LogRecord) -> None:
        self._heard.append(" ".join(record.getMessage().split())[:120])


@contextlib.contextmanager
def _quiet() -> Iterator[list[str]]:
    """Hold back what the library says, and return it."""
    heard: list[str] = []
    listener, logger = _Listener(heard), logging.getLogger("pypdf")
    before = logger.propagate
    logger.addHandler(listener)
    logger.propagate = False
    try:
        with warnings.catch_warnings(), apply_configuration(zlib_maximum_output_length=limits.MAX_BYTES):
            warnings.simplefilter("ignore")
            yield heard
    finally:
        logger.removeHandler(listener)
        logger.propagate = before

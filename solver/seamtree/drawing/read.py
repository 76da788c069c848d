"""Reading a drawing, whatever its format: told by content, then by suffix."""

from __future__ import annotations

import contextlib
import stat
import sys
from collections.abc import Collection, Iterator
from pathlib import Path
from typing import Literal

from seamtree.drawing import limits
from seamtree.drawing.drawn import Drawing
from seamtree.drawing.encoding import text_start
from seamtree.drawing.foreign import advice_for, is_dxf
from seamtree.drawing.reading import White
from seamtree.errors import DrawingError, Finding, OptionError
from seamtree.tolerances import TOLERANCE

STDIN = "-"
"""Stands for standard input in place of a path."""

Format = Literal["svg", "geojson", "wkt", "pdf", "dxf"]

_WKT_WORDS = (
    "POINT",
    "MULTIPOINT",
    "LINESTRING",
    "LINEARRING",
    "MULTILINESTRING",
    "POLYGON",
    "MULTIPOLYGON",
    "GEOMETRYCOLLECTION",
    "SRID=",
)

SUFFIXES: dict[str, Format] = {
    ".svg": "svg",
    ".svgz": "svg",
    ".geojson": "geojson",
    ".json": "geojson",
    ".wkt": "wkt",
    ".pdf": "pdf",
    ".dxf": "dxf",
}
"""Formats by the suffix of the file name, where the content leaves them open."""

_HEAD = 4096
"""Bytes at the beginning of a file that tell its format."""

_PDF_HEAD = 1024
"""Bytes among which a PDF file says that it is one (ISO 32000-1, Annex H, note 13 of viewers)."""


def read_drawing(
    path: str | Path,
    *,
    width: float | None = None,
    tolerance: float = TOLERANCE,
    skip_layers: Collection[str] = (),
    marks: Collection[str] = (),
    lines: bool = False,
    white: White | None = None,
    pdf_page: int | None = None,
) -> Drawing:
    """Read a drawing.

    Parameters
    ----------
    path
        SVG, PDF, DXF, GeoJSON or WKT file; ``-`` for standard input.
    width
        Inches that the bounding box of the whole drawing is made wide; None keeps the size that the file states.
    tolerance
        What cloth cannot tell apart, inches.
    skip_layers
        Labels, ids or classes of what to leave out; GeoJSON and WKT have no such names.
    marks
        Labels, ids or classes of what is sewn on afterwards: markings and no seams.
    lines
        Whether strokes are lines however thick they are; otherwise those wider than 1/8 in that are drawn among
        filled shapes are strips of fabric. GeoJSON and WKT have no strokes.
    white
        Whether a white rectangle under everything is ``paper`` or ``fabric``; None takes it for paper if what is left
        has a straight-sided outline.
    pdf_page
        Number of the page of a PDF file, from 1 on; None for the first. Other formats have no pages.

    Raises
    ------
    DrawingError
        If the file cannot be read, is none of these formats, or says what cannot be drawn.
    LimitError
        If it is larger than a limit in `seamtree.drawing.limits`.
    OptionError
        If an option makes no sense.
    """
    limits.check_options(width, tolerance)
    source = str(path)
    return parse_drawing(
        load(source),
        source=source,
        width=width,
        tolerance=tolerance,
        skip_layers=skip_layers,
        marks=marks,
        lines=lines,
        white=white,
        pdf_page=pdf_page,
    )


def parse_drawing(
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
    """Read a drawing whose file is loaded already.

    Parameters
    ----------
    data
        The whole file.
    source
        Its name, for messages, for the names of blocks, and for the suffix where the content leaves the format open.
    width, tolerance, skip_layers, marks, lines, white, pdf_page
        As for `read_drawing`, which also says what is raised.
    """
    kind = find_format(data, source)
    if pdf_page is not None and kind != "pdf":
        raise OptionError(f"{source} is no PDF file, so no page of it can be chosen.")
    if kind == "pdf":
        with _extra("pdf", "PDF", source):
            from seamtree.drawing.pdf.read import read_pdf

        return read_pdf(
            data,
            source=source,
            width=width,
            tolerance=tolerance,
            skip_layers=skip_layers,
            marks=marks,
            lines=lines,
            white=white,
            pdf_page=pdf_page,
        )
    if kind == "dxf":
        with _extra("dxf", "DXF", source):
            from seamtree.drawing.dxf.read import read_dxf

        return read_dxf(
            data,
            source=source,
            width=width,
            tolerance=tolerance,
            skip_layers=skip_layers,
            marks=marks,
            lines=lines,
            white=white,
        )
    if kind == "svg":
        from seamtree.drawing.svg.read import read_svg

        return read_svg(
            data,
            source=source,
            width=width,
            tolerance=tolerance,
            skip_layers=skip_layers,
            marks=marks,
            lines=lines,
            white=white,
        )
    if skip_layers or marks:
        raise OptionError(f"{source} has no layers that could be left out or be markings; GeoJSON and WKT have none.")
    if kind == "geojson":
        from seamtree.drawing.geojson import read_geojson

        return read_geojson(data, source=source, width=width)
    from seamtree.drawing.wkt import read_wkt

    return read_wkt(data, source=source, width=width)


@contextlib.contextmanager
def _extra(extra: str, name: str, source: str) -> Iterator[None]:
    """Say what to install where the library that reads a format is missing."""
    try:
        yield
    except ModuleNotFoundError as error:
        if (error.name or "").startswith("seamtree"):
            raise
        message = (
            f"{source} is a {name} file. Reading those needs the extra '{extra}': pip install \"seamtree[{extra}]\". "
            "Or save the drawing as a plain SVG file."
        )
        raise DrawingError(Finding("reader-missing", message), source=source) from error


def find_format(data: bytes, source: str) -> Format:
    """Tell the format of a drawing by its content, or by the suffix of its name where the content leaves it open.

    Raises
    ------
    DrawingError
        ``empty`` or ``not-a-drawing``.
    """
    if not data.strip(b"\x00 \t\r\n\xef\xbb\xbf\xff\xfe"):
        raise DrawingError(Finding("empty", "The file is empty."), source=source)
    advice = advice_for(data)
    if advice is not None:
        raise DrawingError(Finding("not-a-drawing", f"{source} is {advice}"), source=source)
    if b"%PDF-" in data[:_PDF_HEAD]:
        return "pdf"
    if is_dxf(data[:_HEAD]):
        return "dxf"
    start = text_start(data, _HEAD).lstrip()
    if start.startswith("<") or data.startswith(b"\x1f\x8b"):
        return "svg"
    if start.startswith(("{", "[")):
        return "geojson"
    if start.upper().startswith(_WKT_WORDS):
        return "wkt"
    suffix = "" if source == STDIN else Path(source).suffix.lower()
    if suffix in SUFFIXES and "\x00" not in start:
        return SUFFIXES[suffix]
    message = "This is no drawing that can be read: it is neither SVG, PDF, DXF, GeoJSON nor WKT."
    raise DrawingError(Finding("not-a-drawing", message), source=source)


def load(source: str) -> bytes:
    """Load a file (``-``: standard input), but never more of it than is read at most.

    Raises
    ------
    DrawingError
        ``unreadable``.
    LimitError
        ``too-large``.
    """
    most = limits.MAX_BYTES + 1
    try:
        if source == STDIN:
            if sys.stdin is None:
                raise OSError("there is no standard input")
            return _limited(sys.stdin.buffer.read(most), source)
        path = Path(source)
        status = path.stat()
        size = status.st_size if stat.S_ISREG(status.st_mode) else 0
        if size > limits.MAX_BYTES:
            _refuse(f"{size:,} bytes", source)
        with path.open("rb") as file:
            # Room is made for all that is asked for, so the most is asked for only where there is more to come.
            data = file.read(size + 1)
            return _limited(data + file.read(most) if len(data) > size else data, source)
    except (OSError, ValueError) as error:
        if isinstance(error, DrawingError):
            raise
        reason = getattr(error, "strerror", None) or str(error)
        message = f"The file cannot be read: {reason}."
        raise DrawingError(Finding("unreadable", message), source=source) from error


def _limited(data: bytes, source: str) -> bytes:
    if len(data) > limits.MAX_BYTES:
        _refuse(f"more than {limits.MAX_BYTES:,} bytes", source)
    return data


def _refuse(size: str, source: str) -> None:
    limits.refuse(
        f"The file has {size}; at most {limits.MAX_BYTES:,} bytes are read. Leave out embedded images, or split the "
        "drawing.",
        source=source,
    )

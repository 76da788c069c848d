"""Reading a drawing, whatever its format: by content, then by suffix."""

from __future__ import annotations

import math
import sys
from collections.abc import Collection
from pathlib import Path
from typing import Literal

from seamtree.drawing import limits
from seamtree.drawing.model import Drawing
from seamtree.errors import DrawingError, Finding, OptionError
from seamtree.tolerances import TOLERANCE

Format = Literal["svg", "geojson", "wkt"]

_WKT_WORDS = (
    b"POLYGON",
    b"MULTIPOLYGON",
    b"LINESTRING",
    b"MULTILINESTRING",
    b"GEOMETRYCOLLECTION",
    b"POINT",
    b"MULTIPOINT",
    b"SRID=",
)

_SUFFIXES: dict[str, Format] = {
    ".svg": "svg",
    ".svgz": "svg",
    ".geojson": "geojson",
    ".json": "geojson",
    ".wkt": "wkt",
}


def read_drawing(
    path: str | Path, *, width: float | None = None, tolerance: float = TOLERANCE, skip_layers: Collection[str] = ()
) -> Drawing:
    """Read a drawing.

    Parameters
    ----------
    path
        SVG, GeoJSON or WKT file; ``-`` for standard input.
    width
        Finished width of the whole drawing in inches; None takes the size that the file states.
    tolerance
        What cloth cannot tell apart, inches.
    skip_layers
        Names, classes or ids of layers to leave out (SVG).

    Raises
    ------
    DrawingError
        If the file cannot be read or is no drawing.
    OptionError
        If an option makes no sense.
    """
    _check_options(width, tolerance)
    source = str(path)
    data = _load(source)
    kind = find_format(data, source)
    if kind == "svg":
        from seamtree.drawing.svg import read_svg

        return read_svg(data, source=source, width=width, tolerance=tolerance, skip_layers=skip_layers)
    if skip_layers:
        raise OptionError(f"{source} has no layers to leave out: only SVG drawings have")
    if kind == "geojson":
        from seamtree.drawing.geojson import read_geojson

        return read_geojson(data, source=source, width=width)
    from seamtree.drawing.wkt import read_wkt

    return read_wkt(data, source=source, width=width)


def _check_options(width: float | None, tolerance: float) -> None:
    if width is not None and not 0 < width < math.inf:
        raise OptionError(f"the width must be a length above 0 in, not {width:g}")
    if not 0 < tolerance < math.inf:
        raise OptionError(f"the tolerance must be a length above 0 in, not {tolerance:g}")


def _load(source: str) -> bytes:
    """Load a file, but no more of it than is read at most."""
    most = limits.MAX_BYTES + 1
    try:
        if source == "-":
            data = sys.stdin.buffer.read(most)
        else:
            with Path(source).open("rb") as file:
                data = file.read(most)
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise DrawingError(Finding("unreadable", f"The file cannot be read: {reason}."), source=source) from None
    limits.check_size(data, source)
    if not data.strip():
        raise DrawingError(Finding("empty", "The file is empty."), source=source)
    return data


def find_format(data: bytes, source: str) -> Format:
    """Tell the format of a drawing by its content, or by its suffix where the content leaves it open.

    Raises
    ------
    DrawingError
        If it is none of the formats that are read.
    """
    start = data[:4096].lstrip(b"\xef\xbb\xbf").lstrip()
    if data[:2] == b"\x1f\x8b" or start[:1] == b"<" or data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        return "svg"
    if start[:1] in (b"{", b"["):
        return "geojson"
    if start.upper().startswith(_WKT_WORDS):
        return "wkt"
    suffix = "" if source == "-" else Path(source).suffix.lower()
    if suffix in _SUFFIXES and b"\x00" not in data[:4096]:
        return _SUFFIXES[suffix]
    message = "This is no drawing that can be read: it is neither SVG nor GeoJSON nor WKT."
    raise DrawingError(Finding("not-a-drawing", message), source=source)

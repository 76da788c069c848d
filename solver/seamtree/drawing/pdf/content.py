"""Contents of pages and forms as operators with their operands, unpacked without mending.

The library mends damaged packed data as far as it goes, which for a drawing may mean a part of the patches. So packed
contents must be whole: the check sum of every packed stream has to hold (RFC 1950).
"""

from __future__ import annotations

import zlib
from collections.abc import Sequence
from typing import Any, NamedTuple

from pypdf.errors import LimitReachedError, PyPdfError
from pypdf.filters import ASCII85Decode, ASCIIHexDecode
from pypdf.generic import ArrayObject, ContentStream, NullObject, StreamObject

from seamtree.drawing import limits
from seamtree.drawing.damage import clause
from seamtree.drawing.pdf.faults import damaged
from seamtree.errors import SeamtreeError

_FLATE = frozenset({"/FlateDecode", "/Fl"})


class Operation(NamedTuple):
    """An operator with what stands before it."""

    name: str
    operands: Sequence[Any]


def read_operations(contents: Any, pdf: Any, source: str) -> list[Operation]:
    """Return the operations of a content stream or of an array of them.

    Raises
    ------
    DrawingError
        ``damaged-file`` when it cannot be unpacked or is no sequence of operators.
    """
    contents = contents.get_object() if contents is not None else None
    if contents is None or isinstance(contents, NullObject):
        return []
    streams = [each.get_object() for each in contents] if isinstance(contents, ArrayObject) else [contents]
    streams = [stream for stream in streams if not isinstance(stream, NullObject)]
    for stream in streams:
        if not isinstance(stream, StreamObject):
            raise damaged(source, "a part of the page's contents is missing")
        _check_packing(stream, source)
    try:
        parsed = ContentStream(ArrayObject(streams), pdf, "bytes").operations
    except LimitReachedError:
        raise
    except (PyPdfError, AssertionError, ValueError, TypeError, KeyError, IndexError, RecursionError) as error:
        raise damaged(source, f"its contents cannot be read ({clause(error)})") from error
    return [Operation(name.decode("latin-1"), operands) for operands, name in parsed]


def _check_packing(stream: StreamObject, source: str) -> None:
    """Refuse packed data that is not whole, as far as packing has a check sum."""
    filters = stream.get("/Filter")
    filters = filters.get_object() if filters is not None else []
    names = [each.get_object() for each in filters] if isinstance(filters, list) else [filters]
    data = stream._data  # noqa: SLF001 - the library has no public way to the packed bytes
    try:
        for name in names:
            if name in _FLATE:
                _check_flate(data, source)
                return
            if name not in {"/ASCII85Decode", "/A85", "/ASCIIHexDecode", "/AHx"}:
                return
            data = (ASCII85Decode if "85" in name else ASCIIHexDecode).decode(data)
    except SeamtreeError:
        raise
    except (PyPdfError, ValueError, TypeError) as error:
        raise damaged(source, "its contents cannot be unpacked") from error


def _check_flate(data: bytes, source: str) -> None:
    unpacker = zlib.decompressobj()
    try:
        unpacked = unpacker.decompress(data, limits.MAX_BYTES + 1)
    except zlib.error as error:
        raise damaged(source, "its packed contents do not match their check sum") from error
    if len(unpacked) > limits.MAX_BYTES:
        limits.refuse(
            f"{source} has a page of more than {limits.MAX_BYTES:,} bytes unpacked. Simplify or split the drawing.",
            source=source,
        )
    if not unpacker.eof:
        raise damaged(source, "its packed contents end too early")

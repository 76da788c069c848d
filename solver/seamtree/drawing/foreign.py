"""Files that are no drawings, and how to make drawings of them; what DXF files begin with."""

from __future__ import annotations

import re

_TRACE = (
    "a picture of pixels ({}), which has no lines. Trace it in a vector editor, and save that as a plain SVG file."
)
_POSTSCRIPT = "a PostScript or EPS file. Open it in a vector editor, and save it as a PDF or plain SVG file."
_TEXT = "a text document ({}). Draw the block in a vector editor, or print the page to a PDF file."
_OTHER = "a {} file. Save the drawing as {}."

_STARTS: tuple[tuple[bytes, str], ...] = (
    (b"\x89PNG\r\n", _TRACE.format("PNG")),
    (b"\xff\xd8\xff", _TRACE.format("JPEG")),
    (b"GIF8", _TRACE.format("GIF")),
    (b"II*\x00", _TRACE.format("TIFF")),
    (b"MM\x00*", _TRACE.format("TIFF")),
    (b"BM", _TRACE.format("BMP")),
    (b"8BPS", _TRACE.format("layers of pixels")),
    (b"\x00\x00\x01\x00", _TRACE.format("icon")),
    (b"\xc5\xd0\xd3\xc6", _POSTSCRIPT),
    (b"%!PS", _POSTSCRIPT),
    (b"{\\rtf", _TEXT.format("RTF")),
    (b"\xd0\xcf\x11\xe0", _TEXT.format("of an older office program")),
    (b"AC10", _OTHER.format("DWG", "DXF")),
    (b"\xd7\xcd\xc6\x9a", _OTHER.format("Windows metafile", "a PDF or plain SVG file")),
    (b"\x01\x00\x00\x00", _OTHER.format("Windows metafile", "a PDF or plain SVG file")),
)

_ZIPPED = (
    (b"word/", _TEXT.format("DOCX")),
    (b"application/vnd.oasis.opendocument.text", _TEXT.format("ODT")),
    (b"application/vnd.oasis.opendocument.graphics", _OTHER.format("ODG", "a PDF or plain SVG file")),
)

_HEAD = 8192
_BMP_HEADER = 54
_DXF_TEXT = re.compile(rb"\s*(999\s*\r?\n[^\r\n]*\r?\n\s*)*0\s*\r?\n\s*SECTION\b", re.IGNORECASE)
_DXF_BINARY = b"AutoCAD Binary DXF\r\n\x1a\x00"  # the DXF reference has every binary file begin like this


def advice_for(data: bytes) -> str | None:
    """Return what a file is and how to save it as a drawing, as the end of a sentence; None for what may be one."""
    for start, advice in _STARTS:
        if data.startswith(start) and (start != b"BM" or _is_bitmap(data)):
            return advice
    if data.startswith(b"RIFF") and data[8:12] == b"WEBP":
        return _TRACE.format("WebP")
    if data[4:8] == b"ftyp":
        return _TRACE.format("HEIF") if data[8:12] in {b"heic", b"heix", b"mif1", b"avif"} else None
    if data.startswith(b"PK\x03\x04"):
        head = data[:_HEAD] + data[-_HEAD:]
        return next((advice for mark, advice in _ZIPPED if mark in head), _OTHER.format("ZIP", "a plain SVG file"))
    return None


def _is_bitmap(data: bytes) -> bool:
    """Tell a BMP file, whose header gives its own size, from text that begins with the same letters."""
    return len(data) >= _BMP_HEADER and data[6:10] == b"\x00\x00\x00\x00"


def is_dxf(head: bytes) -> bool:
    """Tell whether the beginning of a file is that of a DXF file, as text or binary."""
    return head.startswith(_DXF_BINARY) or bool(_DXF_TEXT.match(_plain(head)))


def _plain(head: bytes) -> bytes:
    """Return text in the encoding of its byte order mark as single bytes."""
    for mark, encoding in ((b"\xef\xbb\xbf", "utf-8"), (b"\xff\xfe", "utf-16-le"), (b"\xfe\xff", "utf-16-be")):
        if head.startswith(mark):
            return head.removeprefix(mark).decode(encoding, "replace").encode("ascii", "replace")
    return head

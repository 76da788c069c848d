"""In which encoding a file was saved: editors save UTF-8 and UTF-16, with and without a byte-order mark."""

from __future__ import annotations

from json import detect_encoding

BYTE_ORDER_MARK = "\ufeff"


def decode_text(data: bytes) -> str:
    """Return the text of a file in UTF-8, UTF-16 or UTF-32, without its byte-order mark.

    The encoding is told by the mark or, as every format begins with an ASCII character, by the zero bytes round that
    (RFC 4627, section 3; XML 1.0, appendix F).

    Raises
    ------
    UnicodeDecodeError
        If the text is in none of these encodings.
    """
    return data.decode(detect_encoding(data)).removeprefix(BYTE_ORDER_MARK)


def text_start(data: bytes, most: int) -> str:
    """Return the first characters of a file as far as they can be read: at most so many bytes of them."""
    head = data[:most]
    return head.decode(detect_encoding(head), "replace").removeprefix(BYTE_ORDER_MARK)


def is_wide(data: bytes) -> bool:
    """Tell whether a file has a byte-order mark or characters of more than a byte each throughout."""
    return detect_encoding(data) != "utf-8"

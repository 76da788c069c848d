"""What is said of files of other programs that cannot be used, and how libraries fail on them."""

from __future__ import annotations

from seamtree.errors import DrawingError, Finding

FAILURES = (
    ArithmeticError,
    AssertionError,
    AttributeError,
    LookupError,
    NotImplementedError,
    OSError,
    RecursionError,
    TypeError,
    ValueError,
)
"""How libraries fail where a file is damaged, beside their own exceptions."""

_LONGEST = 120


def damaged(source: str, what: str, *, kind: str) -> DrawingError:
    """Return the error for a file of a kind (``PDF``, ``DXF``) that is damaged; `what` is a clause."""
    message = f"{source} is a damaged {kind} file: {what}. Save it again, or save the drawing as a plain SVG file."
    return DrawingError(Finding("damaged-file", message), source=source)


def clause(error: Exception) -> str:
    """Return what an error says as a part of a sentence."""
    said = " ".join(str(error).split()).rstrip(".")[:_LONGEST]
    return said or type(error).__name__

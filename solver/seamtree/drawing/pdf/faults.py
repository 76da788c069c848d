"""What is said of a PDF file that cannot be used."""

from __future__ import annotations

from seamtree.errors import DrawingError, Finding


def damaged(source: str, what: str) -> DrawingError:
    """Return the error for a file that is damaged."""
    message = f"{source} is a damaged PDF file: {what}. Save it again, or save the drawing as a plain SVG file."
    return DrawingError(Finding("damaged-file", message), source=source)

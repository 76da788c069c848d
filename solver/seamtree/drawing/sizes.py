"""What is said of the size of a drawing whose file states none in inches or millimetres."""

from __future__ import annotations

from collections.abc import Iterator

from seamtree.drawing.painted import Resolution
from seamtree.errors import Finding
from seamtree.remedies import WIDTH
from seamtree.tolerances import PX_PER_INCH
from seamtree.words import capital, decimal, dimensions, listed

USUAL = (72.0, 90.0, 96.0, 300.0)
"""Px to the inch that editors count with: points, two counts for screens, print (common practice)."""


def size_notes(size: tuple[float, float], resolution: Resolution) -> Iterator[Finding]:
    """Tell at which size a drawing in px was read, and what it would be at other counts of px to the inch.

    Parameters
    ----------
    size
        Width and height of the drawing as it was read, inches.
    resolution
        How it was read.
    """
    count = resolution.px_per_inch
    px = [decimal(side * count, 1) for side in size]
    read = f"{px[0]} × {px[1]} px were read as {dimensions(*size)}, {count:g} px to the inch"
    if resolution.told_by:
        if count != PX_PER_INCH:
            message = (
                f"The file states no physical size: {read}, as {resolution.told_by}, which saved it, counts. {WIDTH} "
                "gives another finished width."
            )
            yield Finding("size-by-editor", message, remedies=(WIDTH,))
        return
    others = []
    for usual in USUAL:
        if usual != count:
            across, down = (side * count / usual for side in size)
            # Rounded as it is told, so that what is told is what one gets.
            others.append(f"at {usual:g} it is {dimensions(across, down)} ({WIDTH} {decimal(across, 2)}in)")
    message = f"The file states no physical size: {read}. {capital(listed(others))}."
    yield Finding("size-assumed", message, remedies=(WIDTH,))

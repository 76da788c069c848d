"""Small drawings as text, for tests that go all the way from a file to the answer."""

from __future__ import annotations


def polygon(*corners: tuple[float, float]) -> str:
    """Return a polygon as WKT by its corners in turn."""
    return f"POLYGON (({', '.join(f'{x} {y}' for x, y in (*corners, corners[0]))}))"


def box(left: float, top: float, right: float, bottom: float) -> str:
    """Return an upright rectangle as WKT."""
    return polygon((left, top), (right, top), (right, bottom), (left, bottom))


ONE_UNIT = "\n".join(box(0, y, 6, y + 2) for y in (0, 2, 4))
FOUR_PATCH = "\n".join(box(x, y, x + 3, y + 3) for x in (0, 3) for y in (0, 3))

_RING_BOXES = [(0, 4, 4, 6), (4, 2, 6, 6), (2, 0, 6, 2), (0, 0, 2, 4), (2, 2, 4, 4)]
RING = "\n".join(box(*sides) for sides in _RING_BOXES)
"""Four rectangles spun round a square."""
TWO_RINGS = "\n".join(box(a + 8 * n, b, c + 8 * n, d) for n in (0, 1) for a, b, c, d in _RING_BOXES)

CORNER = "\n".join([box(0, 0, 2, 2), polygon((2, 0), (4, 0), (4, 4), (0, 4), (0, 2), (2, 2))])
GAP = "\n".join([box(0, 0, 3, 6), box(3.1, 0, 6, 6), box(0, 6, 6, 7)])
OVERLAPS = "\n".join([box(0, 0, 3.5, 6), box(3, 0, 6.5, 6), box(6, 0, 9, 6)])
HOLE = "\n".join([polygon((0, 0), (6, 0), (6, 6), (0, 6))[:-2] + "), (2 2, 4 2, 4 4, 2 4, 2 2))", box(2, 2, 4, 4)])

CURVE = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="6in" height="6in" viewBox="0 0 6 6">'
    '<rect width="6" height="6" fill="#87ceeb" stroke="#000000" stroke-width="0.01"/>'
    '<path d="M0 0 H4 A4 4 0 0 1 0 4 Z" fill="#c8102e"/></svg>'
)
"""A quarter of a circle in a square, as SVG."""

"""Small SVG drawings for the tests, and what they come to."""

from __future__ import annotations

from collections.abc import Collection
from pathlib import Path
from typing import Any

from seamtree.drawing.drawn import Drawing, Shape
from seamtree.drawing.svg.read import read_svg
from seamtree.tolerances import TOLERANCE

FILES = Path(__file__).parent / "files"
NAMESPACES = 'xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink"'
INKSCAPE = 'xmlns:inkscape="http://www.inkscape.org/namespaces/inkscape"'

ROOT = 'width="10in" height="10in" viewBox="0 0 10 10" stroke-width=".02"'
"""One user unit is one inch, and lines are no strips."""


def svg(body: str, root: str = ROOT) -> bytes:
    """Return a drawing; by default one user unit is one inch."""
    return f"<svg {NAMESPACES} {INKSCAPE} {root}>{body}</svg>".encode()


def read(
    body: str,
    root: str = ROOT,
    *,
    width: float | None = None,
    tolerance: float = TOLERANCE,
    skip_layers: Collection[str] = (),
    **more: Any,
) -> Drawing:
    data = svg(body, root)
    return read_svg(data, source="t.svg", width=width, tolerance=tolerance, skip_layers=skip_layers, **more)


def read_file(name: str, **options: object) -> Drawing:
    return read_svg((FILES / name).read_bytes(), source=name, **options)  # type: ignore[arg-type]


def box(shape: Shape) -> tuple[float, ...]:
    """Return left, top, right and bottom, rounded so that they compare."""
    xs = [x for track in shape.tracks for x, _ in track.points]
    ys = [y for track in shape.tracks for _, y in track.points]
    return tuple(round(value, 6) + 0.0 for value in (min(xs), min(ys), max(xs), max(ys)))


def codes(drawing: Drawing) -> list[str]:
    return [note.code for note in drawing.notes]

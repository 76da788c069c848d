"""Pictures as PNG, painted by resvg with typefaces that come along, so that every machine paints the same."""

from __future__ import annotations

from importlib.util import find_spec
from pathlib import Path

from seamtree.errors import OptionError
from seamtree.picture.shapes import Picture, Text
from seamtree.picture.svg import write_svg

MOST_PIXELS = 20_000
"""Longest side of an image."""

_TYPEFACES = ("Vera.ttf", "VeraBd.ttf")


def write_png(picture: Picture, *, resolution: float) -> bytes:
    """Return a picture as the bytes of a PNG file, on white.

    Parameters
    ----------
    picture
        What to paint.
    resolution
        Pixels to an inch of the picture.

    Raises
    ------
    OptionError
        If the resolution makes no sense or the image would be too large.
    """
    width, height = (side * resolution / 72 for side in (picture.width, picture.height))
    if not 1 <= min(width, height) <= max(width, height) <= MOST_PIXELS:
        raise OptionError(
            f"at {resolution:g} pixels to an inch the picture would have {width:,.0f} × {height:,.0f} pixels; it can "
            f"have 1 to {MOST_PIXELS:,} each way"
        )
    import resvg_py

    return bytes(
        resvg_py.svg_to_bytes(
            svg_string=write_svg(picture),
            background="#ffffff",
            dpi=resolution,
            font_files=[str(file) for file in _typefaces()],
            skip_system_fonts=_covered(picture),
            sans_serif_family="Bitstream Vera Sans",
        )
    )


def _typefaces() -> list[Path]:
    """Return the files of Bitstream Vera Sans, which the package reportlab brings along."""
    spec = find_spec("reportlab")
    if spec is None or spec.origin is None:
        raise ImportError("the package reportlab is not installed")
    return [Path(spec.origin).parent / "fonts" / name for name in _TYPEFACES]


def _covered(picture: Picture) -> bool:
    """Tell whether Bitstream Vera Sans has every letter; other typefaces of the machine help out where it has not."""
    letters = {c for shape in picture.shapes() if isinstance(shape, Text) for c in shape.text}
    return all(ord(c) < 0x100 or c in "–—‘’“”…" for c in letters)

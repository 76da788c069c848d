"""Pictures as PNG, painted by resvg with typefaces that come along, so that every machine paints the same."""

from __future__ import annotations

from importlib.util import find_spec
from pathlib import Path

from seamtree.errors import OptionError
from seamtree.picture.shapes import Picture, Text
from seamtree.picture.svg import write_svg

RESOLUTION = 200.0
"""Pixels to an inch of the picture: fine enough for print, small enough for mail."""

MOST_PIXELS = 20_000
"""Longest side of an image, in pixels."""

_TYPEFACES = ("Vera.ttf", "VeraBd.ttf")


def write_png(picture: Picture, *, resolution: float = RESOLUTION) -> bytes:
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
        If the resolution makes no sense, the image would be too large, or what paints it is not installed.
    """
    side = max(picture.width, picture.height) * resolution / 72
    if not 0 < side <= MOST_PIXELS:
        raise OptionError(f"a picture can have 1 to {MOST_PIXELS:,} pixels on its longer side, not {side:,.0f}")
    try:
        import resvg_py
    except ImportError:
        raise OptionError("PNG files need two more packages: pip install 'seamtree[png]'; SVG files do not") from None
    files = _typefaces()
    return bytes(
        resvg_py.svg_to_bytes(
            svg_string=write_svg(picture),
            background="#ffffff",
            dpi=resolution,
            font_files=[str(file) for file in files],
            skip_system_fonts=_covered(picture),
            sans_serif_family="Bitstream Vera Sans",
        )
    )


def _typefaces() -> list[Path]:
    """Return the files of Bitstream Vera Sans, which the package reportlab brings along."""
    spec = find_spec("reportlab")
    homes = spec.submodule_search_locations if spec else None
    if not homes:
        raise OptionError("PNG files need two more packages: pip install 'seamtree[png]'; SVG files do not")
    return [Path(homes[0]) / "fonts" / name for name in _TYPEFACES]


def _covered(picture: Picture) -> bool:
    """Tell whether Bitstream Vera Sans has every letter; other typefaces of the machine help out where it has not."""
    letters = {c for shape in picture.shapes() if isinstance(shape, Text) for c in shape.text}
    return all(ord(c) < 0x180 or c in "–—‘’“”…" for c in letters)

"""Pictures as files, SVG or PNG by their suffix."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING

from seamtree.errors import OptionError
from seamtree_cli.files import check_target, whole

if TYPE_CHECKING:
    from seamtree.picture import Picture

RESOLUTION = 200.0
"""Pixels to an inch: fine enough for print, small enough for mail."""

_SUFFIXES = (".svg", ".png")


def check_picture(target: Path, *, sources: Iterable[str] = ()) -> None:
    """Refuse a file that a picture cannot be written to.

    Parameters
    ----------
    target
        The file.
    sources
        Files that are read and so must not be overwritten.

    Raises
    ------
    OptionError
        If it has another suffix, is a folder or in no folder, or is one of the sources.
    """
    suffix = target.suffix.lower()
    if suffix not in _SUFFIXES:
        raise OptionError(
            f"a picture is an SVG or PNG file, so its name has to end in .svg or .png, not {target.name!r}"
        )
    check_target(target, what="the picture", suffix=suffix, sources=sources)


def write_picture(target: Path, drawn: Picture, *, resolution: float = RESOLUTION) -> None:
    """Write a picture whole or not at all.

    Parameters
    ----------
    target
        The file, SVG or PNG by its suffix.
    drawn
        The picture.
    resolution
        Pixels to an inch of a PNG file.

    Raises
    ------
    SeamtreeError
        If the file cannot be written, or the image would be too large.
    """
    from seamtree.picture import write_png, write_svg

    content = (
        write_svg(drawn).encode() if target.suffix.lower() == ".svg" else write_png(drawn, resolution=resolution)
    )
    with whole(target) as draft:
        draft.write_bytes(content)

"""SVG drawings of any vector editor.

The way from the file to the drawing: XML (`xml`), what is painted (`scene`), what of that is cloth (`interpret`,
which knows nothing of SVG).
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace

from seamtree.drawing import limits
from seamtree.drawing.drawn import Drawing
from seamtree.drawing.interpret import interpret
from seamtree.drawing.painted import CSS_PX, Resolution
from seamtree.drawing.reading import Reading, White
from seamtree.drawing.svg.editors import resolution_of
from seamtree.drawing.svg.scene import Scene, read_scene
from seamtree.drawing.svg.xml import Element, parse_xml, unpack
from seamtree.errors import DrawingError, Finding
from seamtree.tolerances import TOLERANCE

_MOST_FINDINGS = 50


def read_svg(
    data: bytes,
    *,
    source: str,
    width: float | None = None,
    tolerance: float = TOLERANCE,
    skip_layers: Collection[str] = (),
    marks: Collection[str] = (),
    lines: bool = False,
    white: White | None = None,
) -> Drawing:
    """Read an SVG drawing.

    Parameters
    ----------
    data
        The file, plain or packed with gzip.
    source
        File name for messages.
    width, tolerance, skip_layers, marks, lines, white
        As for `seamtree.drawing.read.read_drawing`; where the file states no size, one user unit is one px.

    Returns
    -------
    Drawing
        Of kind ``painted``.

    Raises
    ------
    DrawingError
        With every finding that makes the drawing unusable.
    LimitError
        When it is larger than a limit in `seamtree.drawing.limits`.
    OptionError
        When an argument makes no sense, or nothing has a name of `skip_layers` or `marks`.
    """
    limits.check_options(width, tolerance)
    how = Reading(width, tolerance, tuple(skip_layers), tuple(marks), lines, white)
    document = parse_xml(unpack(data, source), source)
    root = document.root
    if root.tag != "svg":
        message = f"{source} is an XML file, but not an SVG drawing. Save the drawing as a plain SVG file."
        raise DrawingError(Finding("not-svg", message), source=source)
    return read_document(root, source=source, how=how, resolution=resolution_of(*document))


def read_document(root: Element, *, source: str, how: Reading, resolution: Resolution = CSS_PX) -> Drawing:
    """Read a painted drawing whose tree of SVG elements is there already.

    Parameters
    ----------
    root
        The element `svg`.
    source
        File name for messages.
    how
        How it is to be read.
    resolution
        What a px is worth.

    Raises
    ------
    DrawingError, LimitError, OptionError
        As for `read_svg`.
    """
    scene = read_scene(root, source=source, skip_layers=how.skip_layers, marks=how.marks)
    _raise_findings(scene, source)
    return interpret(replace(scene.sheet, resolution=resolution), how)


def _raise_findings(scene: Scene, source: str) -> None:
    findings = list(scene.findings)
    if not findings:
        return
    if len(findings) > _MOST_FINDINGS:
        more = len(findings) - _MOST_FINDINGS
        findings[_MOST_FINDINGS:] = [Finding("more-findings", f"{source} has {more} more faults of these kinds.")]
    raise DrawingError(findings, source=source)

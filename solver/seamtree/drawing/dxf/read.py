"""A DXF file as a drawing.

The way there: the document and its unit (`document`), how its objects look (`look`), what they paint (`paint`), put
on a canvas that is read as a painted drawing. Only the model is read, not the sheets on which it is laid out.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import replace
from typing import Any

from seamtree.drawing import limits
from seamtree.drawing.canvas import Canvas
from seamtree.drawing.damage import clause
from seamtree.drawing.drawn import Drawing
from seamtree.drawing.dxf.document import FAILURES, damaged, inches_per_unit, load, quiet
from seamtree.drawing.dxf.look import Looks
from seamtree.drawing.dxf.paint import Painter
from seamtree.drawing.reading import Reading, White
from seamtree.drawing.svg.read import read_document
from seamtree.errors import Finding, SeamtreeError
from seamtree.remedies import WIDTH
from seamtree.tolerances import TOLERANCE


def read_dxf(
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
    """Read a DXF drawing.

    Parameters
    ----------
    data
        The file, as text or binary.
    source
        File name for messages.
    width, tolerance, skip_layers, marks, lines, white
        As for `seamtree.drawing.read.read_drawing`. Where the file states no unit it is the millimetre if its
        measures are metric, else the inch.

    Returns
    -------
    Drawing
        Of kind ``painted``.

    Raises
    ------
    DrawingError
        ``damaged-file``, ``bad-number``, and what a painted drawing raises.
    LimitError
        When it is larger than a limit in `seamtree.drawing.limits`.
    OptionError
        When an argument makes no sense, or nothing has a name of `skip_layers` or `marks`.
    """
    limits.check_options(width, tolerance)
    how = Reading(width, tolerance, tuple(skip_layers), tuple(marks), lines, white)
    with quiet():
        document = load(data, source)
        try:
            inches, assumed = inches_per_unit(document)
            canvas = Canvas((0.0, 0.0, 1.0, 1.0), inches=inches, source=source)
            painter = Painter(canvas, Looks(document), inches=inches, source=source)
            painter.paint(document.modelspace().entities_in_redraw_order())
            sheets = sum(_drawn(layout) for layout in document.layouts if not layout.is_modelspace)
        except SeamtreeError:
            raise
        except FAILURES as error:
            raise damaged(source, clause(error)) from error
    drawing = read_document(canvas.root, source=source, how=how)
    notes = [*_unit_note(drawing, assumed, width, source), *_left_out(painter, sheets)]
    return replace(drawing, notes=(*notes, *drawing.notes))


def _drawn(layout: Any) -> int:
    return sum(thing.dxftype() != "VIEWPORT" for thing in layout)


def _unit_note(drawing: Drawing, assumed: str, width: float | None, source: str) -> Iterator[Finding]:
    """Say what size was read where the file does not say its unit."""
    if not assumed or width is not None:
        return
    places = [point for shape in drawing.shapes for track in shape.tracks for point in track.points]
    across, down = (max(point[axis] for point in places) - min(point[axis] for point in places) for axis in (0, 1))
    other, factor = ("inches", 25.4) if assumed == "millimetres" else ("millimetres", 1 / 25.4)
    message = (
        f"{source} does not state its unit. Read in {assumed} it is {across:.2f} × {down:.2f} in; in {other} it "
        f"would be {across * factor:.2f} × {down * factor:.2f} in: give {WIDTH} {across * factor:.2f} for that."
    )
    yield Finding("size-assumed", message, remedies=(WIDTH,))


def _left_out(painter: Painter, sheets: int) -> Iterator[Finding]:
    kinds = [f"{count} {kind}" for kind, count in sorted(painter.left_out.items()) if count]
    if kinds:
        message = f"Left out: {', '.join(kinds)}. Only lines, curves, hatches, faces, blocks and texts are read."
        yield Finding("element-left-out", message)
    if sheets:
        yield Finding("layout-left-out", f"{sheets} objects on layout sheets are left out: only the model is read.")

"""From what a file paints to the drawing: what of it is cloth, what is paper, shading or marking, and its size."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from seamtree.drawing import limits
from seamtree.drawing.clips import ClipChecker
from seamtree.drawing.flatten import Flattener
from seamtree.drawing.model import Drawing, Label, Shading, Shape, Track
from seamtree.drawing.outlines import moved, united
from seamtree.drawing.page import is_page
from seamtree.drawing.painted import PaintedShape, Sheet
from seamtree.drawing.reading import Reading
from seamtree.errors import DrawingError, Finding, LimitError
from seamtree.tolerances import OPAQUE, PX_PER_INCH


def interpret(sheet: Sheet, how: Reading) -> Drawing:
    """Make the drawing of what a file paints.

    Parameters
    ----------
    sheet
        What it paints.
    how
        How it is to be read.

    Returns
    -------
    Drawing
        Of kind ``painted``.

    Raises
    ------
    DrawingError
        ``empty`` or ``zero-size``.
    LimitError
        When it is larger than is read, or has more points.
    """
    shapes, scale, page_note = _without_page(sheet, how)
    if not any(shape.makes_seams for shape in shapes):
        raise DrawingError(_emptiness(sheet, page_note), source=sheet.source)
    _check_extent(shapes, scale, how.tolerance, sheet.source)
    notes = (*sheet.notes, *page_note, *_clip_notes(shapes, scale, how.tolerance, sheet.source))
    drawn = _Flat(shapes, scale, how.tolerance, sheet.source)
    labels = tuple(Label(each.text, (each.at[0] * scale, each.at[1] * scale)) for each in sheet.labels)
    return Drawing(
        sheet.source,
        "painted",
        tuple(drawn.shapes),
        labels,
        tuple(drawn.markings),
        notes,
        tuple(drawn.shadings),
    )


def _without_page(sheet: Sheet, how: Reading) -> tuple[tuple[PaintedShape, ...], float, tuple[Finding, ...]]:
    """Return the shapes without the page, inches to the px, and the note if there was a page."""
    seams = [shape for shape in sheet.shapes if shape.makes_seams]
    # Whether a rectangle is the page depends on the tolerance at a finished size that the page itself is no part of.
    scale = _scale(seams[1:] or seams, how.width)
    if scale and is_page(seams, sheet.page, tolerance=how.tolerance / scale):
        note = Finding("page-left-out", f"The page ({seams[0].name}) is left out: it is no patch.")
        return tuple(shape for shape in sheet.shapes if shape is not seams[0]), scale, (note,)
    return sheet.shapes, _scale(seams, how.width), ()


def _scale(shapes: Sequence[PaintedShape], width: float | None) -> float:
    """Return inches to the px; nought where shapes without a width should be made wide."""
    if width is None:
        return 1 / PX_PER_INCH
    if not shapes:
        return 0.0
    left, _, right, _ = united([shape.bounds for shape in shapes])
    return width / (right - left) if right > left else 0.0


def _emptiness(sheet: Sheet, page_note: Sequence[Finding]) -> Finding:
    """Return the finding for a drawing in which nothing makes a seam, with what it holds instead."""
    holds = []
    if page_note:
        holds.append("its page")
    if sheet.labels:
        holds.append("text")
    if any(shape.veil and shape.fill is not None for shape in sheet.shapes):
        holds.append(f"paint that is less than {OPAQUE:.0%} opaque, which is shading and no patch")
    if any(shape.dashed for shape in sheet.shapes):
        holds.append("dashed lines, which are markings and never seams")
    if sheet.left_out:
        holds.append("what was left out as asked")
    if any(note.code == "image-left-out" for note in sheet.notes):
        holds.append("images")
    what = f"only {' and '.join(holds)}" if holds else "nothing that is painted"
    message = f"{sheet.source} has {what}: there are no lines or filled shapes to make patches of."
    return Finding("empty", message)


def _check_extent(shapes: Sequence[PaintedShape], scale: float, tolerance: float, source: str) -> None:
    """Refuse a drawing whose size cannot be meant."""
    if not scale:
        message = f"{source} is a single upright line, so it cannot be given a width."
        raise DrawingError(Finding("zero-size", message), source=source)
    left, top, right, bottom = (
        side * scale for side in united([shape.bounds for shape in shapes if shape.makes_seams])
    )
    across, down = right - left, bottom - top
    if max(across, down) <= tolerance:
        message = (
            f"{source} is only {across:.3g} by {down:.3g} in at finished size, less than the tolerance of "
            f"{tolerance:g} in. Give its width in inches with --width."
        )
        raise DrawingError(Finding("zero-size", message), source=source)
    if max(across, down) > limits.MAX_INCHES:
        message = (
            f"{source} is {across:.3g} by {down:.3g} in at finished size; at most {limits.MAX_INCHES:,.0f} in are "
            "read. Give its width in inches with --width."
        )
        raise LimitError(Finding("too-large", message), source=source)


def _clip_notes(shapes: Sequence[PaintedShape], scale: float, tolerance: float, source: str) -> Iterator[Finding]:
    checker = ClipChecker(tolerance=tolerance / scale, source=source)
    for shape in shapes:
        filled = shape.fill is not None
        if checker.cuts(shape.clips, shape.outlines, shape.bounds, filled=filled, evenodd=shape.evenodd):
            left, top, right, bottom = (side * scale for side in shape.bounds)
            at = ((left + right) / 2, (top + bottom) / 2)
            message = (
                f"The clip or mask of {shape.name} at ({at[0]:.2f}, {at[1]:.2f}) in is not applied: the whole shape "
                "counts. Cut the shape itself if only a part of it is meant."
            )
            yield Finding("clip-ignored", message, at)


class _Flat:
    """The painted shapes in inches, with chords for curves, by what they are."""

    def __init__(self, shapes: Sequence[PaintedShape], scale: float, tolerance: float, source: str) -> None:
        self.shapes: list[Shape] = []
        self.shadings: list[Shading] = []
        self.markings: list[Track] = []
        self._flattener = Flattener(tolerance=tolerance, source=source)
        self._enlarged = (scale, 0.0, 0.0, scale, 0.0, 0.0)
        for shape in shapes:
            self._take(shape)

    def _take(self, shape: PaintedShape) -> None:
        outlines = [moved(outline, self._enlarged) for outline in shape.outlines]
        if shape.dashed:
            self.markings.extend(self._flattener.tracks(outlines))
        if shape.fill is not None and not shape.covers:
            tracks = self._flattener.tracks(outlines, filled=True)
            if tracks:
                glaze = Shape(tracks, shape.fill, shape.evenodd, False, shape.name)
                self.shadings.append(Shading(glaze, shape.veil, len(self.shapes)))
        if shape.makes_seams:
            tracks = self._flattener.tracks(outlines, filled=shape.covers)
            if tracks:
                fill = shape.fill if shape.covers else None
                self.shapes.append(Shape(tracks, fill, shape.evenodd, shape.stroked, shape.name))

"""From what a file paints to the drawing: what of it is cloth, what is paper, shading or marking, and its size."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator, Sequence
from dataclasses import replace

from seamtree.drawing import limits
from seamtree.drawing.clips import ClipChecker
from seamtree.drawing.drawn import Drawing, Label, Shading, Shape, Track
from seamtree.drawing.fabric_names import Called, fabric_names
from seamtree.drawing.flatten import Flattener
from seamtree.drawing.outlines import Outline, moved, united
from seamtree.drawing.page import find_page, has_straight_outline, scale_of
from seamtree.drawing.painted import PaintedShape, Sheet, Stroke
from seamtree.drawing.reading import Reading
from seamtree.drawing.sizes import size_notes
from seamtree.errors import DrawingError, Finding, Point
from seamtree.remedies import LINES, WHITE_PAPER, WIDTH
from seamtree.tolerances import OPAQUE, STRIP_WIDTH

_ROUNDING = 1e-9


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
    page = find_page(sheet, how)
    if page is None:
        return _Judge(sheet, how).drawing()
    rest = tuple([shape for shape in sheet.shapes if shape is not page])
    left_out = Finding("page-left-out", f"The page ({page.name}) is left out: it is no patch.")
    drawing = _Judge(replace(sheet, shapes=rest, notes=(*sheet.notes, left_out)), how).drawing()
    if how.white == "paper" or has_straight_outline(drawing.shapes):
        return drawing
    message = (
        f"The white rectangle ({page.name}) counts as fabric, for the outline of what is drawn on it is curved and "
        f"so hardly that of a block. If it is only the page, say {WHITE_PAPER}."
    )
    kept = Finding("white-is-fabric", message, remedies=(WHITE_PAPER,))
    return _Judge(replace(sheet, notes=(*sheet.notes, kept)), how).drawing()


class _Judge:
    """Tells what of a sheet is what, once it is settled whether it has a page."""

    def __init__(self, sheet: Sheet, how: Reading) -> None:
        self._sheet = sheet
        self._how = how
        seams = [shape for shape in sheet.shapes if shape.makes_seams]
        if not seams:
            raise DrawingError(_emptiness(sheet), source=sheet.source)
        scale = scale_of(seams, sheet, how)
        _check_extent(seams, scale, how.tolerance, sheet.source)
        self._strips = self._find_strips(scale)
        self._scale = scale
        self._flat = self._flattened()
        if not self._flat.shapes:
            message = f"{sheet.source} has only lines without length: there is nothing to make patches of."
            raise DrawingError(Finding("empty", message), source=sheet.source)
        if self._strips and how.width is not None:
            # Strips reach out farther than their centre lines, so the width is known only now.
            self._scale *= how.width / self._flat.size[0]
            self._flat = self._flattened()

    def drawing(self) -> Drawing:
        """Return the drawing."""
        sheet, scale, flat = self._sheet, self._scale, self._flat
        return Drawing(
            sheet.source,
            "painted",
            tuple(flat.shapes),
            tuple([Label(each.text, (each.at[0] * scale, each.at[1] * scale)) for each in sheet.labels]),
            tuple(flat.markings),
            (*sheet.notes, *self._notes()),
            tuple(flat.shadings),
            fabric_names(self._cloth()),
        )

    def _cloth(self) -> Iterator[tuple[str, Called]]:
        """Yield the fabric of each shape that may be cloth, and what it is called."""
        for k, shape in enumerate(self._sheet.shapes):
            if shape.covers and shape.fill is not None:
                yield shape.fill, shape.called
            elif k in self._strips and shape.stroke is not None:
                yield shape.stroke.fabric, shape.called

    def _flattened(self) -> _Flat:
        return _Flat(self._sheet, self._scale, self._how.tolerance, self._strips)

    def _find_strips(self, scale: float) -> frozenset[int]:
        """Return the numbers of the shapes whose strokes are strips of fabric: thick ones without fill."""
        shapes = self._sheet.shapes
        if self._how.lines or not any(shape.covers for shape in shapes):
            return frozenset()
        return frozenset(
            [k for k, shape in enumerate(shapes) if shape.stroked and not shape.covers and _is_thick(shape, scale)]
        )

    def _notes(self) -> Iterator[Finding]:
        sheet, scale = self._sheet, self._scale
        if self._how.width is None and sheet.resolution.told_by != "stated":
            yield from size_notes(self._flat.size, sheet.resolution)
        marked = sum(shape.marked for shape in sheet.shapes)
        if marked:
            many = "1 shape is" if marked == 1 else f"{marked} shapes are"
            yield Finding("sewn-on", f"{many} sewn on afterwards, as asked: markings and no seams.")
        strips = [sheet.shapes[k] for k in sorted(self._strips)]
        if strips:
            at = _middle(strips[0], scale)
            which = f"{strips[0].name} at ({at[0]:.2f}, {at[1]:.2f}) in"
            many = f"{len(strips)} strokes, one of them {which}, count as strips" if strips[1:] else which
            many += "" if strips[1:] else " counts as a strip"
            message = (
                f"{many} of fabric: wider than {STRIP_WIDTH:g} in, and without fill. If strokes are only lines, say "
                f"{LINES}."
            )
            told = message if strips[1:] else f"The stroke of {message}"
            yield Finding("stroke-is-fabric", told, at, remedies=(LINES,))
        yield from self._beyond_page()
        checker = ClipChecker(tolerance=self._how.tolerance / scale, source=sheet.source, page=sheet.page)
        for shape in sheet.shapes:
            filled = shape.fill is not None
            if shape.marked:
                continue
            if checker.cuts(shape.clips, shape.outlines, shape.bounds, filled=filled, evenodd=shape.evenodd):
                at = _middle(shape, scale)
                message = (
                    f"The clip or mask of {shape.name} at ({at[0]:.2f}, {at[1]:.2f}) in is not applied: the whole "
                    "shape counts. Cut the shape itself if only a part of it is meant."
                )
                yield Finding("clip-ignored", message, at)

    def _beyond_page(self) -> Iterator[Finding]:
        """Tell of shapes that the edge of the page would cut: they count whole."""
        if not self._sheet.has_page:
            return
        left, top, right, bottom = self._sheet.page
        slack = self._how.tolerance / self._scale
        for shape in self._sheet.shapes:
            x0, y0, x1, y1 = shape.bounds
            seen = x1 > left and y1 > top and x0 < right and y0 < bottom
            out = min(x0 - left, y0 - top, right - x1, bottom - y1) < -slack
            if shape.makes_seams and seen and out:
                at = _middle(shape, self._scale)
                message = (
                    f"A part of {shape.name} at ({at[0]:.2f}, {at[1]:.2f}) in lies beyond the edge of the page; the "
                    "whole shape counts. Cut it at the edge if only the rest is meant."
                )
                yield Finding("beyond-page", message, at)


def _is_thick(shape: PaintedShape, scale: float) -> bool:
    stroke = shape.stroke
    if stroke is None:
        return False
    a, b, c, d, _, _ = stroke.matrix
    return stroke.width * math.sqrt(abs(a * d - b * c)) * scale > STRIP_WIDTH + _ROUNDING


def _middle(shape: PaintedShape, scale: float) -> Point:
    left, top, right, bottom = (side * scale for side in shape.bounds)
    return (left + right) / 2, (top + bottom) / 2


def _emptiness(sheet: Sheet) -> Finding:
    """Return the finding for a drawing in which nothing makes a seam, with what it holds instead."""
    holds = []
    if any(note.code == "page-left-out" for note in sheet.notes):
        holds.append("its page")
    if sheet.labels:
        holds.append("text")
    if any(shape.veil and shape.fill is not None and not shape.marked for shape in sheet.shapes):
        holds.append(f"paint that is less than {OPAQUE:.0%} opaque, which is shading and no patch")
    if any(shape.marked for shape in sheet.shapes):
        holds.append("what is sewn on afterwards")
    if any(shape.dashed and not shape.marked for shape in sheet.shapes):
        holds.append("dashed lines, which are markings and never seams")
    if sheet.left_out:
        holds.append("what was left out as asked")
    if any(note.code == "image-left-out" for note in sheet.notes):
        holds.append("images")
    what = f"only {' and '.join(holds)}" if holds else "nothing that is painted"
    message = f"{sheet.source} has {what}: there are no lines or filled shapes to make patches of."
    return Finding("empty", message)


def _check_extent(seams: Sequence[PaintedShape], scale: float, tolerance: float, source: str) -> None:
    """Refuse a drawing whose size cannot be meant."""
    if not scale:
        message = f"{source} is a single upright line, so it cannot be given a width."
        raise DrawingError(Finding("zero-size", message), source=source)
    left, top, right, bottom = (side * scale for side in united([shape.bounds for shape in seams]))
    across, down = right - left, bottom - top
    if max(across, down) <= tolerance:
        message = (
            f"{source} is only {across:.3g} by {down:.3g} in at finished size, less than the tolerance of "
            f"{tolerance:g} in. Give its width in inches with {WIDTH}."
        )
        raise DrawingError(Finding("zero-size", message, remedies=(WIDTH,)), source=source)
    if max(across, down) > limits.MAX_INCHES:
        message = (
            f"{source} is {across:.3g} by {down:.3g} in at finished size; at most {limits.MAX_INCHES:,.0f} in are "
            f"read. Give its width in inches with {WIDTH}."
        )
        limits.refuse(message, source=source, remedies=(WIDTH,))


class _Flat:
    """The painted shapes in inches, with chords for curves, by what they are."""

    def __init__(self, sheet: Sheet, scale: float, tolerance: float, strips: Collection[int]) -> None:
        self.shapes: list[Shape] = []
        self.shadings: list[Shading] = []
        self.markings: list[Track] = []
        self._scale = scale
        self._tolerance = tolerance
        self._flattener = Flattener(tolerance=tolerance, source=sheet.source)
        for k, shape in enumerate(sheet.shapes):
            self._take(shape, is_strip=k in strips)

    @property
    def size(self) -> tuple[float, float]:
        """Width and height of the bounding box of all that makes seams, inches."""
        xs, ys = zip(
            *(point for shape in self.shapes for track in shape.tracks for point in track.points), strict=True
        )
        return max(xs) - min(xs), max(ys) - min(ys)

    def _take(self, shape: PaintedShape, *, is_strip: bool) -> None:
        enlarged = (self._scale, 0.0, 0.0, self._scale, 0.0, 0.0)
        outlines = [moved(outline, enlarged) for outline in shape.outlines]
        line = None if shape.stroke is None else shape.stroke.fabric
        if shape.marked:
            tracks = self._flattener.tracks(outlines, filled=shape.fill is not None)
            self.markings += (
                replace(track, line=line, fill=shape.fill if track.closed else None) for track in tracks
            )
            return
        if shape.dashed:
            self.markings += (replace(track, line=line) for track in self._flattener.tracks(outlines))
        if shape.fill is not None and not shape.covers:
            self._shade(Shape(self._closed(outlines), shape.fill, shape.evenodd, False, shape.name), shape.veil)
        if is_strip and shape.stroke is not None:
            self._take_strip(outlines, shape.stroke, shape.name)
        elif shape.makes_seams:
            tracks = self._closed(outlines) if shape.covers else self._flattener.tracks(outlines)
            fill = shape.fill if shape.covers else None
            self._draw(Shape(tracks, fill, shape.evenodd, shape.stroked, shape.name))

    def _closed(self, outlines: Sequence[Outline]) -> tuple[Track, ...]:
        return self._flattener.tracks(outlines, filled=True)

    def _take_strip(self, outlines: Sequence[Outline], stroke: Stroke, name: str) -> None:
        from seamtree.drawing.strips import strip_tracks

        lines = self._flattener.tracks(outlines)
        tracks = strip_tracks(lines, stroke, self._scale, tolerance=self._tolerance, flattener=self._flattener)
        strip = Shape(tracks, stroke.fabric, True, False, name)
        if stroke.veil:
            self._shade(strip, stroke.veil)
        else:
            self._draw(strip)

    def _shade(self, shape: Shape, veil: str) -> None:
        if shape.tracks:
            self.shadings.append(Shading(shape, veil, len(self.shapes)))

    def _draw(self, shape: Shape) -> None:
        if shape.tracks:
            self.shapes.append(shape)

"""SVG drawings of any vector editor.

The way from the file to the drawing: XML (`xml`), what is painted (`scene`), the page and the size (here), chords
(`flatten`).
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence

from seamtree.drawing import limits
from seamtree.drawing.clips import ClipChecker
from seamtree.drawing.flatten import Flattener
from seamtree.drawing.model import Drawing, Label, Shape, Track
from seamtree.drawing.outlines import moved, united
from seamtree.drawing.page import is_page
from seamtree.drawing.scene import PaintedShape, Scene, read_scene
from seamtree.drawing.xml import Element, parse_xml, unpack
from seamtree.errors import DrawingError, Finding, LimitError
from seamtree.tolerances import PX_PER_INCH, TOLERANCE

_MOST_FINDINGS = 50


def read_svg(
    data: bytes,
    *,
    source: str,
    width: float | None = None,
    tolerance: float = TOLERANCE,
    skip_layers: Collection[str] = (),
) -> Drawing:
    """Read an SVG drawing.

    Parameters
    ----------
    data
        The file, plain or packed with gzip.
    source
        File name for messages.
    width, tolerance, skip_layers
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
        When an argument makes no sense, or nothing has a name of `skip_layers`.
    """
    limits.check_options(width, tolerance)
    root = parse_xml(unpack(data, source), source)
    if root.tag != "svg":
        message = f"{source} is an XML file, but not an SVG drawing. Save the drawing as a plain SVG file."
        raise DrawingError(Finding("not-svg", message), source=source)
    return read_document(root, source=source, width=width, tolerance=tolerance, skip_layers=skip_layers)


def read_document(
    root: Element, *, source: str, width: float | None, tolerance: float, skip_layers: Collection[str]
) -> Drawing:
    """Read a painted drawing whose tree of SVG elements is there already; all else is as for `read_svg`."""
    scene = read_scene(root, source=source, skip_layers=skip_layers)
    _raise_findings(scene, source)
    shapes, scale, page_note = _without_page(scene, width, tolerance)
    if not any(map(_makes_seams, shapes)):
        raise DrawingError(_emptiness(scene, page_note, source), source=source)
    _check_extent(shapes, scale, tolerance, source)
    notes = (*scene.notes, *page_note, *_clip_notes(shapes, scale, tolerance, source))
    drawn, markings = _flattened(shapes, scale, tolerance, source)
    labels = tuple(Label(each.text, (each.at[0] * scale, each.at[1] * scale)) for each in scene.labels)
    return Drawing(source, "painted", drawn, labels, markings, notes)


def _raise_findings(scene: Scene, source: str) -> None:
    findings = list(scene.findings)
    if not findings:
        return
    if len(findings) > _MOST_FINDINGS:
        more = len(findings) - _MOST_FINDINGS
        findings[_MOST_FINDINGS:] = [Finding("more-findings", f"{source} has {more} more faults of these kinds.")]
    raise DrawingError(findings, source=source)


def _makes_seams(shape: PaintedShape) -> bool:
    """Tell whether a shape counts; one that is only a dashed line is a marking."""
    return shape.stroked or shape.fill is not None


def _without_page(
    scene: Scene, width: float | None, tolerance: float
) -> tuple[tuple[PaintedShape, ...], float, tuple[Finding, ...]]:
    """Return the shapes without the page, inches to the px, and the note if there was a page."""
    seams = [shape for shape in scene.shapes if _makes_seams(shape)]
    # Whether a rectangle is the page depends on the tolerance at a finished size that the page itself is no part of.
    scale = _scale(seams[1:] or seams, width)
    if scale and is_page(seams, scene.page, tolerance=tolerance / scale):
        note = Finding("page-left-out", f"The page ({seams[0].name}) is left out: it is no patch.")
        return tuple(shape for shape in scene.shapes if shape is not seams[0]), scale, (note,)
    return scene.shapes, _scale(seams, width), ()


def _scale(shapes: Sequence[PaintedShape], width: float | None) -> float:
    """Return inches to the px; nought where shapes without a width should be made wide."""
    if width is None:
        return 1 / PX_PER_INCH
    if not shapes:
        return 0.0
    left, _, right, _ = united([shape.bounds for shape in shapes])
    return width / (right - left) if right > left else 0.0


def _emptiness(scene: Scene, page_note: Sequence[Finding], source: str) -> Finding:
    """Return the finding for a drawing in which nothing makes a seam, with what it holds instead."""
    holds = []
    if page_note:
        holds.append("its page")
    if scene.labels:
        holds.append("text")
    if scene.shapes and not page_note:
        holds.append("dashed lines, which are markings and never seams")
    if scene.left_out:
        holds.append("what was left out as asked")
    if any(note.code == "image-left-out" for note in scene.notes):
        holds.append("images")
    what = f"only {' and '.join(holds)}" if holds else "nothing that is painted"
    message = f"{source} has {what}: there are no lines or filled shapes to make patches of."
    return Finding("empty", message)


def _check_extent(shapes: Sequence[PaintedShape], scale: float, tolerance: float, source: str) -> None:
    """Refuse a drawing whose size cannot be meant."""
    if not scale:
        message = f"{source} is a single upright line, so it cannot be given a width."
        raise DrawingError(Finding("zero-size", message), source=source)
    left, top, right, bottom = (
        side * scale for side in united([shape.bounds for shape in shapes if _makes_seams(shape)])
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


def _flattened(
    shapes: Sequence[PaintedShape], scale: float, tolerance: float, source: str
) -> tuple[tuple[Shape, ...], tuple[Track, ...]]:
    """Return the shapes that make seams, and the tracks of the markings, in inches."""
    flattener = Flattener(tolerance=tolerance, source=source)
    enlarged = (scale, 0.0, 0.0, scale, 0.0, 0.0)
    drawn = []
    markings: list[Track] = []
    for shape in shapes:
        outlines = [moved(outline, enlarged) for outline in shape.outlines]
        if shape.dashed:
            markings.extend(flattener.tracks(outlines))
        if _makes_seams(shape):
            tracks = flattener.tracks(outlines, filled=shape.fill is not None)
            if tracks:
                drawn.append(Shape(tracks, shape.fill, shape.evenodd, shape.stroked, shape.name))
    return tuple(drawn), tuple(markings)

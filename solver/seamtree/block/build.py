"""From drawings and polygons to blocks."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import combinations
from pathlib import Path
from typing import Any

import numpy as np
import shapely
import shapely.affinity

from seamtree import arguments
from seamtree.block.assemble import Face, assemble_block
from seamtree.block.cover import NOTHING, Cover, find_cover
from seamtree.block.faces import OPEN, Faces
from seamtree.block.faults import check_crossings, check_scale, find_faults, letters, unfilled_notes
from seamtree.block.heal import close_slivers, without_closed_tips
from seamtree.block.lettering import find_lettering
from seamtree.block.model import Block
from seamtree.block.noding import build_network
from seamtree.block.notes import bite_notes, gathered, size_notes
from seamtree.block.paint import Painting, drawn_points, paint
from seamtree.block.places import place
from seamtree.block.sewn_on import as_markings, small_shapes
from seamtree.block.shading import Shade, find_shades, lone_shades, shading_notes
from seamtree.block.sketch import FLOATING, Area, Sketch
from seamtree.block.smooth import curved_edges
from seamtree.drawing import limits
from seamtree.drawing.drawn import STRAIGHT, Drawing, Label, Shape, Track
from seamtree.drawing.reading import White
from seamtree.errors import DrawingError, Finding, OptionError, Point
from seamtree.tolerances import FLATTEN_SHARE, TOLERANCE

_LINE = 0.08
"""Texts of a patch whose middles differ less in height stand on one line, inches: half the height of small print."""

_ON_TOP = 0.05
"""Texts of a patch whose middles are nearer to each other hide each other, inches."""
_ROUNDS = 4
"""How often small shapes are taken off, for there may be others below them."""


def read(
    path: str | Path,
    *,
    width: float | None = None,
    tolerance: float = TOLERANCE,
    skip_layers: Collection[str] = (),
    marks: Collection[str] = (),
    lines: bool = False,
    white: White | None = None,
    pdf_page: int | None = None,
) -> tuple[Block, ...]:
    """Read the blocks of a drawing.

    Parameters
    ----------
    path
        SVG, PDF, DXF, GeoJSON or WKT file; ``-`` for standard input.
    width
        Inches that the bounding box of the whole drawing is made wide; None keeps the size that the file states.
    tolerance
        What cloth cannot tell apart, inches.
    skip_layers
        Labels, ids or classes of what to leave out.
    marks
        Labels, ids or classes of what is sewn on afterwards: markings and no seams.
    lines
        Whether strokes are lines however thick they are (see `seamtree.drawing.read.read_drawing`).
    white
        Whether a white rectangle under everything is ``paper`` or ``fabric``; None lets the drawing decide.
    pdf_page
        Number of the page of a PDF file, from 1 on; None for the first.

    Returns
    -------
    tuple of Block
        Sorted by the left, then the top of their bounding boxes.

    Raises
    ------
    DrawingError
        If the drawing cannot be used; it names every place that is wrong.
    OptionError
        If an option makes no sense.
    """
    from seamtree.drawing.read import read_drawing

    drawing = read_drawing(
        path,
        width=width,
        tolerance=tolerance,
        skip_layers=skip_layers,
        marks=marks,
        lines=lines,
        white=white,
        pdf_page=pdf_page,
    )
    return build_blocks(drawing, tolerance=tolerance)


def build_blocks(drawing: Drawing, *, tolerance: float = TOLERANCE) -> tuple[Block, ...]:
    """Build the planar maps of the blocks of a drawing.

    Parameters
    ----------
    drawing
        What a reader made of a file.
    tolerance
        What cloth cannot tell apart, inches.

    Returns
    -------
    tuple of Block
        One for each separate outline, sorted by the left, then the top of their bounding boxes. Outlines that touch
        in single points only are separate.

    Raises
    ------
    DrawingError
        If the drawing cannot be used; it names every place that is wrong, in inches from the top left corner of
        the drawing's bounding box.
    OptionError
        If the tolerance makes no sense.
    """
    limits.check_options(None, tolerance)
    stage, faults = _staged(drawing, tolerance=tolerance)
    if faults:
        raise DrawingError(faults, source=drawing.source)
    return _blocks(stage, tolerance=tolerance)


def build_sketches(drawing: Drawing, *, tolerance: float = TOLERANCE) -> tuple[Sketch, ...]:
    """Build the blocks of a drawing as they are drawn, floating patches and all.

    Parameters
    ----------
    drawing
        What a reader made of a file.
    tolerance
        What cloth cannot tell apart, inches.

    Returns
    -------
    tuple of Sketch
        In the order of `build_blocks`, with the faults of each.

    Raises
    ------
    DrawingError
        If there are faults that no added seam mends.
    """
    limits.check_options(None, tolerance)
    stage, faults = _staged(drawing, tolerance=tolerance)
    if any(fault.code not in FLOATING for fault in faults):
        raise DrawingError(faults, source=drawing.source)
    return tuple(_sketches(stage, faults, tolerance=tolerance))


def map_drawing(drawing: Drawing, *, tolerance: float) -> tuple[Faces, Point, list[Finding]]:
    """Return what the lines of a drawing enclose, from its top left corner; that corner; and what is wrong with it.

    Parameters
    ----------
    drawing
        What a reader made of a file.
    tolerance
        What cloth cannot tell apart, inches.

    Raises
    ------
    DrawingError
        If nothing can be made of the drawing at all.
    """
    stage, faults = _staged(drawing, tolerance=tolerance)
    return stage.faces, stage.painting.corner, faults


def _staged(drawing: Drawing, *, tolerance: float) -> tuple[_Stage, list[Finding]]:
    """Make faces of a drawing, without what is sewn on afterwards; return them and what is wrong with them."""
    if not drawing.shapes:
        message = "The drawing has no lines or filled shapes to make patches of."
        raise DrawingError(Finding("empty", message), source=drawing.source)
    written = find_lettering(drawing, tolerance=tolerance)
    if written:
        drawing = as_markings(drawing, written, are_letters=True)
    stage = _mapped(drawing, tolerance=tolerance)
    for _ in range(_ROUNDS):
        lifted = small_shapes(stage.painting, stage.faces, tolerance=tolerance)
        if not lifted:
            break
        stage = _mapped(as_markings(stage.painting.drawing, lifted), tolerance=tolerance)
    faults = _faults(stage, tolerance=tolerance)
    lifted = letters(faults, stage.painting)
    if lifted:
        stage = _mapped(as_markings(stage.painting.drawing, lifted, are_letters=True), tolerance=tolerance)
        faults = _faults(stage, tolerance=tolerance)
    return stage, faults


@dataclass(frozen=True, slots=True)
class _Stage:
    """A drawing made into faces."""

    painting: Painting
    faces: Faces
    cover: Cover
    shades: Sequence[Shade]
    healed: tuple[Finding, ...]


def _mapped(drawing: Drawing, *, tolerance: float) -> _Stage:
    points = drawn_points(drawing)
    check_scale(drawing, points, tolerance=tolerance)
    painting = paint(drawing, points, tolerance=tolerance)
    check_crossings(painting, tolerance=tolerance)
    visible = FLATTEN_SHARE * tolerance
    network = build_network(painting.seen, tolerance=tolerance, visible=visible)
    faces, closed = close_slivers(network, tolerance=tolerance)
    faces, tips = without_closed_tips(faces, painting.seen, tolerance=tolerance, visible=visible)
    _check_patches(len(faces.rings), drawing.source)
    cover = find_cover(faces, painting.fills, tolerance=tolerance)
    return _Stage(painting, faces, cover, find_shades(painting), _healed(network.snapped, closed + tips))


def _faults(stage: _Stage, *, tolerance: float) -> list[Finding]:
    faults = find_faults(stage.painting, stage.faces, stage.cover, tolerance=tolerance)
    return [*faults, *lone_shades(stage.shades, stage.faces)]


def block_from_polygons(
    polygons: Iterable[Any],
    *,
    fabrics: Sequence[str | None] | None = None,
    labels: Sequence[str | None] | None = None,
    tolerance: float = TOLERANCE,
    name: str = "block",
) -> Block:
    """Build a block from polygons that lie side by side.

    Parameters
    ----------
    polygons
        Shapely polygons, GeoJSON-like mappings, or sequences of corners; inches, y down.
    fabrics, labels
        One for each polygon: a text, or None.
    tolerance
        What cloth cannot tell apart, inches.
    name
        Name of the block.

    Returns
    -------
    Block
        The one block that they form.

    Raises
    ------
    DrawingError
        If polygons cross themselves, overlap, leave gaps or holes, or do not form one block.
    OptionError
        If an argument is of the wrong type or makes no sense, or there are more or fewer fabrics or labels than
        polygons.

    Examples
    --------
    >>> import seamtree
    >>> seamtree.block_from_polygons([[(0, 0), (4, 0), (4, 2), (0, 2)], [(0, 2), (4, 2), (4, 4), (0, 4)]])
    <Block 'block': 4 × 4 in, 2 patches, 6 junctions>
    """
    arguments.text("name", name)
    tolerance = arguments.number("tolerance", tolerance, unit="inches")
    shapes = [_polygon(p, k) for k, p in enumerate(arguments.several("polygons", polygons), 1)]
    words = (_words(key, given, len(shapes)) for key, given in (("fabrics", fabrics), ("labels", labels)))
    told = list(zip(shapes, *words, strict=True))
    drawing = Drawing(
        name,
        "polygons",
        tuple(
            Shape(_tracks(s), fabric or "", True, False, f"polygon {k}") for k, (s, fabric, _) in enumerate(told, 1)
        ),
        tuple(_label(s, label) for s, _, label in told if label),
    )
    blocks = build_blocks(drawing, tolerance=tolerance)
    if len(blocks) > 1:
        message = f"The polygons form {len(blocks)} blocks that share no edges. Build each of them on its own."
        raise DrawingError(Finding("several-blocks", message), source=name)
    return replace(blocks[0], name=name)


def _words(name: str, given: Any, count: int) -> Sequence[str | None]:
    """Return the fabrics or labels of polygons."""
    if given is None:
        return [None] * count
    found = arguments.several(name, given)
    for word in found:
        if word is not None:
            arguments.text(name, word)
    if len(found) != count:
        raise OptionError(f"{name} must be {count}, one for each polygon, not {len(found)}", argument=name)
    return found


def _polygon(polygon: Any, number: int) -> shapely.Polygon:
    try:
        made = shapely.geometry.shape(polygon) if isinstance(polygon, Mapping) else shapely.Polygon(polygon)
    except Exception:  # what anything may be taken for, and how it then fails, is up to shapely and numpy
        made = None
    if not isinstance(made, shapely.Polygon) or made.is_empty:
        raise DrawingError(Finding("zero-size", f"Polygon {number} is no polygon, or has no area."))
    if not made.is_valid:
        message = f"Polygon {number} cannot be used: {shapely.is_valid_reason(made)}."
        raise DrawingError(Finding("self-crossing", message))
    return made


def _tracks(polygon: shapely.Polygon) -> tuple[Track, ...]:
    rings = [ring.coords[:-1] for ring in (polygon.exterior, *polygon.interiors)]
    return tuple(
        Track(tuple((float(x), float(y)) for x, y, *_ in ring), True, (STRAIGHT,) * len(ring)) for ring in rings
    )


def _label(polygon: shapely.Polygon, text: str) -> Label:
    middle = shapely.point_on_surface(polygon)
    return Label(text, (middle.x, middle.y))


def _check_patches(count: int, source: str) -> None:
    """Refuse more patches than are planned, before the time is spent."""
    if count > limits.MAX_PATCHES:
        limits.refuse(
            f"The drawing has {count:,} patches; at most {limits.MAX_PATCHES:,} are taken in. Split it into several "
            "drawings.",
            source=source,
        )


def _healed(snapped: int, closed: int) -> tuple[Finding, ...]:
    told = []
    if snapped:
        told.append(
            "1 end that missed its line was" if snapped == 1 else f"{snapped} ends that missed their lines were"
        )
        told[0] += " moved onto it" if snapped == 1 else " moved onto them"
    if closed:
        told.append("1 sliver was closed up" if closed == 1 else f"{closed} slivers were closed up")
    return (Finding("healed", f"Healed: {', and '.join(told)}."),) if told else ()


# -- blocks ---------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Frame:
    """The bounding box of a block, in the frame of the drawing's top left corner."""

    left: float
    top: float
    right: float
    bottom: float

    def moved(self, at: Point) -> Point:
        return at[0] - self.left, at[1] - self.top

    def holds(self, at: Point) -> bool:
        return self.left <= at[0] <= self.right and self.top <= at[1] <= self.bottom


def _blocks(stage: _Stage, *, tolerance: float) -> tuple[Block, ...]:
    """Build the blocks of a drawing in which nothing is wrong."""
    painting, faces, cover = stage.painting, stage.faces, stage.cover
    drawing, corner = painting.drawing, painting.corner
    groups = _groups(faces)
    labels, stray = _labels(faces, drawing.labels, corner)
    unfilled = dict(unfilled_notes(cover))
    curves = curved_edges(faces.network, drawing.shapes, painting.seen.curve, tolerance=tolerance)
    vertices = [(x, y) for x, y in faces.network.points.tolist()]
    fills = [None if s == NOTHING else drawing.shapes[s].fill or None for s in cover.top.tolist()]
    name = "drawing" if drawing.source == "-" else Path(drawing.source).stem or drawing.source
    frames = [_frame(faces, group) for group in groups]
    blocks = []
    for number, (group, frame) in enumerate(zip(groups, frames, strict=True), 1):
        block = assemble_block(
            vertices,
            [Face(faces.rings[f], fills[f], labels.get(f)) for f in group],
            tolerance=tolerance,
            name=f"{name} {number}" if len(groups) > 1 else name,
            curves=curves,
        )
        alone = len(groups) == 1
        notes = gathered(
            [
                *(_moved_note(note, corner, frame) for note in drawing.notes),
                *stage.healed,
                *(_unfilled(cover, f, what, frame) for f, what in unfilled.items() if f in set(group)),
                *size_notes(block),
                *bite_notes(block),
                *shading_notes(stage.shades, block, (frame.left, frame.top)),
                *(_moved_note(note, (0.0, 0.0), frame) for f, note in stray if f is None or f in set(group)),
            ]
        )
        markings = tuple(_markings(drawing.markings, corner, frame, alone=alone))
        names = _fabric_names(drawing, (patch.fabric for patch in block.patches))
        blocks.append(replace(block, notes=notes, markings=markings, fabric_names=names))
    return tuple(blocks)


def _sketches(stage: _Stage, faults: Sequence[Finding], *, tolerance: float) -> Iterator[Sketch]:
    """Yield the blocks of a drawing in which patches may float in others."""
    painting, faces, cover = stage.painting, stage.faces, stage.cover
    drawing, corner, network = painting.drawing, painting.corner, faces.network
    floating: dict[int, list[int]] = {}
    rims: set[tuple[int, int]] = set()
    for piece, face in faces.islands:
        rims.update(_sides(faces.pieces[piece]))
        members = set(faces.pieces[piece])
        floating.setdefault(face, []).extend(f for f, ring in enumerate(faces.rings) if members & set(ring))
    groups = _groups(faces, floating)
    labels, _ = _labels(faces, drawing.labels, corner)
    curves = curved_edges(network, drawing.shapes, painting.seen.curve, tolerance=tolerance)
    fills = [None if s == NOTHING else drawing.shapes[s].fill or None for s in cover.top.tolist()]
    name = "drawing" if drawing.source == "-" else Path(drawing.source).stem or drawing.source
    for number, group in enumerate(groups, 1):
        frame = _frame(faces, group)
        sides: dict[tuple[int, int], int] = {}
        for f in group:
            for side in _sides(faces.rings[f]):
                sides[side] = sides.get(side, 0) + 1
        used = {v: k for k, v in enumerate(sorted({v for side in sides for v in side}))}
        places = network.points.tolist()
        shapes = [shapely.affinity.translate(faces.polygons[f], -frame.left, -frame.top) for f in group]
        yield Sketch(
            f"{name} {number}" if len(groups) > 1 else name,
            tolerance,
            tuple(frame.moved((places[v][0], places[v][1])) for v in used),
            tuple((used[a], used[b]) for a, b in sides),
            tuple(curves.get(side) for side in sides),
            tuple(count == 1 and side not in rims for side, count in sides.items()),
            tuple(
                Area(shape if shape.is_valid else shape.buffer(0), fills[f], labels.get(f))
                for f, shape in zip(group, shapes, strict=True)
            ),
            (corner[0] + frame.left, corner[1] + frame.top),
            tuple(_moved_note(fault, (0.0, 0.0), frame) for fault in faults if fault.at and frame.holds(fault.at)),
            tuple(_moved_note(note, corner, frame) for note in drawing.notes) + stage.healed,
            tuple(_markings(drawing.markings, corner, frame, alone=len(groups) == 1)),
            _fabric_names(drawing, (fills[f] for f in group)),
        )


def _fabric_names(drawing: Drawing, fabrics: Iterable[str | None]) -> tuple[tuple[str, str], ...]:
    """Return what a drawing calls some fabrics."""
    used = set(fabrics)
    return tuple((fabric, name) for fabric, name in drawing.fabric_names if fabric in used)


def _sides(ring: Sequence[int]) -> list[tuple[int, int]]:
    """Return the pairs of vertices along a ring, the smaller first."""
    return [(min(a, b), max(a, b)) for a, b in zip(ring, (*ring[1:], ring[0]), strict=True)]


def _groups(faces: Faces, floating: Mapping[int, Sequence[int]] | None = None) -> list[list[int]]:
    """Gather the faces that hang together by edges; the groups sorted by the left, then the top of their boxes.

    With `floating`, what floats in a face belongs to it.
    """
    within: dict[int, list[int]] = {}
    for face, others in (floating or {}).items():
        for other in others:
            within.setdefault(face, []).append(other)
            within.setdefault(other, []).append(face)
    group = [-1] * len(faces.rings)
    groups: list[list[int]] = []
    for start in range(len(group)):
        if group[start] >= 0:
            continue
        group[start] = len(groups)
        found = [start]
        for face in found:
            for other in (*faces.beside[face], *within.get(face, ())):
                if other != OPEN and group[other] < 0:
                    group[other] = len(groups)
                    found.append(other)
        groups.append(sorted(found))
    if len(groups) < 2:
        return groups
    bounds = np.round(shapely.bounds(faces.polygons), 6)
    return sorted(groups, key=lambda members: (*bounds[members, :2].min(axis=0).tolist(), members))


def _frame(faces: Faces, group: Sequence[int]) -> _Frame:
    bounds = shapely.bounds(faces.polygons[list(group)])
    return _Frame(*bounds[:, :2].min(axis=0).tolist(), *bounds[:, 2:].max(axis=0).tolist())


def _labels(
    faces: Faces, labels: Sequence[Label], corner: Point
) -> tuple[dict[int, str], list[tuple[int | None, Finding]]]:
    """Give each text to the patch that it sits in, those of one patch from line to line.

    Returns
    -------
    tuple
        The texts by face; and notes, on those that sit in no patch (None), or of a face on top of each other.
    """
    words: dict[int, list[Label]] = {}
    stray: list[tuple[int | None, Finding]] = []
    if labels:
        at = np.array([label.at for label in labels]) - corner
        text, face = shapely.STRtree(faces.polygons).query(shapely.points(at), predicate="intersects")
        patch: dict[int, int] = {}
        for t, f in sorted(zip(text.tolist(), face.tolist(), strict=True)):
            patch.setdefault(t, f)
        for k, label in enumerate(labels):
            if k in patch:
                words.setdefault(patch[k], []).append(Label(label.text, (float(at[k, 0]), float(at[k, 1]))))
            else:
                where = (float(at[k, 0]), float(at[k, 1]))
                message = f"The text '{label.text}' at {place(where)} sits in no patch, so it labels nothing."
                stray.append((None, Finding("label-outside", message, where, text=label.text)))
    stray += [(f, note) for f, texts in sorted(words.items()) for note in _on_each_other(texts)]
    return {f: " ".join(label.text for label in _by_lines(texts)) for f, texts in words.items()}, stray


def _by_lines(texts: Sequence[Label]) -> list[Label]:
    """Put texts in the order in which they are read: line by line, each from left to right."""
    lines: list[list[Label]] = []
    for label in sorted(texts, key=lambda label: label.at[1]):
        if lines and label.at[1] - lines[-1][0].at[1] < _LINE:
            lines[-1].append(label)
        else:
            lines.append([label])
    return [label for line in lines for label in sorted(line, key=lambda label: label.at[0])]


def _on_each_other(texts: Sequence[Label]) -> Iterator[Finding]:
    """Note different texts of a patch that hide each other."""
    for one, other in combinations(texts, 2):
        if one.text != other.text and math.dist(one.at, other.at) < _ON_TOP:
            message = f"The texts '{one.text}' and '{other.text}' at {place(one.at)} lie on top of each other."
            yield Finding("labels-on-each-other", message, one.at)


def _moved_note(note: Finding, corner: Point, frame: _Frame) -> Finding:
    if note.at is None:
        return note
    return replace(note, at=frame.moved((note.at[0] - corner[0], note.at[1] - corner[1])))


def _unfilled(cover: Cover, face: int, what: str, frame: _Frame) -> Finding:
    x, y = cover.middles[face].tolist()
    at = frame.moved((x, y))
    return Finding("unfilled-patch", f"The patch at {place(at)} {what}", at)


def _markings(markings: Sequence[Track], corner: Point, frame: _Frame, *, alone: bool) -> Iterator[Track]:
    """Yield the markings of a block: all of them if it is the only one, else those that begin in its bounding box."""
    for track in markings:
        points = [(x - corner[0], y - corner[1]) for x, y in track.points]
        if alone or any(map(frame.holds, points)):
            yield replace(track, points=tuple(map(frame.moved, points)))

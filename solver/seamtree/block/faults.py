"""What is wrong with a drawing: every place, and what to do about it.

Places are inches from the top left corner of the drawing's bounding box, x to the right and y down.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence

import numpy as np
import shapely

from seamtree.block.cover import NOTHING, Cover, inner_points
from seamtree.block.faces import Faces
from seamtree.block.heal import slivers
from seamtree.block.loose_ends import OUTLINE_FAULTS, find_loose_ends
from seamtree.block.noding import Bools, Floats, Geometries, Ints, Network
from seamtree.block.paint import Painting
from seamtree.block.places import as_point, place
from seamtree.block.slots import find_slots
from seamtree.drawing import limits
from seamtree.drawing.drawn import Drawing, Shape
from seamtree.errors import DrawingError, Finding, Point
from seamtree.remedies import MEND, SKIP_LAYERS, TOLERANCE, WHITE_PAPER, WIDTH
from seamtree.tolerances import GAP_WIDTH

MOST_FINDINGS = 50
"""Findings of one drawing that are told one by one."""

_LETTER_SIZE = 0.6
"""A closed line that is no larger than this in any direction (inches) may be a letter."""

_LETTER_MARGIN = 0.05

_LETTERS = 5
"""Fewest such closed lines that may be a text."""

_AT_ONCE = 500
"""Lines whose crossings are counted together, so that the pairs of lines fit into memory."""

_DEGREES = 180
"""Degrees of a half turn, after which a line has the same direction."""

_NEARLY = 3
"""Lines whose directions differ by no more degrees than this are drawn as one direction."""

_LEAST_SIZE = 20
"""Tolerances that a drawing has to be wide or high."""

_SAME_SHARE = 0.98
"""Two polygons that have more than this share of either in common are the same polygon drawn twice."""


def check_scale(drawing: Drawing, points: Floats, *, tolerance: float) -> None:
    """Refuse a drawing that is hardly larger than what cloth cannot tell apart, before anything is made of it.

    Parameters
    ----------
    drawing
        The drawing.
    points
        All of its points; shape (n, 2).
    tolerance
        What cloth cannot tell apart, inches.

    Raises
    ------
    DrawingError
        With the code ``too-small``.
    LimitError
        With the code ``too-large`` where it is so much larger that its curves would fall into too many chords.
    """
    across, down = (points.max(axis=0) - points.min(axis=0)).tolist()
    if max(across, down) < _LEAST_SIZE * tolerance:
        message = (
            f"The drawing is {across:.2g} by {down:.2g} in at finished size: too small to sew. "
            f"Give its width in inches with {WIDTH}."
        )
        raise DrawingError(Finding("too-small", message, remedies=(WIDTH,)), source=drawing.source)
    if max(across, down) > limits.MOST_TOLERANCES * tolerance:
        least = 1.05 * max(across, down) / limits.MOST_TOLERANCES
        limits.refuse(
            f"The drawing is {across:,.0f} by {down:,.0f} in at finished size: too large for a tolerance of "
            f"{tolerance:g} in. Give a {TOLERANCE} of at least {least:.6f} in, or the width in inches with {WIDTH}.",
            source=drawing.source,
            remedies=(TOLERANCE, WIDTH),
        )


def check_crossings(painting: Painting, *, tolerance: float) -> None:
    """Refuse lines that cross too often, before the time is spent on what they enclose.

    A line that ends on another, within a tenth of the tolerance, meets it there and does not cross it.

    Raises
    ------
    LimitError
        With the code ``too-large``.
    """
    start, end = painting.seen.start, painting.seen.end
    if not len(start):
        return
    lines = shapely.linestrings(np.stack([start, end], axis=1))
    tree = shapely.STRtree(lines)
    crossings = 0
    directions = np.zeros(_DEGREES, dtype=bool)
    for first in range(0, len(lines), _AT_ONCE):
        few = np.arange(first, min(first + _AT_ONCE, len(lines)))
        one, other = tree.query(lines[few])
        one = few[one]
        one, other = one[one < other], other[one < other]
        a, b, c, d = start[one], end[one], start[other], end[other]
        ends = ((_offsets(a, b, c), _offsets(a, b, d)), (_offsets(c, d, a), _offsets(c, d, b)))
        apart = np.ones(len(one), dtype=bool)
        for near, far in ends:
            apart &= (near * far < 0.0) & (np.minimum(np.abs(near), np.abs(far)) > tolerance / 10)
        crossings += int(np.count_nonzero(apart))
        directions[_degrees(b[apart] - a[apart])] = directions[_degrees(d[apart] - c[apart])] = True
        most = limits.MAX_CROSSINGS_OF_TWO if _are_two(directions) else limits.MAX_CROSSINGS
        if crossings > most:
            limits.refuse(
                f"The lines of the drawing cross in more than {most:,} places, the most that are read"
                f"{' of lines in two directions' if most > limits.MAX_CROSSINGS else ''}. Leave out lines, for "
                "example those of a texture, or split the drawing into several.",
                source=painting.drawing.source,
            )


def _degrees(steps: Floats) -> Ints:
    """Return in which directions lines run, in whole degrees from 0 to 179; shape (n,)."""
    turned: Ints = np.rint(np.degrees(np.arctan2(steps[:, 1], steps[:, 0]))).astype(np.int64) % _DEGREES
    return turned


def _are_two(directions: Bools) -> bool:
    """Tell whether lines run in at most two directions, or as nearly as people draw them."""
    found = np.flatnonzero(directions)
    if not len(found):
        return True
    gaps = np.diff(found, append=found[0] + _DEGREES)
    return int(np.count_nonzero(gaps > _NEARLY)) <= 2 and len(found) <= 2 * _NEARLY


_NO_LENGTH = 1e-12
"""In place of the length of a line that is a point."""

_WIDTH_STEP = 0.001
"""Widths are told to two decimals, inches."""


def _offsets(start: Floats, end: Floats, point: Floats) -> Floats:
    """Return how far points lie from lines, positive on one side and negative on the other; shape (n,)."""
    along, away = end - start, point - start
    length = np.maximum(np.hypot(along[:, 0], along[:, 1]), _NO_LENGTH)
    offsets: Floats = (along[:, 0] * away[:, 1] - along[:, 1] * away[:, 0]) / length
    return offsets


def find_faults(painting: Painting, faces: Faces, cover: Cover, *, tolerance: float) -> list[Finding]:
    """Return all that makes a drawing unusable; an empty list if nothing does.

    Parameters
    ----------
    painting
        What is seen of the drawing.
    faces, cover
        What its lines enclose, and the fills over that.
    tolerance
        Inches.
    """
    drawing, fills = painting.drawing, painting.fills
    findings: list[Finding] = []
    ends = find_loose_ends(painting, faces, tolerance=tolerance, most=MOST_FINDINGS)
    if not len(faces.polygons) and not any(finding.code in OUTLINE_FAULTS for finding in ends):
        findings.append(_no_block())
    findings += ends
    findings += _cut_edges(faces.network, faces.parting_nothing)
    findings += _patches_in_patches(faces, cover, drawing.shapes)
    findings += _pinched(faces)
    findings += _tiny(faces, tolerance)
    if drawing.kind == "polygons" and len(fills):
        findings += _overlaps(faces, cover, drawing.shapes)
        findings += _uncovered(faces, cover)
    elif cover.mostly_filled:
        findings += (f for f in _uncovered(faces, cover) if f.code == "gap")
    if len(fills) and cover.mostly_filled:
        findings += _open_gaps(faces)
    findings += _too_fine(painting, faces, tolerance)
    if len(findings) > MOST_FINDINGS:
        more = len(findings) - MOST_FINDINGS
        findings[MOST_FINDINGS:] = [Finding("more-findings", f"There are {more} more faults of these kinds.")]
    return findings


def unfilled_notes(cover: Cover) -> Iterator[tuple[int, str]]:
    """Yield the patches without fill in a drawing where most patches are filled, and what to say about them."""
    if cover.mostly_filled:
        for f in np.flatnonzero(cover.top == NOTHING).tolist():
            yield f, "has no fill; it counts as a patch. Fill it, or check whether something is missing there."


def _no_block() -> Finding:
    message = (
        "No line of the drawing encloses an area, so there is no patch. Close the outline of the block: every end of "
        "a line has to meet another line."
    )
    return Finding("no-block", message)


# -- lines that part nothing ----------------------------------------------------------------------------------


def _cut_edges(network: Network, edges: Ints) -> Iterator[Finding]:
    """Name lines that have the same face on both sides."""
    if not len(edges):
        return
    runs = shapely.get_parts(shapely.line_merge(shapely.multilinestrings(network.linestrings()[edges])))
    for run in runs:
        at = as_point(shapely.get_coordinates(shapely.line_interpolate_point(run, 0.5, normalized=True))[0])
        message = (
            f"The line at {place(at)} parts nothing: the same area lies on both of its sides. Remove it, or carry it "
            "on until it cuts the area in two."
        )
        yield Finding("cut-edge", message, at)


# -- faces ----------------------------------------------------------------------------------------------------


def _patches_in_patches(faces: Faces, cover: Cover, shapes: Sequence[Shape]) -> Iterator[Finding]:
    for piece, face in faces.islands:
        ring = shapely.Polygon(faces.network.points[list(faces.pieces[piece])])
        at = as_point(shapely.get_coordinates(shapely.point_on_surface(ring))[0])
        top = int(cover.top[face])
        outer = "another patch" if top == NOTHING else f"another patch ({shapes[top].name})"
        message = (
            f"What is drawn at {place(at)} lies wholly inside {outer}, where no seam can reach it. {MEND} "
            "gives it seams, or draw one from it to the edge of the patch around it; if that is only a background or "
            f"a frame, leave its layer out with {SKIP_LAYERS}, or a white page with {WHITE_PAPER}."
        )
        yield Finding("patch-in-patch", message, at, remedies=(MEND, SKIP_LAYERS, WHITE_PAPER))


def _pinched(faces: Faces) -> Iterator[Finding]:
    """Name the places where a patch goes round something and meets itself at a point."""
    for ring in faces.rings:
        if len(set(ring)) < len(ring):
            for vertex in sorted({n for n in ring if ring.count(n) > 1}):
                at = as_point(faces.network.points[vertex])
                message = (
                    f"A patch goes round others and touches itself at {place(at)}, where no seam can get in between. "
                    f"{MEND} gives it seams, or draw one from there across the patch, or move apart what "
                    "touches."
                )
                yield Finding("touches-itself", message, at, remedies=(MEND,))


def _tiny(faces: Faces, tolerance: float) -> Iterator[Finding]:
    narrow = slivers(faces, tolerance)
    if narrow:
        middles = inner_points(faces.polygons[narrow], tolerance=tolerance)
        for at in map(as_point, middles):
            message = (
                f"The patch at {place(at)} is narrower than {2 * tolerance:g} in everywhere: too narrow to sew. "
                "Make it wider, or remove it."
            )
            yield Finding("tiny", message, at)


def _too_fine(painting: Painting, faces: Faces, tolerance: float) -> Iterator[Finding]:
    """Tell whether more patches were drawn too narrow to be kept than are left: then the size cannot be meant."""
    regions = painting.fills.regions
    if not len(regions):
        return
    # No shape has a smaller inradius than its area by its length, so few shapes need to be shrunk.
    doubtful = regions[shapely.area(regions) <= tolerance * shapely.length(regions)]
    lost = int(shapely.is_empty(shapely.buffer(doubtful, -tolerance)).sum())
    if lost > len(faces.polygons):
        message = (
            f"{lost} filled shapes are narrower than {2 * tolerance:g} in, too narrow to sew, and only "
            f"{len(faces.polygons)} patches are wider. Check the finished size; {WIDTH} makes the drawing larger."
        )
        yield Finding("too-fine", message, remedies=(WIDTH,))


def _uncovered(faces: Faces, cover: Cover) -> Iterator[Finding]:
    """Name enclosed areas that no fill covers: gaps where they are narrow everywhere, else holes."""
    for f in np.flatnonzero(cover.top == NOTHING).tolist():
        at = as_point(cover.middles[f])
        if shapely.is_empty(shapely.buffer(faces.polygons[f], -GAP_WIDTH / 2)):
            yield _gap(at, _width(faces.polygons[f]))
        else:
            message = f"No polygon covers the area at {place(at)}, so the block has a hole there. Draw a patch there."
            yield Finding("hole", message, at)


def _width(polygon: shapely.Geometry) -> float:
    """Return the width of a polygon where it is widest (inches).

    It is halved down to: for the narrow ones that are asked about the largest circle inside takes much longer.
    """
    left, top, right, bottom = polygon.bounds
    least, most = 0.0, min(right - left, bottom - top)
    while most - least > _WIDTH_STEP:
        middle = (least + most) / 2
        least, most = (least, middle) if shapely.is_empty(shapely.buffer(polygon, -middle / 2)) else (middle, most)
    return float(least + most) / 2


def _gap(at: Point, width: float) -> Finding:
    message = (
        f"There is a gap between patches at {place(at)}, up to {width:.2f} in wide. Move the edges on both sides "
        "onto each other, or draw a patch there."
    )
    return Finding("gap", message, at)


def _open_gaps(faces: Faces) -> Iterator[Finding]:
    """Name gaps that are open to the outside: slots in an outline, and blocks that all but touch."""
    inside = {piece for piece, _ in faces.islands}
    rings = [faces.network.points[list(ring)] for k, ring in enumerate(faces.pieces) if k not in inside]
    for ring in rings:
        for slot in find_slots(ring, width=GAP_WIDTH):
            yield _gap(as_point(inner_points(np.array([slot]), tolerance=1e-3)[0]), _width(slot))
    if len(rings) > 1:
        yield from _gaps_between(rings)


def _gaps_between(rings: Sequence[Floats]) -> Iterator[Finding]:
    """Name gaps between outlines that all but touch."""
    outlines = shapely.polygons([shapely.linearrings(ring) for ring in rings])
    first, second = shapely.STRtree(outlines).query(outlines, predicate="dwithin", distance=GAP_WIDTH)
    for a, b in sorted(zip(first[first < second].tolist(), second[first < second].tolist(), strict=True)):
        line = shapely.shortest_line(outlines[a], outlines[b])
        at = as_point(shapely.get_coordinates(line).mean(axis=0))
        message = (
            f"Two separate parts of the drawing are only {line.length:.2f} in apart at {place(at)}. Move them "
            f"together if they are one block, or at least {GAP_WIDTH:g} in apart if they are two."
        )
        yield Finding("gap", message, at)


def _overlaps(faces: Faces, cover: Cover, shapes: Sequence[Shape]) -> Iterator[Finding]:
    """Name pairs of polygons that lie over each other."""
    over: dict[int, list[int]] = {}
    area = np.zeros(len(shapes))
    for face, shape in cover.pairs.tolist():
        over.setdefault(face, []).append(shape)
        area[shape] += faces.areas[face]
    common: dict[tuple[int, int], list[int]] = {}
    for face, several in over.items():
        for k, first in enumerate(several):
            for second in several[k + 1 :]:
                common.setdefault((first, second), []).append(face)
    for (first, second), shared in sorted(common.items()):
        largest = max(shared, key=lambda f: faces.areas[f])
        at = as_point(cover.middles[largest])
        both = f"{shapes[first].name} and {shapes[second].name}"
        if faces.areas[shared].sum() > _SAME_SHARE * max(area[first], area[second]):
            message = f"The same polygon is drawn twice at {place(at)} ({both}). Remove one of them."
            yield Finding("doubled", message, at)
        else:
            message = (
                f"Two polygons ({both}) overlap at {place(at)} by up to {_width(faces.polygons[largest]):.2f} in. "
                "Move the edge of one onto the edge of the other."
            )
            yield Finding("overlap", message, at)


# -- texts ----------------------------------------------------------------------------------------------------

_FAULTS_OF_LETTERS = frozenset({"patch-in-patch", "loose-end", "open-outline", "cut-edge", "tiny", "gap"})


def letters(findings: Sequence[Finding], painting: Painting) -> set[tuple[int, int]]:
    """Return the tracks (number of the shape, number in it) that look like letters and lead to faults.

    They do if there are several small closed lines that lead to the faults that letters lead to, inside of patches
    and across seams. Where nothing else would be left, none are.
    """
    suspects = [finding.at for finding in findings if finding.code in _FAULTS_OF_LETTERS and finding.at is not None]
    if not suspects:
        return set()
    keys, boxes = _letter_boxes(painting)
    if len(boxes) < _LETTERS:
        return set()
    place_of, box = shapely.STRtree(boxes).query(shapely.points(suspects), predicate="intersects")
    if len(np.unique(place_of)) < _LETTERS - 2:
        return set()
    shapes = {keys[k][0] for k in box.tolist()}
    found = {key for key in keys if key[0] in shapes}
    found -= _edge_to_edge(found, painting.drawing.shapes)
    everything = len(found) == sum(len(shape.tracks) for shape in painting.drawing.shapes)
    return found if len(found) >= _LETTERS and not everything else set()


def _edge_to_edge(found: Collection[tuple[int, int]], shapes: Sequence[Shape]) -> set[tuple[int, int]]:
    """Return the tracks that have a stretch in common with another one, as patches have and letters have not."""
    keys = [(k, n) for k, shape in enumerate(shapes) for n in range(len(shape.tracks))]
    lines = np.array([shapely.LineString(shapes[k].tracks[n].path) for k, n in keys])
    letter = np.array([j for j, key in enumerate(keys) if key in found], dtype=np.int64)
    own, other = shapely.STRtree(lines).query(lines[letter], predicate="intersects")
    own = letter[own]
    apart = own != other
    own, other = own[apart], other[apart]
    common = shapely.length(shapely.intersection(lines[own], lines[other])) > _LETTER_MARGIN
    return {keys[j] for j in own[common].tolist()}


def _letter_boxes(painting: Painting) -> tuple[list[tuple[int, int]], Geometries]:
    """Return the closed lines that may be letters, and their bounding boxes."""
    keys, boxes = [], []
    left, top = painting.corner
    for k, shape in enumerate(painting.drawing.shapes):
        for n, track in enumerate(shape.tracks):
            if track.closed:
                xs, ys = zip(*track.points, strict=True)
                if max(max(xs) - min(xs), max(ys) - min(ys)) <= _LETTER_SIZE:
                    keys.append((k, n))
                    boxes.append((min(xs) - left, min(ys) - top, max(xs) - left, max(ys) - top))
    # What is left of thin strokes after healing may lie a little outside of them.
    made: Geometries = shapely.box(*(np.array(boxes).reshape(-1, 4) + _LETTER_MARGIN * np.array([-1, -1, 1, 1])).T)
    return keys, made

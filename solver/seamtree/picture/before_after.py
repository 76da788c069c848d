"""A drawing before and after it is changed, side by side, with what changed marked."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

import shapely

from seamtree.block.sketch import Sketch, sketch_of
from seamtree.drawing.drawn import Drawing, Track
from seamtree.drawing.drawn import Shape as DrawnShape
from seamtree.errors import Point
from seamtree.mending.model import Alternative, Mending
from seamtree.picture.draw import fabric_tints
from seamtree.picture.lettering import text_width
from seamtree.picture.marks import BLACK
from seamtree.picture.shapes import Disc, Layer, Lines, Picture, Polygon, Shape, Text
from seamtree.picture.tints import Tint
from seamtree.words import count, cut_short, one_line

ADDED = "#d1006c"
"""Colour of what is marked."""

_SIDE = 360.0
"""Longest side of the largest block (points)."""

_ROOM = 12.0
"""White around blocks (points)."""

_TYPE = 11.0
"""Size of captions (points)."""

_SEAM, _MARK = 0.8, 2.4
"""Weights of lines (points)."""

_RING = 9.0
"""Radius of the ring round a place where a slip of the hand was mended (points)."""

Tints = Mapping[str | None, Tint]


def draw_before_after(mendings: Sequence[Mending], *, drawn: Drawing | None = None) -> Picture:
    """Draw blocks before and after, block under block.

    Every alternative stands to the right of the drawing, with its figures; added seams are drawn in a colour of their
    own, dropped ones where they were, and slips of the hand have a ring round them on both sides.

    Parameters
    ----------
    mendings
        Of all blocks of a drawing.
    drawn
        The drawing with its slips, as it was read.
    """
    scale = _SIDE / max(side for m in mendings for side in m.sketch.bounds[2:])
    layers: list[Layer] = []
    width, top = 0.0, _ROOM
    for n, mending in enumerate(mendings):
        left = _ROOM
        shown = drawn if mending.slips else None
        for shapes, caption, across in _views(mending, _own_shapes(shown, n, mendings), scale):
            size = min(_TYPE, _TYPE * across / text_width(caption, _TYPE))
            named = Text((left + across / 2, top + _TYPE), caption, size, "middle")
            layers.append(Layer("block", tuple(shape.moved(left, top + 2 * _TYPE) for shape in shapes)))
            layers.append(Layer("caption", (named,)))
            left += across + 2 * _ROOM
        width = max(width, left - _ROOM)
        top += mending.sketch.bounds[3] * scale + 2 * _TYPE + 2 * _ROOM
    names = cut_short(one_line(", ".join(m.sketch.name for m in mendings)) or "drawing", lambda text: len(text) <= 80)
    return Picture(
        width,
        top - _ROOM,
        f"{names}, before and after",
        "The drawing on the left, changed on the right; what changed is marked.",
        tuple(layers),
    )


def _views(
    mending: Mending, own: Sequence[DrawnShape], scale: float
) -> Iterator[tuple[tuple[Shape, ...], str, float]]:
    """Yield the drawing and every way to change it: shapes from (0, 0) on, what they are, how wide they are."""
    sketch = mending.sketch
    after = [(a, sketch_of(a.block)) for a in mending.alternatives]
    fabrics = [area.fabric for one in (sketch, *(s for _, s in after)) for area in one.areas]
    tints = fabric_tints([*fabrics, *(shape.fill for shape in own)])
    rings = tuple(_ring(slip.at, scale) for slip in mending.slips)
    x, y = sketch.corner
    before = tuple(_as_drawn(own, tints, (x, y), scale)) if own else tuple(_patches(sketch, tints, scale))
    gone = mending.alternatives[0].dropped if mending.alternatives else ()
    marked = _marked([seam.path for seam in gone], scale)
    yield (*before, *marked, *rings), "as drawn", sketch.bounds[2] * scale
    for number, (alternative, changed) in enumerate(after, 1):
        added = _marked([seam.path for seam in alternative.added], scale)
        shapes = (*_patches(changed, tints, scale), *added, *rings)
        yield shapes, _caption(mending, alternative, number), changed.bounds[2] * scale
    if not after and mending.best is not None:
        changed = sketch_of(mending.best.block)
        changes = mending.slips or mending.straightened
        caption = "mended" if changes else "nothing to mend" if mending.nothing_to_mend else "unchanged"
        yield (*_patches(changed, tints, scale), *rings), caption, changed.bounds[2] * scale


def _caption(mending: Mending, alternative: Alternative, number: int) -> str:
    counts = alternative.plan.counts
    figures = f"{count(counts.patches, 'patch', 'patches')}, {count(counts.units, 'unit')}"
    if mending.goal == "frontier" or len(mending.alternatives) == 1:
        return f"mended: {figures}"
    return f"alternative {number}: {figures}"


def _marked(paths: Sequence[Sequence[Point]], scale: float) -> tuple[Shape, ...]:
    if not paths:
        return ()
    return (Lines(tuple(tuple((x * scale, y * scale) for x, y in path) for path in paths), ADDED, _MARK),)


def _ring(at: Point, scale: float) -> Disc:
    return Disc((at[0] * scale, at[1] * scale), _RING, None, ADDED, _MARK)


def _patches(sketch: Sketch, tints: Tints, scale: float) -> Iterator[Shape]:
    """Yield the patches of a drawing, with the holes in which others float."""
    lines: list[tuple[Point, ...]] = []
    for area in sketch.areas:
        yield from _filled(area.shape, tints[area.fabric].fill, (0.0, 0.0), scale)
        for part in shapely.get_parts(area.shape):
            lines += (_scaled(ring.coords, (0.0, 0.0), scale) for ring in (part.exterior, *part.interiors))
    yield Lines(tuple(lines), BLACK, _SEAM)


def _as_drawn(own: Sequence[DrawnShape], tints: Tints, corner: Point, scale: float) -> Iterator[Shape]:
    """Yield the shapes of a drawing in paint order, with all that is wrong with them."""
    for shape in own:
        if shape.fill is not None:
            yield from _filled(_surface(shape), tints[shape.fill].fill, corner, scale)
        paths = [_scaled(_line(track), corner, scale) for track in shape.tracks if len(track.points) > 1]
        if paths:
            yield Lines(tuple(paths), BLACK, _SEAM)


def _line(track: Track) -> tuple[Point, ...]:
    return (*track.points, track.points[0]) if track.closed else track.points


def _surface(shape: DrawnShape) -> shapely.Geometry:
    """Return what a filled shape covers."""
    found: shapely.Geometry = shapely.Polygon()
    for track in shape.tracks:
        if len(track.points) > 2:
            ring = shapely.make_valid(shapely.Polygon(track.points))
            found = shapely.symmetric_difference(found, ring) if shape.evenodd else shapely.union(found, ring)
    return found


def _filled(surface: shapely.Geometry, fill: str, corner: Point, scale: float) -> Iterator[Polygon]:
    """Yield polygons that cover a surface; a hole is reached by a cut, for polygons have none."""
    for part in shapely.get_parts(surface):
        if isinstance(part, shapely.Polygon) and not part.is_empty:
            yield Polygon(_scaled(_one_ring(part), corner, scale), fill)


def _one_ring(part: shapely.Polygon) -> list[Point]:
    ring: list[Point] = [(x, y) for x, y, *_ in part.exterior.coords[:-1]]
    for hole in part.interiors:
        inner: list[Point] = [(x, y) for x, y, *_ in hole.coords[:-1]]
        n = min(range(len(ring)), key=lambda k: (shapely.Point(ring[k]).distance(hole), k))
        m = min(range(len(inner)), key=lambda k: (shapely.Point(inner[k]).distance(shapely.Point(ring[n])), k))
        ring = [*ring[: n + 1], *inner[m:], *inner[: m + 1], *ring[n:]]
    return ring


def _scaled(points: Sequence[tuple[float, ...]], corner: Point, scale: float) -> tuple[Point, ...]:
    return tuple(((x - corner[0]) * scale, (y - corner[1]) * scale) for x, y, *_ in points)


def _own_shapes(drawn: Drawing | None, number: int, mendings: Sequence[Mending]) -> list[DrawnShape]:
    """Return what is drawn of one block: what lies nearer to it than to the others."""
    if drawn is None:
        return []
    boxes = []
    for mending in mendings:
        x, y = mending.sketch.corner
        _, _, right, bottom = mending.sketch.bounds
        boxes.append(shapely.box(x, y, x + right, y + bottom))
    tree = shapely.STRtree(boxes)
    return [
        shape
        for shape in drawn.shapes
        if shape.tracks and int(tree.nearest(shapely.MultiPoint(shape.tracks[0].points).centroid)) == number
    ]

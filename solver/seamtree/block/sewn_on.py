"""What is sewn on when the block is done, and so makes no seams: buttons, eyes, beads, letters.

A closed shape that lies wholly inside one patch and is smaller than an inch is none that anybody pieces (common
practice), and neither is text that was turned into outlines. Both become markings.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import replace

import numpy as np
import shapely

from seamtree.block.faces import Faces
from seamtree.block.holes import with_slits
from seamtree.block.lettering import Key
from seamtree.block.paint import Floats, Ints, Painting
from seamtree.block.places import place
from seamtree.drawing.drawn import Drawing, Shape, Track
from seamtree.errors import Finding, Point
from seamtree.words import inches

SMALL = 1.0
"""What is smaller than this in both directions (inches) may be sewn on."""


def small_shapes(painting: Painting, faces: Faces, *, tolerance: float) -> set[Key]:
    """Return the tracks that draw what lies wholly inside one patch and is small."""
    drawing = painting.drawing
    if not faces.islands:
        return set()
    rings = [faces.network.points[list(faces.pieces[piece])] for piece, _ in faces.islands]
    small = [ring for ring in rings if np.ptp(ring, axis=0).max() < SMALL - tolerance]
    if not small:
        return set()
    keys = [(k, n) for k, shape in enumerate(drawing.shapes) for n in range(len(shape.tracks))]
    if drawing.kind == "polygons":  # a polygon on another one is a fault
        keys = [(k, n) for k, n in keys if drawing.shapes[k].fill is None]
    if not keys:
        return set()
    lines = [np.array(drawing.shapes[k].tracks[n].path) - painting.corner for k, n in keys]
    tree = shapely.STRtree(shapely.linestrings(np.concatenate(lines), indices=_owners(lines)))
    areas = shapely.buffer(shapely.polygons([shapely.linearrings(ring) for ring in small]), 2 * tolerance)
    _, inside = tree.query(areas, predicate="contains")
    return {keys[n] for n in inside.tolist()}


def _owners(lines: Sequence[Floats]) -> Ints:
    return np.repeat(np.arange(len(lines)), [len(line) for line in lines])


def as_markings(drawing: Drawing, lifted: Collection[Key], *, are_letters: bool = False) -> Drawing:
    """Return the drawing with some tracks, but not all, as markings, and a note that counts them.

    What they lay on is whole again: a hole that was cut out of a patch for one of them is no hole any more.
    """
    kept: list[Shape] = []
    markings: list[Track] = []
    above = [0]
    for k, shape in enumerate(drawing.shapes):
        lifted_here = [track for n, track in enumerate(shape.tracks) if (k, n) in lifted]
        areas = [track for track in lifted_here if track.closed and len(track.points) > 2]
        lines = [track for track in lifted_here if track not in areas]
        if shape.fill is not None and len(areas) > 1:
            areas = with_slits(areas)
        markings += [*(replace(track, fill=shape.fill) for track in areas), *lines]
        tracks = tuple([track for n, track in enumerate(shape.tracks) if (k, n) not in lifted])
        if tracks:
            kept.append(shape if len(tracks) == len(shape.tracks) else replace(shape, tracks=tracks))
        above.append(len(kept))
    return replace(
        drawing,
        shapes=tuple(kept),
        markings=(*drawing.markings, *markings),
        shadings=tuple(replace(shading, above=above[shading.above]) for shading in drawing.shadings),
        notes=(*drawing.notes, _note(_corner(kept), markings, are_letters=are_letters)),
    )


def _corner(shapes: Sequence[Shape]) -> Point:
    points = [point for shape in shapes for track in shape.tracks for point in track.points]
    return min(x for x, _ in points), min(y for _, y in points)


def _note(corner: Point, markings: Sequence[Track], *, are_letters: bool) -> Finding:
    boxes = [np.array(track.points) for track in markings]
    size = max(float(np.ptp(box, axis=0).max()) for box in boxes)
    middle = (boxes[0].min(axis=0) + boxes[0].max(axis=0)) / 2
    x, y = middle.tolist()
    at = place((x - corner[0], y - corner[1]))
    if are_letters:
        message = f"Text turned into outlines, {len(markings)} closed lines, one of them at {at}, is a marking"
    elif len(markings) == 1:
        message = f"1 small closed line inside a patch, at {at} and {inches(size)} in large, is a marking"
    else:
        message = (
            f"{len(markings)} small closed lines inside patches, one of them at {at}, none larger than "
            f"{inches(size)} in, are markings"
        )
    return Finding(
        "small-shapes",
        f"{message} and no seam: what is sewn on afterwards, such as buttons, eyes and letters.",
        (x, y),
    )
